"""A plant description at the command line: written from questions, checked, shown as tables, fitted to closed days."""

from __future__ import annotations

import datetime as dt
import json
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer
from rich.table import Table

from canewright.cli.desk import PLANT_FILE, day_of, now, open_books, out, person, plain_refusals, read_plant, refuse
from canewright.cli.digits import value_text
from canewright.cli.handbook import refuse_input

if TYPE_CHECKING:
    from canewright.accounts.books import Books
    from canewright.plant.assumptions import Examined
    from canewright.plant.drafting.questions import Question
    from canewright.plant.drafting.templates import Template
    from canewright.plant.fitting import Fit, FittedSetting
    from canewright.plant.plant import Plant
    from canewright.plant.sucrose_account import SucroseAccount

plant_app = typer.Typer(help="Write, check, show and fit a plant description.", no_args_is_help=True)
PlantFile = Annotated[Path, typer.Argument(help="plant description, a TOML file")]
SHOWN_TOLD = 0.05
"""Share of a prior's variance that days must take away for a fitted setting to be printed without --all."""


# --- new --------------------------------------------------------------------------------------------------------------


@plant_app.command("new")
def plant_new(
    path: Annotated[Path, typer.Argument(help="file to write; it must not be there yet")],
    more: Annotated[list[str] | None, typer.Argument(help="further answers, each key=value")] = None,
    template: Annotated[
        str | None, typer.Option("--template", help="kind of plant; with it nothing is asked. 'list' lists them")
    ] = None,
    answers: Annotated[list[str] | None, typer.Option("--answers", help="answers, each key=value")] = None,
) -> None:
    """Write a plant description from short questions, or from a template and answers; what is assumed is marked."""
    from canewright.engine import NotSolved
    from canewright.plant.drafting.questions import BadAnswer
    from canewright.plant.drafting.templates import template as template_called

    if path.exists():
        refuse_input(f"{path} is there already and is not overwritten; give another name")
    if not path.parent.is_dir():
        refuse_input(f"{path.parent} is not a folder; make it first or give another name")
    try:
        if template == "list":
            _list_templates()
            return
        given = _answers_typed([*(answers or []), *(more or [])])
        if template is None:
            chosen, given = _asked(given)
        else:
            chosen = template_called(template)
        with out.status("writing and sizing the plant"):
            text = chosen.describe(given)
        with path.open("x", encoding="utf-8") as file:
            file.write(text)
    except (KeyboardInterrupt, typer.Abort, EOFError):
        out.print()
        refuse_input("stopped: nothing was written")
    except BadAnswer as wrong:
        refuse_input(str(wrong))
    except NotSolved as lack:
        refuse_input(f"no plant was found for these answers, nothing was written: {lack}")
    except OSError as problem:
        refuse_input(f"{path} cannot be written: {problem.strerror}")
    out.print(f"wrote {path}", markup=False)
    _say_checked(read_plant(path), meters=False)
    out.print(f"Next: put numbers of your own in {path}, then: canewright plant check {path}", markup=False)


def _list_templates() -> None:
    from canewright.plant.drafting.templates import TEMPLATES

    for one in TEMPLATES.values():
        out.print(f"{one.name}: {one.says}", markup=False)
        for q in one.questions.values():
            out.print(f"  {q.key}: {q.asks}; {q.accepted}; {_default_text(q)} where not answered", markup=False)


def _default_text(q: Question) -> str:
    value = q.default if isinstance(q.default, str) else f"{q.default:g}"
    return f"{value} {q.unit}".rstrip()


def _answers_typed(words: list[str]) -> dict[str, str]:
    """Answers as typed, several in one word where parted by spaces; a word without = goes on with the one before."""
    from canewright.plant.drafting.questions import BadAnswer

    found: dict[str, str] = {}
    last = ""
    for word in " ".join(words).split():
        key, equals, value = word.partition("=")
        if equals:
            last = key
            if key in found:
                raise BadAnswer(f"{key}: answered twice; give one answer")
            found[key] = value
        elif last:
            found[last] += f" {word}"
        else:
            raise BadAnswer(f"found '{word[:60]}' where an answer should be; accepted: key=value, such as crush=320")
    return found


