"""Enters readings one after another and says so after each commit, until it is killed.

Started by the crash test with the folder, the first number and a marker for the entry keys.
"""

from __future__ import annotations

import sys
from itertools import count

from canewright.store import ImportedFile, Store
from store.samples import DAY, Clock, a_reading


def main(folder: str, first: int) -> None:
    """Every fifth act is an import of three readings, the others single entries; each is acknowledged by its name."""
    with Store.open(folder, now=Clock()) as store:
        print("ready", flush=True)
        for number in count(first):
            if number % 5:
                store.add_reading(a_reading(0, place=f"single {number}", entry_key=f"form {number}"))
                print(f"single {number}", flush=True)
            else:
                rows = [a_reading(n, place=f"import {number}") for n in range(3)]
                store.add_batch(DAY, "lab clerk", [ImportedFile("meters.csv", f"{number:064x}", 3)], rows)
                print(f"import {number}", flush=True)


main(sys.argv[1], int(sys.argv[2]))
