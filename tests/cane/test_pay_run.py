"""Pay runs one after another: advances, charges, corrections as new lines, the final settlement, closed prices."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cane.agreements import GROWERS, SEASON, agreement, load, three_weeks
from canewright.cane.deliveries import Deliveries, Delivery, PaymentRefused
from canewright.cane.ledger import history_of, ledger_of, refuse_changed
from canewright.cane.pay_run import Correction, History, PayRun, compute
from canewright.cane.season import Season
from canewright.cane.season_reading import read_season
from canewright.cane.statements import statements

LEVY = """
[[levies]]
name = "research levy"
rate = "0.35"
[[levies]]
name = "growers' fund"
rate = "0.005"
per = "$ of value"
[[levies]]
name = "variety fund"
rate = "1.00"
per = "t of quality"
"""


def season_of(more: str = "", relative: str = "none") -> Season:
    return agreement(relative, more)


def after(runs: Sequence[PayRun]) -> History:
    """What is left of runs when they have been plain text in the records."""
    return history_of([json.loads(json.dumps(ledger_of(run))) for run in runs])


def settled(season: Season, rows: Sequence[Delivery]) -> list[PayRun]:
    """Every period and the final settlement."""
    runs: list[PayRun] = []
    for _ in range(len(season.periods) + 1):
        runs.append(compute(season, Deliveries.of(rows), after(runs)))
    return runs


def test_an_advance_is_the_agreed_part_of_all_value_to_date() -> None:
    """Heron Flats: 1000 t of CCS 11.8 at 420 pay 30,062.00 in week 1; 70 % of it is 21,043.40 (worked by hand)."""
    season = season_of()
    one = compute(season, Deliveries.of(three_weeks()), History())
    account = one.accounts["Heron Flats"]
    assert (account.value, account.advanced, account.payable) == (
        Decimal("30062.00"), Decimal("21043.40"), Decimal("21043.40"),
    )  # fmt: skip
    two = compute(season, Deliveries.of(three_weeks()), after([one])).accounts["Heron Flats"]
    # 800 t of 13.4: 35.532 + 0.578 = 36.11 $/t -> 28,888.00; 80 % of 58,950.00 less 21,043.40
    assert (two.value, two.value_to_date, two.advanced) == (
        Decimal("28888.00"), Decimal("58950.00"), Decimal("26116.60"),
    )  # fmt: skip


def test_the_final_settlement_pays_the_rest_at_the_final_price() -> None:
    season = season_of(LEVY)
    runs = settled(season, three_weeks())
    final = runs[-1]
    assert final.final
    assert [c.reason.startswith("final adjustment") for c in final.corrections] == [True, True]
    for grower in GROWERS:
        whole = final.paid.by_grower(final.paid.value).decimals()[GROWERS.index(grower)]
        charged = sum((amount for run in runs for _, amount in run.accounts[grower].charges), Decimal(0))
        assert sum(run.accounts[grower].payable for run in runs) == whole - charged
    with pytest.raises(PaymentRefused, match="season 2031 is settled: run 4 was the final one"):
        compute(season, Deliveries.of(three_weeks()), after(runs))


def test_levies_on_cane_value_and_quality() -> None:
    """1000 t of CCS 11.8 worth 30,062.00: 350.00, 0.5 % is 150.31, 118 t of CCS at 1 $ (worked by hand)."""
    run = compute(season_of(LEVY), Deliveries.of(three_weeks()), History())
    assert run.accounts["Heron Flats"].charges == (
        ("research levy", Decimal("350.00")), ("growers' fund", Decimal("150.31")), ("variety fund", Decimal("118.00")),
    )  # fmt: skip


def test_what_a_grower_owes_is_carried_and_nobody_is_paid_less_than_nothing() -> None:
    more = '[[recoveries]]\nname = "planting loan"\ngrower = "Heron Flats"\namount = "30000"\nperiod = 1\n'
    season = season_of(more)
    one = compute(season, Deliveries.of(three_weeks()), History())
    account = one.accounts["Heron Flats"]
    assert (account.payable, account.carried) == (Decimal(0), Decimal("-8956.60"))
    two = compute(season, Deliveries.of(three_weeks()), after([one])).accounts["Heron Flats"]
    assert two.payable == Decimal("26116.60") - Decimal("8956.60")
    assert two.carried == 0


def corrected(rows: Sequence[Delivery], ticket: str, ccs: str) -> list[Delivery]:
    return [replace(r, readings={"CCS": Decimal(ccs)}) if r.ticket == ticket else r for r in rows]


def test_a_reading_corrected_after_closing_is_a_new_line_with_its_reason() -> None:
    season = season_of()
    one = compute(season, Deliveries.of(three_weeks()), History())
    later = Deliveries.of(corrected(three_weeks(), "0-0", "12.0"))
    with pytest.raises(PaymentRefused, match=r"ticket 0-0 of 2031-06-02, Heron Flats: \+756\.00 \$ apart.*say why"):
        compute(season, later, after([one]))
    two = compute(season, later, after([one]), reason="retained juice read again")
    assert two.corrections == (
        Correction("Heron Flats", 1, three_weeks()[0].day, "0-0", Decimal("756.00"), "retained juice read again"),
    )
    three = compute(season, later, after([one, two]))
    assert three.corrections == ()
    assert three.accounts["Heron Flats"].value_before == Decimal("30062.00") + Decimal("28888.00") + 756


def test_a_mean_that_changes_moves_every_grower_of_the_week() -> None:
    season = season_of(relative="additive")
    one = compute(season, Deliveries.of(three_weeks()), History())
    later = Deliveries.of(corrected(three_weeks(), "0-0", "12.1"))
    two = compute(season, later, after([one]), reason="retained juice read again")
    assert {c.ticket: c.amount for c in two.corrections} == {"0-0": Decimal("378.00"), "0-1": Decimal("-378.00")}


def test_a_load_of_another_grower_moves_and_a_withdrawn_one_goes_back() -> None:
    season = season_of()
    one = compute(season, Deliveries.of(three_weeks()), History())
    moved = [replace(r, grower="Long Reach") if r.ticket == "0-0" else r for r in three_weeks() if r.ticket != "0-1"]
    two = compute(season, Deliveries.of(moved), after([one]), reason="wrong note")
    told = {(c.ticket, c.grower): c.amount for c in two.corrections}
    assert told["0-0", "Heron Flats"] == -told["0-0", "Long Reach"] == Decimal("-30062.00")
    assert told["0-1", "Long Reach"] == -one.credits()[three_weeks()[1].day, "0-1", "Long Reach"]


def test_small_differences_wait_for_the_final_settlement() -> None:
    season = replace(season_of(), least_correction=Decimal(1000))
    rows = three_weeks()
    runs = [compute(season, Deliveries.of(rows), History())]
    rows = corrected(rows, "0-0", "12.0")
    for _ in range(3):
        runs.append(compute(season, Deliveries.of(rows), after(runs)))
    assert [len(r.corrections) for r in runs] == [0, 0, 0, 2]
    final = runs[-1]
    paid = sum(run.accounts["Heron Flats"].payable for run in runs)
    assert paid == final.paid.by_grower(final.paid.value).decimals()[0]


def test_a_correction_by_hand_stays_through_the_final_settlement() -> None:
    season = season_of()
    hand = Correction("Long Reach", 1, None, "", Decimal("55.00"), "demurrage agreed", by_hand=True)
    runs = [compute(season, Deliveries.of(three_weeks()), History(), [hand])]
    for _ in range(3):
        runs.append(compute(season, Deliveries.of(three_weeks()), after(runs)))
    whole = runs[-1].paid.by_grower(runs[-1].paid.value).decimals()[1]
    assert sum(run.accounts["Long Reach"].payable for run in runs) == whole + 55


def test_prices_after_closing_are_refused() -> None:
    old = season_of()
    refuse_changed([old], old)
    refuse_changed([old], read_season(old.text.replace('sugar_price = "430.00"', 'sugar_price = "450.00"')))
    dearer = read_season(old.text.replace('sugar_price = "420.00"', 'sugar_price = "425.00"'))
    with pytest.raises(PaymentRefused, match=r"period 1 is closed and was paid with sugar_price of scheme 'main' from "
                       r"2031-06-02: 420\.00; found now: 425\.00\. Put it back"):  # fmt: skip
        refuse_changed([old], dearer)
    new_row = '[[schemes.main.terms]]\nfrom = 2031-06-09\nsugar_price = "425"\nconstant = "0"\n'
    later = old.text.replace("[schemes.main.final]", f"{new_row}[schemes.main.final]")
    refuse_changed([old], read_season(later))
    with pytest.raises(PaymentRefused, match="period 2 is closed"):
        refuse_changed([old, old], read_season(later))
    mean = new_row.replace('"425"', '"420.00"').replace('"0"', '"0.578"\nseason_mean = "13.40"')
    refuse_changed([old], read_season(old.text.replace("[schemes.main.final]", f"{mean}[schemes.main.final]")))
    other = '[schemes.other]\nscheme = "price at ten CCS"\n[[schemes.other.terms]]\nprice_at_ten = "30"\n'
    other += '[[agreements]]\ngrowers = ["Long Reach"]\nscheme = "other"\nfrom = 2031-06-09\n'
    refuse_changed([old], read_season(old.text + other))
    with pytest.raises(PaymentRefused, match="period 2 is closed and was paid with agreement 2: nothing"):
        refuse_changed([old, old], read_season(old.text + other))
    with pytest.raises(PaymentRefused, match="levy 1: nothing; found now: research levy"):
        refuse_changed([old], season_of(LEVY))


def test_no_final_settlement_without_final_constants() -> None:
    text = SEASON.format(relative="none", more="").replace(
        '[schemes.main.final]\nsugar_price = "430.00"\nconstant = "0.578"\n', ""
    )
    season = read_season(text)
    runs: list[PayRun] = []
    for _ in range(3):
        runs.append(compute(season, Deliveries.of(three_weeks()), after(runs)))
    with pytest.raises(PaymentRefused, match=r"no final constants; add \[schemes.main.final\]"):
        compute(season, Deliveries.of(three_weeks()), after(runs))


loads = st.lists(
    st.tuples(
        st.decimals(Decimal("0.5"), Decimal(60), places=2),
        st.decimals(Decimal(5), Decimal(16), places=2),
        st.integers(0, 20),
        st.sampled_from(GROWERS),
    ),
    min_size=1,
    max_size=12,
)


@settings(max_examples=25)
@given(loads, st.sampled_from(["none", "additive"]))
def test_all_runs_together_pay_the_final_value_less_charges(
    drawn: list[tuple[Decimal, Decimal, int, str]], relative: str
) -> None:
    season = season_of(LEVY, relative)
    rows = [load(str(i), str(net), day, grower, ccs=str(ccs)) for i, (net, ccs, day, grower) in enumerate(drawn)]
    runs = settled(season, rows)
    final = runs[-1]
    for number, grower in enumerate(final.paid.deliveries.growers):
        accounts = [run.accounts[grower] for run in runs if grower in run.accounts]
        charged = sum((amount for a in accounts for _, amount in a.charges), Decimal(0))
        whole = final.paid.by_grower(final.paid.value).decimals()[number]
        assert sum(a.payable for a in accounts) + accounts[-1].carried == whole - charged
        assert all(a.payable >= 0 for a in accounts)


# --- statements -------------------------------------------------------------------------------------------------------


def test_a_statement_shows_every_step_with_its_unit() -> None:
    rows = three_weeks()
    rows[0] = replace(rows[0], marks=("mean of the same grower and block on the day (rung 2)",), sources={"CCS": 17})
    run = compute(season_of(LEVY, "additive"), Deliveries.of(rows), History())
    told = dict(statements(run))
    assert sorted(told) == list(GROWERS)
    mine = json.loads(json.dumps(told["Heron Flats"]))
    assert len(mine["lines"]) == 1
    line = dict(zip(mine["heads"], mine["lines"][0], strict=True))
    assert line["Ticket"] == "0-0"
    assert line["Net, t"] == "1000"
    assert line["CCS, %"] == "11.8"
    assert line["CCS ±, %"] == "0.15"
    assert line["Relative CCS, %"] == "12.933333"
    assert Decimal(line["Price, $/t"]) == Decimal("34.34599874")
    assert line["Amount, $"] == line["Value, $"] == "34346.00"
    assert mine["rules"][0] == "levy: research levy, 0.35 $ per t of cane, 2031-06-02 to 2031-06-22"
    assert mine["marks"] == [["0-0", "mean of the same grower and block on the day (rung 2)"]]
    assert mine["sources"] == {"0-0": {"CCS": 17}}
    assert mine["means"] == [["main", "1", "1500", "12.066667", "13.200000", "%"]]
    assert mine["schemes"][0]["constants"][0] == ["price of sugar", "420.00", "$/t"]
    assert ["payable now", mine["payable"], "$"] in mine["account"]
    assert all(len(row) == 3 and row[2] for row in mine["account"])
    # 1000 t, 0.009 x 420 = 3.78 $/t for a unit of CCS, 0.15 of uncertainty: 567 $
    assert mine["uncertainty"] == "567.00"


def test_a_penalty_shows_the_reading_it_rests_on_and_its_rule() -> None:
    more = """
