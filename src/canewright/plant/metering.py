"""Meters, targets and roles of a plant description: what is read of a stream, what is held, what a stream is called."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from typing import Any

from canewright.plant.faults import Reader, is_number, nearest
from canewright.plant.measures import MEASURABLE, RESULT_QUANTITIES
from canewright.plant.standing import ONES_OWN, STANDINGS, Standing, read_standing
from canewright.plant.station import Result
from canewright.plant.streams import Stream
from canewright.plant.toml_lines import Path

FILES = ("meters", "laboratory", "stocks")
OVER_THE_DAY = "over the day"

Outlets = Mapping[str, type[Stream]]
Results = Mapping[str, Result]
Span = tuple[str, float, float, str]
"""Unit, lowest, highest and hint of something measured."""


COMMON_PART = 0.5
"""Part of a reading's variance taken as common to all days (calibration). From memory: random and systematic parts of
weighers and of analyses are of one size; a site's own check weighings should replace it."""
LEAST_OF_RANGE = 0.01
"""Part of the highest plausible reading below which a relative uncertainty does not shrink."""


@dataclass(frozen=True)
class Meter:
    """A meter or an analysis: what it reads, where, in what unit, how surely, and in which file it arrives.

    A laboratory result arrives under its ``sample``; any other reading under the meter's ``tag``.

    ``uncertainty`` and ``repeatability`` are in the unit; ``relative`` tells that they are in per cent of the reading.
    ``dilution`` is the water added to one part of the sample, by mass, before its brix is read: massecuites and
    molasses are beyond the range of a refractometer.
    """

    tag: str
    stream: str
    quantity: str
    unit: str
    uncertainty: float
    relative: bool
    file: str
    low: float
    high: float
    hint: str
    line: int
    sample: str
    dilution: float = 0.0
    repeatability: float = 0.0

    def standard_uncertainty(self, value: float, determinations: int = 1) -> float:
        """Standard uncertainty of the day's figure where this value is expected.

        ``repeatability`` is the part of a single determination that averages out over so many of them. A relative one
        does not shrink below that of a hundredth of the highest plausible reading: a meter that reads nothing is not
        known exactly. It has two significant digits, as the Guide to the expression of uncertainty in measurement
        (JCGM 100:2008, 7.2.6, from memory) reports one; so it does not stir with every reading.
        """
        lasting = self.uncertainty**2 + self.repeatability**2 / max(determinations, 1)
        if not self.relative:
            return math.sqrt(lasting)
        if not math.isfinite(value):
            value = self.high
        return float(f"{math.sqrt(lasting) / 100.0 * max(abs(value), LEAST_OF_RANGE * self.high):.1e}")

    def common_part(self, determinations: int = 1) -> float:
        """Part of the variance of a day's figure that is common to all days: all but the repeatability, where known."""
        if not self.repeatability:
            return COMMON_PART
        own = self.repeatability**2 / max(determinations, 1)
        return self.uncertainty**2 / (self.uncertainty**2 + own)


@dataclass(frozen=True)
class Target:
    """A quantity held at a value, and the setting that moves to hold it.

    ``uncertainty`` says how well a day keeps to the value: reconciliation may then move it. Zero holds it exactly.
    """

    stream: str
    quantity: str
    value: float
    moves: str
    line: int
    uncertainty: float = 0.0
    standing: Standing = ONES_OWN

    @property
    def name(self) -> str:
        """The name of the setting that holds this target's value."""
        return f"target.{self.stream} {self.quantity}"


_KEYS = {"tag", "stream", "quantity", "unit", "uncertainty", "file", "plausible", "sample", "dilution", "repeatability"}


def read_meters(reader: Reader, outlets: Outlets, results: Results) -> tuple[Meter, ...]:
    """Every meter of ``[[meters]]``; faults go to the reader."""
    found = []
    for i, table in enumerate(reader.array("meters")):
        path: Path = ("meters", i)
        reader.known(path, table, _KEYS)
        meter = _meter(reader, path, table, outlets, results)
        if meter is not None:
            found.append((path, meter))
    _each_once(reader, found)
    return tuple(meter for _, meter in found)


