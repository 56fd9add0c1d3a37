"""What advice keeps to: quality limits and specifications with a probability, and every station's capacities."""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.stats import norm

from canewright.engine import Limit
from canewright.engine.model import Expressions, Values, Vector
from canewright.engine.sensitivity import total_slope
from canewright.plant.measures import MEASURABLE
from canewright.plant.plant import Plant, Reconciled, State
from canewright.plant.station import Station
from canewright.plant.streams import Stream
from canewright.quantity import Dimensional, Num, noting_breaches

PROBABILITY = 0.95
"""Probability with which a product's property is kept where the description states none."""
FLOWS = 1e-6
"""Flow, t/h, below which a stream stands still and its qualities are rounding."""
Build = Callable[[Values], Num]


@dataclass(frozen=True)
class Held:
    """Something with a limit: the sentence, its unit, its ends, the probability asked for, and the expression.

    ``capacity`` tells a station's capacity, whose expression is what is used less what there is; ``stream`` whose
    quality it is.
    """

    sentence: str
    unit: str
    low: float
    high: float
    probability: float | None
    build: Build
    capacity: bool = False
    stream: str = ""


@dataclass(frozen=True)
class KeptLimit:
    """A limit with its margin, today's value and the advised one."""

    sentence: str
    unit: str
    low: float
    high: float
    margin: float
    probability: float | None
    now: float
    then: float
    capacity: bool


def held_by(plant: Plant) -> list[Held]:
    """Quality limits of ``[[advice.limits]]``, specifications of ``[products]`` beyond those, and all capacities."""
    return [*_qualities(plant), *_products(plant), *_capacities(plant)]


def _qualities(plant: Plant) -> Iterator[Held]:
    for table in plant.description.data.get("advice", {}).get("limits", []):
        stream, quantity = str(table["stream"]), str(table["quantity"])
        ends = float(table.get("low", -math.inf)), float(table.get("high", math.inf))
        sure = float(table["probability"]) if "probability" in table else None
        says = str(table.get("says", f"{quantity} of {stream}"))
        of = stream if stream in plant.assembly.streams else ""
        yield Held(says, _unit(plant, stream, quantity), *ends, sure, _measured(plant, stream, quantity), stream=of)


def _products(plant: Plant) -> Iterator[Held]:
    """A specification that a limit of the advice states already is not stated twice."""
    advice = plant.description.data.get("advice", {})
    stated = {(str(t["stream"]), str(t["quantity"])) for t in advice.get("limits", [])}
    sure = float(advice.get("probability", PROBABILITY))
    for product, table in plant.description.data.get("products", {}).items():
        stream = str(table["stream"])
        for quantity, ends in table.items():
            if quantity in {"stream", "says"} or (stream, quantity) in stated:
                continue
            # An end that nothing measurable can pass is no limit: moisture from 0, purity to 100.
            low = -math.inf if ends[0] <= MEASURABLE[quantity].low else float(ends[0])
            high = math.inf if ends[1] >= MEASURABLE[quantity].high else float(ends[1])
            says = f"{quantity} of {product}"
            build = _measured(plant, stream, quantity)
            yield Held(says, MEASURABLE[quantity].unit, low, high, sure, build, stream=stream)


def _measured(plant: Plant, stream: str, quantity: str) -> Build:
    return lambda v: plant.assembly.measured(stream, quantity, v)


def _unit(plant: Plant, stream: str, quantity: str) -> str:
    if quantity in MEASURABLE:
        return MEASURABLE[quantity].unit
    unit = plant.assembly.unit_of[stream]
    return unit.removesuffix("/h") if quantity == "over the day" else unit


def _capacities(plant: Plant) -> Iterator[Held]:
    for name, station in plant.assembly.stations.items():
        listed = list(station.bound(lambda n: Dimensional(plant.assembly.unit_of[n])).capacities())
        for k, (sentence, used, there) in enumerate(listed):
            unit = next((side.unit.symbol for side in (there, used) if isinstance(side, Dimensional)), "1")
            yield Held(f"{name}: {sentence}", unit, -math.inf, 0.0, None, _spare(station, k), capacity=True)


def _spare(station: Station, k: int) -> Build:
    def used_less_there(v: Values) -> Num:
        _, used, there = list(station.bound(v.__getitem__).capacities())[k]
        return used - there

    return used_less_there


