"""What deliveries are worth: relative payment, bonuses, fall-backs, refusals, and what never changes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cane.agreements import GROWERS, SEASON, agreement, load, three_weeks, using
from canewright.cane.deliveries import Deliveries, Delivery, PaymentRefused
from canewright.cane.pay_quality import DAY_MEAN
from canewright.cane.paying import pay
from canewright.cane.rounding import rounded
from canewright.cane.season import Season
from canewright.cane.season_reading import read_season

CLASSIC = {"sugar_price": "420", "constant": "0"}
CLAUSES = "South African sugar industry agreement, clauses 148-149 (rule read; case worked by hand)"


def mean_by_grower(relative: str) -> tuple[list[float], Fraction]:
    """Mean relative quality of each grower over the three weeks, and the pay units of all."""
    season = using("classic CCS price", CLASSIC, relative=relative, rounding="relative = 9")
    paid = pay(Deliveries.of(three_weeks()), season)
    units, tonnes = (paid.by_grower(c).decimals() for c in (paid.relative * paid.deliveries.net, paid.deliveries.net))
    whole = sum((Fraction(u) / 100 for u in units), Fraction(0))
    return [float(u / t) for u, t in zip(units, tonnes, strict=True)], whole


def test_additive_relative_payment() -> None:
    found, whole = mean_by_grower("additive")
    assert found == pytest.approx([12.57789, 13.26272], abs=1e-5), CLAUSES
    assert float(whole) == pytest.approx(646.7, abs=1e-6)


def test_relative_payment_in_money() -> None:
    """At sugar 420: raw 77,894.40 and 93,848.20, additive 79,205.81 and 92,536.79, sum 171,742.60 (worked by hand)."""
    money = {}
    for relative in ("none", "additive"):
        terms = {"sugar_price": "420", "constant": "0.578"}
        season = using("classic CCS price", terms, relative=relative, rounding="relative = 9")
        paid = pay(Deliveries.of(three_weeks()), season)
        money[relative] = [float(v) for v in paid.by_grower(paid.amount).decimals()]
    assert money["none"] == pytest.approx([77894.40, 93848.20], abs=0.005)
    assert money["additive"] == pytest.approx([79205.81, 92536.79], abs=0.02)
    assert sum(money["none"]) == pytest.approx(171742.60, abs=0.005)
    assert sum(money["additive"]) == pytest.approx(171742.60, abs=0.04)


def test_the_season_mean_of_a_period_is_the_expected_one() -> None:
    """Week mean 12.06667, expected mean 13.20: each consignment moves by 1.13333."""
    season = agreement("additive")
    paid = pay(Deliveries.of(three_weeks()[:2]), season, season.periods[0])
    assert paid.relative.decimals() == [Decimal("12.933333"), Decimal("13.733333")]
    assert (paid.means[0].week, paid.means[0].tonnes, paid.means[0].season_mean) == (1, Decimal(1500), Decimal("13.20"))


def test_the_expected_mean_may_be_refined_while_the_season_runs() -> None:
    later = """[[schemes.main.terms]]
