"""Settlement by the classic CCS price: published points, fall-backs, rounding, and what never changes."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from decimal import Decimal, localcontext

import pytest
from hypothesis import given
from hypothesis import strategies as st

from canewright.analysis.cane import classic_cane_price
from canewright.analysis.polarimetry import polarimeter_reading
from canewright.cane import (
    ClassFibre,
    Consignment,
    Half,
    JuiceSample,
    Price,
    Rounding,
    Rung,
    SettlementRefused,
    formula_price,
    price_per_tonne,
    rounded,
    settle,
)

DAY = dt.date(2030, 7, 4)
PRICE = Price("2030", Decimal(400))
PAYMENT = "Queensland cane-growers' organisation, Cane payment information (formula read)"


def sample(pol: float, brix: float) -> JuiceSample:
    return JuiceSample(brix, float(polarimeter_reading(pol, brix)))


def load(
    ticket: str,
    net: str,
    juice: JuiceSample | None,
    *,
    grower: str = "Reed Bank Farm",
    block: str = "B7",
    fibre: float = 14.0,
    day: dt.date = DAY,
) -> Consignment:
    kind = ClassFibre(f"class {fibre:g}", fibre)
    return Consignment(ticket, day, grower, block, Decimal(net) + Decimal(11), Decimal(11), kind, juice)


THREE = (
    load("1", "36", sample(18.2, 20.5), fibre=14.0),
    load("2", "36", sample(17.6, 20.1), fibre=14.6, grower="Heron Flats"),
    load("3", "24", sample(18.9, 21.0), fibre=13.5),
)


@pytest.mark.parametrize(
    ("ccs", "expected"),
    [("10", "22.178"), ("12", "29.378"), ("13.5", "34.778"), ("13.6055", "35.1578"), ("14", "36.578")],
)
def test_published_price_points(ccs: str, expected: str) -> None:
    """Sugar at 400 $/t; the published form P = 0.009 Ps (CCS - 4) + 0.578, worked by hand."""
    assert formula_price(Decimal(ccs), PRICE) == Decimal(expected), PAYMENT
    assert float(formula_price(Decimal(ccs), PRICE)) == pytest.approx(
        classic_cane_price(400.0, float(ccs), 0.578), abs=1e-9
    )


def test_mean_is_weighted_by_mass() -> None:
    """Three consignments: 13.6055, 12.9444, 14.33775 weigh to 13.54065, not 13.53814 of the mean inputs (derived)."""
    found = settle(THREE, PRICE)
    assert [line.ccs for line in found.lines] == [Decimal("13.605500"), Decimal("12.944400"), Decimal("14.337750")]
    assert found.mean_ccs == Decimal("13.540650")


def test_lines_and_totals() -> None:
    found = settle(THREE, PRICE)
    assert [line.amount for line in found.lines] == [Decimal("1265.68"), Decimal("1180.00"), Decimal("907.05")]
    assert found.owed_by_grower == {"Heron Flats": Decimal("1180.00"), "Reed Bank Farm": Decimal("2172.73")}
    assert found.owed == Decimal("3352.73")
    assert "2030" in found.version
    assert all(line.rung is Rung.OWN_SAMPLE and not line.notes for line in found.lines)


def test_missing_sample_takes_its_own_block_first() -> None:
    same_block = [*THREE, load("4", "30", None)]
    line = settle(same_block, PRICE).lines[3]
    assert line.rung is Rung.SAME_BLOCK_SAME_DAY
    assert line.ccs == rounded((36 * Decimal("13.6055") + 24 * Decimal("14.33775")) / 60, 6)
    assert "rung 2" in line.basis
    assert "2 with sample" in line.basis
    assert line.notes == ("no juice sample",)


def test_then_the_fibre_class_then_the_mill() -> None:
    by_class = load("4", "30", None, grower="Long Reach", fibre=14.6)
    by_mill = load("5", "30", None, grower="Long Reach", block="C1", fibre=16.0)
    lines = settle([*THREE, by_class, by_mill], PRICE).lines
    assert (lines[3].rung, lines[3].ccs) == (Rung.FIBRE_CLASS_OF_DAY, Decimal("12.944400"))
    assert (lines[4].rung, lines[4].ccs) == (Rung.MILL_OF_DAY, Decimal("13.540650"))
    assert "mill on the day" in lines[4].basis


def test_impossible_sample_falls_back_and_says_why() -> None:
    line = settle([*THREE, load("4", "30", sample(20.5, 18.2))], PRICE).lines[3]
    assert line.rung is Rung.SAME_BLOCK_SAME_DAY
    assert "above brix" in line.notes[0]


def test_other_days_are_no_fall_back() -> None:
    stranded = load("9", "30", None, day=DAY + dt.timedelta(days=1))
    with pytest.raises(SettlementRefused, match="2030-07-05 to fall back on for 9"):
        settle([*THREE, stranded], PRICE)


def test_a_ticket_is_paid_once() -> None:
    with pytest.raises(SettlementRefused, match="ticket 1 of 2030-07-04"):
        settle([*THREE, THREE[0]], PRICE)


def test_below_four_nothing_is_paid_or_charged() -> None:
    poor = load("1", "30", replace(sample(9.0, 17.0), confirmed_by="shift chemist"), fibre=20.0)
    line = settle([poor], PRICE).lines[0]
    assert line.ccs < 4
    assert formula_price(line.ccs, PRICE) < 0
    assert (line.price_per_tonne, line.amount) == (Decimal(0), Decimal("0.00"))
    assert "least price" in line.notes[0]
    charged = settle([poor], replace(PRICE, least_price=Decimal(-10))).lines[0]
    assert charged.amount < 0
    assert not charged.notes


def test_nothing_delivered_nothing_owed() -> None:
    found = settle([], PRICE)
    assert (found.lines, found.owed_by_grower, found.mean_ccs, found.owed) == ((), {}, None, Decimal(0))


@pytest.mark.parametrize(
    "changes",
    [
        {"sugar_price": Decimal(-1)},
        {"sugar_price": 400.0},
        {"recovery": Decimal(0)},
        {"recovery": Decimal("1.2")},
        {"constant": Decimal("NaN")},
    ],
)
def test_impossible_terms_are_refused(changes: dict[str, object]) -> None:
    with pytest.raises(SettlementRefused, match="price of 2030"):
        replace(PRICE, **changes)  # type: ignore[arg-type]


def test_declared_rounding_is_used() -> None:
    in_cents = replace(PRICE, rounding=Rounding(ccs_places=2, price_places=2, half=Half.UP))
    line = settle([load("1", "36", sample(18.2, 20.5))], in_cents).lines[0]
    assert line.ccs == Decimal("13.61")
    assert line.price_per_tonne == Decimal("35.17")
    assert line.amount == Decimal("1266.12")
    assert price_per_tonne(Decimal(12), in_cents) == Decimal("29.38")


@pytest.mark.parametrize(
    ("value", "places", "even", "up"),
    [
        ("13.605", 2, "13.60", "13.61"),
        ("13.615", 2, "13.62", "13.62"),
        ("13.625", 2, "13.62", "13.63"),
        ("12.345", 2, "12.34", "12.35"),
        ("12.355", 2, "12.36", "12.36"),
        ("86.105", 2, "86.10", "86.11"),
        ("7.4651", 2, "7.47", "7.47"),
    ],
)
def test_rule_for_a_half(value: str, places: int, even: str, up: str) -> None:
    """Half to even: SASTA Laboratory Manual, chapter 3 section 2 (rule read; numbers own)."""
    assert rounded(Decimal(value), places) == Decimal(even)
    assert rounded(Decimal(value), places, Half.UP) == Decimal(up)


def test_surrounding_precision_does_not_matter() -> None:
    with localcontext() as narrow:
        narrow.prec = 4
        found = settle(THREE, PRICE)
    assert found == settle(THREE, PRICE)


loads = st.lists(
    st.tuples(
        st.decimals(Decimal("0.01"), Decimal(60), places=2),
        st.one_of(st.none(), st.tuples(st.floats(10, 20), st.floats(65, 95))),
        st.sampled_from(["Reed Bank Farm", "Heron Flats", "Long Reach"]),
        st.sampled_from(["B1", "B2"]),
        st.sampled_from([13.0, 14.5, 16.0]),
    ),
    max_size=12,
)


def deliveries(drawn: list[tuple[Decimal, tuple[float, float] | None, str, str, float]]) -> list[Consignment]:
    """The drawn loads, after one that always has a sample."""
    made = [load("0", "20", sample(18.0, 20.5))]
    for number, (net, juice, grower, block, fibre) in enumerate(drawn, start=1):
        taken = None if juice is None else sample(juice[0], 100 * juice[0] / juice[1])
        made.append(load(str(number), str(net), taken, grower=grower, block=block, fibre=fibre))
    return made


@given(loads, st.randoms(use_true_random=False))
def test_order_of_delivery_changes_nothing(drawn: list[tuple[Decimal, None, str, str, float]], shuffle: object) -> None:
    given_order = deliveries(drawn)  # type: ignore[arg-type]
    mixed = list(given_order)
    shuffle.shuffle(mixed)  # type: ignore[attr-defined]
    assert settle(mixed, PRICE) == settle(given_order, PRICE)


@given(loads, st.decimals(Decimal(0), Decimal(900), places=2))
def test_lines_add_to_totals_to_the_cent(drawn: list[tuple[Decimal, None, str, str, float]], sugar: Decimal) -> None:
    found = settle(deliveries(drawn), replace(PRICE, sugar_price=sugar))  # type: ignore[arg-type]
    for grower, owed in found.owed_by_grower.items():
        assert sum(line.amount for line in found.lines if line.grower == grower) == owed
    assert sum(line.amount for line in found.lines) == found.owed
    assert all(line.amount == rounded(line.amount, 2) for line in found.lines)
    assert len(found.lines) == len(drawn) + 1


@given(loads)
def test_a_fall_back_lies_within_the_samples(drawn: list[tuple[Decimal, None, str, str, float]]) -> None:
    found = settle(deliveries(drawn), PRICE)  # type: ignore[arg-type]
    own = [line.ccs for line in found.lines if line.rung is Rung.OWN_SAMPLE]
    for line in found.lines:
        assert min(own) <= line.ccs <= max(own)