@dataclass(frozen=True)
class Keeping:
    """All limits of a plant, traced once."""

    plant: Plant
    held: tuple[Held, ...]
    expressions: Expressions
    uncertain: tuple[int, ...]
    properties: Expressions

    @classmethod
    def of(cls, plant: Plant, without: Collection[str] = ()) -> Keeping:
        """The limits of this plant's description and stations, but for those named by their sentences."""
        held = tuple(h for h in held_by(plant) if h.sentence not in without)
        uncertain = tuple(i for i, h in enumerate(held) if h.probability is not None)
        with noting_breaches():
            everything = plant.model.expressions(lambda v: [h.build(v) for h in held], "limited")
            sure = plant.model.expressions(lambda v: [held[i].build(v) for i in uncertain], "properties")
        return cls(plant, held, everything, uncertain, sure)

    def without_value(self, state: State) -> frozenset[str]:
        """Limits of what has no value in a state: a quality of a stream that does not flow."""
        values = self.expressions.at(state.scaled)
        return frozenset(
            h.sentence
            for h, x in zip(self.held, values, strict=True)
            if not math.isfinite(x) or (h.stream and _stands(state.stream(h.stream)))
        )

    def margins(self, scaled: Vector, today: Reconciled | None) -> Vector:
        """The margin that each limit's probability asks for at a state, today's uncertainty given.

        One-sided: a property with an end on both sides keeps the margin to each.
        """
        found = np.zeros(len(self.held))
        if today is None or not today.result.free or not self.uncertain:
            return found
        for i, sd in zip(self.uncertain, spread(self.properties, scaled, today), strict=True):
            sure = self.held[i].probability
            found[i] = norm.ppf(sure) * sd if sure is not None and math.isfinite(sd) else 0.0
        return found

    def limits(self, margins: Vector, now: Vector) -> list[Limit]:
        """The limits as the programme takes them; a capacity already passed today may only not be passed further."""
        return [
            Limit(h.sentence, h.low, max(h.high, float(x)) if h.capacity else h.high, float(m))
            for h, m, x in zip(self.held, margins, now, strict=True)
        ]

    def too_narrow(self, limits: Sequence[Limit]) -> list[str]:
        """Specifications narrower than today's uncertainty allows at their probability, in sentences."""
        return [
            f"'{m.sentence}' is asked from {m.low:g} to {m.high:g} {h.unit}, each end kept clear by {m.margin:.3g} for "
            f"a probability of {h.probability:g}: nothing is left between; better readings or a wider specification"
            for h, m in zip(self.held, limits, strict=True)
            if m.margin and m.least > m.most
        ]

    def already_over(self, now: Vector) -> list[str]:
        """Capacities passed today."""
        return [
            f"{h.sentence} (passed by {float(x):.4g}{'' if h.unit == '1' else f' {h.unit}'}; held to no more than that)"
            for h, x in zip(self.held, now, strict=True)
            if h.capacity and x > 0
        ]

    def rows(self, limits: Sequence[Limit], now: Vector, then: Vector) -> tuple[KeptLimit, ...]:
        """Every limit with what it was and will be."""
        return tuple(
            KeptLimit(h.sentence, h.unit, m.low, m.high, m.margin, h.probability, float(a), float(b), h.capacity)
            for h, m, a, b in zip(self.held, limits, now, then, strict=True)
        )


def _stands(stream: Stream) -> bool:
    """Whether a stream of matter does not flow; power carries none."""
    return bool(stream.COMPONENTS) and abs(float(stream.flow)) < FLOWS


def spread(expressions: Expressions, scaled: Vector, today: Reconciled) -> Vector:
    """Standard uncertainty of quantities at a state that today's settings, each moved by what it was moved, lead to.

    A handle is moved by a step from where it truly stands, so its own uncertainty goes with it.
    """
    slope = total_slope(today.result.model, expressions, scaled, list(today.result.free))
    return np.asarray(np.sqrt(np.maximum(np.einsum("ij,jk,ik->i", slope, today.result.covariance, slope), 0.0)))


def spread_of_change(expressions: Expressions, before: Vector, after: Vector, today: Reconciled) -> Vector:
    """Standard uncertainty of the change of quantities between two states: both answer the same settings."""
    free = list(today.result.free)
    model = today.result.model
    slope = total_slope(model, expressions, after, free) - total_slope(model, expressions, before, free)
    return np.asarray(np.sqrt(np.maximum(np.einsum("ij,jk,ik->i", slope, today.result.covariance, slope), 0.0)))


def plain(limits: Sequence[KeptLimit]) -> list[Mapping[str, Any]]:
    """As plain data; an end that is not there is None."""
    return [
        {key: None if isinstance(x, float) and not math.isfinite(x) else x for key, x in vars(one).items()}
        for one in limits
    ]