def _asked(given: dict[str, str]) -> tuple[Template, dict[str, str]]:
    """The template and every answer, asked at the keyboard; an empty answer leaves the assumption."""
    from canewright.plant.drafting.questions import BadAnswer, answered
    from canewright.plant.drafting.templates import TEMPLATES
    from canewright.plant.drafting.templates import template as template_called

    out.print(f"Kinds of plant: {', '.join(TEMPLATES)}.", markup=False)
    chosen = None
    while chosen is None:
        try:
            chosen = template_called(typer.prompt("Which kind is it"))
        except BadAnswer as wrong:
            out.print(str(wrong), markup=False)
    answered(chosen.questions, given)
    out.print("Press Enter where you do not know: the value in brackets is then assumed and marked so.")
    for q in chosen.questions.values():
        if q.key not in given:
            typed = _one_answer(q)
            if typed:
                given[q.key] = typed
    return chosen, given


def _one_answer(q: Question) -> str:
    from canewright.plant.drafting.questions import BadAnswer

    unit = f", {q.unit}" if q.unit else ""
    while True:
        typed = str(typer.prompt(f"{q.asks}{unit} [{_default_text(q)}]", default="", show_default=False)).strip()
        if not typed:
            return ""
        try:
            q.read(typed)
        except BadAnswer as wrong:
            out.print(str(wrong), markup=False)
        else:
            return typed


# --- check ------------------------------------------------------------------------------------------------------------


@plant_app.command("check")
def plant_check(path: PlantFile) -> None:
    """Name every fault by line, solve, say what it makes, what its meters can tell and what it assumes."""
    _say_checked(read_plant(path), meters=True)


def _say_checked(plant: Plant, *, meters: bool) -> None:
    from canewright.accounts.examining import examine
    from canewright.plant.assumptions import examine_assumptions

    with plain_refusals():
        state = plant.predict()
        said = examine(plant, state).sentences() if meters else []
    worst = max(state.closures, key=lambda c: c.relative)
    out.print(
        f"{plant.description.name}: {len(plant.assembly.stations)} stations, {len(plant.model.laws)} equations, "
        f"{len(plant.description.meters)} meters; solved ({state.method}); balances close to {worst.relative:.1e}.",
        markup=False,
    )
    for role, stream in plant.description.roles.items():
        flow = float(state.stream(stream).flow)
        out.print(f"  {role}: {flow:.2f} t/h ({stream})" if flow else f"  {role}: {stream}", markup=False)
    for sentence in said:
        out.print(sentence, markup=False)
    _say_assumed(examine_assumptions(plant, state))


def _say_assumed(found: Examined) -> None:
    """How many numbers are assumed, and the ones that matter most."""
    if not found.count and not found.prices:
        out.print("Nothing is assumed: every setting and price is the site's own or fitted.")
        return
    prices = f", and {found.prices} prices" if found.prices else ""
    out.print(
        f"Assumed: {found.count} of {found.settings} settings{prices}. Of these settings {len(found.weighed)} have an "
        f"uncertainty, {len(found.held)} are held as they stand, {len(found.idle)} enter no equation as described "
        "(limits, options not picked).",
        markup=False,
    )
    if found.most:
        out.print(
            f"The assumptions that matter most, by what one standard uncertainty of each moves of {found.figure}:",
            markup=False,
        )
    for i, w in enumerate(found.most, start=1):
        a = w.assumption
        unit = "" if a.unit == "1" else f" {a.unit}"
        because = f" ({a.because})" if a.because else ""
        out.print(
            f"  {i}. {a.name} = {a.value:g}{unit}, standard uncertainty {a.uncertainty:g}: "
            f"{_moved(w.moves)} {found.unit}; {a.says}{because}",
            markup=False,
        )


def _moved(value: float) -> str:
    return f"{value:+,.0f}" if abs(value) >= 100 else f"{value:+.3g}"


# --- show -------------------------------------------------------------------------------------------------------------


