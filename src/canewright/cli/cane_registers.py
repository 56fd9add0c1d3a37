"""The registers of the cane supply at the command line: import, list, show, correct, change, end, history."""

from __future__ import annotations

import datetime as dt
import json
from pathlib import Path
from typing import Annotated, Any

import typer

from canewright.cli.cane_desk import (
    DEMO,
    Business,
    By,
    Reason,
    ToFile,
    changes_typed,
    day_typed,
    office,
    print_table,
    write_rows,
)
from canewright.cli.desk import now, out, person

register_app = typer.Typer(help="Growers, farms, blocks and the other registers, by day.", no_args_is_help=True)
Register = Annotated[str, typer.Argument(help="a register: grower, farm, block, variety, bin ...")]
Key = Annotated[str, typer.Argument(help="number or name within the register")]
OnDay = Annotated[str | None, typer.Option("--on", help="day as of which to look; else today")]
Set = Annotated[list[str] | None, typer.Option("--set", help="field=value, as often as needed")]
AsJson = Annotated[bool, typer.Option("--json", help="print as JSON")]


@register_app.command("import")
def register_import(
    path: Annotated[Path, typer.Argument(help="a register file, or a folder with several")],
    business: Business = DEMO,
    by: By = None,
    check: Annotated[bool, typer.Option("--check", help="only check; store nothing")] = False,
) -> None:
    """Import register files, all of them or none; every bad row is listed by row and column."""
    from canewright.accounts.cane_registers import import_registers, read_folder

    with office(business) as books:
        read = read_folder(path, books.store)
        for note in read.notes:
            out.print(f"Note: {note}", markup=False)
        if check:
            out.print(f"would store {len(read.new)} entries; {read.unchanged} are stored already")
            return
        out.print(
            f"stored {import_registers(books.store, read, person(by))} entries; {read.unchanged} were stored before"
        )


@register_app.command("list")
def register_list(
    register: Register, business: Business = DEMO, on: OnDay = None, csv: ToFile = None, as_json: AsJson = False
) -> None:
    """List a register as it stands on a day."""
    from canewright.accounts.cane_office import usual_day
    from canewright.accounts.cane_registers import register_called, registers_of

    with office(business) as books:
        each = register_called(register)
        day = day_typed(on, usual_day(books, now().date()))
        found = registers_of(books.store).at(each.name, day)
        if as_json:
            typer.echo(json.dumps(found, ensure_ascii=False, indent=1))
            return
        names = [column.name for column in each.fields]
        rows = [[key, *(str(details.get(name, "")) for name in names)] for key, details in sorted(found.items())]
        headers = [each.key.header, *(column.header for column in each.fields)]
        if csv is not None:
            write_rows(csv, headers, rows)
            return
        print_table(f"{each.name} register on {day}: {len(rows)}", headers, rows)
        entries = books.store.register_entries(each.name)
        if not rows and entries:
            out.print(f"its first entry holds from {min(e.valid_from for e in entries)}; give a day with --on")


@register_app.command("show")
def register_show(register: Register, key: Key, business: Business = DEMO, on: OnDay = None) -> None:
    """Show what a register says of a key on a day, and which entry says it."""
    from canewright.accounts.cane_office import usual_day
    from canewright.accounts.cane_registers import entry_on, register_called

    with office(business) as books:
        each = register_called(register)
        entry = entry_on(books.store, each.name, key, day_typed(on, usual_day(books, now().date())))
        out.print(f"{each.name} {key}, from {entry.valid_from} (entry {entry.id}, by {entry.entered_by})", markup=False)
        if entry.details is None:
            out.print("  no longer in the register")
        for column in each.fields:
            if entry.details is not None:
                out.print(f"  {column.header}: {entry.details.get(column.name)}", markup=False)


@register_app.command("history")
def register_history(register: Register, key: Key, business: Business = DEMO) -> None:
    """Every entry ever made of a key: who, when, why, what was and what is."""
    from canewright.accounts.cane_registers import register_called

    with office(business) as books:
        each = register_called(register)
        entries = books.store.register_history(each.name, key)
        by_number = {entry.id: entry for entry in entries}
        for entry in entries:
            old = by_number.get(entry.supersedes) if entry.supersedes is not None else None
            why = f", instead of entry {entry.supersedes}: {entry.reason}" if entry.supersedes else ""
            when = f"{entry.entered_at:%Y-%m-%d %H:%M} UTC by {entry.entered_by}"
            out.print(f"entry {entry.id}, from {entry.valid_from}, {when}, {entry.source}{why}", markup=False)
            out.print(f"  {_difference(old.details if old else None, entry.details)}", markup=False)


def _difference(old: Any, new: Any) -> str:
    if new is None:
        return "taken out of the register"
    if old is None:
        return "; ".join(f"{name} {value}" for name, value in new.items())
    changed = [f"{name}: {old.get(name)} became {value}" for name, value in new.items() if old.get(name) != value]
    return "; ".join(changed) or "only the day changed"


@register_app.command("correct")
def register_correct(
    register: Register,
    key: Key,
    reason: Reason,
    changes: Set = None,
    business: Business = DEMO,
    on: OnDay = None,
    valid_from: Annotated[str | None, typer.Option("--valid-from", help="the right first day of the entry")] = None,
    by: By = None,
) -> None:
    """Correct the entry that holds on a day, because it was wrong; the old one stays in the history."""
    from canewright.accounts.cane_office import usual_day
    from canewright.accounts.cane_registers import correct_entry, entry_on

    with office(business) as books:
        entry = entry_on(books.store, register, key, day_typed(on, usual_day(books, now().date())))
        start = day_typed(valid_from, entry.valid_from)
        new = correct_entry(books.store, entry, changes_typed(changes), person(by), reason, valid_from=start)
        out.print(
            f"entry {new.id} stands in place of entry {entry.id}: {_difference(entry.details, new.details)}",
            markup=False,
        )


@register_app.command("change")
def register_change(
    register: Register,
    key: Key,
    from_day: Annotated[str, typer.Option("--from", help="the first day on which it holds")],
    changes: Set = None,
    business: Business = DEMO,
    by: By = None,
) -> None:
    """Enter what holds of a key from a day on: another grower of a farm, the next ratoon of a block."""
    from canewright.accounts.cane_registers import change_from, entry_on

    with office(business) as books:
        day = day_typed(from_day, dt.date.min)
        entry = entry_on(books.store, register, key, day)
        new = change_from(books.store, entry, day, changes_typed(changes), person(by))
        out.print(f"{new.register} {key} from {day}: {_difference(entry.details, new.details)}", markup=False)


@register_app.command("end")
def register_end(
    register: Register,
    key: Key,
    from_day: Annotated[str, typer.Option("--from", help="the first day on which it is no longer there")],
    business: Business = DEMO,
    by: By = None,
) -> None:
    """Take a key out of a register from a day on; what was before stays."""
    from canewright.accounts.cane_registers import entry_on
    from canewright.store import NewRegisterEntry

    with office(business) as books:
        day = day_typed(from_day, dt.date.min)
        entry = entry_on(books.store, register, key, day)
        books.store.add_register_entries([NewRegisterEntry(entry.register, key, day, None, "keyboard")], person(by))
        out.print(f"{entry.register} {key} is out of the register from {day}", markup=False)
