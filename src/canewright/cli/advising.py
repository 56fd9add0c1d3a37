"""Advice and what-if questions at the command line: what to move, what a change does, what matters, kept trials."""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from canewright.cli.advice_printing import print_advice, suspect_of
from canewright.cli.desk import day_of, open_books, out, person
from canewright.cli.handbook import refuse_input, write_new
from canewright.cli.what_if_printing import print_answer, print_bars, print_compared, print_trial, print_trials

if TYPE_CHECKING:
    import datetime as dt

    from canewright.accounts.books import Books
    from canewright.accounts.what_if import DayWhatIf
    from canewright.plant.what_if import Answer

Business = Annotated[Path, typer.Option("--business", help="folder of the business: its store and plant description")]
Day = Annotated[str, typer.Option("--day", help="factory day, such as 2031-08-14")]
By = Annotated[str | None, typer.Option("--by", help="who does this; else this machine's account name")]
Number = Annotated[int, typer.Argument(min=1, help="number of a kept trial")]

trials_app = typer.Typer(help="Kept what-if trials: list, show, compare, note, export.", no_args_is_help=True)


def register(app: typer.Typer) -> None:
    """Add these commands."""
    app.command()(advise)
    app.command("what-if")(what_if)
    app.command("what-matters")(what_matters)
    app.add_typer(trials_app, name="trials")


def advise(
    day: Day,
    business: Business = Path("demo-business"),
    only: Annotated[list[str] | None, typer.Option("--only", help="move only this handle; may be repeated")] = None,
    hold: Annotated[list[str] | None, typer.Option("--hold", help="do not touch this handle; may be repeated")] = None,
    as_json: Annotated[bool, typer.Option("--json", help="print the advice as JSON")] = False,
) -> None:
    """What to move from the day's reconciled state, what it gains, and what stands in the way."""
    when = day_of(day)
    with open_books(business) as books:
        _refuse_unknown(books, [*(only or []), *(hold or [])])
        with out.status("advising") as status:
            advice = books.advice(when, status.update, only or None, hold or ())
        if as_json:
            typer.echo(json.dumps(advice.to_json(), ensure_ascii=False, indent=1))
        else:
            print_advice(advice, suspect_of(books, when), books.plant.assembly.stations)


def _refuse_unknown(books: Books, names: Sequence[str]) -> None:
    from canewright.plant.faults import nearest

    known = [str(t["setting"]) for t in books.description.data.get("advice", {}).get("moves", [])]
    for name in names:
        if name not in known:
            refuse_input(f"no handle is called '{name}'; {nearest(name, known)}")


# --- what if ----------------------------------------------------------------------------------------------------------


def what_if(
    day: Day,
    changes: Annotated[
        list[str], typer.Argument(help='changes, each "setting=value", such as imbibition.on_fibre=230')
    ],
    business: Business = Path("demo-business"),
    everything: Annotated[bool, typer.Option("--all", help="print figures that do not change too")] = False,
    keep: Annotated[str | None, typer.Option("--keep", help="keep this trial under a name")] = None,
    note: Annotated[str, typer.Option("--note", help="a note on the kept trial")] = "",
    by: By = None,
    as_json: Annotated[bool, typer.Option("--json", help="print as JSON")] = False,
) -> None:
    """What changes of settings or inputs do to every figure, against the day's state, with the uncertainty of it."""
    when, asked = day_of(day), _changes(changes)
    with open_books(business) as books:
        questions = _questions(books, when)
        answer = _answer(questions, asked)
        kept = None
        if keep is not None:
            kept = books.keep_trial(when, person(by), keep, answer, note)
        if as_json:
            from canewright.accounts.what_if import answer_data

            typer.echo(json.dumps(answer_data(when, answer), ensure_ascii=False, indent=1))
        else:
            print_answer(answer, everything=everything)
        if kept is not None and not as_json:
            out.print(f"Kept as trial {kept.id}.")


