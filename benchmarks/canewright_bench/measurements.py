"""Each measurement: ours, its rivals, and the floor."""

from __future__ import annotations

import functools
import resource
import time
from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import casadi as ca
import numpy as np
from scipy.sparse.linalg import splu

from canewright.engine import Limit, Move, NotSolved, predict
from canewright.engine.model import Expressions, Model, Vector
from canewright.engine.sensitivity import total_slope
from canewright.plant.advising import Adviser
from canewright.plant.handles import handles
from canewright.plant.measures import MEASURABLE
from canewright.plant.plant import Plant, State
from canewright.plant.prices import price_list, worth_of
from canewright.plant.what_if import Told, WhatIf
from canewright.quantity import Formula, Num, answering
from canewright_bench import rivals
from canewright_bench.timing import Result, Rival, against, timed


@dataclass(frozen=True)
class Bench:
    """A plant read once, its solved state, and how thoroughly to measure."""

    text: str
    plant: Plant
    state: State
    repeats: int
    scenarios: int
    starts: int
    rival_scenarios: int
    days: int
    rival_days: int
    moved_by: float
    seed: int
    patience: float

    @property
    def model(self) -> Model:
        """The equations."""
        return self.plant.model

    def floor_of_a_step(self) -> float:
        """Seconds of one residual, one Jacobian, and one sparse factorisation with its solve, as quick as known."""
        step = self.model.step(self.state.scaled)
        if step is None:
            raise SystemExit("the equations of this plant are singular at its own settings")
        return timed(lambda: step.whole(self.state.scaled), 31).seconds


def all_of(bench: Bench) -> Iterator[Result]:
    """Every measurement, in order; cold comes first, for it also tells what the very first question costs."""
    yield cold(bench)
    yield build(bench)
    yield warm(bench)
    yield starts(bench)
    yield reconcile(bench)
    yield from advice(bench)
    yield what_if(bench)
    yield from many(bench)


def build(bench: Bench) -> Result:
    """Description to equations."""
    ours = timed(lambda: Plant.from_text(bench.text).model.residual_and_jacobian, max(3, bench.repeats))
    model, assembly = bench.model, bench.plant.assembly

    def plain() -> int:
        symbols = ca.vertsplit(model.symbols * ca.DM(model.nominal))
        with answering(_untouched):
            sides = list(assembly._sides(dict(zip(model.names, symbols, strict=True))))  # noqa: SLF001
        graph = ca.vertcat(
            *[(left - right) / law.nominal for (left, right), law in zip(sides, model.laws, strict=True)]
        )
        function = ca.Function("plain", [model.symbols], [graph, ca.jacobian(graph, model.symbols)])
        return len(sides) + 0 * function.n_in()

    rival = against("plain tracing", plain, lambda _: "", bench.repeats)
    floor = timed(lambda: ca.jacobian(model.residual_graph, model.symbols), 5).seconds
    return Result(
        "engine.build",
        ours.seconds,
        model.n,
        (rival,),
        floor,
        (_settings_and_meters(bench), f"most memory of this process so far: {_memory()}"),
    )


def _untouched(formula: Formula, values: tuple[Num, ...]) -> Num:
    return formula.function(*values)


def _settings_and_meters(bench: Bench) -> str:
    model, meters = bench.model, bench.plant.description.meters
    return f"{model.n} equations, {len(model.settings)} settings, {len(meters)} meters"


def cold(bench: Bench) -> Result:
    """From the first estimate."""
    model, settings = bench.model, bench.plant.settings()
    estimate = timed(lambda: bench.plant.first_estimate(settings), 3)
    start = model.scaled(estimate.gave)
    plain = timed(lambda: predict(model, estimate.gave), bench.repeats)
    written = timed(lambda: model.step(bench.state.scaled), 1, warm_up=False)
    ours = timed(lambda: predict(model, estimate.gave), bench.repeats)
    notes = (
        f"before the elimination is written out (once, {written.seconds:.1f} s): {1e3 * plain.seconds:.1f} ms",
        f"the first estimate itself takes {estimate.seconds:.3f} s more",
        f"the whole question to the plant, with estimate and range checks: {_whole(bench):.3f} s",
    )
    steps = _newton_steps(model, start)
    return Result(
        "engine.cold", ours.seconds, model.n, _solvers(bench, start), max(steps, 1) * bench.floor_of_a_step(), notes
    )


def _whole(bench: Bench) -> float:
    return timed(bench.plant.predict, 3).seconds


def _newton_steps(model: Model, start: Vector) -> int:
    model.newton(start[: model.n], start[model.n :])
    return int(model.newton.stats()["iter_count"])


