"""Readings that are not taken: flow, dry substance and purity of every sugar stream; and present ones made surer."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

import numpy as np

from canewright.engine.instruments import Candidate
from canewright.engine.spread import Vector
from canewright.plant.plant import Plant, Reconciled, State
from canewright.plant.station import Station
from canewright.plant.streams import Liquor, Stream

LEAST_FLOW = 0.5
"""Streams below this flow, t/h, are not asked after: nobody meters them, and a loss of theirs could not be seen."""
INSTRUMENTS = {"mass flow": 0.005, "dry substance": 0.10, "true purity": 0.15}
"""What a further reading could be, with its standard uncertainty: the flow relative, the rest in % (judgement)."""
SURER = 3.0**-0.5
"""A further reading this much surer than a present one makes the two together twice as sure as the one."""


def called(plant: Plant, stream: Stream) -> str:
    """A stream by its trade name, else as the plant description calls it."""
    roles = (role for role, name in plant.description.roles.items() if name == stream.prefix)
    return next(roles, stream.prefix)


def products(state: State) -> Iterator[tuple[Station, Liquor]]:
    """Every sugar stream that flows, with the station that it leaves; not the entries of an undetermined loss."""
    for station in state.assembly.stations.values():
        bound = station.bound(state.values.__getitem__)
        accounts = {p for port in bound.ports().values() if port.signed for p in bound.prefixes(port)}
        for stream in bound.leaving:
            if not isinstance(stream, Liquor) or stream.prefix in accounts:
                continue
            if float(stream.flow) > LEAST_FLOW and float(stream.solids) > 0:
                yield bound, stream


def further_readings(plant: Plant, day: Reconciled) -> list[Candidate]:
    """Readings that are not taken, in words, with their derivatives to the day's released settings."""
    taken = {(m.stream, m.quantity) for m in plant.description.meters}
    taken |= {(m.stream, "mass flow") for m in plant.description.meters if m.quantity == "mass"}
    return [
        Candidate(f"a reading of the {quantity} of {called(plant, stream)}", slope, noise)
        for _, stream in products(day.state)
        for quantity, slope, noise in _of_stream(day, stream)
        if (stream.prefix, quantity) not in taken
    ]


def surer_readings(day: Reconciled) -> list[Candidate]:
    """The day's readings, each taken so much better that it is known twice as surely."""
    result = day.result
    _, slopes = result.gradient(result.expressions)
    return [
        Candidate(f"{m.name} twice as sure", slope, SURER * m.uncertainty)
        for m, slope in zip(result.measured, slopes, strict=True)
    ]


def _of_stream(day: Reconciled, stream: Stream) -> Iterable[tuple[str, Vector, float]]:
    """Flow, dry substance and purity of a stream: derivatives by the quotient rule from those of its components."""
    model, along = day.result.model, day.result.sensitivity

    def moved(*parts: str) -> Vector:
        rows = [model.index[f"{stream.prefix}.{p}"] for p in parts if p in stream.holds]
        return np.asarray(model.nominal[rows] @ along[rows])

    dissolved = ("sucrose", "crystal", "reducing_sugars", "ash", "other")
    flow, solids, solution = (float(x) for x in (stream.flow, stream.solids, stream.solution))
    sucrose = float(stream.sucrose + stream.crystal)
    all_solids, all_solution = moved(*dissolved), moved("water", *dissolved)
    yield "mass flow", moved(*Stream.COMPONENTS), INSTRUMENTS["mass flow"] * flow
    slope = 100.0 * (all_solids - solids / solution * all_solution) / solution
    yield "dry substance", slope, INSTRUMENTS["dry substance"]
    slope = 100.0 * (moved("sucrose", "crystal") - sucrose / solids * all_solids) / solids
    yield "true purity", slope, INSTRUMENTS["true purity"]