from = 2031-06-09
sugar_price = "420.00"
constant = "0.578"
season_mean = "13.50"
[schemes.main.final]"""
    base = SEASON.format(relative="additive", more="").replace("[schemes.main.final]", later)
    season = read_season(base)
    first = pay(Deliveries.of(three_weeks()[:2]), season, season.periods[0])
    second = pay(Deliveries.of(three_weeks()[2:4]), season, season.periods[1])
    assert first.means[0].season_mean == Decimal("13.20")
    assert second.means[0].season_mean == Decimal("13.50")
    assert second.relative.decimals() == [Decimal("13.08"), Decimal("13.78")]


def test_cane_out_of_the_agreed_days_keeps_its_own_quality() -> None:
    season = read_season(
        SEASON.format(relative="additive", more="").replace(
            'season_mean = "13.20"', 'season_mean = "13.20"\nrelative_to = 2031-06-15'
        )
    )
    paid = pay(Deliveries.of(three_weeks()), season)
    assert paid.relative.decimals()[4:] == [Decimal("12.2"), Decimal("12.9")]
    assert [m.week for m in paid.means] == [1, 2]


def test_phased_in_by_a_quarter() -> None:
    """A blend of a quarter: own 10 and 13, mean by mass 12; paid on 12 + (own - 12) / 4 (own numbers)."""
    season = read_season(
        SEASON.format(relative="none", more="").replace('season_mean = "13.20"', 'season_mean = "13.2"\nblend = "0.25"')
    )
    paid = pay(Deliveries.of([load("1", "10", ccs="10"), load("2", "20", ccs="13")]), season)
    assert paid.relative.decimals() == [Decimal("11.5"), Decimal("12.25")]


def test_bonus_and_penalty() -> None:
    more = """
