"""The registers of the cane supply: read from files, listed, corrected, with the history of every entry."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from canewright.accounts.cane_formats import REGISTERS, RegisterFormat
from canewright.accounts.faults import BadRow, Faults, IntakeErrors
from canewright.accounts.formats import Problem, shown
from canewright.accounts.sheets import read_sheet
from canewright.cane.registers import Registers, nearest
from canewright.store import NewRegisterEntry, RegisterEntry, Store

GAP = "give the grower an agreement from that day, or correct its dates"


class RegisterRefused(ValueError):
    """An entry or correction that a register does not take; the message says what, and what is accepted."""


@dataclass(frozen=True)
class RegisterFiles:
    """Register files found right: the entries that are new, how many were stored before, and notes in words."""

    files: tuple[str, ...]
    new: tuple[NewRegisterEntry, ...]
    unchanged: int
    notes: tuple[str, ...]


def registers_of(store: Store) -> Registers:
    """The registers as they stand in the store."""
    return Registers(store.register_entries())


def read_registers(contents: Mapping[str, bytes], stored: Iterable[RegisterEntry]) -> RegisterFiles:
    """Read register files by name, as if all of them came at once. Raises IntakeErrors with every bad row."""
    faults = Faults()
    before = tuple(stored)
    standing = {(e.register, e.key, e.valid_from): e for e in before}
    rows: list[tuple[RegisterFormat, int, NewRegisterEntry]] = []
    unchanged = 0
    for each in REGISTERS.values():
        if each.form.name not in contents:
            continue
        seen: dict[tuple[str, dt.date], int] = {}
        for number, cells in read_sheet(each.form, contents[each.form.name], None, faults).rows:
            entry = _entry(each, number, cells)
            if _repeated(each, number, entry, seen, faults) or _contradicts(each, number, entry, standing, faults):
                continue
            if (each.name, entry.key, entry.valid_from) in standing:
                unchanged += 1
            else:
                rows.append((each, number, entry))
    whole = Registers((*before, *(entry for _, _, entry in rows)))
    for form, number, entry in rows:
        _refuse_unknown(form, number, entry, whole, faults)
    faults.raise_any()
    found = tuple(sorted(name for name in contents if name in {each.form.name for each in REGISTERS.values()}))
    return RegisterFiles(found, tuple(entry for _, _, entry in rows), unchanged, tuple(_notes(contents, found, whole)))


def _entry(each: RegisterFormat, number: int, cells: Mapping[str, Any]) -> NewRegisterEntry:
    details = {column.name: _plain(cells[column.name]) for column in each.fields}
    key, valid_from = str(cells[each.key.name]), cells["valid from"]
    return NewRegisterEntry(each.name, key, valid_from, details, f"{each.form.name} row {number}")


def _plain(value: Any) -> Any:
    return value.isoformat() if isinstance(value, dt.date) else value


def _repeated(
    each: RegisterFormat,
    number: int,
    entry: NewRegisterEntry,
    seen: dict[tuple[str, dt.date], int],
    faults: Faults,
) -> bool:
    first = seen.setdefault((entry.key, entry.valid_from), number)
    if first == number:
        return False
    found = f"{each.name} {entry.key} from {entry.valid_from} again, first in row {first}"
    faults.add(each.form.name, number, each.key.header, Problem(found, "each key once a day", "remove or correct one"))
    return True


def _contradicts(
    each: RegisterFormat,
    number: int,
    entry: NewRegisterEntry,
    standing: Mapping[tuple[str, str, dt.date], RegisterEntry],
    faults: Faults,
) -> bool:
    old = standing.get((each.name, entry.key, entry.valid_from))
    if old is None or old.details == entry.details:
        return False
    there, told = old.details or {}, entry.details or {}
    for name, value in told.items():
        if there.get(name) != value:
            header = next(column.header for column in each.fields if column.name == name)
            stored = f"the stored {there.get(name, 'end of the entry')} (entry {old.id})"
            do = f"if the file is right, correct entry {old.id} with a reason"
            faults.add(each.form.name, number, header, Problem(f"'{value}'", stored, do))
    return True


def _refuse_unknown(
    each: RegisterFormat, number: int, entry: NewRegisterEntry, whole: Registers, faults: Faults
) -> None:
    for column, register in each.refers.items():
        own_key = column == each.key.name  # what is told of a block may be older than its entry
        name = entry.key if own_key else str((entry.details or {})[column])
        if whole.one(register, name, entry.valid_from) is not None or (own_key and whole.spans(register, name)):
            continue
        spans = whole.spans(register, name)
        if spans:
            problem = Problem(
                f"'{name}', which the {register} register has only from {spans[0].start}",
                f"a {register} that holds on {entry.valid_from}",
                f"correct the day here, or the first day of {register} {name}",
            )
        else:
            near = nearest(name, whole.keys(register))
            hint = f"did you mean {' or '.join(near)}" if near else f"enter the {register} first"
            problem = Problem(f"'{shown(name)}'", f"a {register} of the register", hint)
        faults.add(each.form.name, number, column, problem)


def _notes(contents: Mapping[str, bytes], found: tuple[str, ...], whole: Registers) -> list[str]:
    """What is no fault but should be known: files passed over, and growers without an agreement."""
    notes = [f"{name} was not read: it is no register" for name in sorted(contents) if name not in found]
    growers = {str(span.details["grower"]) for farm in whole.keys("farm") for span in whole.spans("farm", farm)}
    signed = {str(s.details["grower"]) for key in whole.keys("agreement") for s in whole.spans("agreement", key)}
    without = sorted(growers - signed)
    if without:
        named = ", ".join(without[:8]) + (f" and {len(without) - 8} more" if len(without) > 8 else "")
        notes.append(f"no agreement of {named}: {GAP}")
    return notes


def read_folder(path: Path, store: Store) -> RegisterFiles:
    """Read one register file, or all those of a folder. Raises IntakeErrors."""
    paths = sorted(path.glob("*.csv")) if path.is_dir() else [path]
    known = {each.form.name for each in REGISTERS.values()}
    if not any(each.name in known for each in paths):
        accepted = f"one of {', '.join(sorted(known))}, or a folder with such files"
        raise IntakeErrors([BadRow(str(path), 0, "", "no register file", accepted, "name the file as the register")], 1)
    contents = {}
    for each in paths:
        try:
            contents[each.name] = each.read_bytes()
        except OSError as trouble:
            found = trouble.strerror or "an unreadable file"
            raise IntakeErrors([BadRow(str(each), 0, "", found, "a file that may be read", "check it")], 1) from trouble
    return read_registers(contents, store.register_entries())


def import_registers(store: Store, files: RegisterFiles, by: str) -> int:
    """Store what was read, all or none; gives how many entries. Raises the store's errors."""
    return store.add_register_entries(files.new, by)


