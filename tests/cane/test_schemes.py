"""Every scheme against published or hand-worked figures, paid through an agreement; each source is named."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cane.agreements import load, read_as, using
from canewright.cane.deliveries import Deliveries, PaymentRefused
from canewright.cane.exact import Exact
from canewright.cane.exposure import exposure
from canewright.cane.paying import pay
from canewright.cane.rounding import rounded
from canewright.cane.schemes import READABLE, SCHEMES, Kind, Scheme, scheme_names
from canewright.cane.season_reading import SeasonFaults

CLASSIC = {"sugar_price": "400", "constant": "0.578"}
RV = {"rv_price": "4209.94", "d": "0.400022", "c": "0.02"}
FAIR = {"base_price": "3400", "base_recovery": "10.25", "premium": "33.2", "floor_recovery": "9.5"}
PRESS = {"sugar_price": "500", "recovery_index": "90", "fixed_factor": "4"}
FACTOR = {"standard_price": "100", "dry_milling_factor": "1", "trash_allowed": "4"}

WORKED: list[tuple[str, int, Mapping[str, str], Mapping[str, str], str, str, str]] = [
    # scheme, version, constants, readings, quality, price $/t, source
    ("classic CCS price", 1, CLASSIC, {"juice_brix": "20.5", "juice_pol": "18.2", "fibre": "14.0"},
     "13.6055", "35.1578", "Engelke, Farmnote 712/25; Queensland growers, Cane payment information (formulas read)"),
    ("classic CCS price", 1, CLASSIC, {"ccs": "12"}, "12", "29.378", "the same (read; 2/3 of proceeds less constant)"),
    ("recoverable value", 1, RV, {"pol_in_cane": "13.5", "brix_in_cane": "15.9", "fibre": "15.2"},
     "12.2359472", "515.126035552", "Kadwa 2018 and notice of August 2019 (formula, d and price read; c from memory)"),
    ("estimated recoverable crystal", 1, {"crystal_price": "100", "a": "0.978", "b": "0.535", "c": "0.018"},
     {"pol_in_cane": "13.0", "brix_in_cane": "15.2", "fibre": "15.0"}, "11.267", "11.267", "from memory"),
    ("total recoverable sugar", 1, {"price_per_kg": "1", "hours_allowed": "72"},
     {"juice_brix": "18.5", "polarimeter_reading": "65", "wet_cake": "145", "hours_since_burning": "27"},
     "132.17701", "132.17701", "coefficients from memory; K of 27 h is 1 (growers' association, steps read)"),
    ("total recoverable sugar", 2, {"price_per_kg": "1", "hours_allowed": "72"},
     {"juice_brix": "18.5", "polarimeter_reading": "65", "wet_cake": "145"},
     "133.63802", "133.63802", "coefficients from memory"),
    ("total recoverable sugar", 2, {"price_per_kg": "1", "hours_allowed": "72"},
     {"juice_brix": "18.5", "polarimeter_reading": "65", "wet_cake": "145", "hours_since_burning": "90"},
     "128.82705", "128.82705", "K of 90 h over 72 is 0.9640 (read), 133.63802 x 0.9640"),
    ("total recoverable sugar", 2, {"price_per_kg": "1", "hours_allowed": "60"},
     {"juice_brix": "18.5", "polarimeter_reading": "65", "wet_cake": "145", "hours_since_burning": "90"},
     "125.61974", "125.61974", "K of 90 h over 60 is 0.9400 (read), 133.63802 x 0.9400"),
    ("theoretical recoverable sugar", 1, {"sugar_price": "1000", "growers_share": "100"},
     {"juice_pol": "16", "juice_brix": "18", "fibre": "14"}, "137.977", "137.977",
     "Legendre 1992, 275.95 lb per short ton (from memory)"),
    ("core-sample recoverable sugar", 2, PRESS, {"juice_pol": "17", "juice_brix": "20", "fibre": "14"},
     "12.66227", "38.98021", "Jamaican industry pages (read): 11.91743 at pol 16 times 17/16; price form since 2003"),
    ("core-sample recoverable sugar", 1, PRESS, {"juice_pol": "17", "juice_brix": "20", "fibre": "14"},
     "12.6579", "38.9606", "the printed short form (read): 11.91333 at pol 16 times 17/16"),
    ("quality factor", 1, FACTOR, {"juice_pol": "14.0"}, "1.15", "115", "bulletin UF00067462, pages 7-8 (read)"),
    ("quality factor", 1, FACTOR, {"juice_pol": "11.5"}, "0.90", "90", "the same"),
    ("quality factor", 1, FACTOR, {"juice_pol": "14.0", "extraneous_matter": "6"}, "1.127", "112.7",
     "the same: 2 % of trash above 4 comes off the mass, 1.15 x 0.98"),
    ("fair price with a floor", 1, FAIR | {"mill_recovery": "10.25"}, {}, "10.25", "3400", "press report 2024 (read)"),
    ("fair price with a floor", 1, FAIR | {"mill_recovery": "10.75"}, {}, "10.75", "3566", "340 + 5 x 3.32, times ten"),
    ("fair price with a floor", 1, FAIR | {"mill_recovery": "9.5"}, {}, "9.5", "3151", "press report 2024 (read)"),
    ("fair price with a floor", 1, FAIR | {"mill_recovery": "9.0"}, {}, "9.5", "3151", "the floor (read)"),
    ("price at ten CCS", 1, {"price_at_ten": "1197.53"}, {"ccs": "11"}, "11", "1269.3818",
     "press report on the final price 2022/23 (read): 1197 + 71.85 per CCS"),
]  # fmt: skip


@pytest.mark.parametrize(
    ("scheme", "version", "constants", "readings", "quality", "price", "source"),
    WORKED,
    ids=[f"{row[0]} {row[1]}: {' '.join(row[3].values()) or row[4]} is {row[5]}" for row in WORKED],
)
def test_worked_figures(
    scheme: str,
    version: int,
    constants: Mapping[str, str],
    readings: Mapping[str, str],
    quality: str,
    price: str,
    source: str,
) -> None:
    season = using(scheme, constants, version, rounding="quality = 9\nrelative = 9")
    paid = pay(Deliveries.of([read_as("1", readings, "100")]), season)
    for found, printed in ((paid.own, quality), (paid.price, price)):
        digits = Decimal(5).scaleb(int(Decimal(printed).as_tuple().exponent) - 1)
        assert abs(found.decimals()[0] - Decimal(printed)) <= digits, source
    assert paid.amount.decimals()[0] == rounded(100 * paid.price.decimals()[0], 2)


def test_a_hundred_tonnes_of_recoverable_value() -> None:
    """RV 12.2359472 % at 4,209.94 per tonne: 100 t pay 51,512.60 (notice of August 2019: d and price read)."""
    paid = pay(
        Deliveries.of([load("1", "100", pol_in_cane="13.5", brix_in_cane="15.9", fibre="15.2")]),
        using("recoverable value", RV, rounding="quality = 7"),
    )
    assert paid.amount.total() == Decimal("51512.60")


def test_two_thirds_at_ccs_12_and_recovery_90() -> None:
    """Growers' share of proceeds at 12 CCS and 90 recovery, constant nothing: two thirds (Queensland growers, read)."""
    more = '[mill]\nrecovery = "90"\nsugar_price = "400"'
    season = using("classic CCS price", {"sugar_price": "400", "constant": "0"}, more=more)
    paid = pay(Deliveries.of([load("1", "100", ccs="12")]), season, season.periods[0])
    found = exposure(paid, season)
    assert found.paid == Decimal("2880.00")
    assert found.proceeds == Decimal("4320.00")
    assert found.left == Decimal("1440.00")
    assert found.growers_share is not None
    assert found.growers_share * 3 == pytest.approx(Decimal(200), abs=Decimal("1e-50"))
    assert found.per_term[0] == ("price of sugar", "$/t", Decimal("7.20"))


