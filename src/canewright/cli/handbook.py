"""The formulas at the command line: searched, shown, and worked on what a person types."""

from __future__ import annotations

import json
import textwrap
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, NoReturn

import typer

from canewright.cli.desk import out, trouble
from canewright.cli.digits import value_text

if TYPE_CHECKING:
    from canewright.accounts.working import Worked
    from canewright.quantity import Argument, Formula

MOST = 8
"""How many answers of one call are printed with each input beside them before the list is only numbers."""
WRONG_USE = 2
"""Exit code for what was typed wrongly."""


def register(app: typer.Typer) -> None:
    """Add the commands to the command line."""
    app.command()(formulas)
    app.command()(work)


def refuse_input(message: str) -> NoReturn:
    """Say in one line what was typed wrongly, and stop with code 2."""
    trouble.print(message, style=None, markup=False, soft_wrap=True)
    raise typer.Exit(WRONG_USE)


def write_new(path: Path, text: str, *, quiet: bool = False) -> None:
    """Write a file that must not be there yet."""
    try:
        with path.open("x", encoding="utf-8", newline="") as file:
            file.write(text)
    except FileExistsError:
        refuse_input(f"{path} is there already and is not overwritten; give another name")
    except OSError as problem:
        refuse_input(f"{path} cannot be written: {problem.strerror}")
    if not quiet:
        out.print(f"wrote {path}", markup=False)


def formulas(
    word: Annotated[list[str] | None, typer.Argument(help="a formula, for its whole sheet, or words to search")] = None,
    as_json: Annotated[bool, typer.Option("--json", help="print as JSON")] = False,
) -> None:
    """List the formulas, show one with units, range, source and example, or search by any word of the trade."""
    import canewright.accounts.working  # noqa: F401 - declares every formula
    from canewright.quantity import CATALOGUE
    from canewright.quantity.searching import nearest, search
    from canewright.quantity.synonyms import countries_of, plain

    asked = " ".join(word or [])
    exact = {plain(name): name for name in CATALOGUE}.get(plain(asked)) if asked else None
    if exact is not None:
        _sheet(CATALOGUE[exact], as_json=as_json)
        return
    found = search(asked, CATALOGUE) if asked else []
    if asked and not found:
        near = nearest(asked, CATALOGUE)
        hint = f"; nearest: {', '.join(near)}" if near else ""
        refuse_input(f"no formula is called '{asked[:80]}' or speaks of it{hint}; canewright formulas lists all")
    listed = [each.formula for each in found] or sorted(CATALOGUE.values(), key=lambda f: f.name)
    if as_json:
        typer.echo(json.dumps([_plain_data(each) for each in listed], ensure_ascii=False, indent=1))
        return
    for name, where in countries_of(asked):
        out.print(f"{asked}: {name} ({where})", markup=False)
    for each in listed:
        out.print(f"{each.name}: {each.equation}{_in_brackets(each.result.unit)}", markup=False)


def _in_brackets(symbol: str) -> str:
    return "" if symbol == "1" else f" [{symbol}]"


def _limits(a: Argument) -> str:
    return f"{a.low:g} to {a.high:g}"


def _sheet(one: Formula, *, as_json: bool) -> None:
    if as_json:
        typer.echo(json.dumps(_plain_data(one), ensure_ascii=False, indent=1))
        return
    out.print(f"{one.name}: {one.says}\n  {one.equation}\n  source: {one.source} ({one.status})", markup=False)
    for key, a in one.arguments.items():
        kind = f", {a.kind}" if a.kind else ""
        symbol = f" ({a.symbol})" if a.symbol else ""
        out.print(f"  {key}{symbol}, {a.unit}: {a.says}{kind}, {_limits(a)}", markup=False)
    given = " ".join(f"{k}={v:g}" for k, v in one.example.items())
    shown = "" if one.result.unit == "1" else f" {one.result.unit}"
    out.print(f"  example: canewright work {one.name} {given}\n    gives {one.gives:g}{shown}", markup=False)
    if one.caveat:
        out.print(f"  caveat: {one.caveat}", markup=False)


def _plain_data(one: Formula) -> dict[str, object]:
    return {
        "name": one.name,
        "says": one.says,
        "equation": one.equation,
        "inputs": {
            k: {"unit": a.unit, "says": a.says, "symbol": a.symbol, "kind": a.kind, "low": a.low, "high": a.high}
            for k, a in one.arguments.items()
        },
        "result": {"unit": one.result.unit, "says": one.result.says, "symbol": one.result.symbol},
        "example": dict(one.example),
        "gives": one.gives,
        "source": one.source,
        "status": one.status,
        "caveat": one.caveat,
    }