def _solvers(bench: Bench, start: Vector) -> tuple[Rival, ...]:
    """The rivals of a square solve."""
    model = bench.model

    def check(u: Vector) -> str:
        return rivals.unsolved(model, u)

    ipopt = rivals.plain_ipopt(model)
    return (
        against(rivals.SPLU, lambda: rivals.sparse_newton(model, start), check, bench.repeats),
        against("SciPy root hybr", lambda: rivals.general_root(model, start, "hybr", bench.patience), check, 7),
        against("SciPy root krylov", lambda: rivals.general_root(model, start, "krylov", bench.patience), check, 7),
        against("plain IPOPT", lambda: ipopt(start), check, 7),
    )


def warm(bench: Bench) -> Result:
    """Every setting with a prior moved up or down from the solved state."""
    changes, tried = _moved(bench)
    model, state = bench.model, bench.state
    values = {**state.values, **bench.plant.settings(changes)}
    start = model.scaled(values)
    ours = timed(lambda: predict(model, values, state.scaled), 2 * bench.repeats)
    whole = timed(lambda: bench.plant.predict(changes, state), bench.repeats)
    notes = (
        f"{len(changes)} settings moved; draw {tried} of the seed is the first that a plant can have",
        f"with settings looked up and formula ranges checked: {1e3 * whole.seconds:.2f} ms",
    )
    steps = _newton_steps(model, start)
    return Result("engine.warm", ours.seconds, model.n, _solvers(bench, start), steps * bench.floor_of_a_step(), notes)


def _moved(bench: Bench) -> tuple[dict[str, float], int]:
    """The first draw of movements that leads to a possible state, and its number.

    Each setting moves by two per cent, or by its prior uncertainty where that is less: a raw sugar's purity of 99 %
    cannot rise by two per cent.
    """
    chance, priors = np.random.default_rng(bench.seed), bench.plant.priors()
    for draw in range(1, 51):
        signs = chance.choice([-1.0, 1.0], len(priors))
        changes = {
            n: v + s * min(bench.moved_by * abs(v), sd) for (n, (v, sd)), s in zip(priors.items(), signs, strict=True)
        }
        try:
            bench.plant.predict(changes, bench.state)
        except NotSolved:
            continue
        return changes, draw
    raise SystemExit("no draw of moved settings leads to a possible state of this plant")


def reconcile(bench: Bench) -> Result:
    """All meters read with noise."""
    plant, model, start = bench.plant, bench.model, bench.state
    chance = np.random.default_rng(bench.seed)
    true = {m.tag: start.measured(m.stream, m.quantity) for m in plant.description.meters}
    sds = {m.tag: m.standard_uncertainty(true[m.tag]) for m in plant.description.meters if np.isfinite(true[m.tag])}
    readings = {tag: true[tag] + sd * chance.standard_normal() for tag, sd in sds.items()}

    def whole() -> Any:
        day = plant.reconcile(readings, start=start, uncertainties=sds).result
        return day, day.variable_uncertainty, day.suspicions

    ours = timed(whole, bench.repeats)
    day, uncertainty, _ = ours.gave
    spread = np.array([uncertainty[n] for n in model.names]) / model.nominal

    def check(found: tuple[float, Vector]) -> str:
        same = abs(found[0] - day.objective) <= 1e-6 * day.objective
        same &= bool(np.allclose(found[1], spread, rtol=1e-4, atol=1e-8 * float(spread.max())))
        return "" if same else f"another answer: sum of squares {found[0]:.8g} for {day.objective:.8g}"

    def plain() -> tuple[float, Vector]:
        return rivals.gauss_newton(model, day.expressions, day.measured, plant.priors(), start.scaled)

    rival = against("plain Gauss-Newton: splu, dense least squares", plain, check, bench.repeats, long=5.0)
    notes = (
        f"{len(readings)} readings, {len(day.free)} released settings, {day.iterations} iterations",
        f"sum of squares {day.objective:.1f} with {day.freedom} degrees of freedom",
    )
    floor = 2 * (day.iterations + 1) * bench.floor_of_a_step()
    return Result("engine.reconcile", ours.seconds, model.n, (rival,), floor, notes)


def advice(bench: Bench) -> Iterator[Result]:
    """The plant's own moves, limits and prices; then as many handles as a person may want to move at once."""
    adviser = Adviser(bench.plant)
    own = [h.room for h in handles(bench.plant, bench.state)]
    yield _advised(bench, adviser, "engine.advise", own, (_with_words(bench, adviser),))
    yield _advised(bench, adviser, "engine.advise.many", _many_handles(bench, own), ())


def _with_words(bench: Bench, adviser: Adviser) -> str:
    whole = timed(lambda: adviser.advise(bench.state), 3)
    return f"with each move alone, the smallest set, money and sentences: {whole.seconds:.2f} s"