def test_the_mill_balance_is_shared_pro_rata_to_direct_analysis() -> None:
    """120, 95, 140 t at pol 13.2, 12.7, 13.9, mill balance 47.00 t (SASTA Laboratory Manual ch. 3: rule read)."""
    season = using("recoverable value", RV, more='[[mill_balances]]\n"pol in cane" = "47.00"')
    rows = [
        load(t, net, pol_in_cane=pol, brix_in_cane="16", fibre="15")
        for t, net, pol in (("1", "120", "13.2"), ("2", "95", "12.7"), ("3", "140", "13.9"))
    ]
    paid = pay(Deliveries.of(rows), season)
    for own, pol in zip(paid.own.decimals(), (13.09828, 12.60213, 13.79289), strict=True):
        assert float(own) == pytest.approx(pol - 0.400022 * (16 - pol) - 0.02 * 15, abs=1e-4)


def test_the_notice_of_two_zones_contradicts_itself() -> None:
    """The notice of 2017-18 prints 49.8 per CCS for 880 and 830 (read): 6 % of 880 is 52.80; 830 and 3/7 agree."""
    using("price at ten CCS", {"price_at_ten": "830", "change_per_ccs": "49.8", "mill_return": "355.71"})
    using("price at ten CCS", {"price_at_ten": "880", "mill_return": "377.14"})
    using("price at ten CCS", {"price_at_ten": "1197.53", "change_per_ccs": "71.85", "mill_return": "513.23"})
    with pytest.raises(SeasonFaults, match=r"change_per_ccs: found '49\.8'; accepted: 52\.80 \$/t"):
        using("price at ten CCS", {"price_at_ten": "880", "change_per_ccs": "49.8"})


