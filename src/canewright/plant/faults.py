"""Faults of a plant description, and the reader that collects them: line, field, what was found, what is accepted."""

from __future__ import annotations

import difflib
import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from canewright.plant.toml_lines import LinedToml, Path

LONGEST = 60
"""Most characters of a found value that a message repeats."""
NOTHING = "nothing"


@dataclass(frozen=True)
class Fault:
    """One fault in a plant description: where, what was found, what is accepted."""

    line: int
    field: str
    found: str
    accepted: str

    def __str__(self) -> str:
        """The fault as one line of text."""
        return f"line {self.line}: {self.field}: found {self.found}; accepted: {self.accepted}"


class DescriptionFaults(ValueError):
    """A plant description that cannot be used; ``faults`` lists every one found."""

    def __init__(self, faults: Iterable[Fault]) -> None:
        """Keep the faults in order of line."""
        self.faults = sorted(faults, key=lambda f: f.line)
        super().__init__("\n".join(str(f) for f in self.faults))


def nearest(word: str, known: Iterable[str]) -> str:
    """The accepted words, with the nearest first: for messages about a word that is not known."""
    known = sorted(set(known))
    if not known:
        return "none: there is nothing of this sort in the description"
    close = difflib.get_close_matches(word, known, n=3, cutoff=0.4)
    return f"did you mean '{close[0]}'? known: {', '.join(known)}" if close else f"one of {', '.join(known)}"


def found_text(value: object) -> str:
    """A found value as a message shows it: as it stands in the file, short and on one line."""
    if value is None:
        return NOTHING
    if isinstance(value, dict):
        return f"a table with {', '.join(str(k) for k in value)}"[:LONGEST] if value else "an empty table"
    if isinstance(value, bool):
        return "true" if value else "false"
    shown = repr(value) if isinstance(value, (str, int, float, list)) else str(value)
    return shown if len(shown) <= LONGEST else f"{shown[: LONGEST - 3]}..."


def field_name(path: Path) -> str:
    """A key path as a person would say it; the members of an array of tables count from 1."""
    words: list[str] = []
    for part in path:
        if isinstance(part, int) and words:
            words[-1] = f"{words[-1]} {part + 1}"
        else:
            words.append(str(part))
    return ".".join(words) or "file"


def limits_text(low: float, high: float) -> str:
    """``a number from 0 to 24``, with only the limits that there are."""
    if math.isfinite(low) and math.isfinite(high):
        return f"a number from {low:g} to {high:g}"
    return f"a number of at least {low:g}" if math.isfinite(low) else "a number"


def is_number(value: object) -> bool:
    """Whether a TOML value is a finite number (true and false are not)."""
    return isinstance(value, (int, float)) and not isinstance(value, bool) and math.isfinite(value)


@dataclass
class Reader:
    """Reads parts of a parsed description and collects every fault instead of stopping at the first."""

    lined: LinedToml
    faults: list[Fault] = field(default_factory=list)

    def fault(self, path: Path, found: object, accepted: str) -> None:
        """Note a fault at a key path: the value found there and what would be accepted."""
        self.say(path, found_text(found), accepted)

    def say(self, path: Path, found: str, accepted: str) -> None:
        """Note a fault whose ``found`` is already a sentence rather than a value; the same fault only once."""
        fault = Fault(self.lined.line(*path), field_name(path), found, accepted)
        if fault not in self.faults:
            self.faults.append(fault)

    def table(self, *path: str) -> dict[str, Any]:
        """A table by its path; empty where it is absent or not a table, which is a fault."""
        value: Any = self.lined.data
        for part in path:
            value = value.get(part, {}) if isinstance(value, dict) else {}
        if isinstance(value, dict):
            return value
        self.fault(path, value, f"a table [{'.'.join(path)}]")
        return {}

    def array(self, name: str, table: Mapping[str, Any] | None = None, path: Path = ()) -> list[dict[str, Any]]:
        """An array of tables by its name, within a table or at the top; empty where absent or of another sort."""
        value = (self.lined.data if table is None else table).get(name, [])
        if isinstance(value, list) and all(isinstance(v, dict) for v in value):
            return value
        whole = ".".join(str(p) for p in (*path, name))
        self.fault((*path, name), value, f"tables, each beginning with [[{whole}]]")
        return []

    def number(self, path: Path, value: object, low: float = -math.inf, high: float = math.inf) -> float:
        """A finite number within limits; after a fault some number that keeps the reading going."""
        if is_number(value) and low <= float(value) <= high:  # type: ignore[arg-type]
            return float(value)  # type: ignore[arg-type]
        self.fault(path, value, limits_text(low, high))
        return max(low, min(high, 1.0)) if math.isfinite(low) else 1.0

    def words(self, path: Path, value: object) -> str:
        """A text that is not blank; after a fault an empty one."""
        if isinstance(value, str) and value.strip() and value.isprintable():
            return value
        self.fault(path, value, "a text in quotes")
        return ""

    def known(self, path: Path, table: Mapping[str, Any], accepted: Iterable[str]) -> None:
        """Note every key of a table that is not accepted, with the nearest that is."""
        accepted = set(accepted)
        for key in table:
            if key not in accepted:
                self.fault((*path, key), key, nearest(key, accepted))
