"""The plant's choice of published property forms: read, refused, and felt in the model."""

from __future__ import annotations

from pathlib import Path

import pytest

from canewright.engine import NotSolved
from canewright.plant.description import DescriptionFaults, read_description
from canewright.plant.plant import Plant, State
from canewright.plant.streams import Liquor
from canewright.properties.boiling import boiling_point_elevation_handbook, boiling_point_elevation_hugot
from canewright.properties.choices import CHOICES, DEFAULTS, choices
from canewright.properties.massecuite import impure_viscosity
from canewright.properties.saturation import solubility_bubnik, supersaturation_of_liquor
from canewright.properties.steam import saturation_temperature
from canewright.properties.sucrose import solubility

ROOT = Path(__file__).parents[2]
DEMO = (ROOT / "src/canewright/demo_data/plant.toml").read_text(encoding="utf-8")
SYRUP, LAST_VAPOUR = "effect 5.concentrated", "effect 5.vapour"
FITTED = '"solubility coefficient" = { form = "fitted", slope = -0.06265, intercept = 0.982, decay = 2.1 }'


def _with(*lines: str) -> str:
    return "\n".join([DEMO, "[properties]", *lines, ""])


def _picking(station: str, line: str, text: str = DEMO) -> str:
    head = f'[stations."{station}"]\n'
    assert head in text
    return text.replace(head, f"{head}{line}\n")


def _solved(text: str) -> State:
    return Plant.from_text(text).predict()


def _liquor(state: State, name: str) -> Liquor:
    stream = state.stream(name)
    assert isinstance(stream, Liquor)
    return stream


def _elevation(state: State) -> float:
    vapour = state.stream(LAST_VAPOUR)
    return float(_liquor(state, SYRUP).temperature) - float(saturation_temperature(float(vapour.pressure)))


@pytest.fixture(scope="module")
def usual() -> State:
    return _solved(DEMO)


def test_the_documentation_lists_every_form_with_author_year_and_constants() -> None:
    page = (ROOT / "docs/own-plant.md").read_text(encoding="utf-8")
    for about in DEFAULTS:
        row = next(line for line in page.splitlines() if line.startswith(f"| {about} |"))
        places = [row.index(f"`{each.name}`: {each.author}, {each.year}") for each in choices(about)]
        assert places == sorted(places)
        assert all(f"`{key}`" in row for each in choices(about) for key in each.constants(about))


@pytest.mark.parametrize("about", sorted(CHOICES))
def test_a_property_with_a_choice_has_at_least_two_forms(about: str) -> None:
    assert len({each.formula.name for each in choices(about)}) == len(choices(about)) >= 2


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ('solubility = "bubnikk"', "did you mean 'bubnik'"),
        ('solubillity = "bubnik"', "did you mean 'solubility'"),
        ('"heat transfer" = "fitted"', "the constant 'base'"),
        ('"heat transfer" = { form = "fitted", base = 3, most = 100, exponent = 9 }', "outside 0.2 to 3"),
        ('solubility = { form = "bubnik", slope = 1 }', "'slope' is not a constant of this form"),
        ('"impure viscosity" = { form = "decades", decades = "1.6" }', "accepted: a number"),
        ("solubility = 3", "one of bubnik, charles, herzfeld"),
    ],
)
def test_a_wrong_form_is_told_with_its_line_and_what_is_accepted(line: str, says: str) -> None:
    text = _with(line)
    with pytest.raises(DescriptionFaults) as refused:
        read_description(text)
    (told,) = (str(fault) for fault in refused.value.faults)
    assert told.startswith(f"line {text.splitlines().index(line) + 1}: properties.")
    assert says in told


def test_a_station_does_not_boil_by_a_law_that_does_not_exist() -> None:
    with pytest.raises(DescriptionFaults, match="one of handbook, hugot, none, norrish, textbook"):
        read_description(_picking("effect 5", 'boiling_point = "activity"'))


def test_the_plants_boiling_law_reaches_a_vessel_that_picks_none() -> None:
    state = _solved(_with('"boiling point elevation" = "handbook"'))
    water = float(saturation_temperature(float(state.stream(LAST_VAPOUR).pressure)))
    expected = boiling_point_elevation_handbook(float(_liquor(state, SYRUP).dry_substance), water)
    assert _elevation(state) == pytest.approx(expected, rel=1e-6)


def test_a_vessel_boils_by_the_law_it_picks_itself() -> None:
    state = _solved(_picking("effect 5", 'boiling_point = "hugot"', _with('"boiling point elevation" = "handbook"')))
    expected = boiling_point_elevation_hugot(float(_liquor(state, SYRUP).dry_substance))
    assert _elevation(state) == pytest.approx(expected, rel=1e-6)


def test_a_law_for_juice_is_refused_where_massecuite_boils() -> None:
    with pytest.raises(NotSolved, match=r"pan.*, boiling_point_elevation_hugot: dry_substance is .* outside 0 to 85"):
        _solved(_with('"boiling point elevation" = "hugot"'))


def test_supersaturation_is_that_of_the_handbook_formula(usual: State) -> None:
    syrup = _liquor(usual, SYRUP)
    expected = supersaturation_of_liquor(float(syrup.dry_substance), float(syrup.purity), float(syrup.temperature))
    assert usual.measured(SYRUP, "supersaturation") == pytest.approx(expected, rel=1e-9)


def test_supersaturation_of_massecuite_is_that_of_its_mother_liquor(usual: State) -> None:
    strike = _liquor(usual, "pan A.massecuite")
    dry = 100.0 * strike.dissolved / (strike.water + strike.dissolved)
    purity = 100.0 * strike.sucrose / strike.dissolved
    expected = supersaturation_of_liquor(float(dry), float(purity), float(strike.temperature))
    assert usual.measured("pan A.massecuite", "supersaturation") == pytest.approx(expected, rel=1e-9)


def test_supersaturation_follows_the_plants_solubility(usual: State) -> None:
    other = _solved(_with('solubility = "bubnik"'))
    t = float(_liquor(usual, SYRUP).temperature)
    old, new = float(solubility(t)), float(solubility_bubnik(t))
    ratio = usual.measured(SYRUP, "supersaturation") / other.measured(SYRUP, "supersaturation")
    assert ratio == pytest.approx(new / (100.0 - new) * (100.0 - old) / old, rel=1e-9)
    assert ratio != pytest.approx(1.0, abs=1e-6)


def test_the_default_set_given_as_the_plants_own_constants_is_the_default(usual: State) -> None:
    same = _solved(_with(FITTED))
    now, then = (s.measured("pan C.massecuite", "supersaturation") for s in (same, usual))
    assert now == pytest.approx(then, rel=1e-9)


def test_viscosity_takes_the_plants_constant() -> None:
    state = _solved(_with('"impure viscosity" = { form = "decades", decades = 2.0 }'))
    syrup = _liquor(state, SYRUP)
    expected = impure_viscosity(float(syrup.dry_substance), float(syrup.purity), float(syrup.temperature), 2.0)
    assert state.measured(SYRUP, "viscosity") == pytest.approx(expected, rel=1e-9)


def test_the_filter_works_with_the_plants_viscosity() -> None:
    drops = []
    for name in ("genotelle", "genotelle-water"):
        state = _solved(_with(f'viscosity = "{name}"'))
        drops.append(state.values["liquor filter.clean_head_loss"])
    assert drops[0] == pytest.approx(drops[1], rel=0.02)
    assert drops[0] != drops[1]
