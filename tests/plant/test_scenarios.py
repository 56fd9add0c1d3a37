"""Many scenarios: what a single question gives, whoever takes the lots, and nothing done twice."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import numpy as np
import polars as pl
import pytest
from distributed import Client, LocalCluster
from polars.testing import assert_frame_equal

from canewright.plant.scenarios import LOT
from plant.milling_train import train

KEEP = ["mill 5.bagasse.sucrose", "mill 1.juice dry substance"]
COUNT = 2 * LOT + 20


def same(found: pl.DataFrame, expected: pl.DataFrame) -> None:
    """Equal but for rounding, which depends on what a process solved before."""
    assert_frame_equal(found, expected, rel_tol=1e-9, abs_tol=0.0)


@pytest.fixture(scope="module")
def table() -> dict[str, np.ndarray]:
    """Imbibition from little to much, on ever drier bagasse; some of it more than can leave."""
    return {"imbibition.on_fibre": np.linspace(100, 400, COUNT), "mill 5.moisture": np.linspace(52, 46, COUNT)}


@pytest.fixture(scope="module")
def alone(table: dict[str, np.ndarray]) -> pl.DataFrame:
    return train().predict_many(table, keep=KEEP, processes=1)


@pytest.fixture(scope="module")
def cluster() -> Iterator[Client]:
    """Two processes on this machine."""
    processes = LocalCluster(  # type: ignore[no-untyped-call]
        n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None
    )
    with processes, Client(processes) as client:  # type: ignore[no-untyped-call]
        yield client


def test_each_row_is_what_a_single_question_gives(alone: pl.DataFrame, table: dict[str, np.ndarray]) -> None:
    assert alone.columns == ["scenario", *table, "status", "why", *KEEP]
    assert alone["scenario"].to_list() == list(range(COUNT))
    for j in (0, LOT, COUNT - 1):
        single = train().predict({name: float(values[j]) for name, values in table.items()})
        row = alone.row(j, named=True)
        assert row["status"] == "newton"
        assert row[KEEP[0]] == pytest.approx(single.values[KEEP[0]], rel=1e-9)
        assert row[KEEP[1]] == pytest.approx(single.measured("mill 1.juice", "dry substance"), rel=1e-9)


def test_processes_give_the_same(alone: pl.DataFrame, table: dict[str, np.ndarray]) -> None:
    same(train().predict_many(table, keep=KEEP, processes=2), alone)


def test_a_cluster_gives_the_same(alone: pl.DataFrame, table: dict[str, np.ndarray], cluster: Client) -> None:
    same(train().predict_many(table, keep=KEEP, executor=cluster), alone)


def test_a_frame_may_ask(alone: pl.DataFrame, table: dict[str, np.ndarray]) -> None:
    same(train().predict_many(pl.DataFrame(table), keep=KEEP, processes=1), alone)


def test_what_is_done_is_not_done_again(alone: pl.DataFrame, table: dict[str, np.ndarray], tmp_path: Path) -> None:
    class Stopped(Exception):
        """The power went."""

    def stops(done: int, asked: int) -> None:
        if done >= LOT:
            raise Stopped

    with pytest.raises(Stopped):
        train().predict_many(table, keep=KEEP, processes=1, folder=tmp_path, progress=stops)
    (tmp_path / "lot-000001.parquet.part").write_bytes(b"torn")
    heard: list[tuple[int, int]] = []
    found = train().predict_many(
        table, keep=KEEP, processes=1, folder=tmp_path, progress=lambda *told: heard.append(told)
    )
    assert heard == [(LOT, COUNT), (2 * LOT, COUNT), (COUNT, COUNT)]
    same(found, alone)
    heard.clear()
    train().predict_many(table, keep=KEEP, processes=1, folder=tmp_path, progress=lambda *told: heard.append(told))
    assert heard == [(COUNT, COUNT)]


def test_a_folder_answers_one_question_only(table: dict[str, np.ndarray], tmp_path: Path) -> None:
    few = {name: values[:3] for name, values in table.items()}
    train().predict_many(few, keep=KEEP, processes=1, folder=tmp_path)
    with pytest.raises(ValueError, match="another question"):
        train().predict_many(few, keep=KEEP[:1], processes=1, folder=tmp_path)


def test_what_cannot_be_is_told_beside_what_can() -> None:
    """A mill that should press out more juice than there is, and a setting that is no number."""
    found = train().predict_many({"mill 3.moisture": [54.0, 99.0, np.nan]}, keep=KEEP, processes=1)
    assert found["status"].to_list() == ["newton", "not solved", "not solved"]
    assert found[KEEP[0]].null_count() == 2
    assert found["why"][0] == ""
    assert "possible is" in found["why"][1]
    assert "not numbers" in found["why"][2]


def test_unknown_settings_figures_and_uneven_columns_are_refused() -> None:
    with pytest.raises(KeyError, match="not a setting"):
        train().predict_many({"imbibition.on_fiber": [200.0]})
    with pytest.raises(KeyError, match="neither a variable"):
        train().predict_many({"imbibition.on_fibre": [200.0]}, keep=["mill 9.juice dry substance"])
    uneven: list[dict[str, list[float]]] = [
        {},
        {"imbibition.on_fibre": []},
        {"imbibition.on_fibre": [200.0], "mill 5.moisture": [50, 51]},
    ]
    for table in uneven:
        with pytest.raises(ValueError, match="one length"):
            train().predict_many(table)
