"""Advise: what to move, by how much, what it gains, what binds, from the plant's own price list and limits.

Advice is not a control or safety system. It stays within the moves and limits that the plant description gives, the
capacities that stations declare and the ranges that closed days have seen; local codes and licensed practice govern.
"""

from __future__ import annotations

import itertools
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from canewright.engine import Advice, Limit, Move, NotSolved, Programme
from canewright.engine.along import Along
from canewright.engine.model import Vector
from canewright.plant.advice_words import binding_sentences, not_considered, stream_sentences
from canewright.plant.experience import ClosedState, Range, Response, response
from canewright.plant.handles import AdviceRefused, Handle, handles
from canewright.plant.keeping import Keeping, KeptLimit, plain, spread_of_change
from canewright.plant.plant import Plant, Reconciled, State
from canewright.plant.prices import Price, price_list, worth_of
from canewright.quantity import noting_breaches

__all__ = [
    "AdviceRefused",
    "AdvisedMove",
    "Adviser",
    "PlantAdvice",
    "Question",
    "advise_plant",
    "not_considered",
    "responses_of",
    "worth_of",
]

SETTLED = 0.01
"""Change of a margin, relative to itself, below which the advised state's own uncertainty is the one allowed for."""
ROUNDS = 4
"""Times the margins are worked out again at the advised state."""
MOST_OF_IT = 0.9
"""Share of the gain that the smallest set of moves must bring."""
TRIED = 40
"""Sets of one size that are looked at before larger ones."""
TRIED_AGAIN = 3
"""Sets of one size whose best steps by themselves are sought."""
KEPT = 8
"""Programmes that stay traced: of each list of prices one, and of each set of handles one."""
NOTHING = 1e-9
"""Change of a setting, by its nominal size, that is none."""
SMALL_GAIN = 1e-6
"""Gain, by the money of today, that is none."""


@dataclass(frozen=True)
class AdvisedMove:
    """One setting: today's value, the advised one, and what this move alone gains, $/d (None if it alone fails).

    ``lines`` are the money lines that this move alone changes, $/d each; ``seen`` is the range behind the handle.
    """

    setting: str
    says: str
    unit: str
    now: float
    then: float
    low: float
    high: float
    gain_alone: float | None
    gain_uncertainty: float | None = None
    lines: tuple[tuple[str, float], ...] = ()
    seen: Range | None = None


@dataclass(frozen=True)
class Trial:
    """A step beyond what closed days have seen: to where, and what all such steps together would add, says the model.

    It is to be tried first, not to be taken as known.
    """

    setting: str
    unit: str
    now: float
    then: float
    seen: Range | None

    def __str__(self) -> str:
        """In words."""
        unit = "" if self.unit == "1" else f" {self.unit}"
        behind = f"known is {self.seen}" if self.seen else "no closed days tell what it does"
        return f"trial first: {self.setting} from {self.now:.4g} to {self.then:.4g}{unit}; {behind}"


@dataclass(frozen=True)
class Safety:
    """What keeping a property with its probability costs, $/d, against keeping its bare limit."""

    sentence: str
    probability: float
    margin: float
    cost: float


@dataclass(frozen=True)
class PlantAdvice:
    """The advice: moves in order of gain, money line by line, limits with what relaxing them would bring."""

    advice: Advice
    moves: tuple[AdvisedMove, ...]
    money: tuple[tuple[str, float, float], ...]
    gain_uncertainty: float | None
    limits: tuple[KeptLimit, ...]
    already_over: tuple[str, ...]
    sentences: tuple[str, ...]
    state: State
    smallest_set: Mapping[str, float] = field(default_factory=dict)
    smallest_gain: float = 0.0
    safety: tuple[Safety, ...] = ()
    trials: tuple[Trial, ...] = ()
    trial_gain: float = 0.0
    responses: tuple[Response, ...] = ()
    left_alone: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    resources: tuple[str, ...] = ()

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
            "moves": [_move_data(m) for m in self.moves],
            "smallest set": {"moves": dict(self.smallest_set), "gain a day": self.smallest_gain},
            "trial first": {
                "moves": [{**vars(t), "seen": _range(t.seen)} for t in self.trials], "gain a day": self.trial_gain,
            },
            "money": [{"what": w, "now": a, "then": b} for w, a, b in self.money],
            "limits": plain(self.limits),
            "safety": [vars(s) for s in self.safety],
            "shadow prices": dict(self.advice.shadow_prices),
            "binding": list(self.advice.binding),
            "responses": [vars(r) for r in self.responses],
            "already over": list(self.already_over),
            "left alone": list(self.left_alone),
            "sentences": [*self.sentences, *self.resources],
            "notes": list(self.notes),
        }  # fmt: skip