def test_pools_share_out_what_there_is() -> None:
    """70 % of 1,000,000.01 over CCS 10 and 12 of equal mass: units 1.00 and 1.12 (70:30 system, form read)."""
    season = using("revenue share", {"proceeds": "1000000.01", "growers_share": "70"})
    paid = pay(Deliveries.of([load("1", "100", ccs="10"), load("2", "100", ccs="12")]), season, season.periods[0])
    assert paid.amount.decimals() == [Decimal("330188.68"), Decimal("369811.33")]
    assert paid.amount.total() == Decimal("700000.01")
    shared = using("pool on CCS", {"pool": "1000.00"})
    thirds = pay(Deliveries.of([load(str(i), "10", ccs="12") for i in (3, 1, 2)]), shared, shared.periods[0])
    assert thirds.amount.decimals() == [Decimal("333.34"), Decimal("333.33"), Decimal("333.33")]


def test_there_are_enough_schemes_and_each_tells_where_it_is_from() -> None:
    assert len(scheme_names()) >= 8
    assert {s.kind for s in SCHEMES.values()} == set(Kind)
    for scheme in SCHEMES.values():
        assert scheme.source
        assert scheme.steps
        assert scheme.status in {"read", "from memory"}
        assert all(c.low < c.high and c.says and c.unit for c in scheme.constants)
        assert set(scheme.needs) <= set(READABLE)


BY_HAND: dict[tuple[str, int], Callable[[dict[str, float], dict[str, float]], float]] = {
    ("classic CCS price", 1): lambda r, t: t["sugar_price"] * 0.9 * (r["CCS"] - 4) / 100 + t["constant"],
    ("price at ten CCS", 1): lambda r, t: t["price_at_ten"] * (0.4 + 0.06 * r["CCS"]),
    ("recoverable value", 1): lambda r, t: (
        (r["pol in cane"] * (1 + t["d"]) - t["d"] * r["brix in cane"] - t["c"] * r["fibre"]) * t["rv_price"] / 100
    ),
    ("estimated recoverable crystal", 1): lambda r, t: (
        (r["pol in cane"] * (t["a"] + t["b"]) - t["b"] * r["brix in cane"] - t["c"] * r["fibre"])
        * t["crystal_price"] / 100
    ),
    ("total recoverable sugar", 1): lambda r, t: _atr(r, t, 9.5263, 9.05),
    ("total recoverable sugar", 2): lambda r, t: _atr(r, t, 9.6316, 9.15),
    ("theoretical recoverable sugar", 1): lambda r, t: (
        (0.28 * r["juice pol"] - 0.08 * r["juice brix"]) * (100 - 56.67 * r["fibre"] / (100 - r["fibre"]))
        * t["growers_share"] * t["sugar_price"] / 200_000
    ),
    ("core-sample recoverable sugar", 1): lambda r, t: _core(r, t, 1.02 - 0.0173 * r["fibre"]),
    ("core-sample recoverable sugar", 2): lambda r, t: _core(
        r, t, (1.02 - 0.0044 * r["fibre"]) * (1 - r["fibre"] / 100) * (1 - 0.004 * r["fibre"])
    ),
    ("quality factor", 1): lambda r, t: (
        (1 + 0.1 * (r["juice pol"] * t["dry_milling_factor"] - 12.5))
        * (1 - max(0.0, r["extraneous matter"] - t["trash_allowed"]) / 100) * t["standard_price"]
    ),
    ("fair price with a floor", 1): lambda r, t: (
        t["base_price"] + 10 * t["premium"] * (max(t["mill_recovery"], t["floor_recovery"]) - t["base_recovery"])
    ),
    ("pool on CCS", 1): lambda r, t: r["CCS"] / 100,
    ("revenue share", 1): lambda r, t: 0.4 + 0.06 * r["CCS"],
}  # fmt: skip
"""Each scheme once more from its printed equations, in floats."""


