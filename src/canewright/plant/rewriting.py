"""A plant description with some of its numbers replaced, every other line kept as the person wrote it."""

from __future__ import annotations

import copy
import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from canewright.plant.standing import ASSUMED, FITTED
from canewright.plant.toml_lines import LinedToml, Path, TomlSyntax, read_lined


class CannotRewrite(ValueError):
    """A number that stands so in the text that it cannot be replaced without touching more; the message names it."""


@dataclass(frozen=True)
class Fitted:
    """What takes the place of an assumption: value, standard uncertainty, and the reason."""

    value: float
    uncertainty: float
    because: str

    def table(self, before: object) -> dict[str, Any]:
        """The new table of the setting; limits that stood there stay."""
        kept = {"limits": before["limits"]} if isinstance(before, dict) and "limits" in before else {}
        return {FITTED: self.value, "uncertainty": self.uncertainty, **kept, "because": self.because}


def rewritten(text: str, fitted: Mapping[str, Fitted], targets: Mapping[str, int]) -> str:
    """The text with these settings replaced; ``targets`` gives the place of each target's name in the file.

    Raises CannotRewrite where a number cannot be replaced alone.
    """
    for name, new in fitted.items():
        text = _target(text, targets[name], name, new) if name in targets else _setting(text, name, new)
    return text


def _setting(text: str, name: str, new: Fitted) -> str:
    lined = read_lined(text)
    parent, _, key = name.rpartition(".")
    path: Path = ("links", key) if parent == "links" else ("stations", parent, key)
    expected = copy.deepcopy(lined.data)
    table = expected.setdefault("links", {}) if parent == "links" else expected["stations"][parent]
    before = table.get(key)
    table[key] = new.table(before)
    line = f"{key} = {_inline(table[key])}"
    lines = text.split("\n")
    if before is not None:
        lines[lined.line(*path) - 1] = line
    elif parent == "links" and "links" not in lined.data:
        lines += ["[links]", line, ""]
    else:
        lines.insert(lined.line(*path[:-1]), line)
    return _checked(lines, expected, name)


def _target(text: str, place: int, name: str, new: Fitted) -> str:
    lined = read_lined(text)
    expected = copy.deepcopy(lined.data)
    table = expected["targets"][place]
    gone = [k for k in (ASSUMED, "uncertainty", "because") if k in table]
    at = sorted({lined.line("targets", place, k) for k in gone}, reverse=True)
    for key in gone:
        del table[key]
    table |= new.table(None)
    lines = text.split("\n")
    for number in at:
        del lines[number - 1]
    lines[at[-1] - 1 : at[-1] - 1] = [f"{k} = {_toml(v)}" for k, v in new.table(None).items()]
    return _checked(lines, expected, name)


def _inline(table: Mapping[str, Any]) -> str:
    return f"{{ {', '.join(f'{k} = {_toml(v)}' for k, v in table.items())} }}"


def _toml(value: object) -> str:
    return json.dumps(value, ensure_ascii=False)


def _checked(lines: list[str], expected: Mapping[str, Any], name: str) -> str:
    """The new text, only where it reads as the old one with this one number replaced."""
    text = "\n".join(lines)
    try:
        found: LinedToml | None = read_lined(text)
    except TomlSyntax:
        found = None
    if found is None or found.data != expected:
        raise CannotRewrite(f"{name} does not stand on one line of its own; write it in by hand")
    return text