def _range(seen: Range | None) -> str | None:
    return None if seen is None else str(seen)


def _move_data(move: AdvisedMove) -> dict[str, Any]:
    return {**vars(move), "lines": [list(line) for line in move.lines], "seen": _range(move.seen)}


@dataclass(frozen=True)
class Question:
    """What a question for advice brings along.

    ``today`` gives the uncertainties for quality margins and for intervals; ``days`` are closed days (None: ranges are
    not asked for); ``chosen`` restricts the handles and ``held`` leaves some alone; ``prices`` are lines beyond the
    description's own.
    """

    today: Reconciled | None = None
    days: Sequence[ClosedState] | None = None
    chosen: Collection[str] | None = None
    held: Collection[str] = ()
    prices: Sequence[Price] = ()


class Adviser:
    """A plant's money, limits and handles, traced once for each set of prices and handles; asked as often as wanted."""

    def __init__(self, plant: Plant) -> None:
        """Nothing is traced before it is needed."""
        self.plant = plant
        self._keepings: dict[frozenset[str], Keeping] = {}
        self._priced: dict[Any, Programme] = {}
        self._programmes: dict[Any, Programme] = {}

    @property
    def keeping(self) -> Keeping:
        """All the limits of the plant."""
        return self._kept(frozenset())

    def _kept(self, without: frozenset[str]) -> Keeping:
        if without not in self._keepings:
            while len(self._keepings) >= KEPT:
                del self._keepings[next(iter(self._keepings))]
            self._keepings[without] = Keeping.of(self.plant, without)
        return self._keepings[without]

    def keeping_at(self, start: State) -> Keeping:
        """The limits of what has a value in a state."""
        return self._kept(self.keeping.without_value(start))

    def advise(self, start: State, asking: Question | None = None) -> PlantAdvice:
        """The best moves from a solved or reconciled state.

        Raises NotSolved naming the limits in conflict, AdviceRefused when the description names no move or price, or
        an asked handle is none of its.
        """
        asking = asking or Question()
        prices = [*price_list(self.plant), *asking.prices]
        listed = handles(self.plant, start, asking.days, asking.chosen, asking.held)
        if not listed or not prices:
            lacking = " and ".join(
                w for w, there in (("[[advice.moves]]", listed), ("[[prices]]", prices)) if not there
            )
            raise AdviceRefused(f"advice needs [[advice.moves]] and [[prices]] in the plant description; no {lacking}")
        return _Work(self, start, asking, prices, [h for h in listed if not h.left_alone], listed).advice()

    def programme(
        self,
        prices: Sequence[Price],
        names: Sequence[str],
        slopes: Mapping[str, Mapping[str, float]],
        keeping: Keeping | None = None,
    ) -> Programme:
        """The programme of these prices, handles, responses and limits (all of the plant where none are given)."""
        limited = (keeping or self.keeping).expressions
        priced = (tuple(prices), limited)
        if priced not in self._priced:
            with noting_breaches():
                worth = worth_of(self.plant, prices)
            self._keep_few(self._priced)
            self._priced[priced] = Programme(self.plant.model, worth, limited, names, slopes)
        followed = tuple((n, tuple(by.items())) for n, by in slopes.items())
        key = (priced, tuple(names), followed)
        if key not in self._programmes:
            self._keep_few(self._programmes)
            self._programmes[key] = self._priced[priced].moving(names, slopes)
        return self._programmes[key]

    @staticmethod
    def _keep_few(kept: dict[Any, Programme]) -> None:
        while len(kept) >= KEPT:
            del kept[next(iter(kept))]


