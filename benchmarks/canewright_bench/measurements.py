"""Each measurement: ours, its rivals, and the floor."""

from __future__ import annotations

import functools
import resource
import time
from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any
from unittest import mock

import casadi as ca
import numpy as np

from canewright.engine import NotSolved, advise, predict
from canewright.engine.model import Model, Vector
from canewright.plant import advising
from canewright.plant.plant import Plant, State
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
    """The plant's own moves, limits and prices."""
    model, asked = bench.model, _asked(bench)
    ours = timed(lambda: advise(*asked), bench.repeats)
    found = ours.gave
    whole = timed(lambda: advising.advise_plant(bench.plant, bench.state), 3)

    def check(best: float) -> str:
        same = abs(best - found.worth_then) <= 1e-5 * max(abs(found.worth_then), 1.0)
        return "" if same else f"another optimum: {best:.8g} for {found.worth_then:.8g}"

    rival = against("SciPy SLSQP in the moves", lambda: rivals.reduced_advice(*asked), check, 7, long=5.0)
    notes = (
        f"{len(asked[4])} moves, {len(asked[3])} limits, {found.iterations} interior-point iterations",
        f"with each move alone, money and sentences: {whole.seconds:.2f} s",
    )
    yield Result("engine.advise", ours.seconds, model.n, (rival,), found.iterations * bench.floor_of_a_step(), notes)


def _asked(bench: Bench) -> tuple[Any, ...]:
    """What the plant asks of the engine when it is asked for advice."""
    kept: list[tuple[Any, ...]] = []
    with mock.patch.object(advising, "advise", side_effect=_listener(kept)):
        advising.advise_plant(bench.plant, bench.state)
    return kept[0]


def _listener(kept: list[tuple[Any, ...]]) -> Callable[..., Any]:
    def listening(*asked: Any) -> Any:
        kept.append(asked)
        return advise(*asked)

    return listening


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
