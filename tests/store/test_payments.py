"""Payment records: two persons approve before a run is closed, and of what is closed nothing changes."""

from __future__ import annotations

import sqlite3
from pathlib import Path

import pytest

from canewright.store import BadEntry, NoSuchPerson, PayRefused, ReasonMissing, Store
from store.pay_samples import ONE, SEASON, TWO, fill_payments
from store.samples import raw

CONTENT = {"owed": "1", "by_hand": []}
TABLES = ("pay_person", "pay_agreement", "pay_run", "pay_act", "pay_correction")


@pytest.fixture
def ready(store: Store) -> Store:
    """An agreement and a computed run."""
    store.payments.add_agreement(SEASON, "text", ONE, "signed")
    store.payments.add_run(SEASON, 1, 1, CONTENT, ONE, None)
    return store


def test_a_run_goes_from_computed_to_closed(ready: Store) -> None:
    pay = ready.payments
    assert pay.act(SEASON, 1, 1, "approved", ONE).status == "approved by one"
    assert pay.act(SEASON, 1, 1, "approved", TWO).status == "approved by two"
    closed = pay.act(SEASON, 1, 1, "closed", TWO)
    assert closed.status == "closed"
    assert [a.by for a in closed.approvals] == [ONE, TWO]
    assert pay.run(SEASON, 1) == closed
    assert pay.runs(SEASON) == (closed,)


def test_one_person_cannot_approve_twice_nor_close_alone(ready: Store) -> None:
    pay = ready.payments
    with pytest.raises(PayRefused, match="is approved by nobody; two different persons"):
        pay.act(SEASON, 1, 1, "closed", ONE)
    pay.act(SEASON, 1, 1, "approved", ONE)
    with pytest.raises(PayRefused, match=f"{ONE} has approved run 1 of season 2031 already; a second person"):
        pay.act(SEASON, 1, 1, "approved", ONE)
    with pytest.raises(PayRefused, match=f"is approved by {ONE}; two different persons"):
        pay.act(SEASON, 1, 1, "closed", ONE)


def test_computed_again_a_run_needs_its_approvals_anew(ready: Store) -> None:
    pay = ready.payments
    pay.act(SEASON, 1, 1, "approved", ONE)
    again = pay.add_run(SEASON, 1, 1, CONTENT, ONE, "late reading")
    assert (again.version, again.status, again.approvals) == (2, "computed", ())
    with pytest.raises(PayRefused, match=r"computed again since \(version 2\)"):
        pay.act(SEASON, 1, 1, "approved", TWO)
    assert [v.status for v in pay.versions(SEASON, 1)] == ["approved by one", "computed"]


def test_runs_follow_one_another_and_a_closed_one_stays(ready: Store) -> None:
    pay = ready.payments
    with pytest.raises(PayRefused, match="Run 1 of season 2031 is not closed"):
        pay.add_run(SEASON, 2, 1, CONTENT, ONE, None)
    for person in (ONE, TWO):
        pay.act(SEASON, 1, 1, "approved", person)
    pay.act(SEASON, 1, 1, "closed", ONE)
    with pytest.raises(PayRefused, match="was closed by"):
        pay.add_run(SEASON, 1, 1, CONTENT, ONE, "second thoughts")
    with pytest.raises(PayRefused, match="nothing of it changes"):
        pay.act(SEASON, 1, 1, "approved", "somebody else")
    with pytest.raises(PayRefused, match="becomes a new line of the next run"):
        pay.add_correction(SEASON, 1, "Heron Flats", 1, "", "5", ONE, "why")
    pay.add_run(SEASON, 2, 1, CONTENT, ONE, None)


def test_nothing_may_change_between_computing_and_closing(ready: Store) -> None:
    pay = ready.payments
    for person in (ONE, TWO):
        pay.act(SEASON, 1, 1, "approved", person)
    pay.add_correction(SEASON, 1, "Heron Flats", 1, "", "5.00", ONE, "demurrage")
    with pytest.raises(PayRefused, match="correction by hand was recorded after"):
        pay.act(SEASON, 1, 1, "closed", TWO)
    pay.add_agreement(SEASON, "other text", ONE, "final price")
    with pytest.raises(PayRefused, match="has a newer version 2"):
        pay.act(SEASON, 1, 1, "closed", TWO)


def test_a_rejected_run_is_computed_again(ready: Store) -> None:
    pay = ready.payments
    with pytest.raises(ReasonMissing, match="cannot be rejected without a reason"):
        pay.act(SEASON, 1, 1, "rejected", TWO)
    pay.act(SEASON, 1, 1, "approved", ONE)
    assert pay.act(SEASON, 1, 1, "rejected", TWO, "wrong mean").status == "rejected"
    with pytest.raises(PayRefused, match="was rejected; compute it again"):
        pay.act(SEASON, 1, 1, "approved", TWO)


def test_agreements_and_persons_have_versions(store: Store) -> None:
    pay = store.payments
    with pytest.raises(NoSuchPerson, match="Nobody called 'ghost'"):
        pay.person("ghost")
    pay.add_person(ONE, ["approve"], None, "hash", "manager", "new")
    pay.add_person(ONE, [], None, "", "manager", "left")
    assert pay.person(ONE).rights == ()
    assert [p.reason for p in pay.persons()] == ["left"]
    with pytest.raises(ReasonMissing):
        pay.add_person(TWO, [], None, "", "manager", " ")
    assert pay.agreement(SEASON) is None
    pay.add_agreement(SEASON, "one", ONE, "signed")
    with pytest.raises(PayRefused, match="stored already as version 1"):
        pay.add_agreement(SEASON, "one", ONE, "again")
    assert pay.add_agreement(SEASON, "two", ONE, "final price").version == 2
    assert [a.text for a in pay.agreements(SEASON)] == ["one", "two"]
    assert pay.agreements("2032") == ()


def test_what_json_cannot_hold_is_refused(ready: Store) -> None:
    with pytest.raises(BadEntry, match="cannot be kept"):
        ready.payments.add_run(SEASON, 1, 1, {"owed": float("nan")}, ONE, None)
    with pytest.raises(PayRefused, match="is not computed"):
        ready.payments.act(SEASON, 9, 1, "approved", ONE)


@pytest.mark.parametrize("table", TABLES)
@pytest.mark.parametrize("act", ["update", "delete", "replace"])
def test_raw_sql_cannot_change_or_remove_a_row(store: Store, tmp_path: Path, table: str, act: str) -> None:
    fill_payments(store)
    connection = raw(tmp_path)
    before = connection.execute(f"SELECT * FROM {table}").fetchall()
    assert before
    statement = {
        "update": f"UPDATE {table} SET entered_by = 'another'",
        "delete": f"DELETE FROM {table}",
        "replace": f"INSERT OR REPLACE INTO {table} SELECT * FROM {table} LIMIT 1",
    }[act]
    with pytest.raises(sqlite3.IntegrityError, match=f"{table} is append-only"):
        connection.execute(statement)
    assert connection.execute(f"SELECT * FROM {table}").fetchall() == before
    connection.close()


def test_a_run_cannot_be_closed_twice_behind_the_back(store: Store, tmp_path: Path) -> None:
    run = fill_payments(store)
    connection = raw(tmp_path)
    with pytest.raises(sqlite3.IntegrityError):
        connection.execute(
            "INSERT INTO pay_act (run_id, act, entered_by, entered_at) VALUES (?, 'closed', 'x', '2031-01-01')",
            [run.id],
        )
    connection.close()