def _advised(bench: Bench, adviser: Adviser, identity: str, moves: Sequence[Move], notes: tuple[str, ...]) -> Result:
    model, start, keeping = bench.model, bench.state.scaled, adviser.keeping
    limits = keeping.limits(np.zeros(len(keeping.held)), keeping.expressions.at(start))
    programme = adviser.programme(price_list(bench.plant), [m.name for m in moves], {})
    first = timed(lambda: programme.best(limits, moves, start), 1, warm_up=False)
    ours = timed(lambda: programme.best(limits, moves, start), bench.repeats)
    found = ours.gave

    def check(best: float) -> str:
        same = abs(best - found.worth_then) <= 1e-5 * max(abs(found.worth_then), 1.0)
        return "" if same else f"another optimum: {best:.8g} for {found.worth_then:.8g}"

    # The rival is told which unknowns come near an end of their range; ours finds that out.
    low, high = model.scaled_limits()
    ranged = [Limit(model.names[i], float(low[i]), float(high[i])) for i in programme.watched]
    graph = ca.vertcat(keeping.expressions.graph, model.symbols[programme.watched])
    asked = (model, programme.worth, Expressions(model, graph, "ranged"), [*limits, *ranged], moves, start)
    rival = against(
        "SciPy SLSQP in the moves", lambda: rivals.reduced_advice(*asked), check, min(bench.repeats, 7), long=5.0
    )
    told = (
        f"{len(moves)} moves, {len(limits)} limits, {found.iterations} steps {found.method}",
        f"the first question of a set of handles, which traces the programme: {first.seconds:.2f} s", *notes,
    )  # fmt: skip
    return Result(identity, ours.seconds, model.n, (rival,), found.iterations * bench.floor_of_a_step(), told)


def _many_handles(bench: Bench, own: Sequence[Move], count: int = 30) -> list[Move]:
    """The plant's own moves and, up to a count, further settings of stations that move money, by two per cent."""
    plant, state = bench.plant, bench.state
    named = {m.name for m in own}
    inner = [
        v for v in plant.model.settings
        if (station := plant.description.stations.get(v.name.partition(".")[0])) is not None
        and not station.kind.boundary and v.name not in named and abs(state.values[v.name]) > 0
    ]  # fmt: skip
    slope = total_slope(plant.model, worth_of(plant), state.scaled, [v.name for v in inner])[0]
    value = np.array([state.values[v.name] / v.nominal for v in inner])
    moves = list(own)
    for i in np.argsort(-np.abs(slope * value)):
        v, now = inner[i], state.values[inner[i].name]
        reach = bench.moved_by * abs(now)
        move = Move(v.name, max(v.low, now - reach), min(v.high, now + reach))
        if len(moves) < count and _possible(bench, move):
            moves.append(move)
    return moves


def _possible(bench: Bench, move: Move) -> bool:
    """Whether the plant has a state at both ends of a move."""
    try:
        for end in (move.low, move.high):
            bench.plant.predict({move.name: end}, bench.state)
    except NotSolved:
        return False
    return True


def what_if(bench: Bench) -> Result:
    """A setting moved, and every figure told of against the base with the uncertainty of the difference."""
    plant, state = bench.plant, bench.state
    readings = {m.tag: state.measured(m.stream, m.quantity) for m in plant.description.meters}
    today = plant.reconcile({tag: x for tag, x in readings.items() if np.isfinite(x)}, start=state)
    metered = dict.fromkeys((m.stream, m.quantity) for m in plant.description.meters if m.quantity in MEASURABLE)
    told = [Told(f"{q} of {s}", MEASURABLE[q].unit, "", 2, _measured(plant, s, q)) for s, q in metered]
    asked = WhatIf(plant, today.state, told, today)
    name = next(iter(plant.priors()))
    value = today.state.values[name] * (1 + bench.moved_by / 2)
    ours = timed(lambda: asked.ask({name: value}), 2 * bench.repeats)
    model, free = bench.model, list(today.result.free)
    expressions = model.expressions(lambda v: [t.build(v) for t in told])
    moved = model.scaled({**today.state.values, name: value})
    columns = [model.index[n] for n in free]

    def plain() -> Vector:
        slopes = []
        for u in (today.state.scaled, rivals.sparse_newton(model, moved)):
            jacobian, answer = model.jacobian_at(u)[1], np.zeros((len(model.names), len(free)))
            answer[: model.n] = -splu(jacobian[:, : model.n].tocsc()).solve(jacobian[:, columns].toarray())
            answer[columns, range(len(free))] = 1.0
            slopes.append(expressions.jacobian_at(u)[1] @ answer)
        turn = slopes[1] - slopes[0]
        return np.asarray(np.sqrt(np.maximum(np.diag(turn @ today.result.covariance @ turn.T), 0.0)))

    def check(spread: Vector) -> str:
        mine = np.array([r.uncertainty for r in ours.gave.rows])
        return "" if np.allclose(mine, spread, rtol=1e-4, atol=1e-7) else "other uncertainties of the differences"

    rival = against("sparse Newton with splu, every sensitivity at both states", plain, check, bench.repeats)
    notes = (f"{len(told)} quantities, {len(free)} uncertain settings, all limits looked at",)
    return Result("engine.what_if", ours.seconds, model.n, (rival,), 3 * bench.floor_of_a_step(), notes)