def register_called(name: str) -> RegisterFormat:
    """A register by its name, in the singular or as its file is called. Raises RegisterRefused with what there is."""
    for each in REGISTERS.values():
        if name in {each.name, each.form.name, each.form.name.removesuffix(".csv"), each.name.replace(" ", "-")}:
            return each
    near = nearest(name, REGISTERS)
    hint = f"did you mean {' or '.join(near)}" if near else f"accepted: {', '.join(REGISTERS)}"
    raise RegisterRefused(f"register: found '{shown(name)}'; {hint}")


def entry_on(store: Store, register: str, key: str, day: dt.date) -> RegisterEntry:
    """The standing entry of a key that holds on a day. Raises RegisterRefused when there is none."""
    each = register_called(register)
    mine = [e for e in store.register_entries(each.name) if e.key == key and e.valid_from <= day]
    if not mine:
        near = nearest(key, {e.key for e in store.register_entries(each.name)})
        hint = f"; nearest: {', '.join(near)}" if near else "; the register is empty, import it first"
        raise RegisterRefused(f"{each.name}: found '{shown(key)}', which the register does not have on {day}{hint}")
    return mine[-1]


def correct_entry(
    store: Store,
    entry: RegisterEntry,
    changes: Mapping[str, str],
    by: str,
    reason: str,
    *,
    valid_from: dt.date | None = None,
    ends: bool = False,
) -> RegisterEntry:
    """Correct fields of an entry, given as typed; ``ends`` takes the key out of the register from that day on.

    Raises RegisterRefused for a field or value that the register does not take, and the store's errors.
    """
    each = register_called(entry.register)
    details = None if ends else dict(entry.details or {})
    for name, text in changes.items():
        if details is None:
            raise RegisterRefused(
                f"{each.name} {entry.key}: an entry that ends the key has no '{name}'; give one of both"
            )
        details[name] = _typed(each, name, text, store, valid_from or entry.valid_from)
    return store.correct_register_entry(entry.id, valid_from or entry.valid_from, details, by, reason)


def change_from(
    store: Store, entry: RegisterEntry, day: dt.date, changes: Mapping[str, str], by: str
) -> NewRegisterEntry:
    """Enter what holds of a key from a day on, by what is typed and else by the entry before it.

    Raises RegisterRefused, and the store's errors.
    """
    each = register_called(entry.register)
    details = dict(entry.details or {}) | {n: _typed(each, n, text, store, day) for n, text in changes.items()}
    new = NewRegisterEntry(entry.register, entry.key, day, details, "keyboard")
    store.add_register_entries([new], by)
    return new


def _typed(each: RegisterFormat, name: str, text: str, store: Store, day: dt.date) -> Any:
    column = next((c for c in each.fields if name in {c.name, c.header}), None)
    if column is None:
        raise RegisterRefused(
            f"{each.name}: found the field '{shown(name)}'; accepted: {', '.join(c.name for c in each.fields)}"
        )
    value = column.read(text.strip())
    if isinstance(value, Problem):
        raise RegisterRefused(
            f"{each.name}, {column.header}: found {value.found}; accepted: {value.accepted}; {value.do}"
        )
    refers = each.refers.get(column.name)
    if refers is not None and registers_of(store).one(refers, text.strip(), day) is None:
        near = nearest(text.strip(), registers_of(store).keys(refers))
        hint = f"nearest: {', '.join(near)}" if near else f"enter the {refers} first"
        raise RegisterRefused(f"{each.name}, {column.name}: found '{shown(text)}', no {refers} on {day}; {hint}")
    return _plain(value)
