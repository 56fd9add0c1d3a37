"""The commands of the invented season: what they write, print and refuse."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from typer.testing import CliRunner

from canewright.cli.commands import app

RUN = CliRunner()


@pytest.fixture(scope="module")
def season(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """One day made by the command."""
    folder = tmp_path_factory.mktemp("made")
    season, truth = folder / "season", folder / "truth"
    made = RUN.invoke(app, ["demo", "season", "--folder", str(season), "--truth", str(truth), "--days", "1"])
    assert made.exit_code == 0, made.output
    assert "wrote 1 days" in " ".join(made.output.split())
    return season, truth


def test_a_season_is_scored_as_a_page_and_as_data(season: tuple[Path, Path]) -> None:
    named = ["score", "--season", str(season[0]), "--truth", str(season[1]), "--json"]
    told = RUN.invoke(app, named)
    assert told.exit_code == 0, told.output
    found = json.loads(told.stdout)
    assert found["days"] == 1
    assert found["days not reconciled"] == []


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["demo", "season", "--folder", "a", "--truth", "b", "--variant", "hard"], "accepted: easy, full, adversarial"),
        (["demo", "season", "--folder", "a", "--truth", "a/b", "--days", "1"], "truth is kept apart"),
        (["score", "--season", "nowhere"], "give both --season and --truth"),
        (["score", "--season", "nowhere", "--truth", "nowhere"], "holds no plant.toml"),
        (["score", "--record", "nowhere.json"], "does not hold scores"),
    ],
)
def test_a_refusal_is_a_sentence_and_status_two(
    words: list[str], says: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    told = RUN.invoke(app, words)
    assert told.exit_code == 2
    assert says in " ".join(told.output.split())
    assert "Traceback" not in told.output
    assert not list(tmp_path.iterdir())


def test_a_season_that_is_there_is_not_overwritten(season: tuple[Path, Path], tmp_path: Path) -> None:
    told = RUN.invoke(
        app, ["demo", "season", "--folder", str(season[0]), "--truth", str(tmp_path / "t"), "--days", "1"]
    )
    assert told.exit_code == 2
    assert "is not overwritten" in " ".join(told.output.split())


def test_a_record_is_printed_as_the_page(tmp_path: Path) -> None:
    record = tmp_path / "record.json"
    record.write_text(json.dumps({"seasons": [], "coverage": []}), encoding="utf-8")
    told = RUN.invoke(app, ["score", "--record", str(record)])
    assert told.exit_code == 0
    assert "# Scorecard of the invented season" in told.output
