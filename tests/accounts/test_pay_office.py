"""The pay office over stored readings: from reading to statement, two approvals, corrections, and who may do what."""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path

import pytest

import canewright
from accounts.paid_mill import AGREEMENT, FIRST, GROWERS, OFFICER, SECRET, Paying, add_tickets, no_chance, open_office
from canewright.accounts.intake import import_day, read_day
from canewright.accounts.measuring import expected_points
from canewright.accounts.pay_office import PayOffice
from canewright.accounts.pay_people import ADMINISTER, APPROVE, OWN, PREPARE, NotAllowed, People
from canewright.accounts.pay_tracing import traced
from canewright.accounts.pay_words import file_name, status_of
from canewright.analysis.brix import corrected_brix
from canewright.analysis.cane import ccs
from canewright.analysis.polarimetry import pol_from_polarimeter
from canewright.cane.deliveries import PaymentRefused
from canewright.cane.season_reading import SeasonFaults
from canewright.plant.plant import Plant
from canewright.store import PayRefused, ReasonMissing, Store
from store.samples import Clock


@pytest.fixture
def paying(tmp_path: Path) -> Iterator[Paying]:
    """Persons, tickets and the agreement."""
    with Store.create(tmp_path, now=Clock()) as store:
        made = open_office(store)
        made.agree()
        yield made


def test_from_the_reading_to_the_statement(paying: Paying) -> None:
    """CCS by the public formula (Engelke, Farmnote 712/25, read) along the whole path, then relative to the week."""
    run = paying.office.compute(paying.officer, "2026")
    assert (run.number, run.status, run.content["consignments"]) == (1, "computed", 4)
    mine = paying.office.statement(paying.chemist, "2026", 1, "farm 1")
    line = dict(zip(mine["heads"], mine["lines"][0], strict=True))
    brix = float(corrected_brix(20.1, 22.0))
    expected = float(ccs(brix, float(pol_from_polarimeter(74.0, brix)), 14.0))
    assert float(line["CCS, %"]) == pytest.approx(expected, abs=1e-6)
    assert line["Net, t"] == "35.0"
    assert "Farm" not in line
    week = Decimal(mine["means"][0][3])
    assert Decimal(line["Relative CCS, %"]) == pytest.approx(
        Decimal(line["CCS paid on, %"]) + Decimal("13.20") - week, abs=Decimal("2e-6")
    )
    assert Decimal(line["Price, $/t"]) == pytest.approx(
        Decimal("3.78") * (Decimal(line["Relative CCS, %"]) - 4) + Decimal("0.578"), abs=Decimal("1e-8")
    )
    assert run.content["exposure"]["growers_share"] is not None


def test_a_missing_sample_is_told_on_the_statement(paying: Paying) -> None:
    paying.office.compute(paying.officer, "2026")
    other = paying.office.statement(paying.chemist, "2026", 1, "farm 2")
    assert other["marks"][0] == ["0706-4", "no juice sample"]
    assert "mean of the fibre class on the day" in other["marks"][1][1]
    assert other["uncertainty"] is None
    assert other["lines"][1][other["heads"].index("CCS ±, %")] == "not known"


def test_a_line_opens_to_the_raw_reading(paying: Paying) -> None:
    paying.office.compute(paying.officer, "2026")
    mine = paying.office.statement(paying.chemist, "2026", 1, "farm 1")
    line = traced(paying.office.store, mine, "0706-1")
    read = {history[0].quantity: history[0] for history in line.readings}
    assert read["refractometer brix"].value == 20.1
    assert read["gross mass"].taken_by == "shift chemist"
    assert any(step.startswith("35.0 t x") for step in line.steps)
    assert line.steps[-1] == f"value credited: {line.figures['Value, $']} $"
    with pytest.raises(PayRefused, match="has no ticket '77'"):
        traced(paying.office.store, mine, "77")


def test_preview_stores_nothing_and_compute_what_was_previewed(paying: Paying) -> None:
    told = paying.office.preview(paying.officer, "2026")
    assert paying.office.store.payments.runs("2026") == ()
    run = paying.office.compute(paying.officer, "2026")
    assert run.content["statements"] == json.loads(json.dumps(told["statements"]))


def test_a_whole_season_is_paid_to_the_cent(paying: Paying) -> None:
    for number in (1, 2, 3):
        run = paying.office.compute(paying.officer, "2026")
        assert run.number == number
        paying.close(number)
    runs = paying.office.store.payments.runs("2026")
    assert [r.status for r in runs] == ["closed"] * 3
    assert runs[2].content["final"]
    for grower in GROWERS:
        paid = sum(Decimal(r.content["statements"][grower]["payable"]) for r in runs)
        account = runs[2].content["ledger"]["accounts"][grower]
        charged = sum(Decimal(a) for r in runs for _, a in r.content["ledger"]["accounts"][grower]["charges"])
        assert paid == Decimal(account["value"]) - charged
    with pytest.raises(PaymentRefused, match="is settled"):
        paying.office.compute(paying.officer, "2026")
    assert status_of(runs[0]).startswith("closed by accountant on 2026-07-1")
    assert file_name(runs[0].content["statements"]["farm 1"]) == "2026-1-farm-1"


