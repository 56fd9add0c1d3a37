"""Every template: accepted, solved cold, closed, with the figures of its trade, and nothing assumed without a mark.

Bounds on extraction, steam and yields are `common practice, no source`.
"""

from __future__ import annotations

import random
from dataclasses import dataclass
from functools import cache

import pytest

from canewright.plant.assumptions import assumptions, examine_assumptions
from canewright.plant.drafting.draft import Number
from canewright.plant.drafting.questions import QUESTIONS, BadAnswer, answered
from canewright.plant.drafting.templates import TEMPLATES, template
from canewright.plant.plant import Plant, State
from canewright.plant.showing import CAPACITY_UNITS, capacity_rows, stream_rows

NAMES = sorted(TEMPLATES)
CRUSHING = [n for n in NAMES if n != "refinery"]
MELTING = ["integrated business", "refinery"]


@dataclass(frozen=True)
class Made:
    """A plant of a template, solved cold from its text alone."""

    text: str
    plant: Plant
    state: State

    def mass(self, role: str) -> float:
        """Mass of a role's stream over the day, t."""
        name = self.plant.description.roles[role]
        return float(self.state.stream(name).flow) * float(self.plant.assembly.hours(name, self.state.values))

    def sucrose(self, role: str) -> float:
        """Sucrose in a role's stream over the day, t."""
        name = self.plant.description.roles[role]
        stream = self.state.stream(name)
        hours = float(self.plant.assembly.hours(name, self.state.values))
        return float(stream.sucrose + stream.crystal) * hours


@cache
def made(name: str, *answers: tuple[str, str]) -> Made:
    """A template's plant for these answers."""
    text = TEMPLATES[name].describe(dict(answers))
    plant = Plant.from_text(text)
    return Made(text, plant, plant.predict())


@pytest.mark.parametrize("name", NAMES)
def test_it_solves_cold_and_closes_every_balance(name: str) -> None:
    one = made(name)
    assert one.state.method in {"newton", "within bounds"}, "solved from its text alone"
    assert max(c.relative for c in one.state.closures) <= 1e-9
    for what in {c.what for c in one.state.closures}:
        gap = sum(c.gap for c in one.state.closures if c.what == what)
        brought = max(c.brought for c in one.state.closures if c.what == what)
        assert abs(gap) <= 1e-9 * max(brought, 1.0), what


@pytest.mark.parametrize("name", CRUSHING)
def test_a_mill_has_the_figures_of_the_trade(name: str) -> None:
    one = made(name)
    cane = one.mass("cane")
    assert 94 <= 100 * one.sucrose("mixed juice") / one.sucrose("cane") <= 98
    assert 80 <= 100 * one.sucrose("raw sugar") / one.sucrose("cane") <= 90
    assert 90 <= 100 * one.mass("mixed juice") / cane <= 115
    assert 26 <= 100 * one.mass("bagasse") / cane <= 33
    assert 2.5 <= 100 * one.mass("final molasses") / cane <= 5.5
    assert (1.5 if name == "mill with diffuser" else 2) <= 100 * one.mass("filter cake") / cane <= 5
    assert 30 <= one.state.measured(one.plant.description.roles["final molasses"], "apparent purity") <= 42
    assert 98 <= one.state.measured(one.plant.description.roles["raw sugar"], "pol") <= 99.8
    assert float(one.state.stream("bagasse store.reclaimed").flow) < float(one.state.stream("bagacillo.rest").flow)


@pytest.mark.parametrize("name", ["raw mill", "integrated business", "mill with diffuser"])
def test_steam_on_cane_is_that_of_a_mill(name: str) -> None:
    one = made(name)
    assert 32 <= 100 * one.mass("boiler steam") / one.mass("cane") <= 55


def test_a_cogeneration_plant_burns_its_bagasse_and_sells_power() -> None:
    one, plain = made("cogeneration plant"), made("raw mill")
    kilowatt_hours = float(one.state.stream("power board.exported").power) / float(
        one.state.stream("cane yard.cane").flow
    )
    assert 70 <= kilowatt_hours <= 140
    assert float(one.state.stream("power board.exported").power) > 5 * float(
        plain.state.stream("power board.exported").power
    )
    burnt = float(one.state.stream("bagasse store.reclaimed").flow) / float(one.state.stream("bagacillo.rest").flow)
    assert burnt == pytest.approx(0.97, abs=0.005)


@pytest.mark.parametrize("name", MELTING)
def test_a_refinery_has_the_figures_of_the_trade(name: str) -> None:
    one = made(name)
    roles = one.plant.description.roles
    assert 96 <= 100 * one.sucrose("refined sugar") / one.sucrose("melted raw") <= 99.5
    assert 40 <= 100 * one.mass("exhaust to refinery") / one.mass("melted raw") <= 120
    assert one.state.measured(roles["refined sugar"], "colour") <= 45
    assert 60 <= one.state.measured(roles["fine liquor"], "dry substance") <= 68
    assert 45 <= one.state.measured(roles["refinery molasses"], "apparent purity") <= 70


@pytest.mark.parametrize("name", NAMES)
def test_no_capacity_is_overrun_as_described(name: str) -> None:
    over = [r for r in capacity_rows(made(name).state) if r.used > r.available * 1.005]
    assert not over