def work(
    formula: Annotated[str, typer.Argument(help="name of a formula; canewright formulas lists them")],
    inputs: Annotated[
        list[str] | None,
        typer.Argument(help="name=value, such as brix=15.2, temperature='72 °F', pol='13.1 ± 0.1'; several: '15; 16'"),
    ] = None,
    unit: Annotated[str | None, typer.Option("--unit", help="unit of the answer, else the formula's own")] = None,
    correlation: Annotated[
        list[str] | None, typer.Option("--correlation", help="of two inputs with ±, such as brix:pol=0.8")
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help="print the answer as JSON")] = False,
) -> None:
    """Work a formula: units are converted, ± (half of a 95 % interval) is carried through, the source is named."""
    from canewright.accounts.working import CannotWork
    from canewright.accounts.working import work as worked_on

    try:
        answer = worked_on(formula, _pairs(inputs or []), unit, _correlations(correlation or []))
    except CannotWork as refused:
        refuse_input(str(refused))
    if as_json:
        typer.echo(json.dumps(answer.to_json(), ensure_ascii=False, indent=1))
    else:
        _print_answer(answer)


def _pairs(words: list[str]) -> list[tuple[str, str]]:
    """``name=value`` for each input; words without ``=`` belong to the value before them, as typed without quotes."""
    joined: list[str] = []
    for word in words:
        if "=" in word:
            joined.append(word)
        elif joined:
            joined[-1] += f" {word}"
        else:
            refuse_input(f"found '{word[:80]}' where an input should be; accepted: name=value, such as brix=15.2")
    return [(name.strip(), value) for name, _, value in (each.partition("=") for each in joined)]


def _correlations(words: list[str]) -> dict[tuple[str, str], float]:
    found: dict[tuple[str, str], float] = {}
    for word in words:
        pair, _, size = word.partition("=")
        one, _, other = pair.partition(":")
        try:
            found[one.strip(), other.strip()] = float(size)
        except ValueError:
            refuse_input(f"--correlation: found '{word[:80]}'; accepted: two inputs and a number, such as brix:pol=0.8")
    return found


def _print_answer(answer: Worked) -> None:
    one = answer.formula
    shown = "" if answer.unit == "1" else f" {answer.unit}"
    for i in range(min(len(answer.values), MOST)):
        beside = _inputs_at(answer, i) if len(answer.values) > 1 else one.name
        out.print(f"{beside} = {_amount(answer, i)}{shown}", markup=False, style="bold")
    if len(answer.values) > MOST:
        out.print(f"and {len(answer.values) - MOST} more; --json prints all", markup=False)
    if answer.standard is not None:
        first = ", ".join(f"{s:.3g}" for s in answer.standard[:MOST])
        out.print(f"  ± is half of a 95 % interval; standard uncertainty {first}{shown}", markup=False)
        _print_shares(answer)
    out.print(f"  {one.equation}", markup=False)
    for t in answer.inputs:
        out.print(f"  {t.name}: {_taken_text(answer, t.name)}", markup=False)
    for note in answer.notes:
        out.print(f"  note: {note}", markup=False)
    out.print(f"  source: {one.source} ({one.status})", markup=False)
    if one.caveat:
        out.print(f"  caveat: {one.caveat}", markup=False)


def _amount(answer: Worked, i: int) -> str:
    value = float(answer.values[i])
    return f"{value:.6g}" if answer.standard is None else value_text(value, float(answer.standard[i]))


def _inputs_at(answer: Worked, i: int) -> str:
    varied = [f"{t.name} {t.values[i]:.6g}" for t in answer.inputs if t.values.size > 1]
    return f"{answer.formula.name} at {', '.join(varied)}"


def _taken_text(answer: Worked, name: str) -> str:
    """An input as it was taken, in the formula's unit, with what was typed where that differs."""
    taken = next(t for t in answer.inputs if t.name == name)
    symbol = "" if taken.declared.unit == "1" else f" {taken.declared.unit}"
    values = "; ".join(f"{v:.6g}" for v in taken.values[:MOST]) + ("; ..." if taken.values.size > MOST else "")
    spread = "" if taken.standard is None else f", standard uncertainty {taken.standard[0]:.3g}{symbol}"
    typed = "" if taken.typed == values else f" (typed {textwrap.shorten(taken.typed, 40)})"
    return f"{values}{symbol}{spread}{typed}"


def _print_shares(answer: Worked) -> None:
    if answer.shares is None or len(answer.values) > 1:
        return
    ranked = sorted(((float(v[0]), k) for k, v in answer.shares.items()), reverse=True)
    listed = ", ".join(f"{name} {100 * share:.1f} %" for share, name in ranked if abs(share) > 0.0005)
    if listed:
        out.print(f"  of the variance: {listed}", markup=False)