@plant_app.command("show")
def plant_show(
    path: PlantFile,
    as_json: Annotated[bool, typer.Option("--json", help="print as JSON")] = False,
    as_csv: Annotated[bool, typer.Option("--csv", help="print the streams as CSV")] = False,
) -> None:
    """Solve a plant and print its streams, the capacities of its stations, where the sucrose goes, what is assumed."""
    from canewright.plant.assumptions import examine_assumptions
    from canewright.plant.showing import capacity_rows, stream_rows
    from canewright.plant.sucrose_account import sucrose_account

    if as_json and as_csv:
        refuse_input("--json and --csv together; give one of them")
    plant = read_plant(path)
    with plain_refusals():
        state = plant.predict()
    streams, capacities = stream_rows(state), capacity_rows(state)
    if as_csv:
        typer.echo(_csv(streams), nl=False)
        return
    found, account = examine_assumptions(plant, state), sucrose_account(state)
    if as_json:
        told = _shown_data(plant, streams, capacities, found) | {"sucrose": account.to_json()}
        typer.echo(json.dumps(told, ensure_ascii=False, indent=1))
        return
    for section in plant.description.sections:
        _print_streams(section, [r for r in streams if r.section == section])
    if out.width < WIDE:
        out.print(f"Where each stream goes is shown on {WIDE} columns, and by --csv and --json.")
    _print_capacities(capacities)
    _print_sucrose(account)
    _say_assumed(found)


def _csv(rows: list[Any]) -> str:
    from canewright.plant.showing import UNITS, written

    heads = ["section", "station", "kind", "stream", "to", *(f"{c}, {u}" for c, u in UNITS.items())]
    return written(heads, ([r.section, r.station, r.kind, r.stream, r.to, *r.values.values()] for r in rows))


def _shown_data(plant: Plant, streams: list[Any], capacities: list[Any], found: Examined) -> dict[str, Any]:
    from canewright.plant.showing import UNITS

    return {
        "plant": plant.description.name,
        "units": UNITS,
        "streams": [vars(r) for r in streams],
        "capacities": [{**vars(r), "share": r.share} for r in capacities],
        "assumed": {
            "settings": found.settings, "assumed": found.count, "held": len(found.held), "idle": len(found.idle),
            "prices": found.prices, "figure": found.figure, "unit": found.unit,
            "most": [{**vars(w.assumption), "moves": w.moves} for w in found.most],
        },
    }  # fmt: skip


WIDE = 120
"""Characters of a screen on which the table of streams also says where each goes."""
BROKEN = {"dry substance": "dry\nsubstance", "temperature": "temper-\nature"}
"""Headings that take two lines."""


def _print_streams(section: str, rows: list[Any]) -> None:
    """A section's streams; columns that none of them has are left out."""
    from canewright.plant.showing import UNITS

    shown = [c for c in UNITS if any(r.values[c] is not None for r in rows)]
    table = Table(title=section, title_justify="left", box=None, pad_edge=False, collapse_padding=True)
    table.add_column("stream", overflow="fold", min_width=20)
    if out.width >= WIDE:
        table.add_column("to", overflow="fold", min_width=20)
    for column in shown:
        table.add_column(f"{BROKEN.get(column, column)}\n{UNITS[column]}", justify="right", no_wrap=True)
    for r in rows:
        ends = [r.stream, r.to] if out.width >= WIDE else [r.stream]
        table.add_row(*ends, *(_cell(r.values[c]) for c in shown))
    out.print(table)


def _cell(value: float | None) -> str:
    if value is None:
        return ""
    return f"{value:,.0f}" if abs(value) >= 1000 else f"{value:.4g}"


def _print_capacities(rows: list[Any]) -> None:
    if not rows:
        return
    table = Table(title="capacities", title_justify="left", box=None, pad_edge=False)
    for head in ("station", "limit"):
        table.add_column(head, overflow="fold")
    for head in ("used", "there is"):
        table.add_column(head, justify="right", no_wrap=True)
    table.add_column("unit", no_wrap=True)
    table.add_column("full\n%", justify="right", no_wrap=True)
    for r in rows:
        share = "" if r.share is None else f"{r.share:.0f}"
        table.add_row(r.station, r.limit, _cell(r.used), _cell(r.available), "" if r.unit == "1" else r.unit, share)
    out.print(table)


