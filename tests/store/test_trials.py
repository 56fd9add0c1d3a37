"""Kept trials: what was asked and answered, by whom and when, with notes that are only ever added."""

from __future__ import annotations

import datetime as dt

import pytest

from canewright.store import BadEntry, Store, UnknownTrial
from store.samples import DAY, a_trial


def test_a_trial_is_kept_whole_with_who_and_when(store: Store) -> None:
    kept = store.keep_trial(a_trial(), " looks worth a week ")
    assert (kept.by, kept.day, kept.name) == ("chief chemist", DAY, "more imbibition")
    assert kept.at.tzinfo is dt.UTC
    assert kept.changes == {"imbibition.on_fibre": 230.0}
    assert kept.result["rows"][0]["change"] == 0.2
    assert [n.text for n in kept.notes] == ["looks worth a week"]
    assert store.trial(kept.id) == kept


def test_notes_are_added_in_order_and_nothing_else_changes(store: Store) -> None:
    kept = store.keep_trial(a_trial())
    assert kept.notes == ()
    store.note_trial(kept.id, "shift chemist", "tried on Monday")
    noted = store.note_trial(kept.id, "superintendent", "bagasse stayed dry")
    assert [(n.by, n.text) for n in noted.notes] == [
        ("shift chemist", "tried on Monday"), ("superintendent", "bagasse stayed dry"),
    ]  # fmt: skip
    assert (noted.changes, noted.result, noted.at) == (kept.changes, kept.result, kept.at)


def test_trials_are_listed_newest_first_and_by_day(store: Store) -> None:
    first, second = store.keep_trial(a_trial()), store.keep_trial(a_trial(day=DAY + dt.timedelta(days=1)))
    assert [t.id for t in store.trials()] == [second.id, first.id]
    assert [t.id for t in store.trials(DAY)] == [first.id]


def test_what_cannot_be_kept_is_refused_in_words(store: Store) -> None:
    with pytest.raises(BadEntry, match="changes nothing"):
        a_trial(changes={})
    with pytest.raises(BadEntry, match="name of the trial is empty"):
        a_trial(name=" ")
    with pytest.raises(UnknownTrial, match="No kept trial has the number 7"):
        store.note_trial(7, "chemist", "what")
    kept = store.keep_trial(a_trial())
    for text in ("  ", "x" * 2001):
        with pytest.raises(BadEntry, match="accepted: 1 to 2000"):
            store.note_trial(kept.id, "chemist", text)
    assert store.trial(kept.id).notes == ()
