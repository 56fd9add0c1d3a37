"""The handbook of stations: what is printed of each declaration computes what the declaration computes."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest

import canewright
from canewright.plant.catalogue import STATIONS
from canewright.plant.handbook import DERIVED, markdown, told
from canewright.plant.station import Station
from canewright.quantity import CATALOGUE, Num, noting_breaches
from plant.test_every_station import MATHS, _values

DOCS = Path(canewright.__file__).parents[2] / "docs" / "stations.md"
KINDS = sorted(STATIONS)


def alone(kind: str) -> Station:
    """The station with one stream at each port."""
    made = STATIONS[kind]
    return made("it", {p.name: 1 for p in made.ports().values() if p.many})


def labels(station: Station) -> Iterator[tuple[str, float]]:
    """Every label that may stand in brackets, with its value."""
    for name in (*station.settings(), *station.results()):
        yield f"[{name.replace('_', ' ')}]", float(station.look_up(name))
    for stream in (*station.entering, *station.leaving):
        place = re.sub(r"\.\d+$", "", stream.prefix.removeprefix("it.")).replace("_", " ")
        for held in stream.holds:
            yield f"[{held.replace('_', ' ')} of {place}]", float(getattr(stream, held))
        for attribute, said in DERIVED.items():
            value: Num = getattr(stream, attribute, None)
            if value is not None and said not in {h.replace("_", " ") for h in stream.holds}:
                yield f"[{said} of {place}]", float(value)


def computed(text: str, known: dict[str, float]) -> float:
    """A printed side, computed."""
    for label, value in sorted(known.items(), key=lambda pair: -len(pair[0])):
        text = text.replace(label, f"({value!r})")
    assert "[" not in text, text
    return float(eval(text.replace("·", "*"), {"__builtins__": {}}, {**CATALOGUE, **MATHS}))  # noqa: S307 (our own)


@pytest.mark.parametrize("kind", KINDS)
def test_the_printed_equations_compute_what_the_model_computes(kind: str) -> None:
    station = alone(kind).bound(_values(kind, 3).__getitem__)
    with noting_breaches():
        known: dict[str, float] = {}
        for label, value in labels(station):
            assert known.setdefault(label, value) == value, f"two things are called {label}"
        equations = list(station.equations())
        assert len(equations) == len(told(kind).equations)
        for (sentence, left, right), said in zip(equations, told(kind).equations, strict=True):
            assert said.sentence == sentence
            assert computed(said.left, known) == pytest.approx(float(left), rel=1e-8, abs=1e-9), sentence
            assert computed(said.right, known) == pytest.approx(float(right), rel=1e-8, abs=1e-9), sentence
        for (sentence, used, there), row in zip(station.capacities(), told(kind).capacities, strict=True):
            assert computed(row[1], known) == pytest.approx(float(used), rel=1e-8, abs=1e-9), sentence
            assert computed(row[2], known) == pytest.approx(float(there), rel=1e-8, abs=1e-9), sentence


@pytest.mark.parametrize("kind", KINDS)
def test_everything_declared_is_told(kind: str) -> None:
    made, one = STATIONS[kind], told(kind)
    assert [s.name.replace(" ", "_") for s in one.settings] == list(made.settings())
    assert [p.name.replace(" ", "_") for p in one.ports] == list(made.ports())
    assert one.hazards == made.hazards
    assert one.summary.endswith(".")
    assert "``" not in " ".join(one.says)


def test_what_a_stream_derives_is_printed_by_name() -> None:
    duty = next(e for e in told("liquor heater").equations if e.sentence.startswith("duty"))
    assert duty.right == "[enthalpy of vapour] - [enthalpy of condensate]"
    assert told("liquor heater").formulas[0].name == "saturation_temperature"


def test_the_committed_handbook_is_current() -> None:
    """Where this fails, write it again: canewright stations --markdown > docs/stations.md."""
    assert DOCS.read_text(encoding="utf-8") == markdown()
