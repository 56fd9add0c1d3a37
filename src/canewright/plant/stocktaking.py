"""Stores kept by a ledger, what moves in and out of them, and waters in which sugar is looked for.

No equation uses these: they are bookkeeping and watching beside the balances.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from canewright.plant.faults import Reader, nearest
from canewright.plant.metering import Meter, Outlets, read_uncertainty
from canewright.plant.streams import Liquor
from canewright.plant.toml_lines import Path

TRACE = "sugar"
"""The determination of sugar in a water, mg/kg."""
MOST_TRACE = 50000.0


@dataclass(frozen=True)
class Movement:
    """A weigher of what moves to or from a store beside the plant's meters; its uncertainty in % of the mass."""

    tag: str
    uncertainty: float


@dataclass(frozen=True)
class Ledger:
    """A store kept by book: opening stock t, weighers of receipts and issues, and how sure a survey is, % of it."""

    store: str
    opening: float
    receipts: tuple[str, ...]
    issues: tuple[str, ...]
    survey: float


@dataclass(frozen=True)
class Trace:
    """A water in which sugar is looked for: its sample, its stream, the limit in mg/kg, and whether boilers get it."""

    sample: str
    stream: str
    limit: float
    to_boilers: bool


def movements_of(data: Mapping[str, Any]) -> tuple[Movement, ...]:
    """The movements of a description that was found right."""
    return tuple(Movement(tag, float(str(u).strip("% "))) for tag, u in data.get("movements", {}).items())


def ledgers_of(data: Mapping[str, Any]) -> tuple[Ledger, ...]:
    """The ledgers of a description that was found right."""
    return tuple(
        Ledger(t["store"], float(t["opening"]), tuple(t["receipts"]), tuple(t["issues"]), float(t["survey"]))
        for t in data.get("ledgers", [])
    )


def traces_of(data: Mapping[str, Any]) -> tuple[Trace, ...]:
    """The watched waters of a description that was found right."""
    return tuple(
        Trace(t["sample"], t["stream"], float(t["limit"]), bool(t.get("to_boilers", False)))
        for t in data.get("traces", [])
    )


def read_stocktaking(reader: Reader, outlets: Outlets, meters: tuple[Meter, ...]) -> None:
    """Check ``[movements]``, ``[[ledgers]]`` and ``[[traces]]``; faults go to the reader."""
    masses = {m.tag for m in meters if m.file == "meters" and m.quantity == "mass"}
    moved = reader.table("movements")
    for tag, value in moved.items():
        if tag in {m.tag for m in meters}:
            reader.say(("movements", tag), f"'{tag}', which is a meter already", "a name that no meter has")
        _, relative = read_uncertainty(reader, ("movements", tag), value)
        if not relative:
            reader.fault(("movements", tag), value, 'an uncertainty in % of the mass, such as "0.2 %"')
    for i, table in enumerate(reader.array("ledgers")):
        _ledger(reader, ("ledgers", i), table, masses | set(moved))
    for i, table in enumerate(reader.array("traces")):
        _trace(reader, ("traces", i), table, outlets)


def _ledger(reader: Reader, path: Path, table: Mapping[str, Any], weighed: set[str]) -> None:
    reader.known(path, table, {"store", "opening", "receipts", "issues", "survey"})
    reader.words((*path, "store"), table.get("store"))
    reader.number((*path, "opening"), table.get("opening"), 0.0, 1e6)
    reader.number((*path, "survey"), table.get("survey"), 0.01, 100.0)
    for key in ("receipts", "issues"):
        listed = table.get(key)
        if not isinstance(listed, list) or not listed:
            reader.fault((*path, key), listed, "a list of weighers, tags of meters of mass or names of [movements]")
            continue
        for tag in listed:
            if tag not in weighed:
                reader.fault((*path, key), tag, nearest(str(tag), weighed))


def _trace(reader: Reader, path: Path, table: Mapping[str, Any], outlets: Outlets) -> None:
    reader.known(path, table, {"sample", "stream", "limit", "to_boilers"})
    reader.words((*path, "sample"), table.get("sample"))
    reader.number((*path, "limit"), table.get("limit"), 0.1, MOST_TRACE)
    watery = {n for n, kind in outlets.items() if "water" in kind.holds and not issubclass(kind, Liquor)}
    if table.get("stream") not in watery:
        reader.fault((*path, "stream"), table.get("stream"), nearest(str(table.get("stream")), watery))
    if not isinstance(table.get("to_boilers", False), bool):
        reader.fault((*path, "to_boilers"), table.get("to_boilers"), "true or false")