def what_matters(
    figure: Annotated[str, typer.Argument(help="a figure of the day sheet, a quality, or 'money a day'")],
    day: Day,
    business: Business = Path("demo-business"),
    as_json: Annotated[bool, typer.Option("--json", help="print as JSON")] = False,
) -> None:
    """What moves a figure most: each handle over its step, each uncertain setting over its 95 % interval."""
    from canewright.plant.handles import AdviceRefused

    when = day_of(day)
    with open_books(business) as books:
        questions = _questions(books, when)
        try:
            with out.status("weighing settings"):
                bars = questions.tornado(figure)
        except AdviceRefused as lack:
            refuse_input(str(lack))
        told = next(t for t in questions.asked.told if t.name == figure)
        if as_json:
            typer.echo(json.dumps([{**vars(b), "swing": b.swing} for b in bars], ensure_ascii=False, indent=1))
        else:
            print_bars(told, bars)


def _changes(words: Sequence[str]) -> dict[str, float]:
    """Changes as typed."""
    found: dict[str, float] = {}
    for word in words:
        name, equals, text = word.rpartition("=")
        name = name.strip()
        if not equals or not name:
            refuse_input(f"found '{word[:60]}'; accepted: \"setting=value\", such as imbibition.on_fibre=230")
        if name in found:
            refuse_input(f"{name}: changed twice; give one value")
        try:
            found[name] = float(text)
        except ValueError:
            refuse_input(f"{name}: found '{text[:40]}'; accepted: a number")
    return found


def _questions(books: Books, day: dt.date) -> DayWhatIf:
    with out.status("reconciling the day") as status:
        return books.what_if(day, status.update)


def _answer(questions: DayWhatIf, changes: dict[str, float]) -> Answer:
    from canewright.plant.handles import AdviceRefused

    try:
        return questions.ask(changes)
    except AdviceRefused as lack:
        refuse_input(str(lack))


# --- kept trials ------------------------------------------------------------------------------------------------------


@trials_app.command("list")
def trials_list(
    business: Business = Path("demo-business"),
    day: Annotated[str | None, typer.Option("--day", help="only trials of this factory day")] = None,
) -> None:
    """Every kept trial, the newest first."""
    with open_books(business) as books:
        print_trials(books.store.trials(None if day is None else day_of(day)))


@trials_app.command("show")
def trials_show(number: Number, business: Business = Path("demo-business")) -> None:
    """One kept trial as it was answered, with its notes."""
    with open_books(business) as books:
        print_trial(books.store.trial(number))


@trials_app.command("compare")
def trials_compare(
    numbers: Annotated[list[int], typer.Argument(help="numbers of two kept trials or more")],
    business: Business = Path("demo-business"),
) -> None:
    """Kept trials side by side: the change of every figure that differs."""
    if len(set(numbers)) < 2:
        refuse_input(f"found {len(set(numbers))} trial; accepted: the numbers of two trials or more")
    with open_books(business) as books:
        print_compared([books.store.trial(n) for n in dict.fromkeys(numbers)])


@trials_app.command("note")
def trials_note(
    number: Number,
    text: Annotated[str, typer.Argument(help="the note")],
    business: Business = Path("demo-business"),
    by: By = None,
) -> None:
    """Add a note to a kept trial; what stands of it stays."""
    with open_books(business) as books:
        trial = books.store.note_trial(number, person(by), text)
    out.print(f"Trial {trial.id} has {len(trial.notes)} note{'' if len(trial.notes) == 1 else 's'}.")


@trials_app.command("export")
def trials_export(
    path: Annotated[Path, typer.Argument(help="file to write, .csv or .json; it must not be there yet")],
    business: Business = Path("demo-business"),
) -> None:
    """Write every kept trial with its answer and notes to a file."""
    from canewright.accounts.trials import trials_csv, trials_json

    writers = {".csv": trials_csv, ".json": trials_json}
    if path.suffix not in writers:
        refuse_input(f"{path}: found '{path.suffix}'; accepted: a name that ends in .csv or .json")
    with open_books(business) as books:
        text = writers[path.suffix](books.store.trials())
    write_new(path, text)
