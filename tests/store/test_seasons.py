"""Smoothed seasons and proposed corrections: kept, decided once with a reason, and overtaken by what comes later."""

from __future__ import annotations

import sqlite3
from pathlib import Path

import pytest

from canewright.store import BadEntry, CannotDecide, ReasonMissing, Store, UnknownProposal
from canewright.store.days import Closing
from store.samples import DAY, PLANT, a_reading, a_season, close, raw


@pytest.fixture
def proposed(store: Store) -> Store:
    """A closed day with a proposal."""
    store.add_reading(a_reading())
    close(store, (1,))
    a_season(store)
    return store


def _again() -> Closing:
    return Closing(DAY, "chief chemist", PLANT, {"cane": {"value": 1.1}}, {"pol": 14.7}, (1,), "weigher drifted")


def test_a_season_is_read_back_as_it_was_stored(proposed: Store) -> None:
    season = proposed.season()
    assert season is not None
    assert (season.first, season.by, season.course["days"]) == (DAY, "chief chemist", [DAY.isoformat()])
    (one,) = proposed.proposals()
    assert (one.status, one.version, one.season, one.decisions) == ("open", 1, season.id, ())
    assert one.figures[0]["proposed"] == 1.1
    assert proposed.season(99) is None
    assert proposed.proposals(DAY.replace(day=1)) == ()


def test_a_closed_day_is_not_touched_by_a_proposal(proposed: Store) -> None:
    assert [c.version for c in proposed.closings(DAY)] == [1]
    assert proposed.is_closed(DAY)
    assert proposed.knowledge(DAY) is None


def test_accepting_closes_the_day_again_and_keeps_what_was_published(proposed: Store) -> None:
    found = proposed.decide(1, "accepted", "chief chemist", "weigher drifted", _again())
    assert found.status == "accepted"
    first, second = proposed.closings(DAY)
    assert (first.figures["cane"]["value"], second.figures["cane"]["value"]) == (1.0, 1.1)
    assert first.reopened is not None
    assert first.reopened.reason == "weigher drifted"
    known = proposed.knowledge(DAY)
    assert known is not None
    assert known.knowledge[0]["value"] == 3.0
    withdrawn = proposed.decide(1, "withdrawn", "manager", "weigher was right", _again())
    assert [d.act for d in withdrawn.decisions] == ["accepted", "withdrawn"]
    assert proposed.knowledge(DAY) is None
    assert [c.version for c in proposed.closings(DAY)] == [1, 2, 3]


def test_what_fails_in_closing_leaves_neither_decision_nor_reopening(proposed: Store) -> None:
    proposed.reopen_day(DAY, "clerk", "late result")
    proposed.correct(1, 411.0, "clerk", "late result")
    close(proposed, (2,))
    a_season(proposed, version=2)
    with pytest.raises(Exception, match="Reading 1 was corrected"):
        proposed.decide(2, "accepted", "chief chemist", "weigher drifted", _again())
    assert proposed.proposal(2).status == "open"
    assert proposed.is_closed(DAY)


def test_a_decision_needs_a_name_and_a_reason_and_is_taken_once(proposed: Store) -> None:
    with pytest.raises(ReasonMissing, match="Proposal 1 cannot be declined without a reason"):
        proposed.decide(1, "declined", "chief chemist", " ")
    with pytest.raises(BadEntry, match="name of the person deciding"):
        proposed.decide(1, "declined", " ", "why")
    proposed.decide(1, "declined", "chief chemist", "weigher was checked")
    with pytest.raises(CannotDecide, match="is declined already; it cannot be accepted"):
        proposed.decide(1, "accepted", "chief chemist", "after all", _again())
    with pytest.raises(CannotDecide, match="cannot be withdrawn"):
        proposed.decide(1, "withdrawn", "chief chemist", "after all")


def test_a_proposal_is_overtaken_by_a_newer_one_and_by_a_new_closing(proposed: Store) -> None:
    a_season(proposed)
    assert [p.status for p in proposed.proposals()] == ["replaced", "open"]
    with pytest.raises(CannotDecide, match="replaced by a newer one"):
        proposed.decide(1, "accepted", "chief chemist", "why", _again())
    proposed.reopen_day(DAY, "clerk", "late result")
    close(proposed, (1,))
    assert [p.status for p in proposed.proposals()] == ["replaced", "past"]
    with pytest.raises(CannotDecide, match="closed again since"):
        proposed.decide(2, "accepted", "chief chemist", "why", _again())


def test_what_cannot_be_kept_or_is_not_there_is_refused_in_words(proposed: Store) -> None:
    with pytest.raises(UnknownProposal, match="There is no proposal 7"):
        proposed.proposal(7)
    with pytest.raises(BadEntry, match="The course of the season cannot be kept"):
        proposed.add_season(DAY, DAY, "chief chemist", PLANT, {"value": float("nan")})
    assert len(proposed.proposals()) == 1


def test_the_table_refuses_an_unknown_act(proposed: Store, tmp_path: Path) -> None:
    connection = raw(tmp_path)
    with pytest.raises(sqlite3.IntegrityError, match="CHECK constraint failed"):
        connection.execute("INSERT INTO decision VALUES (9, 1, 'forgotten', 'x', '2026-01-01', 'y')")
    connection.close()


def test_what_the_seasons_hold_is_not_destroyed_by_a_step_back(proposed: Store) -> None:
    from canewright.store import migrate

    with pytest.raises(RuntimeError, match="table proposal holds 1 rows"), proposed._writer.begin() as connection:
        migrate.move(connection, "0002")
    assert proposed.condition().revision == migrate.HEAD
