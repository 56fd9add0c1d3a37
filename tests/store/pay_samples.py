"""A business with payment records: two approvers, an agreement, a closed run, corrections."""

from __future__ import annotations

from canewright.store import Store, StoredRun

SEASON = "2031"
ONE, TWO = "cane supply officer", "accountant"


def fill_payments(store: Store) -> StoredRun:
    """A row in every table of payment; run 1 closed, run 2 rejected."""
    pay = store.payments
    pay.add_person(ONE, ["approve", "prepare"], None, "hash 1", "manager", "takes up the post")
    pay.add_person(TWO, ["approve"], None, "hash 2", "manager", "takes up the post")
    pay.add_agreement(SEASON, "[season]\nname = '2031'\n", ONE, "signed")
    correction = pay.add_correction(SEASON, 1, "Heron Flats", 1, "", "55.00", ONE, "demurrage")
    pay.add_run(SEASON, 1, 1, {"owed": "1", "by_hand": [correction.id]}, ONE, None)
    pay.act(SEASON, 1, 1, "approved", ONE)
    pay.act(SEASON, 1, 1, "approved", TWO)
    closed = pay.act(SEASON, 1, 1, "closed", TWO)
    pay.add_run(SEASON, 2, 1, {"owed": "2", "by_hand": []}, ONE, None)
    pay.act(SEASON, 2, 1, "rejected", TWO, "wrong mean")
    return closed
