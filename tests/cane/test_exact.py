"""Exact columns against the standard library's fractions, which never round."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from random import Random

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from canewright.analysis.cane import ccs
from canewright.cane.exact import Exact, NotExact, joined, written
from canewright.cane.rounding import Half, rounded
from canewright.cane.sharing import shared_out

numbers = st.decimals(Decimal(-(10**9)), Decimal(10**9), places=4, allow_nan=False)
columns = st.lists(numbers, min_size=1, max_size=8)


def fractions(column: Exact) -> list[Fraction]:
    return [Fraction(int(u), 10**column.places) for u in column.units.tolist()]


@given(columns, numbers, st.integers(0, 40))
def test_sums_and_products_are_those_of_fractions(values: list[Decimal], other: Decimal, power: int) -> None:
    column, exact = Exact.of(values), [Fraction(v) for v in values]
    by = Fraction(other)
    assert fractions(column + other) == [v + by for v in exact]
    assert fractions(other - column) == [by - v for v in exact]
    assert fractions(column * other * column) == [v * by * v for v in exact]
    large = column * Decimal(10) ** power * column
    assert fractions(large) == [v * v * 10**power for v in exact]
    assert Fraction(large.total()) == sum(v * v * 10**power for v in exact)


@given(columns, st.integers(0, 6), st.sampled_from(Half))
def test_rounding_is_that_of_decimals(values: list[Decimal], places: int, half: Half) -> None:
    found = (Exact.of(values) * Decimal("0.5")).rounded(places, half)
    assert found.decimals() == [rounded(v / 2, places, half) for v in values]


@given(columns, numbers.filter(bool))
def test_a_quotient_is_exact_where_it_ends_and_right_to_30_places(values: list[Decimal], by: Decimal) -> None:
    for found, value in zip(fractions(Exact.of(values) / by), values, strict=True):
        most = Fraction(1, 2 * 10**30) * max(Fraction(1), abs(Fraction(value)))
        assert abs(found - Fraction(value) / Fraction(by)) <= most
    assert fractions(Exact.of(values) / 100.0) == [Fraction(v) / 100 for v in values]


def test_a_half_at_the_border_of_64_bits() -> None:
    column = Exact.of([Decimal("4611686018427387904.5"), Decimal(-(2**62)), Decimal("0.5"), Decimal("1.5")])
    assert column.rounded(0).decimals() == [Decimal(2**62), Decimal(-(2**62)), Decimal(0), Decimal(2)]
    assert (column + column).total() == 2 * column.total()


def test_a_published_formula_reads_exact_columns() -> None:
    """Engelke, Farmnote 712/25 (formula read): 20.50, 18.20, 14.00 give CCS 13.6055 without any rounding."""
    found = ccs(Exact.one(Decimal("20.50")), Exact.one(Decimal("18.20")), Exact.one(14))
    assert found.decimals() == [Decimal("13.6055")]


def test_what_nobody_wrote_is_refused() -> None:
    assert written(0.9) == Decimal("0.9")
    with pytest.raises(NotExact, match="was not written"):
        written(0.1 + 0.2)
    with pytest.raises(NotExact, match="not infinity"):
        Exact.of([Decimal("Infinity")])
    with pytest.raises(NotExact, match="division by nothing"):
        Exact.one(1) / Exact.of([Decimal(1), Decimal(0)])


@given(columns)
def test_texts_are_the_decimals(values: list[Decimal]) -> None:
    column = Exact.of(values)
    assert [Decimal(t) for t in column.texts().to_list()] == values
    assert all(len(t.partition(".")[2]) == column.places for t in column.texts().to_list())


@given(columns, st.data())
def test_parts_put_together_are_the_whole(values: list[Decimal], data: st.DataObject) -> None:
    mask = np.array(data.draw(st.lists(st.booleans(), min_size=len(values), max_size=len(values))))
    column = Exact.of(values)
    parts = [(mask, column.take(mask)), (~mask, column.take(~mask))]
    assert joined(parts, len(values), column.places).decimals() == column.decimals()
    groups = mask.astype(np.int64)
    assert sum(column.sums(groups, 2).decimals()) == sum(values)


@given(
    st.decimals(Decimal(0), Decimal(10**8), places=2),
    st.lists(st.decimals(Decimal(0), Decimal(5000), places=3), min_size=1, max_size=30),
)
def test_shares_add_to_the_money_and_are_within_a_cent(money: Decimal, weights: list[Decimal]) -> None:
    whole = sum(weights)
    if not whole:
        with pytest.raises(ValueError, match="add to nothing"):
            shared_out(money, Exact.of(weights), 2)
        return
    parts = shared_out(money, Exact.of(weights), 2).decimals()
    assert sum(parts) == money
    assert all(
        abs(Fraction(p) - Fraction(money) * Fraction(w) / Fraction(whole)) < Fraction(1, 100)
        for p, w in zip(parts, weights, strict=True)
    )


def test_a_thousand_random_splits_add_to_the_cent() -> None:
    chance = Random(20261)  # noqa: S311 (chance for a test, no secret)
    for _ in range(1000):
        weights = Exact.of([Decimal(chance.randrange(1, 10**6)) / 1000 for _ in range(chance.randrange(1, 60))])
        money = Decimal(chance.randrange(10**10)) / 100
        assert shared_out(money, weights, 2).total() == money


@pytest.mark.parametrize(
    ("weights", "places", "parts"),
    [
        (["120000", "90000", "61000", "29000"], 0, ["571", "429", "290", "138"]),
        (["1", "1", "1"], 2, ["476.00", "476.00", "476.00"]),
        (["1", "1", "1"], 0, ["476", "476", "476"]),
    ],
)
def test_a_hand_worked_split(weights: list[str], places: int, parts: list[str]) -> None:
    """1,428 bins over 120,000, 90,000, 61,000 and 29,000 t remaining: 571, 429, 290, 138 (worked by hand)."""
    found = shared_out(Decimal(1428), Exact.of(Decimal(w) for w in weights), places)
    assert found.decimals() == [Decimal(p) for p in parts]


@pytest.mark.parametrize("money", ["-1.00", "1.005"])
def test_what_cannot_be_shared_is_refused(money: str) -> None:
    with pytest.raises(ValueError, match="cannot share"):
        shared_out(Decimal(money), Exact.one(1), 2)
