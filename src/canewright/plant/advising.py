"""Advise: what to move, by how much, what it gains, what binds, from the plant's own price list and limits.

Advice is not a control or safety system. It stays within the moves and limits that the plant description gives and the
capacities that stations declare; local codes and licensed practice govern.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.stats import norm

from canewright.engine import Advice, Limit, Move, NotSolved, advise
from canewright.engine.model import Expressions, Model, Values
from canewright.engine.sensitivity import total_slope
from canewright.plant.assembly import Assembly
from canewright.plant.measures import MEASURABLE
from canewright.plant.plant import Plant, Reconciled, State
from canewright.plant.streams import Power
from canewright.plant.tables import price_in
from canewright.quantity import Num, noting_breaches


@dataclass(frozen=True)
class Price:
    """A price of a stream's mass ($/t), of its energy ($/MWh), or of a station's result ($ for its unit times hour)."""

    what: str
    stream: str
    sign: float
    price: float
    unit: str

    def a_day(self, assembly: Assembly, values: Values) -> Num:
        """Money a day, $: income positive, cost negative."""
        hours = assembly.hours(self.stream, values)
        if self.stream not in assembly.streams:
            return self.sign * self.price * values[self.stream] * hours
        stream = assembly.stream(self.stream, values)
        amount = stream.power / 1000.0 if isinstance(stream, Power) else stream.flow
        return self.sign * self.price * amount * hours


@dataclass(frozen=True)
class AdvisedMove:
    """One setting: today's value, the advised one, and what this move alone gains, $/d (None if it alone fails)."""

    setting: str
    says: str
    unit: str
    now: float
    then: float
    low: float
    high: float
    gain_alone: float | None


@dataclass(frozen=True)
class PlantAdvice:
    """The advice: moves in order of gain, money line by line, limits with what relaxing them would bring."""

    advice: Advice
    moves: tuple[AdvisedMove, ...]
    money: tuple[tuple[str, float, float], ...]
    gain_uncertainty: float | None
    limits: tuple[tuple[str, str, float, float, float, float, float], ...]
    already_over: tuple[str, ...]
    sentences: tuple[str, ...]
    state: State

    @property
    def gain_a_day(self) -> float:
        """Gain, $/d."""
        return self.advice.gain

    @property
    def gain_an_hour(self) -> float:
        """Gain, $/h of the calendar."""
        return self.advice.gain / 24.0

    def to_json(self) -> dict[str, Any]:
        """Plain data."""
        return {
            "gain a day": self.gain_a_day,
            "gain an hour": self.gain_an_hour,
            "gain uncertainty": self.gain_uncertainty,
            "moves": [vars(m) for m in self.moves],
            "money": [{"what": w, "now": a, "then": b} for w, a, b in self.money],
            "limits": [
                dict(zip(("limit", "unit", "low", "high", "margin", "now", "then"), row, strict=True))
                for row in self.limits
            ],
            "shadow prices": dict(self.advice.shadow_prices),
            "binding": list(self.advice.binding),
            "already over": list(self.already_over),
            "sentences": list(self.sentences),
        }


def price_list(plant: Plant) -> list[Price]:
    """The price list of the plant description."""
    return [
        Price(str(p["what"]), str(p["stream"]), 1.0 if p["kind"] == "income" else -1.0, price_in(p), str(p["unit"]))
        for p in plant.description.data.get("prices", [])
    ]


def worth_of(plant: Plant) -> Expressions:
    """Money a day of everything in the price list, $/d."""
    prices = price_list(plant)
    return plant.model.expressions(lambda v: [sum(p.a_day(plant.assembly, v) for p in prices)], "worth")


@dataclass(frozen=True)
class _Limited:
    """A limit with the expression it limits."""

    limit: Limit
    unit: str
    build: Any


def _quality_limits(plant: Plant, today: Reconciled | None) -> list[_Limited]:
    """The limits of the plant description, each with the margin that its probability asks for today."""
    found = []
    for table in plant.description.data.get("advice", {}).get("limits", []):
        stream, quantity = str(table["stream"]), str(table["quantity"])

        def build(v: Values, stream: str = stream, quantity: str = quantity) -> Num:
            return plant.assembly.measured(stream, quantity, v)

        margin = 0.0
        if today is not None and "probability" in table:
            _, sd = today.with_uncertainty(_alone(build))[0]
            margin = float(norm.ppf(float(table["probability"]))) * sd if math.isfinite(sd) else 0.0
        says = str(table.get("says", f"{quantity} of {stream}"))
        limit = Limit(says, float(table.get("low", -np.inf)), float(table.get("high", np.inf)), margin)
        found.append(_Limited(limit, _unit(quantity), build))
    return found


def _alone(build: Callable[[Values], Num]) -> Callable[[Values], list[Num]]:
    return lambda v: [build(v)]


def _unit(quantity: str) -> str:
    return MEASURABLE[quantity].unit if quantity in MEASURABLE else ""


def _capacity_limits(plant: Plant, state: State) -> tuple[list[_Limited], list[str]]:
    """Capacities that stations declare: those kept today are limits; those already exceeded are named."""
    kept, over = [], []
    for name, station in plant.assembly.stations.items():
        with noting_breaches():
            listed = list(station.bound(state.values.__getitem__).capacities())
        for k, (sentence, used, there) in enumerate(listed):
            says = f"{name}: {sentence}"
            if float(used) > float(there):
                over.append(f"{says} (uses {float(used):.4g} of {float(there):.4g})")
                continue

            def build(v: Values, name: str = name, k: int = k) -> Num:
                _, used, there = list(plant.assembly.stations[name].bound(v.__getitem__).capacities())[k]
                return used - there

            kept.append(_Limited(Limit(says, -np.inf, 0.0), "", build))
    return kept, over