def _each_once(reader: Reader, found: list[tuple[Path, Meter]]) -> None:
    """A tag belongs to one meter, and one laboratory result to one analysis."""
    tags = Counter(m.tag for _, m in found)
    results = Counter((m.sample, m.quantity) for _, m in found if m.file == "laboratory")
    for path, meter in found:
        if tags[meter.tag] > 1:
            lines = ", ".join(str(m.line) for _, m in found if m.tag == meter.tag)
            reader.say(
                (*path, "tag"), f"'{meter.tag}' {tags[meter.tag]} times (meters of lines {lines})", "a tag used once"
            )
        if meter.file == "laboratory" and results[meter.sample, meter.quantity] > 1:
            reader.say(
                (*path, "sample"), f"{meter.quantity} of sample '{meter.sample}' more than once",
                "one meter for each determination of a sample; give the other sample another name",
            )  # fmt: skip


def _meter(reader: Reader, path: Path, table: Mapping[str, Any], outlets: Outlets, results: Results) -> Meter | None:
    file = str(table.get("file", "meters"))
    if file not in FILES:
        reader.fault((*path, "file"), table["file"], "meters, laboratory or stocks")
    stream, quantity = str(table.get("stream")), str(table.get("quantity"))
    uncertainty, relative = read_uncertainty(reader, (*path, "uncertainty"), table.get("uncertainty"))
    repeatability = _repeatability(reader, (*path, "repeatability"), table.get("repeatability"), relative=relative)
    span = _span(reader, path, table, outlets, results)
    if span is None:
        return None
    unit, lowest, highest, hint = span
    if file == "stocks" and quantity != OVER_THE_DAY:
        reader.fault((*path, "quantity"), quantity, f"'{OVER_THE_DAY}' of a stock change, for a meter of stocks")
    if "unit" in table and table["unit"] != unit:
        reader.fault((*path, "unit"), table["unit"], f"{unit} for {quantity}")
    low, high = _plausible(reader, (*path, "plausible"), table.get("plausible"), lowest, highest)
    tag = reader.words((*path, "tag"), table.get("tag", f"{stream} {quantity}"))
    sample = reader.words((*path, "sample"), table.get("sample", tag or stream))
    dilution = _dilution(reader, (*path, "dilution"), table.get("dilution", 0.0), quantity)
    line = reader.lined.line(*path)
    return Meter(
        tag, stream, quantity, unit, uncertainty, relative, file, low, high, hint, line, sample, dilution, repeatability
    )


def _repeatability(reader: Reader, path: Path, value: object, *, relative: bool) -> float:
    if value is None:
        return 0.0
    found, in_percent = read_uncertainty(reader, path, value)
    if in_percent != relative:
        reader.fault(path, value, "the same way as the uncertainty: both in the unit, or both in % of the reading")
    return found


def _dilution(reader: Reader, path: Path, value: object, quantity: str) -> float:
    if value and quantity != "refractometer brix":
        reader.fault(path, value, "nothing: only a refractometer brix is read on a diluted sample")
        return 0.0
    return reader.number(path, value, 0.0, 20.0)


def _span(reader: Reader, path: Path, table: Mapping[str, Any], outlets: Outlets, results: Results) -> Span | None:
    """What is measured: its unit, lowest, highest and hint, or None after a fault."""
    stream, quantity = str(table.get("stream")), str(table.get("quantity"))
    if stream in results:
        return _result_span(reader, path, quantity, results[stream])
    if stream not in outlets:
        reader.fault((*path, "stream"), table.get("stream"), nearest(stream, [*outlets, *results]))
        return None
    fits = quantities_of(outlets[stream])
    if quantity not in fits:
        reader.fault((*path, "quantity"), table.get("quantity"), f"{nearest(quantity, fits)} (what {stream} can tell)")
        return None
    measurable = MEASURABLE[quantity]
    return measurable.unit, measurable.low, measurable.high, measurable.hint


def _result_span(reader: Reader, path: Path, quantity: str, result: Result) -> Span | None:
    if quantity not in RESULT_QUANTITIES:
        reader.fault((*path, "quantity"), quantity, nearest(quantity, RESULT_QUANTITIES))
        return None
    if quantity != OVER_THE_DAY:
        return result.unit, *result.limits, ""
    if result.unit != "t/h":
        reader.fault(
            (*path, "quantity"), quantity, f"'itself': this result is in {result.unit} and is not a flow in t/h"
        )
        return None
    return "t", -1e6, 1e6, ""