def _measured(plant: Plant, stream: str, quantity: str) -> Callable[[Mapping[str, Num]], Num]:
    return lambda v: plant.assembly.measured(stream, quantity, v)


def starts(bench: Bench) -> Result:
    """Starts with every unknown moved at random by up to half: the slowest but one in a hundred."""
    model, plant, state = bench.model, bench.plant, bench.state
    chance = np.random.default_rng(bench.seed)
    tried = [_random_start(model, state.scaled, chance) for _ in range(bench.starts)]
    asked = [State(plant.assembly, model.named(u), u, "moved at random") for u in tried]
    took, how = [], Counter[str]()
    for start in asked:
        began = time.perf_counter()
        how[plant.predict(None, start).method] += 1
        took.append(time.perf_counter() - began)
    known = [u for u in tried[: bench.rival_scenarios] if not rivals.unsolved(model, _tried(model, u))]
    sample = min(bench.rival_scenarios, len(tried))
    rival = Rival(rivals.SPLU, None, f"solves {len(known)} of {sample} of these starts")
    notes = (
        f"99th percentile of {len(took)} starts, each unknown moved by up to 50 %; median {np.median(took):.3f} s",
        "; ".join(f"{count} by {method}" for method, count in how.items()),
    )
    floor = _newton_steps(model, model.scaled(plant.first_estimate(plant.settings()))) * bench.floor_of_a_step()
    return Result("engine.starts", float(np.percentile(took, 99)), model.n, (rival,), floor, notes)


def _random_start(model: Model, solved: Vector, chance: np.random.Generator) -> Vector:
    moved = solved.copy()
    moved[: model.n] *= 1.0 + 0.5 * chance.uniform(-1.0, 1.0, model.n)
    moved[: model.n] = np.clip(moved, *model.scaled_limits())[: model.n]
    return moved


def _tried(model: Model, start: Vector) -> Vector:
    try:
        return rivals.sparse_newton(model, start)
    except (ArithmeticError, RuntimeError, ValueError):  # it has nowhere to go from here
        return start


def many(bench: Bench) -> Iterator[Result]:
    """Scenarios in four settings, by one process and by two."""
    model, state, plant = bench.model, bench.state, bench.plant
    chance, priors = np.random.default_rng(bench.seed), plant.priors()
    names = list(priors)[:4]
    table = {n: priors[n][0] * (1 + bench.moved_by * chance.uniform(-1, 1, bench.scenarios)) for n in names}
    plant.predict_many({n: v[:64] for n, v in table.items()}, state, processes=1)
    rival, sampled = _one_by_one(bench, table)
    floor = 2 * bench.scenarios * bench.floor_of_a_step()
    for identity, processes in (("engine.many", 2), ("engine.many.one", 1)):
        asked = functools.partial(plant.predict_many, table, state, processes=processes)
        ours = timed(asked, 1, warm_up=False)
        status = ours.gave["status"].to_list()
        notes = (
            f"{bench.scenarios} scenarios in {', '.join(names)}, all unknowns kept; one run, processes started in it",
            f"{bench.scenarios - status.count('not solved')} solved",
            f"sample of the rival took {sampled:.1f} s",
            f"most memory of this process so far: {_memory()}",
        )
        yield Result(identity, ours.seconds, model.n, (rival,), floor, notes)


def _memory() -> str:
    return f"{resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MB"


def _one_by_one(bench: Bench, table: Mapping[str, Vector]) -> tuple[Rival, float]:
    """The rival on a sample, scaled up, and the seconds that the sample took."""
    model, sample = bench.model, min(bench.rival_scenarios, bench.scenarios)

    def plain() -> int:
        for k in range(sample):
            u = bench.state.scaled.copy()
            for name, values in table.items():
                u[model.index[name]] = values[k] / model.nominal[model.index[name]]
            rivals.sparse_newton(model, u)
        return sample

    began = time.perf_counter()
    rival = against(f"{rivals.SPLU}, one after the other", plain, lambda _: "", 1, long=0.0)
    if rival.seconds is not None:
        rival = Rival(rival.name, rival.seconds * bench.scenarios / sample, f"{sample} scenarios, scaled up")
    return rival, time.perf_counter() - began
