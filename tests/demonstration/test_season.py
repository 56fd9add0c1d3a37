"""A few days of the invented season: the same from the same seed, closed from their files, blind to their truth."""

from __future__ import annotations

import csv
import datetime as dt
import subprocess
import sys
from pathlib import Path

import pytest

from canewright.accounts.books import Books
from canewright.accounts.intake import import_day, read_day
from canewright.accounts.measuring import expected_points
from canewright.demonstration.closing import Season, close_season
from canewright.demonstration.faults import DRIFT, SEASON_DAYS, TYPED, VARIANTS, drift_of, leak_of
from canewright.demonstration.information import drift_seen, gain_known, trace_bound
from canewright.demonstration.scorecard import coverage, page, to_json
from canewright.demonstration.scoring import score
from canewright.demonstration.season import Asked, SeasonRefused, make_season, season_plant
from canewright.demonstration.truth import read_truth
from canewright.plant.plant import Plant
from canewright.store import Store
from exams.detection import DEMO_PLANT

DAYS = 2
SEED = 20261
FIRST = dt.date(2031, 6, 2)


@pytest.fixture(scope="module")
def described() -> Plant:
    """The plant of the season."""
    return season_plant(Plant.read(DEMO_PLANT), VARIANTS["full"])


@pytest.fixture(scope="module")
def made(described: Plant, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """Two days of the full season and their truth."""
    folder = tmp_path_factory.mktemp("season")
    season, truth = folder / "season", folder / "truth"
    make_season(described, Asked(VARIANTS["full"], SEED, 1, DAYS), season, truth)
    return season, truth


@pytest.fixture(scope="module")
def closed(described: Plant, made: tuple[Path, Path], tmp_path_factory: pytest.TempPathFactory) -> Season:
    """The days closed while their truth lies elsewhere, so that nothing of it can be read."""
    season, truth = made
    hidden = truth.with_name("hidden")
    truth.rename(hidden)
    try:
        return close_season(season, tmp_path_factory.mktemp("books"), assembled=described)
    finally:
        hidden.rename(truth)


def test_the_files_of_a_season_are_the_accounts_own(made: tuple[Path, Path]) -> None:
    season, truth = made
    days = sorted(p.name for p in (season / "days").iterdir())
    assert days == ["2031-06-02", "2031-06-03"]
    assert {p.name for p in (season / "days" / days[0]).iterdir()} == {
        "meters.csv", "laboratory.csv", "stocks.csv", "hours.csv",
    }  # fmt: skip
    assert not [p for p in season.rglob("*") if "truth" in p.name]
    assert sorted(p.name for p in truth.iterdir()) == [
        "truth_faults.csv", "truth_readings.csv", "truth_slips.csv", "truth_states.csv",
    ]  # fmt: skip


def test_days_close_without_their_truth(closed: Season, made: tuple[Path, Path]) -> None:
    assert [d.number for d in closed.days] == [1, 2]
    assert not [d.not_solved for d in closed.days if d.not_solved]
    known = read_truth(made[1])
    for day in closed.days:
        true = known.totals[day.number, "cane crushed"][0]
        assert float(day.sums["cane crushed"]["totals"][0]) == pytest.approx(true, rel=0.005)


def test_what_is_read_is_near_the_truth_but_not_it(made: tuple[Path, Path]) -> None:
    known = read_truth(made[1])
    with (made[0] / "days" / "2031-06-02" / "meters.csv").open(encoding="utf-8") as file:
        read = sum(float(r["value"]) for r in csv.DictReader(file) if r["meter"] == "mixed juice weight")
    true = known.readings[1, "mixed juice weight"]
    assert read != true
    assert read == pytest.approx(true, rel=0.03)


def test_a_score_is_plain_data_and_a_page(closed: Season, made: tuple[Path, Path]) -> None:
    found = to_json(score(closed, read_truth(made[1])))
    assert found["days"] == DAYS
    assert found["days not reconciled"] == []
    told = page({"seasons": [{"variant": "full", "seed": SEED, "commit": "abc", **found}]})
    assert "full season, seed 20261, 2 days" in told
    assert "raw sugar made" in told


def test_the_same_seed_makes_the_same_files_and_the_control_differs_by_its_faults_alone(
    described: Plant, made: tuple[Path, Path], tmp_path: Path
) -> None:
    """Before the first planted fault only mistyped results differ."""
    make_season(described, Asked(VARIANTS["no-fault"], SEED, 1, 1), tmp_path / "season", tmp_path / "truth")
    day = Path("days") / "2031-06-02"
    for name in ("meters.csv", "stocks.csv", "hours.csv"):
        assert (tmp_path / "season" / day / name).read_bytes() == (made[0] / day / name).read_bytes()
    one, other = ((f / day / "laboratory.csv").read_text().splitlines() for f in (tmp_path / "season", made[0]))
    slips = [row for row in read_truth(made[1]).slips if row[0] == 1]
    assert sum(a != b for a, b in zip(one, other, strict=True)) <= 3 * len(slips)


def test_folders_that_are_there_or_lie_in_each_other_are_refused(
    described: Plant, made: tuple[Path, Path], tmp_path: Path
) -> None:
    asked = Asked(VARIANTS["full"], SEED, 1, 1)
    with pytest.raises(SeasonRefused, match="is there already"):
        make_season(described, asked, made[0], tmp_path / "truth")
    with pytest.raises(SeasonRefused, match="truth is kept apart"):
        make_season(described, asked, tmp_path / "a", tmp_path / "a" / "truth")
    assert not list(tmp_path.iterdir())


def test_truth_that_is_not_there_is_named(tmp_path: Path) -> None:
    with pytest.raises(SeasonRefused, match=r"truth_faults\.csv is not a file"):
        read_truth(tmp_path)


def test_what_closes_the_season_never_imports_its_truth() -> None:
    """Beside the import contract: in a process that closes a season, no module that knows the truth is loaded."""
    asked = (
        "import sys, canewright.demonstration.closing; print(sorted(m for m in sys.modules if 'demonstration' in m))"
    )
    said = subprocess.run([sys.executable, "-c", asked], capture_output=True, text=True, check=True).stdout
    assert said.strip() == "['canewright.demonstration', 'canewright.demonstration.closing']"


def test_planted_faults_are_those_of_the_scenario() -> None:
    assert drift_of(60) == 0.0
    assert drift_of(110) == pytest.approx(0.03)
    assert drift_of(111) == pytest.approx(0.005)
    assert (leak_of(120.0), leak_of(123.0), leak_of(126.0), leak_of(127.0)) == (0.0, 0.5, 1.0, 0.0)
    assert {f.id for f in VARIANTS["full"].faults} == {"A", "B2", "B4", "C", "D", "E", "I", "J", "K"}
    assert {f.id for f in VARIANTS["no-fault"].faults} == {"I"}
    overlap = next(f for f in VARIANTS["adversarial"].faults if f.id == "E")
    assert DRIFT.on(overlap.first)
    assert 95 <= overlap.first <= overlap.last <= 110
    assert TYPED.deadline == TYPED.first + 1
    assert SEASON_DAYS == 182


def test_bounds_follow_from_the_noise_alone() -> None:
    """By hand: daily scatter 0.6 and 0.0866 % over 30 days 0.1107 %; a trace of 20 % on 16 readings with 10 % bias."""
    assert gain_known(30, 1.0) == pytest.approx(0.1107, abs=1e-4)
    assert trace_bound(16) == pytest.approx(1.96 * (0.05**2 + 0.1**2) ** 0.5)
    assert drift_seen(1.0) == 90
    assert drift_seen(2.0) > drift_seen(1.0)


def test_coverage_sums_over_records() -> None:
    share, each, asked = coverage([{"a": [3, 4], "b": [4, 4]}, {"a": [4, 4], "b": [1, 4]}])
    assert (share, asked) == (12 / 16, 16)
    assert each == {"a": 7 / 8, "b": 5 / 8}


def test_a_day_closed_in_full_says_what_the_season_says(
    described: Plant, made: tuple[Path, Path], closed: Season, tmp_path: Path
) -> None:
    """What the season leaves out for speed changes no figure: values to a twentieth of their uncertainty.

    The search sets out from the day before in the one and from the description in the other, by which a weigher's
    uncertainty, in per cent of what is expected, may differ in its second digit.
    """
    with Store.open(tmp_path / "books", now=lambda: dt.datetime(2031, 6, 3, 2, tzinfo=dt.UTC)) as store:
        books, d = Books(described, store), described.description
        files = read_day(
            made[0] / "days" / "2031-06-02", FIRST, expected_points(d), d.cut_hour, d.zone, sections=list(d.sections)
        )
        import_day(store, files, "analyst")
        account, _ = books.preview(FIRST)
    whole = {row["name"]: row for row in account["sheet"]}
    for name, row in closed.days[0].sums.items():
        if whole[name]["uncertainty"]:
            assert row["uncertainty"] == pytest.approx(whole[name]["uncertainty"], rel=0.1), name
            assert abs(row["value"] - whole[name]["value"]) <= 0.05 * row["uncertainty"], name
