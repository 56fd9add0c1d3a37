"""The season at the command line: smoothed, exported, decided on, and every wrong request refused in a sentence."""

from __future__ import annotations

import csv
import json
import shutil
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from accounts.season_days import DAYS, WEIGHED, close_season, day_of, opened
from canewright.cli import desk
from canewright.cli.commands import app


@pytest.fixture(autouse=True)
def wide(monkeypatch: pytest.MonkeyPatch) -> None:
    """A screen on which no sentence is broken."""
    monkeypatch.setattr(desk.out, "_width", 1000)
    monkeypatch.setattr(desk.trouble, "_width", 1000)


def run(*words: object, code: int = 0) -> str:
    """A command as a person types it, which ends with this code."""
    result: Result = CliRunner().invoke(app, [str(w) for w in words], env={"COLUMNS": "1000", "NO_COLOR": "1"})
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    assert result.exit_code == code, result.output
    return result.output


@pytest.fixture(scope="module")
def smoothed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A business with its season closed and smoothed by the command."""
    folder = tmp_path_factory.mktemp("season")
    with opened(folder / "business") as books:
        close_season(books, folder / "files")
    (folder / "business" / "plant.toml").write_text(WEIGHED, encoding="utf-8")
    said = run("season", "smooth", "--business", folder / "business", "--by", "chemist", "--csv", folder / "season.csv")
    assert "the juice scale has read" in said
    assert "closed days are proposed to be corrected" in said
    return folder / "business"


@pytest.fixture
def business(smoothed: Path, tmp_path: Path) -> Path:
    """A copy to write to."""
    return shutil.copytree(smoothed, tmp_path / "business")


def test_the_course_is_written_as_csv_and_never_over_a_file(smoothed: Path) -> None:
    file = smoothed.parent / "season.csv"
    rows = list(csv.reader(file.read_text(encoding="utf-8").splitlines()))
    assert len(rows) == DAYS + 1
    assert rows[1][0] == day_of(0).isoformat()
    said = run("season", "show", "--business", smoothed, "--csv", file, code=2)
    assert "cannot be written: File exists" in said


def test_the_season_as_json_has_courses_changes_and_proposals(smoothed: Path) -> None:
    data = json.loads(run("season", "show", "--business", smoothed, "--json"))
    assert data["changes"][0]["quantity"] == "gain of juice scale"
    assert len(data["quantities"][0]["values"]) == DAYS
    assert data["proposals"][0]["figures"][0]["why"]


def test_a_proposal_is_accepted_then_withdrawn_with_its_history(business: Path) -> None:
    listed = json.loads(run("season", "proposals", "--business", business, "--json"))
    last = listed[-1]
    where = ("--business", business, "--by", "chief chemist")
    said = run("season", "accept", last["proposal"], *where, "--reason", "test weights")
    assert f"is accepted; {last['day']} now stands as version 2" in said
    shown = run("day", "show", "--business", business, "--day", last["day"])
    assert "set right by the other days of the season" in shown
    assert run("day", "show", "--business", business, "--day", last["day"], "--version", 1)
    said = run("season", "withdraw", last["proposal"], *where, "--reason", "weights were wrong")
    assert "now stands as version 3" in said
    history = run("season", "proposals", "--business", business, "--day", last["day"])
    assert "accepted by chief chemist" in history
    assert "withdrawn by chief chemist" in history


def test_a_proposal_is_declined_once(business: Path) -> None:
    first = json.loads(run("season", "proposals", "--business", business, "--json"))[0]["proposal"]
    run("season", "decline", first, "--business", business, "--reason", "bagasse weigher was off")
    said = run("season", "accept", first, "--business", business, "--reason", "after all", code=1)
    assert "declined already" in said
    assert run("season", "accept", 999, "--business", business, "--reason", "x", code=1).startswith("There is no prop")
    assert "--reason: found nothing" in run("season", "decline", 2, "--business", business, "--reason", " ", code=2)


def test_what_cannot_be_smoothed_or_shown_is_refused_in_words(smoothed: Path, tmp_path: Path) -> None:
    said = run("season", "smooth", "--business", smoothed, "--from", "2031-08-01", "--to", "2031-07-01", code=2)
    assert "accepted: the same day or a later one" in said
    said = run("season", "smooth", "--business", smoothed, "--from", "2030-01-01", "--to", "2030-02-01", code=1)
    assert "no day from 2030-01-01 to 2030-02-01 is closed" in said
    assert "there is no season 9" in run("season", "show", "--business", smoothed, "--season", 9, code=1)
    empty = tmp_path / "empty"
    empty.mkdir()
    (empty / "plant.toml").write_text(WEIGHED, encoding="utf-8")
    assert "no season has been smoothed" in run("season", "show", "--business", empty, code=1)
    assert "No proposed correction is open." in run("season", "proposals", "--business", empty)