def _print_sucrose(account: SucroseAccount) -> None:
    """Every way that sucrose comes and goes over the day, largest first."""
    for title, ways in (("sucrose comes by", account.came), ("sucrose goes by", account.went)):
        table = Table(title=title, title_justify="left", box=None, pad_edge=False)
        for head in ("way", "station"):
            table.add_column(head, overflow="fold")
        table.add_column("t/d", justify="right", no_wrap=True)
        table.add_column("%", justify="right", no_wrap=True)
        for way in ways:
            table.add_row(way.name, way.station, _cell(way.tonnes), f"{way.share:.3f}")
        if ways:
            out.print(table)


# --- sensitivity ------------------------------------------------------------------------------------------------------


@plant_app.command("sensitivity")
def plant_sensitivity(
    path: PlantFile,
    of: Annotated[str, typer.Option("--of", help="stream or trade name, or a station's result")],
    quantity: Annotated[str, typer.Option("--quantity", help="what of it, such as 'dry substance' or 'itself'")],
    most: Annotated[int, typer.Option("--most", min=1, help="how many settings to list")] = 15,
    as_json: Annotated[bool, typer.Option("--json", help="print as JSON, every setting")] = False,
) -> None:
    """How a quantity answers the settings: exact derivatives along all equations, the strongest first."""
    from canewright.plant.sensitivity import NotAsked, answers, unit_of

    plant = read_plant(path)
    with plain_refusals():
        state = plant.predict()
    try:
        found = answers(plant, state, of, quantity)
    except NotAsked as lack:
        refuse_input(str(lack))
    unit = unit_of(plant, of, quantity)
    if as_json:
        rows = [{**vars(a), "by_one_per_cent": a.by_one_per_cent} for a in found]
        typer.echo(json.dumps({"of": of, "quantity": quantity, "unit": unit, "answers": rows}, indent=1))
        return
    title = f"{quantity} of {of}, {unit}: what one per cent more of a setting does"
    table = Table(title=title, title_justify="left", box=None, pad_edge=False)
    table.add_column("setting", overflow="fold")
    for head in ("value", "unit", f"+1 %, {unit}", f"{unit} per unit"):
        table.add_column(head, justify="left" if head == "unit" else "right", no_wrap=True)
    for a in found[:most]:
        table.add_row(a.setting, _cell(a.value), a.unit, f"{a.by_one_per_cent:+.3g}", f"{a.slope:+.4g}")
    out.print(table)
    if len(found) > most:
        out.print(f"{len(found) - most} weaker ones not shown; --most shows more.")


# --- fit --------------------------------------------------------------------------------------------------------------


@plant_app.command("fit")
def plant_fit(
    business: Annotated[Path, typer.Option("--business", help="folder of the business: its store and description")],
    first: Annotated[str | None, typer.Option("--from", help="first day, such as 2031-06-02; else the first")] = None,
    last: Annotated[str | None, typer.Option("--to", help="last day; else the last")] = None,
    write: Annotated[bool, typer.Option("--write", help="write the fitted values into the description")] = False,
    reason: Annotated[str | None, typer.Option("--reason", help="why, kept with the former description")] = None,
    by: Annotated[str | None, typer.Option("--by", help="who does this; else this machine's account name")] = None,
    everything: Annotated[bool, typer.Option("--all", help="also what the days tell little of")] = False,
    as_json: Annotated[bool, typer.Option("--json", help="print as JSON")] = False,
) -> None:
    """Estimate the assumed settings from closed days, all days together; --write puts them into the description."""
    from canewright.accounts.fitting import fit_days

    if write and not (reason or "").strip():
        refuse_input("--write: found no reason; accepted: --reason with why the description changes")
    start = day_of(first) if first else dt.date.min
    end = day_of(last) if last else dt.date.max
    with open_books(business) as books:
        with out.status("fitting") as status:
            found = fit_days(books, start, end, status.update)
        if as_json:
            typer.echo(json.dumps(_fit_data(found), ensure_ascii=False, indent=1))
        else:
            _print_fit(found, everything=everything)
        if write:
            _write_fit(books, business, found, person(by), str(reason))
        elif not as_json:
            out.print("Nothing was written; --write with --reason puts these values into the description.")


