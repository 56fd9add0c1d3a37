"""The process is killed while runs are computed, approved and closed: no acknowledged act is lost or halved."""

from __future__ import annotations

import random
from collections import Counter
from pathlib import Path

from canewright.store import Store
from store.killing import killed_run
from store.pay_samples import SEASON
from store.samples import Clock

KILLS = 12
SEED = 20262
PAYING = Path(__file__).with_name("paying.py")


def acts_stored(folder: Path) -> Counter[str]:
    """Every act that is in the records, counted as it would be acknowledged."""
    found: Counter[str] = Counter()
    with Store.open(folder, now=Clock()) as store:
        assert store.condition().faults == ()
        for newest in store.payments.runs(SEASON):
            for run in store.payments.versions(SEASON, newest.number):
                found[f"computed {run.number} {run.version}"] += 1
                found.update(f"{act.act} {run.number} {run.version}" for act in run.acts)
                assert run.content["lines"] == ["x" * 50] * 40
                if run.closed:
                    assert len({a.by for a in run.approvals}) == 2
    return found


def test_no_acknowledged_act_is_lost_and_no_run_is_closed_by_halves(tmp_path: Path) -> None:
    moments = random.Random(SEED)  # noqa: S311 (chance for a test, no secret)
    acknowledged: Counter[str] = Counter()
    for _ in range(KILLS):
        acknowledged.update(killed_run(PAYING, (tmp_path,), moments.uniform(0.0, 0.12)))
        stored = acts_stored(tmp_path)
        assert not acknowledged - stored
        assert sum((stored - acknowledged).values()) <= KILLS
    assert sum(acknowledged.values()) > KILLS
    assert any(act.startswith("closed") for act in acknowledged)