def test_a_reading_corrected_after_closing_becomes_a_new_line(paying: Paying) -> None:
    store = paying.office.store
    paying.office.compute(paying.officer, "2026")
    paying.close(1)
    before = paying.office.statement(paying.chemist, "2026", 1, "farm 1")
    pol = next(r for r in store.readings(FIRST) if r.place == "ticket 0706-1" and r.quantity == "polarimeter reading")
    store.correct(pol.id, 75.5, "shift chemist", "tube not filled")
    with pytest.raises(PaymentRefused, match=r"ticket 0706-1 of 2026-07-06, farm 1: \+.*say why with a reason"):
        paying.office.compute(paying.officer, "2026")
    run = paying.office.compute(paying.officer, "2026", "polarimeter tube not filled")
    new = paying.office.statement(paying.chemist, "2026", 2, "farm 1")["corrections"]
    assert [c[:2] for c in new] == [["1", "0706-1"], ["1", "0706-3"]]
    assert new[0][4] == "polarimeter tube not filled"
    assert run.content["corrections"]
    assert paying.office.statement(paying.chemist, "2026", 1, "farm 1") == before


def test_a_reading_corrected_between_computing_and_closing_is_noticed(paying: Paying) -> None:
    store = paying.office.store
    paying.office.compute(paying.officer, "2026")
    pol = next(r for r in store.readings(FIRST) if r.place == "ticket 0706-1" and r.quantity == "polarimeter reading")
    store.correct(pol.id, 75.5, "shift chemist", "tube not filled")
    with pytest.raises(PayRefused, match="comes to something else than version 1"):
        paying.close(1)
    paying.office.compute(paying.officer, "2026", "late correction")
    paying.close(1, 2)


def test_corrections_by_hand(paying: Paying) -> None:
    office = paying.office
    office.correct(paying.officer, "2026", "farm 2", "-12.50", "bins damaged", 1, "0706-2")
    run = office.compute(paying.officer, "2026")
    assert run.content["statements"]["farm 2"]["corrections"][0][3:] == [
        "-12.50", f"bins damaged (by hand, {OFFICER})",
    ]  # fmt: skip
    for amount in ("abc", "0", "1.005", "NaN"):
        with pytest.raises(PayRefused, match="amount: found"):
            office.correct(paying.officer, "2026", "farm 2", amount, "why", 1)
    with pytest.raises(PayRefused, match="period: found 9; accepted: 1 to 2"):
        office.correct(paying.officer, "2026", "farm 2", "1", "why", 9)
    with pytest.raises(ReasonMissing):
        office.correct(paying.officer, "2026", "farm 2", "1", " ", 1)


def test_prices_after_closing_change_nothing(paying: Paying) -> None:
    paying.office.compute(paying.officer, "2026")
    paying.close(1)
    with pytest.raises(PaymentRefused, match="period 1 is closed and was paid with sugar_price"):
        paying.agree(AGREEMENT.replace('"420.00"', '"425.00"'), "price rose")
    assert paying.office.season("2026")[0].version == 1
    paying.agree(AGREEMENT.replace('"430.00"', '"440.00"'), "final price known")
    with pytest.raises(SeasonFaults):
        paying.agree(AGREEMENT.replace('"430.00"', "440.0"), "typed wrong")
    with pytest.raises(PayRefused, match="Season '1999' has no agreement; known: 2026"):
        paying.office.season("1999")


def test_an_agreement_gap_names_grower_and_day(paying: Paying) -> None:
    paying.agree(
        AGREEMENT.replace('scheme = "main"\n\n[[periods]]', 'scheme = "main"\nfrom = 2026-07-08\n\n[[periods]]', 1),
        "gap",
    )
    with pytest.raises(PaymentRefused, match=r"farm 1, 2026-07-06: no agreement holds on that day"):
        paying.office.compute(paying.officer, "2026")
    assert paying.office.store.payments.runs("2026") == ()


def test_consignments_that_cannot_be_paid_on_are_all_listed(paying: Paying) -> None:
    store = paying.office.store
    mass = next(r for r in store.readings(FIRST) if r.place == "ticket 0706-1" and r.quantity == "gross mass")
    store.correct(mass.id, 5.0, "weighbridge", "typed wrong")
    add_tickets(store, FIRST + dt.timedelta(days=1), 1)
    with pytest.raises(PaymentRefused) as refused:
        paying.office.compute(paying.officer, "2026")
    told = str(refused.value)
    assert "ticket 0706-1 is not settled: ticket 0706-1: gross 5.0 t is not above tare" in told
    assert "no usable juice sample on 2026-07-07 to fall back on for 0707-1" in told


