"""Hand-computed chains of laboratory and control formulas, most of them round one reference mill.

Published figures of a single formula lie in ``src/canewright/published``. Each case here says where its number
comes from: ``derived`` (balance or algebra), ``own`` (made-up input) or ``from memory`` (the form is recalled).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import pytest

from canewright.analysis import (
    boiling_house as bh,
)
from canewright.analysis import (
    brix,
    cane,
    colour,
    milling,
    precision,
    raw_sugar,
    stock,
)
from canewright.analysis import (
    exhaustion as ex,
)
from canewright.analysis import (
    mill_volumes as mv,
)
from canewright.analysis import (
    polarimetry as polar,
)
from canewright.quantity import Num


@dataclass(frozen=True)
class Case:
    """A calculation, its expected result, the tolerance, and where it comes from."""

    name: str
    calculate: Callable[[], Num]
    expected: float
    tolerance: float
    source: str
    status: str


SCALE = "ICUMSA general definitions, normal sugar solution"
HUGOT = "Hugot, Handbook of Cane Sugar Engineering, 3rd ed. 1986"
SASTA = "SASTA Laboratory Manual, 5th ed. 2009"
BALANCE = "mass balance of the reference mill: 10 000 t cane, fibre 14, pol 13.5, brix 15.8, 2800 t imbibition"

LABORATORY = (
    Case(
        "pol, 100 made to 110 mL",
        lambda: polar.pol_from_polarimeter(polar.undiluted_reading(50.0, 100.0, 110.0, 200.0), 15.0),
        13.5142,
        6e-4,
        SCALE,
        "derived",
    ),
    Case("pol factor", lambda: polar.pol_from_polarimeter(1.0, 0.0), 0.260735, 1e-6, SCALE, "derived"),
    Case("bagasse pol", lambda: polar.pol_of_bagasse(0.172, 0.240, 50.0, 10.0), 1.7899, 1e-4, SASTA, "derived"),
    Case("molasses 1:5", lambda: brix.undiluted_brix(14.10, 100.0, 500.0), 84.60, 1e-9, "mass balance", "derived"),
)

CANE = (
    Case("direct brix of cane", lambda: cane.direct_brix(5.20, 15.40107, 2.0, 25.0), 14.5989, 1e-4, SASTA, "derived"),
    Case("direct pol of cane", lambda: cane.direct_pol(4.55, 15.40107, 2.0, 25.0), 12.7741, 1e-4, SASTA, "derived"),
    Case("fibre, 20 % free water", lambda: cane.direct_fibre(70.0, 5.20, 2.0, 20.0), 15.3584, 1e-4, SASTA, "derived"),
    Case("fibre, 10 % free water", lambda: cane.direct_fibre(70.0, 5.20, 2.0, 10.0), 15.2737, 1e-4, SASTA, "derived"),
    Case(
        "direct brix of bagasse", lambda: cane.direct_brix(0.240, 47.5025, 10.0, 25.0), 2.4975, 1e-4, SASTA, "derived"
    ),
    Case("direct pol of bagasse", lambda: cane.direct_pol(0.172, 47.5025, 10.0, 25.0), 1.7899, 1e-4, SASTA, "derived"),
)

_BAGASSE = milling.bagasse_from_fibre(10000.0, 14.0, milling.bagasse_fibre(50.0, 1.80, 72.0))
_JUICE = milling.mixed_juice_by_balance(10000.0, 2800.0, _BAGASSE)
_POL_JUICE = 1350.0 - 0.018 * _BAGASSE
_BRIX_JUICE = 1580.0 - 0.025 * _BAGASSE
_ABSOLUTE = cane.in_absolute_juice(15.8, 14.0)
_E = milling.extraction(_POL_JUICE, 1350.0)

MILL = (
    Case("bagasse", lambda: _BAGASSE, 2947.3684, 0.001, BALANCE, "own"),
    Case("mixed juice", lambda: _JUICE, 9852.6316, 0.001, BALANCE, "own"),
    Case("pol of mixed juice", lambda: 100 * _POL_JUICE / _JUICE, 13.1635, 5e-4, BALANCE, "own"),
    Case("brix of mixed juice", lambda: 100 * _BRIX_JUICE / _JUICE, 15.2885, 5e-4, BALANCE, "own"),
    Case("pol extraction", lambda: _E, 96.0702, 5e-4, BALANCE, "own"),
    Case("brix extraction", lambda: milling.extraction(_BRIX_JUICE, 1580.0), 95.3364, 5e-4, BALANCE, "own"),
    Case("Deerr, reference mill", lambda: milling.reduced_extraction_deerr(_E, 14.0), 96.5514, 5e-4, HUGOT, "own"),
    Case("Mittal, reference mill", lambda: milling.reduced_extraction_mittal(_E, 14.0), 96.4912, 5e-4, HUGOT, "own"),
    Case(
        "lost absolute juice",
        lambda: milling.lost_absolute_juice(0.025 * _BAGASSE, _ABSOLUTE, 1400.0),
        28.6476,
        5e-4,
        BALANCE,
        "own",
    ),
    Case("milling loss, reference mill", lambda: milling.milling_loss(1.80, 47.5), 3.7895, 5e-4, BALANCE, "own"),
    Case("imbibition", lambda: milling.imbibition_on_fibre(2800.0, 1400.0), 200.0, 5e-4, BALANCE, "own"),
    Case("dilution", lambda: milling.dilution_water(_JUICE, _BRIX_JUICE, _ABSOLUTE), 1653.6975, 0.001, BALANCE, "own"),
    Case(
        "water balance",
        lambda: (7020.0 + 2800.0 - 0.50 * _BAGASSE - (_JUICE - _BRIX_JUICE)) / 10000.0,
        0.0,
        1e-9,
        BALANCE,
        "own",
    ),
    Case(
        "to-date extraction", lambda: milling.extraction(_POL_JUICE + 729.6, 2118.0), 95.6821, 1e-4, "definition", "own"
    ),
    Case("overall time efficiency", lambda: milling.time_efficiency(143.7, 168.0), 85.536, 0.001, SASTA, "own"),
    Case(
        "available time efficiency", lambda: milling.time_efficiency(143.7, 168.0 - 17.0), 95.166, 0.001, SASTA, "own"
    ),
    Case("mechanical time efficiency", lambda: milling.time_efficiency(143.7, 148.9), 96.508, 0.001, SASTA, "own"),
    Case("no-void density", lambda: mv.no_void_density(14.0, 1065.0, 1530.0), 1112.33, 0.01, HUGOT, "own"),
    Case(
        "filling ratio",
        lambda: mv.filling_ratio(
            mv.no_void_volume_rate(420.0, mv.no_void_density(14.0, 1065.0, 1530.0)),
            mv.escribed_volume_rate(2.134, 0.22, 0.55),
        ),
        0.4062,
        1e-4,
        HUGOT,
        "own",
    ),
    Case(
        "reabsorption",
        lambda: mv.reabsorption_factor(123.789, mv.no_void_density(47.5, 1010.0, 1530.0), 2.134, 0.042, 0.22),
        1.4479,
        1e-4,
        HUGOT,
        "own",
    ),
)

_S = bh.sugar_purity(98.80, 0.20)
_J = 100 * _POL_JUICE / _BRIX_JUICE
_BHR = bh.boiling_house_recovery(1169.792, _POL_JUICE)
_SJM = bh.sjm_recovery(_S, _J, 36.0)
_LOST = bh.undetermined_loss(_POL_JUICE, 5.25, 1169.792, 104.346)

BOILING_HOUSE = (
    Case("mixed juice purity", lambda: _J, 86.1006, 5e-4, BALANCE, "own"),
    Case("reduced recovery", lambda: bh.reduced_recovery(99.0, 86.1, 89.2), 88.1274, 1e-4, "SJM algebra", "derived"),
    Case("undetermined", lambda: _LOST, 17.5594, 1e-4, BALANCE, "own"),
    Case("undetermined % pol", lambda: 100 * _LOST / _POL_JUICE, 1.3539, 1e-4, BALANCE, "own"),
    Case("recovery", lambda: _BHR, 90.1958, 1e-4, BALANCE, "own"),
    Case("overall recovery", lambda: bh.overall_recovery(_E, _BHR), 86.6513, 1e-4, BALANCE, "own"),
    Case("SJM, reference mill", lambda: _SJM, 91.4401, 1e-4, BALANCE, "own"),
    Case("efficiency", lambda: bh.boiling_house_efficiency(_BHR, _SJM), 98.6393, 1e-4, BALANCE, "own"),
    Case("virtual, reference mill", lambda: bh.virtual_molasses_purity(100.0, _J, _BHR), 37.7850, 1e-4, BALANCE, "own"),
    Case("reduced, reference mill", lambda: bh.reduced_recovery(100.0, _J, _BHR), 89.2824, 1e-4, BALANCE, "own"),
    Case("crystal % solids", lambda: ex.crystal_on_solids(85.0, 68.0), 53.125, 1e-6, "sugar balance", "derived"),
    Case("exhaustion", lambda: ex.exhaustion(85.0, 68.0), 62.5, 1e-6, "sugar balance", "derived"),
    Case(
        "yield of C sugar",
        lambda: ex.sugar_yield_on_solids(62.0, 36.0, 84.0),
        54.1667,
        1e-4,
        "purity balance",
        "derived",
    ),
    Case("mixing to 71", lambda: stock.pearson_share(83.5, 61.0, 71.0), 0.44444, 1e-5, "purity balance", "derived"),
)


def _tank() -> Num:
    return stock.solids_in_tank(120.0, 65.0, 20.0)


REFINERY = (
    Case(
        "stock, sugar",
        lambda: stock.sugar_in_stock(_tank(), 86.0, 99.0, 36.0, 0.2),
        81.664,
        0.002,
        "balance",
        "derived",
    ),
    Case(
        "stock, molasses",
        lambda: stock.molasses_in_stock(_tank(), 86.0, 99.0, 36.0, 85.0),
        24.930,
        0.002,
        "balance",
        "derived",
    ),
)

EVERY = (*LABORATORY, *CANE, *MILL, *BOILING_HOUSE, *REFINERY)


@pytest.mark.parametrize("case", EVERY, ids=lambda each: each.name)
def test_published(case: Case) -> None:
    assert float(case.calculate()) == pytest.approx(case.expected, abs=case.tolerance, rel=0)


def test_density_tables_agree_to_a_hundredth() -> None:
    """The NBS fit and the density equation: the two tables differ by less than 0.01 brix at 1.06 (both read)."""
    low, high = 10.0, 20.0
    from canewright.properties.sucrose import apparent_specific_gravity

    for _ in range(60):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if apparent_specific_gravity(middle) < 1.06 else (low, middle)
    assert low == pytest.approx(14.734, abs=0.001)
    assert brix.brix_from_relative_density(1.06) == pytest.approx(low, abs=0.01)


def test_colour_removals_multiply() -> None:
    """Removals of 55, 45 and 60 % on 1200 IU leave 118.8 IU, 90.1 % in all (own case)."""
    left = 1200.0
    for removal in (55.0, 45.0, 60.0):
        left = float(colour.colour_after_removal(left, removal))
    assert left == pytest.approx(118.8, abs=1e-9)
    assert colour.colour_removal(1200.0, left, 1.0, 1.0) == pytest.approx(90.1, abs=1e-9)


def test_molasses_estimate_closes() -> None:
    """Reference mill: sugar and molasses expected at 1.35 % undetermined (own case; pol balance closes)."""
    lost = 0.0135 * _POL_JUICE
    solids = _BRIX_JUICE - 5.25 - 12.0 - lost
    pol = _POL_JUICE - 5.25 - lost
    mixed = 100 * pol / solids
    made = stock.sugar_in_stock(solids, mixed, _S, 36.0, 0.20)
    molasses = stock.molasses_in_stock(solids, mixed, _S, 36.0, 85.0)
    assert made == pytest.approx(1184.0375, abs=0.001)
    assert molasses == pytest.approx(341.0442, abs=0.001)


def test_undetermined_uncertainty() -> None:
    """Reference mill: 0.4 % and 0.25 % on juice, 0.1 and 0.05 on sugar, 0.5 and 1.0 on molasses, 15 on cake (own)."""
    parts = {"juice": (0.4, 0.25), "sugar": (0.1, 0.05), "molasses": (0.5, 1.0), "cake": (15.0, 0.0)}
    pols = {"juice": _POL_JUICE, "sugar": 1169.792, "molasses": 104.346, "cake": 5.25}
    each = {name: pols[name] * precision.combined_uncertainty(parts[name]) / 100 for name in parts}
    assert each["juice"] == pytest.approx(6.118, abs=0.001)
    assert precision.combined_uncertainty(each.values()) == pytest.approx(6.4123, abs=0.001)


def test_eu_grade_by_points() -> None:
    """Each limit met but the total of 30 is not; 13 points are too many for extra-white (EU 1308/2013, read)."""
    assert raw_sugar.eu_limits_exceeded("standard white", 15.0, 9.0, 6.0) == ["total 30 points, at most 22"]
    assert raw_sugar.eu_limits_exceeded("extra-white", 6.0, 4.0, 3.0) == ["total 13 points, at most 8"]
    assert raw_sugar.eu_limits_exceeded("standard white", 10.0, 6.0, 4.0) == []


def test_published_limits_of_colour() -> None:
    """ICUMSA GS9/1/2/3-8 (2011), abstract, precision table (read): 200 to 500 IU."""
    found = next(p for p in precision.PUBLISHED if p.determination == "colour at pH 7" and p.low == 200.0)
    assert found.within_laboratory == pytest.approx(8.2, abs=0.05)
    assert found.between_laboratories == pytest.approx(24.3, abs=0.05)


def test_default_uncertainty_names_the_known() -> None:
    assert precision.default_uncertainty("cane mass", 10000.0) == pytest.approx(15.0)
    assert precision.default_uncertainty("bagasse pol", 1.8) == 0.10
    with pytest.raises(KeyError, match="bagasse pol"):
        precision.default_uncertainty("bagass pol", 1.8)
