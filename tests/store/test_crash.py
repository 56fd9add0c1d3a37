"""The process is killed while readings are entered: nothing acknowledged is lost, nothing is half there.

A kill cannot test the loss of power, because the operating system still writes what the process handed it; the torn
log in its own test stands for that.
"""

from __future__ import annotations

import random
from collections import Counter
from pathlib import Path

import pytest

from canewright.store import ImportedFile, Store
from store.killing import killed_run
from store.samples import DAY, Clock, a_reading

KILLS = 22
SEED = 20261
ENTERING = Path(__file__).with_name("entering.py")


def test_nothing_acknowledged_is_lost_when_the_process_is_killed(tmp_path: Path) -> None:
    moments = random.Random(SEED)  # noqa: S311 (chance for a test, no secret)
    acknowledged: list[str] = []
    for run in range(KILLS):
        acknowledged += killed_run(ENTERING, (tmp_path, (run + 1) * 100_000), moments.uniform(0.0, 0.12))
        with Store.open(tmp_path, now=Clock()) as store:
            condition = store.condition()
            stored = Counter(reading.place for reading in store.readings(DAY))
            imports = len(store.batches(DAY))
        assert condition.faults == ()
        assert set(acknowledged) <= set(stored)
        wrong = {place: rows for place, rows in stored.items() if rows != (3 if place.startswith("import") else 1)}
        assert wrong == {}
        assert imports == sum(place.startswith("import") for place in stored)
        assert len(stored) <= len(acknowledged) + run + 1  # at most the act under way at each kill was not acknowledged
    assert len(acknowledged) > KILLS


@pytest.mark.parametrize("overwritten", [False, True], ids=["cut", "overwritten with noise"])
def test_every_commit_before_a_tear_in_the_log_is_present_and_none_is_half_present(
    tmp_path: Path, overwritten: bool
) -> None:
    chance = random.Random(SEED + overwritten)  # noqa: S311 (as above)
    whole = tmp_path / "whole"
    ends: list[tuple[int, str]] = []
    with Store.create(whole, now=Clock()) as store:
        log = whole / "business.db-wal"
        with store._engine.connect() as connection:
            connection.rollback()
            connection.exec_driver_sql("PRAGMA wal_checkpoint(TRUNCATE)")
        assert log.stat().st_size == 0
        for number in range(30):
            if number % 3:
                store.add_reading(a_reading(0, place=f"single {number}"))
                ends.append((log.stat().st_size, f"single {number}"))
            else:
                rows = [a_reading(n, place=f"import {number}") for n in range(40)]
                store.add_batch(DAY, "lab clerk", [ImportedFile("meters.csv", f"{number:064x}", 40)], rows)
                ends.append((log.stat().st_size, f"import {number}"))
        database, logged = (whole / "business.db").read_bytes(), log.read_bytes()
    assert [end for end, _ in ends] == sorted({end for end, _ in ends})
    for number in range(40):
        tear = chance.randrange(len(logged))
        tail = chance.randbytes(len(logged) - tear) if overwritten else b""
        folder = tmp_path / f"torn {number}"
        folder.mkdir()
        (folder / "business.db").write_bytes(database)
        (folder / "business.db-wal").write_bytes(logged[:tear] + tail)
        with Store.open(folder, now=Clock()) as store:
            stored = Counter(reading.place for reading in store.readings(DAY))
            assert store.condition().faults == ()
        expected = {place: 40 if place.startswith("import") else 1 for end, place in ends if end <= tear}
        assert dict(stored) == expected, f"torn at byte {tear}"
