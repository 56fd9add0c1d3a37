"""A day built from a published mill balance closes, and its figures agree with the published ones.

Source: basic-data training workbook for mill houses (in Thai), worked cane and bagasse figures. Its inputs were read
(cane fibre 12.58, pol 15.46, brix 18.07, water 69.35; bagasse pol 1.89, brix 2.46, moisture 46.07, fibre 51.47; first
expressed juice pol 18.25, brix 21.2); what follows from them by the fibre ratio was computed from these inputs.
"""

from __future__ import annotations

import csv
import datetime as dt
from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache
from pathlib import Path
from typing import Any

import pytest

import canewright
from canewright.accounts.books import Books
from canewright.accounts.intake import import_day, read_day
from canewright.accounts.measuring import expected_points
from canewright.accounts.trees import tree_of
from canewright.plant.plant import Plant
from canewright.store import Store

FOLDER = Path(canewright.__file__).parent / "demo_data" / "published_mill"
DAY = dt.date(2031, 1, 15)
COVERS = 1.96
"""Half-width of the stated interval in standard uncertainties (95 %)."""

PUBLISHED = {
    "pol in cane": 15.46,
    "fibre in cane": 12.58,
    "pol in bagasse": 1.89,
    "moisture of bagasse": 46.07,
    "bagasse on cane": 24.4414,
    "pol extraction": 97.0120,
    "reduced extraction": 97.0337,
    "pol lost in bagasse": 2.9880,
}
"""Figures of the source (first four read, the rest computed from what was read), %."""


@cache
def plant() -> Plant:
    return Plant.read(FOLDER / "plant.toml")


@contextmanager
def books(folder: Path) -> Iterator[Books]:
    with Store.open(folder, now=lambda: dt.datetime(2031, 1, 16, 3, tzinfo=dt.UTC)) as store:
        yield Books(plant(), store)