def quantities_of(stream: type[Stream]) -> list[str]:
    """What can be measured of a kind of stream."""
    return [name for name, m in MEASURABLE.items() if issubclass(stream, m.of) and _has(stream, name)]


def _has(stream: type[Stream], quantity: str) -> bool:
    """Whether the stream carries what the quantity asks for: a steam has no brix, a power no mass."""
    needed = {"mass": "water", "mass flow": "water", "temperature": "temperature", "fibre": "fibre"}.get(quantity)
    return needed is None or needed in stream.holds


def read_uncertainty(reader: Reader, path: Path, value: object) -> tuple[float, bool]:
    """A standard uncertainty, and whether it is in per cent of the reading; a fault goes to the reader."""
    relative = isinstance(value, str) and value.strip().endswith("%")
    number: object = value
    if isinstance(value, str) and relative:
        try:
            number = float(value.strip()[:-1])
        except ValueError:
            number = None
    if is_number(number) and float(number) > 0:  # type: ignore[arg-type]
        return float(number), relative  # type: ignore[arg-type]
    reader.fault(path, value, 'a number above zero in the unit of the reading, or a text such as "0.4 %"')
    return 1.0, False


def _plausible(reader: Reader, path: Path, value: Any, low: float, high: float) -> tuple[float, float]:
    if value is None:
        return low, high
    if isinstance(value, list) and len(value) == 2:
        first = reader.number(path, value[0], low, high)
        return first, reader.number(path, value[1], first, high)
    reader.fault(path, value, "two numbers in square brackets, lowest and highest plausible reading")
    return low, high


LEAST_HELD = {"dry substance": 5.0, "refractometer brix": 5.0, "true purity": 20.0, "apparent purity": 20.0}
"""Least value, %, that a target may hold: below it stands a fraction typed by mistake, such as 0.65 for 65 %."""


def read_targets(reader: Reader, outlets: Outlets, moving: Collection[str]) -> tuple[Target, ...]:
    """Every target of ``[[targets]]``; ``moving`` names the settings of the stations. Faults go to the reader."""
    found = []
    for i, table in enumerate(reader.array("targets")):
        path: Path = ("targets", i)
        reader.known(path, table, {*STANDINGS, "stream", "quantity", "because", "moves", "uncertainty"})
        stream, quantity, moves = (str(table.get(k)) for k in ("stream", "quantity", "moves"))
        low, high = -1e9, 1e9
        if stream not in outlets:
            reader.fault((*path, "stream"), table.get("stream"), nearest(stream, outlets))
        elif quantity not in quantities_of(outlets[stream]):
            reader.fault((*path, "quantity"), table.get("quantity"), nearest(quantity, quantities_of(outlets[stream])))
        else:
            low, high = LEAST_HELD.get(quantity, MEASURABLE[quantity].low), MEASURABLE[quantity].high
        if moves not in moving:
            reader.fault((*path, "moves"), table.get("moves"), nearest(moves, moving))
        standing = read_standing(reader, path, table)
        value = reader.number((*path, standing.key), table.get(standing.key), low, high)
        spread = reader.number((*path, "uncertainty"), table.get("uncertainty", 0.0), 0.0, 1e9)
        found.append((path, Target(stream, quantity, value, moves, reader.lined.line(*path), spread, standing)))
    _targets_once(reader, found)
    return tuple(target for _, target in found)


def _targets_once(reader: Reader, found: list[tuple[Path, Target]]) -> None:
    moved = Counter(t.moves for _, t in found)
    held = Counter((t.stream, t.quantity) for _, t in found)
    for path, t in found:
        if moved[t.moves] > 1:
            reader.say(
                (*path, "moves"), f"'{t.moves}' moved by {moved[t.moves]} targets", "a setting moved by one target"
            )
        if held[t.stream, t.quantity] > 1:
            reader.say(path, f"{t.quantity} of {t.stream} held {held[t.stream, t.quantity]} times", "one target for it")


def read_roles(reader: Reader, outlets: Outlets) -> dict[str, str]:
    """The streams' trade names of ``[roles]``; faults go to the reader."""
    found = {}
    for role, stream in reader.table("roles").items():
        if not isinstance(stream, str) or stream not in outlets:
            reader.fault(("roles", role), stream, nearest(str(stream), outlets))
        found[role] = str(stream)
    return found
