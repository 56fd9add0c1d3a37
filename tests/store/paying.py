"""Computes, approves and closes pay runs one after another and says so after each act, until it is killed.

Started by the crash test with the folder.
"""

from __future__ import annotations

import sys
from itertools import count

from canewright.store import Store
from store.pay_samples import ONE, SEASON, TWO
from store.samples import Clock


def main(folder: str) -> None:
    """Every act is acknowledged by its run and name once it is stored."""
    with Store.open(folder, now=Clock()) as store:
        pay = store.payments
        if pay.agreement(SEASON) is None:
            pay.add_agreement(SEASON, "text", ONE, "signed")
        print("ready", flush=True)
        done = sum(1 for run in pay.runs(SEASON) if run.closed)
        for number in count(done + 1):
            run = pay.add_run(SEASON, number, 1, {"number": number, "by_hand": [], "lines": ["x" * 50] * 40}, ONE, None)
            print(f"computed {number} {run.version}", flush=True)
            for person in (ONE, TWO):
                pay.act(SEASON, number, run.version, "approved", person)
                print(f"approved {number} {run.version}", flush=True)
            pay.act(SEASON, number, run.version, "closed", TWO)
            print(f"closed {number} {run.version}", flush=True)


main(sys.argv[1])
