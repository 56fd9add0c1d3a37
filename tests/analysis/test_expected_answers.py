"""Where an answer makes sense: what a person is told beside a share above the whole, a mass below nothing and so on."""

from __future__ import annotations

from collections.abc import Mapping
from math import inf
from operator import attrgetter

import pytest

from canewright.accounts.working import work
from canewright.properties.ranges import AMOUNT, PART, PH_SCALE, POLARIMETER_SCALE, SHARE, SIGNED
from canewright.quantity import CATALOGUE, Formula

NO_LIMIT = (-inf, inf)
PERCENT = ("%", "% m/m")
every = pytest.mark.parametrize("formula", sorted(CATALOGUE.values(), key=attrgetter("name")), ids=attrgetter("name"))


@every
def test_a_result_is_expected_where_its_kind_can_lie_at_all(formula: Formula) -> None:
    """No result has a range of its own: such ranges only followed from those of the inputs and said nothing."""
    result = formula.result
    limits = (result.low, result.high)
    assert limits in {SHARE, PART, AMOUNT, NO_LIMIT, POLARIMETER_SCALE, PH_SCALE}
    assert limits != SHARE or result.unit in PERCENT
    assert limits != PART or result.unit == "1"
    assert limits != POLARIMETER_SCALE or result.unit == "°Z"
    assert result.unit not in {"t", "t/h", "kg/h", "h", "mm", "m³", "IU", "Pa·s", "kg/m³"} or limits in {
        AMOUNT, NO_LIMIT,
    }  # fmt: skip


@every
def test_the_worked_example_lies_where_answers_are_expected(formula: Formula) -> None:
    assert not notes(formula.name, {name: f"{value!r}" for name, value in formula.example.items()})


def notes(name: str, given: Mapping[str, object]) -> list[str]:
    """What a person is told of the answer's range."""
    worked = work(name, [(key, str(value)) for key, value in given.items()])
    return [note for note in worked.notes if "answers are expected" in note]


TOLD = [
    # a share of a whole lies between 0 and 100 %
    ("extraction", {"in_mixed_juice": "104 t", "in_cane": "100 t"}, "104 lies outside 0 to 100 %"),
    ("extraction", {"in_mixed_juice": "100.4 t", "in_cane": "100 t"}, "100.4 lies outside 0 to 100 %"),
    ("moisture_by_drying", {"before": "20 g", "after": "20.04 g"}, "-0.2 lies outside 0 to 100 %"),
    ("moisture_by_drying", {"before": "20 g", "after": "20.2 g"}, "-1 lies outside 0 to 100 %"),
    ("apparent_purity", {"pol": "15.2 %", "brix": "15 %"}, "101.333 lies outside 0 to 100 %"),
    ("boiling_house_recovery", {"sugar_pol": "103 t", "juice_pol": "100 t"}, "103 lies outside 0 to 100 %"),
    ("refinery_yield", {"refined": "1010 t", "stock_gain": "0 t", "raw_melt": "1000 t"}, "101 lies outside"),
    ("overall_time_efficiency", {"crushing": "170 h", "gross": "168 h"}, "lies outside 0 to 100 %"),
    ("colour_removal", {"colour_in": 800, "colour_out": 900, "solids_in": 50, "solids_out": 50}, "-12.5 lies outside"),
    ("filter_retention", {"mud": 5, "cake": 25, "filtrate": 6}, "lies outside 0 to 100 %"),
    ("relative_humidity", {"temperature": 20, "humidity": 0.02, "pressure": 101.325}, "lies outside 0 to 100 %"),
    ("saturation_purity", {"dry_substance": 68, "temperature": 70, "supersaturation": 1.2, "slope": 0.088},
     "lies outside 0 to 100 %"),
    # a fraction between 0 and 1
    ("pearson_share", {"rich_purity": 90, "poor_purity": 60, "target": 91}, "1.03333 lies outside 0 to 1,"),
    ("pearson_share", {"rich_purity": 90, "poor_purity": 60, "target": 90.1}, "1.00333 lies outside 0 to 1,"),
    ("pearson_share", {"rich_purity": 90, "poor_purity": 60, "target": 50}, "-0.333333 lies outside 0 to 1,"),
    # masses, flows, prices, colours and sizes begin at nothing and have no end
    ("mixed_juice_by_balance", {"cane": 100, "imbibition": 0, "bagasse": 200}, "-100 lies outside 0 t and up"),
    ("sugar_in_stock", {"solids": 100, "stock_purity": 30, "sugar_purity": 99, "molasses_purity": 36, "moisture": 0},
     "lies outside 0 t and up"),
    ("evaporation_by_brix", {"feed": 100, "brix_in": 15, "brix_out": 12}, "-25 lies outside 0 t/h and up"),
    ("heating_steam", {"flow": 10, "specific_heat": 4, "temperature_in": 80, "temperature_out": 60, "latent": 2200},
     "lies outside 0 t/h and up"),
    ("classic_cane_price", {"sugar_price": 400, "ccs": 2, "constant": 0}, "-7.2 lies outside 0 $/t and up"),
    ("turbidity", {"unfiltered": 20, "filtered": 21}, "-1 lies outside 0 IU and up"),
    ("coefficient_of_variation", {"aperture_16": 0.4, "aperture_50": 0.6, "aperture_84": 0.8},
     "lies outside 0 % and up"),
    ("steam_volume", {"temperature": 20, "pressure": 10000}, "lies outside 0 m³/kg and up"),
    # instruments and scales
    ("polarimeter_reading", {"pol": 35, "brix": 40}, "lies outside -30 to 110 °Z"),
    ("reading_from_angle", {"angle": -20, "hundred_point": 34.67, "tube": 200}, "lies outside -30 to 110 °Z"),
    ("ph_at_temperature", {"cooled": 3, "temperature": 130, "fall": 0.03}, "-0.3 lies outside 0 to 14,"),
]  # fmt: skip