def _fit_data(found: Fit) -> dict[str, Any]:
    return {
        "days": [d.isoformat() for d in found.days],
        "left out": {d.isoformat(): why for d, why in found.left_out.items()},
        "settings": [
            {
                "name": s.assumption.name, "says": s.assumption.says, "unit": s.assumption.unit,
                "old": s.assumption.value, "old uncertainty": s.assumption.uncertainty, "new": s.value,
                "uncertainty": s.uncertainty, "told": s.told, "varies": s.varies, "at limit": s.at_limit,
            }
            for s in found.settings
        ],
        "objective": found.objective, "level": found.level, "readings": found.freedom, "passes": found.passes,
        "meter errors": {tag: {"value": b, "uncertainty": u} for tag, (b, u) in found.biases.items()},
    }  # fmt: skip


def _print_fit(found: Fit, *, everything: bool) -> None:
    rows = sorted(found.settings, key=lambda s: -s.told)
    shown = rows if everything else [s for s in rows if s.told >= SHOWN_TOLD or s.at_limit]
    out.print(
        f"{len(found.days)} days, {found.days[0]} to {found.days[-1]}; {found.freedom} readings. "
        "New values with half of a 95 % interval.",
        markup=False,
    )
    table = Table(box=None, pad_edge=False)
    for head in ("setting", "unit"):
        table.add_column(head, overflow="fold")
    for head in ("assumed", "fitted", "told"):
        table.add_column(head, justify="right", no_wrap=True)
    table.add_column("", overflow="fold")
    for s in shown:
        unit = "" if s.assumption.unit == "1" else s.assumption.unit
        old = value_text(s.assumption.value, s.assumption.uncertainty)
        table.add_row(
            s.assumption.name, unit, old, value_text(s.value, s.uncertainty), f"{100 * s.told:.0f} %", _note(s)
        )
    out.print(table)
    if len(rows) > len(shown):
        out.print(f"Of {len(rows) - len(shown)} further assumptions these days tell nothing; --all lists them.")
    _print_fit_notes(found)


def _note(s: FittedSetting) -> str:
    if s.at_limit:
        return "held at its limit; not written"
    if s.daily is None:
        return ""
    found = "found to differ from day to day" if s.found_varying else "differs from day to day"
    return f"mean; {found}, {s.daily[0]:.4g} to {s.daily[1]:.4g}"


def _print_fit_notes(found: Fit) -> None:
    verdict = "agree" if found.passes else "do NOT agree"
    out.print(
        f"Readings and equations {verdict}: sum of squares {found.objective:.0f}, 95 % level {found.level:.0f}.",
        markup=False,
    )
    if not found.passes:
        out.print("The intervals are then too narrow: look first at the suspects of the single days.")
    for day, why in found.left_out.items():
        out.print(f"Left out: {day}: {why}", markup=False)
    for tag, (error, spread) in found.biases.items():
        if abs(error) > max(1.0, 2.0 * spread):
            out.print(f"{tag} seems to read {error:+.1f} of its standard uncertainties off on all days.", markup=False)


def _write_fit(books: Books, business: Path, found: Fit, by: str, reason: str) -> None:
    from canewright.accounts.fitting import described_anew, replace_description, worth_writing

    settings = worth_writing(found)
    if not settings:
        refuse("nothing was written: these days tell nothing of any assumption")
    own = business / PLANT_FILE
    try:
        text = described_anew(books.plant, found)
        kept = replace_description(business, own, text, by=by, reason=reason, when=now())
    except OSError as problem:
        refuse(f"{own} cannot be written: {problem.strerror}")
    out.print(f"wrote {len(settings)} fitted settings into {own}; the former description is {kept}", markup=False)
    out.print(
        "The days used here now stand in the description: closing them again with it would count their readings twice.",
        markup=False,
    )