[[adjustments]]
name = "dirty cane"
kind = "penalty"
reading = "extraneous matter"
free = "6.0"
rate = "0.45"
most = "2.00"
[[adjustments]]
name = "early cane"
kind = "bonus"
rate = "0.10"
to = 2031-06-02
"""
    rows = [
        load("1", "10", ccs="12", extraneous_matter="8.5"),
        load("2", "10", ccs="12", extraneous_matter="30"),
        load("3", "10", 1, ccs="12"),
    ]
    paid = pay(Deliveries.of(rows), agreement("none", more), None)
    (_, dirty), (_, early) = paid.adjustments
    assert dirty.decimals() == [Decimal("-11.25"), Decimal("-20.00"), Decimal("0.00")]
    assert early.decimals() == [Decimal("1.00"), Decimal("1.00"), Decimal("0.00")]
    assert paid.value.total() == paid.amount.total() - Decimal("31.25") + 2


def test_the_least_price() -> None:
    season = using("classic CCS price", {"sugar_price": "420", "constant": "0.578"})
    paid = pay(Deliveries.of([load("1", ccs="3")]), season)
    assert paid.amount.total() == 0
    assert paid.notes == {0: ["the formula gives -3.2020 $/t; the least price of 0 $/t applies"]}


def test_a_lacking_reading_takes_the_mean_of_the_day_by_mass() -> None:
    """Day values weighted by the mass of sampled loads only (growers' association, How to calculate, steps 2.1-2.4)."""
    season = using("recoverable value", {"rv_price": "4000", "d": "0.4", "c": "0.02"})
    rows = [
        load("1", "30", pol_in_cane="13", brix_in_cane="15", fibre="14"),
        load("2", "10", pol_in_cane="12", brix_in_cane="15", fibre="14"),
        load("3", "20", ccs="12"),
    ]
    paid = pay(Deliveries.of(rows), season)
    one, two, three = paid.own.decimals()
    assert three == rounded((30 * one + 10 * two) / 40, 4)
    assert paid.notes == {2: [DAY_MEAN]}
    with pytest.raises(
        PaymentRefused, match=r"ticket 4 of 2031-06-03: no reading for 'recoverable value' and no other"
    ):
        pay(Deliveries.of([*rows, load("4", "20", 1, ccs="12")]), season)


def test_each_grower_by_his_own_scheme() -> None:
    more = """
[schemes.other]
scheme = "price at ten CCS"
[[schemes.other.terms]]
from = 2031-06-02
price_at_ten = "30"
[[schemes.other.terms]]
from = 2031-06-04
price_at_ten = "31"
[[agreements]]
growers = ["Long Reach"]
scheme = "other"
"""
    season = agreement("none", more)
    rows = [load("1", ccs="12"), load("2", grower=GROWERS[1], ccs="10"), load("3", day=2, grower=GROWERS[1], ccs="10")]
    paid = pay(Deliveries.of(rows), season, season.periods[0])
    assert paid.price.decimals() == [Decimal("30.818"), Decimal(30), Decimal(31)]
    assert len(paid.groups) == 3


def refusal(rows: Sequence[Delivery], season: Season) -> str:
    with pytest.raises(PaymentRefused) as refused:
        pay(Deliveries.of(rows), season, season.periods[0])
    return str(refused.value)


def test_refusals_name_what_where_and_what_to_do() -> None:
    gapped = read_season(
        SEASON.format(relative="none", more="").replace('scheme = "main"\n', 'scheme = "main"\nto = 2031-06-02\n')
    )
    says = refusal(
        [load("1", ccs="12"), load("2", day=1, ccs="12"), load("3", day=1, grower="Long Reach", ccs="12")], gapped
    )
    assert "Heron Flats, 2031-06-03: no agreement holds on that day (an agreement gap); add [[agreements]]" in says
    assert "Long Reach, 2031-06-03" in says
    assert "outside the season 2031" in refusal([load("1", day=40, ccs="12")], agreement())
    late = read_season(
        SEASON.format(relative="none", more="").replace("terms]]\nfrom = 2031-06-02", "terms]]\nfrom = 2031-06-05")
    )
    assert "scheme 'main' has no terms in force before 2031-06-05" in refusal([load("1", ccs="12")], late)
    pool = using("pool on CCS", {"pool": "100"}, more="")
    assert "no pay units to share 100.00 $ over" in refusal([load("1", ccs="0")], pool)


def test_a_pool_belongs_to_its_period() -> None:
    text = SEASON.format(relative="none", more="").replace("classic CCS price", "pool on CCS")
    text = text.replace('sugar_price = "420.00"\nconstant = "0.578"', 'pool = "1000"')
    season = read_season(text.replace('sugar_price = "430.00"\nconstant = "0.578"', 'pool = "3000"'))
    assert pay(Deliveries.of([load("1", ccs="12")]), season, season.periods[0]).amount.total() == 1000
    with pytest.raises(PaymentRefused, match="no pool is agreed for the period 2031-06-09 to 2031-06-15"):
        pay(Deliveries.of([load("1", day=7, ccs="12")]), season, season.periods[1])


def test_bad_deliveries_are_all_listed() -> None:
    rows = [
        load("1", ccs="12"),
        load("1", ccs="12"),
        load("2", net="-3", ccs="12"),
        load("3", ccs="77"),
        load("4", grower=" "),
    ]
    with pytest.raises(PaymentRefused) as refused:
        Deliveries.of([*rows, load("5", mud="1")])
    told = "\n".join(refused.value.faults)
    for words in (
        "ticket 1 of 2031-06-02 is given more than once", "ticket 2 of 2031-06-02: net mass is -3 t",
        "ticket 3 of 2031-06-02: CCS is 77 %; accepted: 0 to 25 %", "ticket 4 of 2031-06-02: grower is empty",
        "ticket 5 of 2031-06-02: 'mud' is not a reading",
    ):  # fmt: skip
        assert words in told
    many = PaymentRefused([f"fault {i}" for i in range(60)])
    assert str(many).endswith("and 10 more")
    assert len(many.faults) == 60


def test_nothing_delivered() -> None:
    season = agreement("additive")
    paid = pay(Deliveries.of([]), season, season.periods[0])
    assert paid.value.total() == 0
    assert paid.groups == []


# --- what never changes -----------------------------------------------------------------------------------------------

loads = st.lists(
    st.tuples(
        st.decimals(Decimal("0.5"), Decimal(60), places=2),
        st.decimals(Decimal(5), Decimal(16), places=2),
        st.integers(0, 20),
        st.sampled_from(GROWERS),
    ),
    min_size=1,
    max_size=25,
)
Loads = list[tuple[Decimal, Decimal, int, str]]


def delivered(drawn: Loads) -> list[Delivery]:
    return [load(str(i), str(net), day, grower, ccs=str(ccs)) for i, (net, ccs, day, grower) in enumerate(drawn)]


@given(loads, st.sampled_from(["none", "additive", "multiplicative"]), st.randoms(use_true_random=False))
def test_permuting_deliveries_changes_nothing(drawn: Loads, relative: str, shuffle: Random) -> None:
    for scheme, constants in (("classic CCS price", CLASSIC), ("pool on CCS", {"pool": "12345.67"})):
        season = using(scheme, constants, relative=relative)
        rows = delivered(drawn)
        first = pay(Deliveries.of(rows), season)
        shuffle.shuffle(rows)
        again = pay(Deliveries.of(rows), season)
        assert again.deliveries.tickets == first.deliveries.tickets
        assert again.value.decimals() == first.value.decimals()


@given(
    loads, st.sampled_from(["none", "additive", "multiplicative"]), st.decimals(Decimal(0), Decimal(10**7), places=2)
)
def test_a_pool_is_shared_out_exactly(drawn: Loads, relative: str, pool: Decimal) -> None:
    season = using("pool on CCS", {"pool": str(pool)}, relative=relative)
    paid = pay(Deliveries.of(delivered(drawn)), season)
    assert paid.value.total() == pool
    units = (paid.deliveries.net * paid.relative).decimals()
    whole = sum(Fraction(u) for u in units)
    for amount, each in zip(paid.amount.decimals(), units, strict=True):
        assert abs(Fraction(amount) - Fraction(pool) * Fraction(each) / whole) < Fraction(1, 100)


@given(loads, st.decimals(Decimal(0), Decimal(900), places=2), st.sampled_from(["even", "up"]))
def test_a_price_scheme_pays_the_declared_formula_exactly(drawn: Loads, sugar: Decimal, half: str) -> None:
    season = using("classic CCS price", {"sugar_price": str(sugar), "constant": "0.578"}, rounding=f'half = "{half}"')
    paid = pay(Deliveries.of(delivered(drawn)), season)
    for net, ccs, amount in zip(
        paid.deliveries.net.decimals(), paid.own.decimals(), paid.amount.decimals(), strict=True
    ):
        price = sugar * Decimal("0.009") * (ccs - 4) + Decimal("0.578")
        assert amount == rounded(net * price, 2, season.rounding.half)
    assert sum(paid.by_grower(paid.value).decimals()) == paid.value.total()


@given(loads, st.sampled_from(["additive", "multiplicative"]), st.sampled_from(["1", "0.5"]))
def test_relative_payment_keeps_the_pay_units(drawn: Loads, relative: str, blend: str) -> None:
    """With the season's own mean, the sum of mass times quality stays, to the rounding of each relative quality."""
    base = SEASON.format(relative=relative, more="[rounding]\nrelative = 9\n")
    season = read_season(base.replace('season_mean = "13.20"', f'season_mean = "13.20"\nblend = "{blend}"'))
    paid = pay(Deliveries.of(delivered(drawn)), season)
    before = Fraction((paid.deliveries.net * paid.own).total())
    after = Fraction((paid.deliveries.net * paid.relative).total())
    assert abs(after - before) <= Fraction(paid.deliveries.net.total()) * Fraction(1, 10**9)


@given(loads)
def test_no_grower_hangs_on_his_own_tonnage_but_by_weight(drawn: Loads) -> None:
    """A consignment cut into two of the same quality is worth the same, to a cent each."""
    season = using("classic CCS price", CLASSIC, relative="additive")
    rows = delivered(drawn)
    one = pay(Deliveries.of(rows), season)
    halves = [replace(r, ticket=r.ticket + part, net=r.net / 2) for r in rows for part in "ab"]
    two = pay(Deliveries.of(halves), season)
    apart = abs(one.value.total() - two.value.total())
    assert apart <= Decimal("0.01") * 2 * len(rows)