@pytest.mark.parametrize(("name", "given", "says"), TOLD, ids=lambda each: str(each)[:40])
def test_an_answer_that_cannot_be_is_noted(name: str, given: dict[str, object], says: str) -> None:
    (told,) = notes(name, given)
    assert says in told


NOT_TOLD = [
    ("extraction", {"in_mixed_juice": "100 t", "in_cane": "100 t"}),
    ("extraction", {"in_mixed_juice": "0 t", "in_cane": "100 t"}),
    ("moisture_by_drying", {"before": "20 g", "after": "19.96 g"}),
    ("pearson_share", {"rich_purity": 90, "poor_purity": 60, "target": 60}),
    ("pearson_share", {"rich_purity": 90, "poor_purity": 60, "target": 90}),
    ("mixed_juice_by_balance", {"cane": 100, "imbibition": 100, "bagasse": 200}),
    ("turbidity", {"unfiltered": 20.5, "filtered": 20}),
    ("imbibition_on_fibre", {"imbibition": 300, "fibre": 10}),
    ("on_cane", {"stream": 130, "cane": 100}),
    ("classic_cane_price", {"sugar_price": 100000, "ccs": 15, "constant": 0}),
    ("purity_drop", {"massecuite_purity": 60, "liquor_purity": 61}),
    ("purity_rise", {"before": 86, "after": 85.5}),
    ("undetermined_loss", {"juice_pol": 100, "cake_pol": 1, "sugar_pol": 90, "molasses_pol": 10}),
    ("melt_loss", {"pol_in": 100, "pol_out": 101, "stock_gain": 0}),
    ("target_purity_difference", {"true_purity": 33, "target": 34}),
    ("reading_from_angle", {"angle": 38, "hundred_point": 34.67, "tube": 200}),
    ("ph_at_temperature", {"cooled": 3.2, "temperature": 120, "fall": 0.03}),
]


@pytest.mark.parametrize(("name", "given"), NOT_TOLD, ids=lambda each: str(each)[:40])
def test_an_answer_that_can_be_is_not_noted(name: str, given: dict[str, object]) -> None:
    assert not notes(name, given)


def test_losses_and_differences_may_have_either_sign() -> None:
    signed = [f.name for f in CATALOGUE.values() if (f.result.low, f.result.high) == SIGNED]
    assert {"purity_drop", "purity_rise", "undetermined_loss", "melt_loss", "colour_unaccounted"} <= set(signed)