[[adjustments]]
name = "dirty cane"
kind = "penalty"
reading = "extraneous matter"
free = "6"
rate = "0.5"
"""
    rows = [load("1", "10", ccs="12", extraneous_matter="8.5")]
    ((_, mine),) = statements(compute(season_of(more), Deliveries.of(rows), History()))
    line = dict(zip(mine["heads"], mine["lines"][0], strict=True))
    assert (line["Extraneous matter, %"], line["Dirty cane, $"]) == ("8.5", "-12.50")
    assert mine["totals"]["Dirty cane, $"] == "-12.50"
    assert mine["rules"][0].startswith("dirty cane, penalty of 0.5 $/t for each % of extraneous matter above 6")


def test_the_lines_of_statements_add_to_the_run() -> None:
    rows = [*three_weeks(), load("9", "12.34", 1, "Cane Point", juice_brix="20.1", juice_pol="17.9", fibre="14.1")]
    run = compute(season_of(), Deliveries.of(rows), History())
    told = dict(statements(run))
    whole = sum(Decimal(line[-1]) for s in told.values() for line in s["lines"])
    assert whole == run.paid.value.total()
    for name, s in told.items():
        assert sum(Decimal(line[-1]) for line in s["lines"]) == Decimal(s["totals"]["Value, $"]), name
    assert told["Cane Point"]["lines"][0][told["Cane Point"]["heads"].index("CCS, %")] == "not read"
    assert told["Heron Flats"]["lines"][0][told["Heron Flats"]["heads"].index("Juice brix, %")] == "not read"