def _moves(plant: Plant, state: State, chosen: Sequence[str] | None) -> list[Move]:
    """Each move between its limits, no further from today than its step."""
    found = []
    for table in plant.description.data.get("advice", {}).get("moves", []):
        name = str(table["setting"])
        if chosen is not None and name not in chosen:
            continue
        now, step = state.values[name], float(table.get("step", math.inf))
        low, high = max(float(table["low"]), now - step), min(float(table["high"]), now + step)
        found.append(Move(name, min(low, now), max(high, now)))
    return found


def advise_plant(
    plant: Plant, start: State, today: Reconciled | None = None, chosen: Sequence[str] | None = None
) -> PlantAdvice:
    """The best moves from a solved or reconciled state.

    ``today`` gives the uncertainties for quality margins and for the interval of the gain; ``chosen`` restricts the
    moves. Raises NotSolved naming the limits in conflict, ValueError when the description names no move or price.
    """
    prices = price_list(plant)
    moves = _moves(plant, start, chosen)
    if not moves or not prices:
        raise ValueError("advice needs [[advice.moves]] and [[prices]] in the plant description")
    capacities, over = _capacity_limits(plant, start)
    limited = _quality_limits(plant, today) + capacities
    worth = worth_of(plant)
    expressions = plant.model.expressions(lambda v: [x.build(v) for x in limited], "limited")
    found = advise(plant.model, worth, expressions, [x.limit for x in limited], moves, start.scaled)
    state = State(plant.assembly, found.values, found.scaled, "advised")
    before, after = expressions.at(start.scaled), expressions.at(found.scaled)
    rows = tuple(
        (x.limit.sentence, x.unit, x.limit.low, x.limit.high, x.limit.margin, float(a), float(b))
        for x, a, b in zip(limited, before, after, strict=True)
    )
    advised = sorted(
        (_advised(plant, m, found, worth, start) for m in moves), key=lambda m: -(m.gain_alone or -math.inf)
    )
    return PlantAdvice(
        found, tuple(advised), _money(plant, prices, start, state), _gain_uncertainty(plant.model, worth, found, today),
        rows, tuple(over), tuple(_sentences(plant, found, limited, moves)), state,
    )  # fmt: skip


def _advised(plant: Plant, move: Move, found: Advice, worth: Expressions, start: State) -> AdvisedMove:
    now, then = found.changes[move.name]
    variable = plant.model.variables[plant.model.index[move.name]]
    gain: float | None = 0.0
    if abs(then - now) > 1e-9 * variable.nominal:
        try:
            held = {v.name: start.values[v.name] for v in plant.model.settings}
            alone = plant.predict({**held, move.name: then}, start)
            gain = float(worth.at(alone.scaled)[0]) - found.worth_now
        except NotSolved:
            gain = None
    return AdvisedMove(move.name, variable.says, variable.unit, now, then, move.low, move.high, gain)


def _money(plant: Plant, prices: Sequence[Price], now: State, then: State) -> tuple[tuple[str, float, float], ...]:
    with noting_breaches():
        return tuple(
            (p.what, float(p.a_day(plant.assembly, now.values)), float(p.a_day(plant.assembly, then.values)))
            for p in prices
        )


def _gain_uncertainty(model: Model, worth: Expressions, found: Advice, today: Reconciled | None) -> float | None:
    """Standard uncertainty of the gain: both states answer the same parameters, so only the difference counts."""
    if today is None or not today.result.free:
        return None
    moved = set(found.changes)
    held = [n for n in today.result.free if n not in moved]
    keep = [i for i, n in enumerate(today.result.free) if n not in moved]
    slope = total_slope(model, worth, found.scaled, held) - total_slope(model, worth, found.start, held)
    covariance = today.result.covariance[np.ix_(keep, keep)]
    return float(np.sqrt(max((slope @ covariance @ slope.T).item(), 0.0)))


def _sentences(plant: Plant, found: Advice, limited: Sequence[_Limited], moves: Sequence[Move]) -> list[str]:
    """Shadow prices of what binds, as sentences."""
    said = []
    for x in limited:
        price = found.shadow_prices[x.limit.sentence]
        if x.limit.sentence in found.binding:
            unit = x.unit or "unit of its measure"
            said.append(f"one more {unit} allowed for '{x.limit.sentence}' is worth {abs(price):,.2f} $/d")
    for move in moves:
        key = f"limit of {move.name}"
        if key in found.binding:
            unit = plant.model.variables[plant.model.index[move.name]].unit
            said.append(f"one more {unit} of room for {move.name} is worth {abs(found.shadow_prices[key]):,.2f} $/d")
    return said


def not_considered(plant: Plant) -> tuple[str, ...]:
    """What the advice leaves out, in sentences."""
    priced: Mapping[str, Any] = {p.stream: p for p in price_list(plant)}
    said = ["cane payment, chemicals, labour and wear are not in the price list" if priced else "nothing is priced"]
    said.append("responses are the model's own; a step beyond the range of reconciled days is a trial first")
    return tuple(said)