def _atr(r: dict[str, float], t: dict[str, float], pol_factor: float, reducing_factor: float) -> float:
    fibre = 0.08 * r["wet cake"] + 0.876
    sucrose = (1.00621 * r["polarimeter reading"] + 0.05117) * (0.2605 - 0.0009882 * r["juice brix"])
    reducing = 3.641 - 3.43 * sucrose / r["juice brix"]
    stale = min(1.0, 1 - 0.002 * (r["hours since burning"] - t["hours_allowed"]))
    found = (pol_factor * sucrose + reducing_factor * reducing) * (1 - 0.01 * fibre) * (1.0313 - 0.00575 * fibre)
    return found * stale * t["price_per_kg"]


def _core(r: dict[str, float], t: dict[str, float], mill: float) -> float:
    purity = 100 * r["juice pol"] / r["juice brix"]
    found = 1.03 * r["juice pol"] * mill * (1.4 - 40 / purity)
    return t["sugar_price"] * t["recovery_index"] * (found - t["fixed_factor"]) / 10_000


USUAL = {
    "CCS": (5, 16), "juice brix": (15, 24), "juice pol": (12, 15), "fibre": (10, 18), "polarimeter reading": (50, 80),
    "wet cake": (110, 180), "hours since burning": (10, 100), "extraneous matter": (0, 10), "pol in cane": (10, 14),
    "brix in cane": (14, 18),
}  # fmt: skip


@pytest.mark.parametrize("scheme", SCHEMES.values(), ids=lambda s: s.title)
@given(st.data())
def test_exact_columns_agree_with_the_equations_in_floats(scheme: Scheme, data: st.DataObject) -> None:
    """They part by the rounding of floats only."""
    readings = {n: data.draw(st.decimals(*map(Decimal, USUAL[n]), places=2), label=n) for n in scheme.needs}
    terms = {
        c.name: data.draw(st.decimals(c.low, min(c.high, Decimal(5000)), places=2), label=c.name)
        for c in scheme.constants
    }
    given = {n: Exact.of([v, v]) for n, v in readings.items()}
    constants = {n: Exact.one(v) for n, v in terms.items()}
    price = scheme.price(scheme.quality(given, constants), constants).filled(2).floats()
    by_hand = BY_HAND[scheme.name, scheme.version](
        {n: float(v) for n, v in readings.items()}, {n: float(v) for n, v in terms.items()}
    )
    assert price[0] == price[1] == pytest.approx(by_hand, rel=1e-9, abs=1e-9)


def test_a_reading_out_of_the_formulas_range_is_refused_by_ticket() -> None:
    season = using("core-sample recoverable sugar", PRESS, 2)
    with pytest.raises(PaymentRefused, match=r"ticket 7 of 2031-06-02: fibre is 31 %; accepted: 5 to 30 %"):
        pay(Deliveries.of([load("7", juice_pol="17", juice_brix="20", fibre="31")]), season)