@pytest.mark.parametrize("name", NAMES)
def test_without_answers_everything_is_assumed(name: str) -> None:
    one = made(name)
    found = examine_assumptions(one.plant, one.state)
    assert found.count == found.settings
    assert len(found.most) == 10
    assert "# Assumed: name our plant" in one.text
    assert "# Answered" not in one.text


def test_an_answer_is_the_sites_own() -> None:
    one = made("raw mill", ("crush", "250"), ("mills", "4"), ("effects", "3"), ("massecuites", "2"))
    names = {a.name for a in assumptions(one.plant)}
    assert "cane yard.rate" not in names
    assert "imbibition.on_fibre" in names
    assert "\nrate = { value = 250, uncertainty = 15 }\n" in one.text
    assert "# Answered: crush 250.0, mills 4.0, effects 3.0, massecuites 2.0" in one.text
    assert {"mill 4", "effect 3", "pan C"} <= set(one.plant.description.stations)
    assert not {"mill 5", "effect 4", "pan B"} & set(one.plant.description.stations)


def test_sizes_follow_the_rate() -> None:
    small, large = made("raw mill", ("crush", "150")), made("raw mill")
    for key in ("effect 1.area", "pan A.volume", "boiler.rating", "clarifier.area"):
        assert large.state.values[key] == pytest.approx(2 * small.state.values[key], rel=0.02), key


@pytest.mark.parametrize("seed", range(4))
def test_answers_of_all_sorts_give_a_plant(seed: int) -> None:
    """Random answers, up to a third from usual and any whole number: described, solved, closed."""
    chance = random.Random(seed)  # noqa: S311 (a sample, not a secret)
    one = TEMPLATES[NAMES[seed % len(NAMES)]]
    given = {}
    for key, q in one.questions.items():
        low, high = q.limits
        if isinstance(q.default, str) or chance.random() < 0.4:
            continue
        free = key in {"crush", "melt"}
        value = chance.uniform(low, high) if free or q.whole else q.default * chance.uniform(0.85, 1.15)
        value = round(value) if q.whole else round(min(max(value, low), high), 1)
        given[key] = f"{value:g}"
    state = made(one.name, *given.items()).state
    assert max(c.relative for c in state.closures) <= 1e-9, given


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"crush": "fast"}, "crush: found 'fast'; accepted: a number from 20 to 1000 t/h"),
        ({"crush": "nan"}, "crush: found 'nan'"),
        ({"crush": "5"}, "crush: found '5'"),
        ({"mills": "4.5"}, "mills: found '4.5'; accepted: a whole number from 3 to 7"),
        ({"mils": "4"}, "no question is called 'mils'; nearest: mills"),
        ({"name": " "}, "name: found ''; accepted: a name of at most 60 printable characters"),
        ({"name": "a\nb"}, "name: found"),
    ],
)
def test_an_answer_that_cannot_be_is_refused(given: dict[str, str], said: str) -> None:
    with pytest.raises(BadAnswer) as refused:
        answered(template("raw mill").questions, given)
    assert said in str(refused.value)


def test_steam_that_would_leave_the_turbine_wet_is_refused_in_plain_words() -> None:
    with pytest.raises(BadAnswer, match="would leave the turbine wet; accepted: a higher steam_temperature"):
        template("raw mill").describe({"boiler_pressure": "5500", "steam_temperature": "330"})


def test_an_answer_may_carry_its_unit() -> None:
    assert answered(template("raw-mill").questions, {"crush": "320 t/h"}).size("crush") == 320


def test_a_template_that_is_not_known_is_refused_with_the_nearest() -> None:
    with pytest.raises(BadAnswer, match="did you mean 'refinery'"):
        template("refinry")


def test_a_number_stands_in_the_file_as_it_is_known() -> None:
    assert Number(50.0, own=True).toml() == "50"
    assert Number(50.5, own=True, uncertainty=1.0).toml() == "{ value = 50.5, uncertainty = 1 }"
    assert Number(0.84, uncertainty=0.06).toml() == "{ assumed = 0.84, uncertainty = 0.06 }"
    assert Number(2.0, because='a "guess"').toml() == '{ assumed = 2, because = "a \\"guess\\"" }'
    assert all(q.accepted for q in QUESTIONS.values())


def test_a_plant_is_shown_whole() -> None:
    one = made("raw mill")
    rows = stream_rows(one.state)
    assert {r.stream for r in rows} == set(one.plant.assembly.streams)
    syrup = next(r for r in rows if r.stream == "effect 4.concentrated")
    assert syrup.values["dry substance"] == pytest.approx(65, abs=1e-6)
    assert syrup.values["power"] is None
    assert syrup.to == "pan A.feeds"
    power = next(r for r in rows if r.stream == "turbine.power")
    assert power.values["flow"] is None
    assert power.to == "power board.supplies"
    assert next(r for r in rows if r.stream == "mud filter.cake").to == "outside.filter cake"


@pytest.mark.parametrize("name", sorted(TEMPLATES))
def test_every_capacity_has_a_unit_that_a_person_reads(name: str) -> None:
    """Both sides of a capacity are one measure, told in one plain unit."""
    found = {r.unit for r in capacity_rows(made(name).state)}
    assert found
    assert found <= set(CAPACITY_UNITS)
