"""Errors that several readings share: one polarimeter for all pols, one weigher used twice, a bias with a known size.

A common error is one more unknown of the day with the prior 0 ± its uncertainty; each of its meters is off by it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from canewright.plant.faults import Reader, nearest
from canewright.plant.metering import Meter, read_uncertainty
from canewright.plant.toml_lines import Path
from canewright.quantity import Num, constant

REACH = 30.0
"""How many of its uncertainties a common error may reach."""
PERCENT = constant(100.0, "%")


@dataclass(frozen=True)
class CommonError:
    """An error common to the readings of some meters: in their unit, or (``relative``) in per cent of each reading."""

    called: str
    meters: tuple[str, ...]
    uncertainty: float
    relative: bool
    unit: str
    line: int

    @property
    def name(self) -> str:
        """The name of the setting that holds it."""
        return f"common error.{self.called}"

    def on(self, said: Num, size: Num) -> Num:
        """What a meter reads where without this error of this size it would read ``said``."""
        return said * (PERCENT + size) / PERCENT if self.relative else said + size


def read_common_errors(reader: Reader, meters: Sequence[Meter]) -> tuple[CommonError, ...]:
    """Every common error of ``[[common_errors]]``; faults go to the reader."""
    known = {m.tag: m for m in meters}
    found: list[CommonError] = []
    for i, table in enumerate(reader.array("common_errors")):
        path: Path = ("common_errors", i)
        reader.known(path, table, {"name", "meters", "uncertainty", "says"})
        name = reader.words((*path, "name"), table.get("name"))
        uncertainty, relative = read_uncertainty(reader, (*path, "uncertainty"), table.get("uncertainty"))
        mine = _meters(reader, (*path, "meters"), table, known)
        units = sorted({known[tag].unit for tag in mine})
        if not relative and len(units) > 1:
            accepted = 'meters of one unit, or an uncertainty in per cent such as "0.3 %"'
            reader.fault((*path, "meters"), units, accepted)
        if any(other.called == name for other in found):
            reader.fault((*path, "name"), name, "a name used once")
        unit = "%" if relative or not units else units[0]
        found.append(CommonError(name, mine, uncertainty, relative, unit, reader.lined.line(*path)))
    return tuple(found)


def _meters(reader: Reader, path: Path, table: Mapping[str, Any], known: Mapping[str, Meter]) -> tuple[str, ...]:
    listed = table.get("meters")
    if not isinstance(listed, list) or not listed:
        reader.fault(path, listed, 'a list of meters by their tags, such as ["mixed juice pol", "bagasse pol"]')
        return ()
    for tag in listed:
        if tag not in known:
            reader.fault(path, tag, nearest(str(tag), known))
    if len(set(map(str, listed))) < len(listed):
        reader.fault(path, listed, "each meter once")
    return tuple(tag for tag in listed if tag in known)