def advise_plant(
    plant: Plant, start: State, today: Reconciled | None = None, chosen: Sequence[str] | None = None
) -> PlantAdvice:
    """Advice asked only once; see ``Adviser.advise`` and ``Question``."""
    return Adviser(plant).advise(start, Question(today, chosen=chosen))


class _Work:
    """One question being answered."""

    def __init__(
        self, adviser: Adviser, start: State, asking: Question, prices: Sequence[Price], moving: Sequence[Handle],
        listed: Sequence[Handle],
    ) -> None:  # fmt: skip
        if not moving:
            raise AdviceRefused("every handle is left alone; nothing can be advised")
        self.plant, self.start, self.asking, self.prices = adviser.plant, start, asking, prices
        self.moving, self.listed, self.keeping = moving, listed, adviser.keeping_at(start)
        self.without = adviser.keeping.without_value(start)
        self.responses = responses_of(self.plant, moving, asking.days or ())
        slopes: dict[str, dict[str, float]] = {}
        for r in self.responses:
            if r.slope:
                slopes.setdefault(r.setting, {})[r.move] = r.slope
        self.programme = adviser.programme(prices, [h.setting for h in moving], slopes, self.keeping)
        self.now = self.keeping.expressions.at(start.scaled)
        self._along: Along | None = None

    @property
    def along(self) -> Along:
        """Money and limits by the handles, from today's state."""
        if self._along is None:
            p = self.programme
            self._along = Along(p.model, p.both, p.names, self.start.scaled, p.following)
        return self._along

    def advice(self) -> PlantAdvice:
        """Moves within the ranges behind the handles; what lies beyond is a trial."""
        ranged = self.asking.days is not None
        rooms = [h.known_room if ranged else h.room for h in self.moving]
        found, limits = self._best(rooms)
        then = self.keeping.expressions.at(found.scaled)
        moves = self._moves(found)
        smallest, brought = self._smallest_set(found, limits, rooms, moves)
        trials, more = self._trials(found, rooms) if ranged else ((), 0.0)
        state = State(self.plant.assembly, found.values, found.scaled, "advised")
        return PlantAdvice(
            found, moves, _money(self.plant, self.prices, self.start, state), self._uncertainty(found.scaled, found),
            self.keeping.rows(limits, self.now, then), tuple(self.keeping.already_over(self.now)),
            tuple(binding_sentences(self.plant, found, self.keeping.held, rooms)), state, smallest, brought,
            self._safety(found, limits, rooms), trials, more, self.responses,
            tuple(h.setting for h in self.listed if h.left_alone), tuple(self._notes()),
            tuple(stream_sentences(self.plant, found)),
        )  # fmt: skip

    def _notes(self) -> Iterable[str]:
        for h in self.moving:
            if h.outside:
                yield (
                    f"{h.setting} is {h.now:.4g} {h.unit} today, outside its limits {h.low:g} to {h.high:g}: it may "
                    "only move towards them"
                )
        if self.without:
            yield f"no limit is kept on what has no value today: {', '.join(sorted(self.without))}"
        yield from not_considered(self.plant, self.prices)

    # --- the best state -----------------------------------------------------------------------------------------------

    def _best(self, rooms: Sequence[Move]) -> tuple[Advice, list[Limit]]:
        """The best state, the margins those that the uncertainty at that very state asks for."""
        today, scaled = self.asking.today, self.start.scaled
        margins = self.keeping.margins(scaled, today)
        for _ in range(ROUNDS):
            limits = self.keeping.limits(margins, self.now)
            narrow = self.keeping.too_narrow(limits)
            if narrow:
                raise NotSolved("; ".join(narrow), [], [])
            found = self.programme.best(limits, rooms, scaled)
            again = self.keeping.margins(found.scaled, today)
            if np.all(np.abs(again - margins) <= SETTLED * np.maximum(margins, again)):
                break
            margins = np.maximum(again, margins) if self._turns(again, margins) else again
        return found, limits

    @staticmethod
    def _turns(again: Vector, margins: Vector) -> bool:
        """Whether a margin grew and another shrank: then the larger of both is kept, or they may chase each other."""
        return bool(np.any(again > margins * (1 + SETTLED)) and np.any(again < margins * (1 - SETTLED)))

    def _trials(self, found: Advice, rooms: Sequence[Move]) -> tuple[tuple[Trial, ...], float]:
        """What the model would do with the whole step of every handle, where that is more than is known."""
        whole = [h.room for h in self.moving]
        if whole == list(rooms):
            return (), 0.0
        beyond, _ = self._best(whole)
        listed = [
            Trial(h.setting, h.unit, h.now, then, h.seen)
            for h in self.moving
            for _, then in [beyond.changes[h.setting]]
            if self._moved(h.setting, h.now, then)
            and (h.seen is None or not h.seen.holds(then, self._nominal(h.setting)))
        ]
        return tuple(listed), beyond.gain - found.gain

    def _nominal(self, name: str) -> float:
        return float(self.plant.model.nominal[self.plant.model.index[name]])

    def _moved(self, name: str, now: float, then: float) -> bool:
        return abs(then - now) > NOTHING * self._nominal(name)

    # --- what the moves bring -----------------------------------------------------------------------------------------

    def _alone(self, names: Collection[str], found: Advice) -> Vector | None:
        """The state with only these moves made; None where there is none."""
        z = self.start.scaled[self.programme.columns].copy()
        for j, name in enumerate(self.programme.names):
            if name in names:
                z[j] = found.scaled[self.programme.columns[j]]
        try:
            return self.along.state(z)
        except NotSolved:
            return None

    def _moves(self, found: Advice) -> tuple[AdvisedMove, ...]:
        """Every handle with what its move alone brings, line by line; the largest gain first."""
        made = [self._move(h, found) for h in self.moving]
        return tuple(sorted(made, key=lambda m: -(m.gain_alone if m.gain_alone is not None else -np.inf)))

    def _move(self, h: Handle, found: Advice) -> AdvisedMove:
        now, then = found.changes[h.setting]
        gain: float | None = 0.0
        sd: float | None = None
        lines: tuple[tuple[str, float], ...] = ()
        if self._moved(h.setting, now, then):
            alone = self._alone([h.setting], found)
            gain = None
            if alone is not None:
                gain = float(self.programme.worth.at(alone)[0]) - found.worth_now
                sd, lines = self._uncertainty(alone, found, h.setting), self._lines(alone)
        return AdvisedMove(h.setting, h.says, h.unit, now, then, h.low, h.high, gain, sd, lines, h.seen)

    def _lines(self, alone: Vector) -> tuple[tuple[str, float], ...]:
        values = self.plant.model.named(alone)
        with noting_breaches():
            changes = [
                (p.what, float(p.a_day(self.plant.assembly, values) - p.a_day(self.plant.assembly, self.start.values)))
                for p in self.prices
            ]
        return tuple((what, change) for what, change in changes if abs(change) > SMALL_GAIN)

    def _uncertainty(self, scaled: Vector, found: Advice, only: str | None = None) -> float | None:
        """Standard uncertainty of a gain: of the settings, and of the responses that the moves rest on."""
        today = self.asking.today
        if today is None or not today.result.free:
            return None
        variance = float(spread_of_change(self.programme.worth, self.start.scaled, scaled, today)[0]) ** 2
        for r in self.responses:
            if only is not None and r.move != only:
                continue
            now, then = found.changes[r.move]
            slope = self._money_by(r.setting, scaled)
            variance += (slope * (then - now) * r.uncertainty) ** 2
        return float(np.sqrt(variance))

    def _money_by(self, setting: str, scaled: Vector) -> float:
        model = self.plant.model
        slope = Along(model, self.programme.worth, [setting], scaled).slopes(scaled[[model.index[setting]]])
        return float(slope[0, 0] / self._nominal(setting))

    def _smallest_set(
        self, found: Advice, limits: Sequence[Limit], rooms: Sequence[Move], moves: Sequence[AdvisedMove]
    ) -> tuple[dict[str, float], float]:
        """The fewest moves that bring most of the gain within all limits, with their steps and what they gain.

        The larger single gains are tried first, with the steps as advised; where these pass a limit without the other
        moves beside them, the best steps of the set by itself.
        """
        steps = {m.setting: m.then for m in moves if self._moved(m.setting, m.now, m.then)}
        if found.gain <= SMALL_GAIN * max(abs(found.worth_now), 1.0):
            return {}, 0.0
        worth = {m.setting: m.gain_alone or 0.0 for m in moves if m.setting in steps}
        for size in range(1, len(steps)):
            sets = sorted(
                itertools.islice(itertools.combinations(worth, size), TRIED), key=lambda s: -sum(worth[n] for n in s)
            )
            for names in sets:
                gain = self._kept_gain(names, found, limits)
                if gain is not None and gain >= MOST_OF_IT * found.gain:
                    return {n: steps[n] for n in names}, gain
            for names in sets[:TRIED_AGAIN]:
                itself = self._by_itself(names, limits, rooms)
                if itself is not None and itself.gain >= MOST_OF_IT * found.gain:
                    return {n: itself.changes[n][1] for n in names}, itself.gain
        return steps, found.gain

    def _by_itself(self, names: Collection[str], limits: Sequence[Limit], rooms: Sequence[Move]) -> Advice | None:
        """The best of these moves while the others stand still; None where there is none."""
        held = [m if m.name in names else Move(m.name, h.now, h.now) for m, h in zip(rooms, self.moving, strict=True)]
        try:
            return self.programme.best(limits, held, self.start.scaled)
        except NotSolved:
            return None

    def _kept_gain(self, names: Collection[str], found: Advice, limits: Sequence[Limit]) -> float | None:
        """The gain of these moves; None where a limit is not kept."""
        state = self._alone(names, found)
        if state is None or self.plant.model.outside(state, 1e-7):
            return None
        for limit, value in zip(limits, self.keeping.expressions.at(state), strict=True):
            slack = 1e-6 * max(abs(value), 1.0)
            if not limit.least - slack <= value <= limit.most + slack:
                return None
        return float(self.programme.worth.at(state)[0]) - found.worth_now

    def _safety(self, found: Advice, limits: Sequence[Limit], rooms: Sequence[Move]) -> tuple[Safety, ...]:
        """What each margin that binds costs: the gain without it less the gain with it."""
        priced = []
        for i, (held, limit) in enumerate(zip(self.keeping.held, limits, strict=True)):
            if limit.margin and held.probability is not None and limit.sentence in found.binding:
                bare = [Limit(m.sentence, m.low, m.high, 0.0 if j == i else m.margin) for j, m in enumerate(limits)]
                gain = self.programme.best(bare, rooms, self.start.scaled).gain
                priced.append(Safety(limit.sentence, held.probability, limit.margin, gain - found.gain))
        return tuple(priced)


def responses_of(plant: Plant, moving: Sequence[Handle], days: Sequence[ClosedState]) -> tuple[Response, ...]:
    """The responses of the description, fitted to the closed days."""
    priors, by_name = plant.priors(), {h.setting: h for h in moving}
    found = []
    for table in plant.description.data.get("advice", {}).get("responses", []):
        handle, setting = by_name.get(str(table["move"])), str(table["setting"])
        if handle is not None and setting in priors:
            value, sd = priors[setting]
            found.append(response(days, (setting, value, sd), (handle.setting, handle.low, handle.high)))
    return tuple(found)


def _money(plant: Plant, prices: Sequence[Price], now: State, then: State) -> tuple[tuple[str, float, float], ...]:
    with noting_breaches():
        return tuple(
            (p.what, float(p.a_day(plant.assembly, now.values)), float(p.a_day(plant.assembly, then.values)))
            for p in prices
        )