def test_the_demo_day_is_paid_by_the_demo_agreement(tmp_path: Path) -> None:
    day = dt.date(2031, 8, 14)
    demo = Path(canewright.__file__).parent / "demo_data"
    mill = Plant.read(demo / "plant.toml")
    with Store.create(tmp_path, now=Clock()) as store:
        made = open_office(store)
        folder = demo / "days" / day.isoformat()
        described = mill.description
        points = expected_points(described)
        files = read_day(
            folder, day, points, described.cut_hour, described.zone, sections=list(described.sections)
        )  # fmt: skip
        import_day(store, files, "demo analyst")
        office = PayOffice(store, described)
        office.enter_agreement(made.officer, (demo / "agreement.toml").read_text(encoding="utf-8"), "demo")
        told = office.preview(made.officer, "2031")
    assert told["consignments"] == 242
    whole = sum(Decimal(line[-1]) for s in told["statements"].values() for line in s["lines"])
    assert whole == Decimal(told["value"])
    share = Decimal(told["exposure"]["growers_share"])
    assert Decimal(60) < share < Decimal(70)


# --- who may do what --------------------------------------------------------------------------------------------------


def test_rights_are_checked_behind_every_door(paying: Paying) -> None:
    office = paying.office
    office.compute(paying.officer, "2026")
    for act in (
        lambda: office.enter_agreement(paying.accountant, AGREEMENT, "x"),
        lambda: office.preview(paying.accountant, "2026"),
        lambda: office.compute(paying.chemist, "2026"),
        lambda: office.correct(paying.grower, "2026", "farm 1", "1000000", "please", 1),
        lambda: office.approve(paying.chemist, "2026", 1, 1),
        lambda: office.reject(paying.grower, "2026", 1, 1, "no"),
        lambda: office.close(paying.grower, "2026", 1, 1),
        lambda: paying.people.record(paying.accountant, "friend", [APPROVE], SECRET, "x"),
        lambda: paying.people.record(None, "stranger", [ADMINISTER], SECRET, "x"),
    ):
        with pytest.raises(NotAllowed):
            act()
    assert office.run("2026", 1).acts == ()


def test_one_person_under_one_name_cannot_pay_alone(paying: Paying) -> None:
    paying.office.compute(paying.officer, "2026")
    paying.office.approve(paying.officer, "2026", 1, 1)
    with pytest.raises(PayRefused, match="a second person must approve"):
        paying.office.approve(paying.officer, "2026", 1, 1)
    with pytest.raises(PayRefused, match="two different persons"):
        paying.office.close(paying.officer, "2026", 1, 1)


def test_a_grower_sees_closed_statements_of_his_own_and_nothing_else(paying: Paying) -> None:
    office, ada = paying.office, paying.grower
    office.compute(paying.officer, "2026")
    with pytest.raises(NotAllowed, match="is not closed yet"):
        office.statement(ada, "2026", 1, "farm 1")
    assert office.seen_runs(ada, "2026") == []
    paying.close(1)
    mine = office.statement(ada, "2026", 1, "farm 1")
    assert mine["grower"] == "farm 1"
    assert len(office.seen_runs(ada, "2026")) == 1
    for other in ("farm 2", "Farm 1", ""):
        with pytest.raises(NotAllowed, match="may not see this statement"):
            office.statement(ada, "2026", 1, other)
    others = [line[0] for line in office.statement(paying.chemist, "2026", 1, "farm 2")["lines"]]
    told = json.dumps(mine)
    assert "farm 2" not in told
    assert not any(ticket in told for ticket in others)


def test_signing_in(paying: Paying) -> None:
    people = paying.people
    assert people.sign_in(OFFICER, SECRET) == paying.officer
    for name, secret in ((OFFICER, "wrong horse"), ("ghost", SECRET), (OFFICER, "")):
        with pytest.raises(PayRefused, match=r"The name or the passphrase is wrong\."):
            people.sign_in(name, secret)
    people.record(paying.officer, OFFICER, [ADMINISTER], None, "no longer pays")
    assert people.sign_in(OFFICER, SECRET).rights == {ADMINISTER}
    assert people.again(paying.officer).rights == {ADMINISTER}
    kept = paying.office.store.payments.person(OFFICER).secret
    assert SECRET not in kept


def test_persons_that_make_no_sense_are_refused(tmp_path: Path) -> None:
    with Store.create(tmp_path, now=Clock()) as store:
        people = People(store, no_chance)
        with pytest.raises(PayRefused, match="first person must hold the right to 'administer'"):
            people.record(None, "a", [APPROVE], SECRET, "x")
        boss = people.record(None, "a", [ADMINISTER], SECRET, "x")
        with pytest.raises(PayRefused, match="'fly' is not a right; accepted: prepare"):
            people.record(boss, "b", ["fly"], SECRET, "x")
        with pytest.raises(PayRefused, match="at least 8 characters"):
            people.record(boss, "b", [PREPARE], "short", "x")
        with pytest.raises(PayRefused, match="goes with the name of one grower"):
            people.record(boss, "b", [OWN], SECRET, "x")