@pytest.fixture(scope="module")
def account(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    """The closed day as published."""
    with books(tmp_path_factory.mktemp("published")) as mine:
        d = mine.description
        files = read_day(
            FOLDER / "days" / DAY.isoformat(), DAY, expected_points(d), d.cut_hour, d.zone, sections=list(d.sections)
        )
        import_day(mine.store, files, "chemist")
        return dict(mine.close(DAY, "chemist").figures)


def row(account: dict[str, Any], name: str) -> dict[str, Any]:
    return next(r for r in account["sheet"] if r["name"] == name)


@pytest.mark.parametrize("name", sorted(PUBLISHED))
def test_a_published_figure_lies_well_within_the_stated_uncertainty(account: dict[str, Any], name: str) -> None:
    found = row(account, name)
    assert found["standing"] == "known"
    assert abs(found["value"] - PUBLISHED[name]) <= 0.25 * COVERS * found["uncertainty"]


def test_extraction_and_bagasse_agree_to_the_second_decimal(account: dict[str, Any]) -> None:
    assert row(account, "pol extraction")["value"] == pytest.approx(97.0120, abs=0.01)
    assert row(account, "bagasse on cane")["value"] == pytest.approx(24.4414, abs=0.02)


def test_the_stated_uncertainty_of_extraction_is_the_one_of_the_fibre_ratio(account: dict[str, Any]) -> None:
    """Lost pol is pol of bagasse times fibre of cane on fibre of bagasse on pol of cane; relative variances add."""
    by_readings = 2.9880 * ((0.08 / 1.89) ** 2 + (0.3 / 12.58) ** 2 + (0.5 / 51.47) ** 2 + (0.15 / 15.46) ** 2) ** 0.5
    found = row(account, "pol extraction")["uncertainty"]
    assert 0.8 * by_readings <= found <= by_readings  # the redundant readings sharpen it a little


def test_milling_loss_agrees(account: dict[str, Any]) -> None:
    """Pol of bagasse on its fibre, 3.6720 % (computed from inputs read)."""
    meters = {m["tag"]: m for m in account["meters"]}
    pol, fibre = meters["bagasse pol"]["reconciled"], meters["bagasse fibre"]["reconciled"]
    assert 100.0 * pol / fibre == pytest.approx(3.6720, abs=0.02)


def test_the_readings_agree_with_the_equations_and_no_meter_is_suspect(account: dict[str, Any]) -> None:
    assert account["tests"]["passes"]
    assert not [m["tag"] for m in account["meters"] if m["flagged"]]
    for m in account["meters"]:
        assert abs(m["reconciled"] - m["read"]) <= 1.5 * m["uncertainty"], m["tag"]


def test_extraction_rests_on_cane_and_last_bagasse_and_not_on_what_was_chosen_here(account: dict[str, Any]) -> None:
    tree = tree_of(account, "pol extraction")
    assert tree is not None
    leaves = {s.figure.name: s.variance_share or 0.0 for s in tree.inputs}
    chosen = [n for n in leaves if "scale" in n or "imbibition" in n or "mill 2" in n or "mill 3" in n]
    assert chosen
    assert sum(leaves[n] for n in chosen) < 0.02
    assert leaves["bagasse: pol"] > 0.4


def test_tonnes_and_imbibition_chosen_otherwise_leave_extraction_where_it_is() -> None:
    """The source gives neither; within what a train can do, neither may bear on what the source does give."""
    readings = readings_of_the_files()
    found = []
    for cane, water in ((8800.0, 2214.08), (4400.0, 1050.0), (13200.0, 3700.0)):
        settings = {"cane yard.rate": cane / 22.0, "imbibition.on_fibre": 100.0 * water / (0.1258 * cane)}
        chosen = {"cane scale": cane, "imbibition meter": water, "bagasse pol": 1.89, **readings}
        state = plant().reconcile(chosen, settings, uncertainties=None).state
        found.append(100.0 * (1.0 - state.values["mill 4.bagasse.sucrose"] / state.values["cane yard.cane.sucrose"]))
    assert found == pytest.approx([97.012] * 3, abs=0.03)


def readings_of_the_files() -> dict[str, float]:
    """The published analyses as the meters stand for them."""
    return {
        "cane fibre": 12.58, "cane pol": 15.46, "cane purity": 100.0 * 15.46 / 18.07, "cane moisture": 69.35,
        "first juice purity": 100.0 * 18.25 / 21.2, "residual juice purity": 100.0 * 1.89 / 2.46,
        "bagasse moisture": 46.07, "bagasse fibre": 51.47,
    }  # fmt: skip


def test_the_files_hold_the_numbers_of_the_source() -> None:
    with (FOLDER / "days" / DAY.isoformat() / "laboratory.csv").open(encoding="utf-8", newline="") as file:
        held = {(r["sample"], r["determination"]): float(r["value"]) for r in csv.DictReader(file)}
    assert held["cane", "fibre"] == 12.58
    assert held["cane", "pol"] == held["cane", "pol of the purity solution"] == 15.46
    assert held["cane", "brix of the purity solution"] == 18.07
    assert held["cane", "mass before drying"] - held["cane", "mass after drying"] == pytest.approx(69.35)
    assert held["bagasse", "pol"] == held["bagasse", "pol of the purity solution"] == 1.89
    assert held["bagasse", "brix of the purity solution"] == 2.46
    assert held["bagasse", "mass before drying"] - held["bagasse", "mass after drying"] == pytest.approx(46.07)
    assert held["bagasse", "fibre"] == 51.47
    assert held["first expressed juice", "pol of the purity solution"] == 18.25
    assert held["first expressed juice", "brix of the purity solution"] == 21.2
    assert abs(2.46 + 46.07 + 51.47 - 100.0) < 1e-9  # the source closes
    assert abs(18.07 + 69.35 + 12.58 - 100.0) < 1e-9
