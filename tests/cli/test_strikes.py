"""Strikes at the command line: tables, CSV and JSON out, and refusals with exit code 2."""

from __future__ import annotations

import csv
import json
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from canewright.cli.commands import app
from canewright.pans.strike import UNITS


def ask(*words: str) -> Result:
    """The command line asked."""
    return CliRunner().invoke(app, ["strike", *words])


def test_strikes_are_listed_and_their_settings_told() -> None:
    assert "refined: fine liquor boiled" in ask("list").output
    told = ask("settings", "raw-a")
    assert told.exit_code == 0
    assert "seed.mass = 2400 kg: crystal in the seed (0.001 to 60000)" in told.output


def test_a_new_description_is_written_checked_and_never_overwritten(tmp_path: Path) -> None:
    path = tmp_path / "mine.toml"
    assert ask("new", str(path), "--template", "raw-b").exit_code == 0
    assert ask("run", str(path), "--every", "60").exit_code == 0
    again = ask("new", str(path))
    assert again.exit_code == 2
    assert "is not overwritten" in again.output.replace("\n", " ")


def test_a_run_prints_its_course_and_writes_it(tmp_path: Path) -> None:
    path = tmp_path / "course.csv"
    done = ask("run", "refined", "--csv", str(path), "--sensitivity", "seed.mass")
    assert done.exit_code == 0
    assert "coefficient of variation: 20." in done.output
    assert "boiling time: -" in done.output
    assert "Safety:" in done.output
    rows = list(csv.reader(path.read_text(encoding="utf-8").splitlines()))
    assert rows[0][0] == "time, min"
    assert len(rows[0]) == 1 + len(UNITS)
    assert len(rows) > 4000
    times = [float(row[0]) for row in rows[2:-1]]
    assert times[1] - times[0] == pytest.approx(2.0 / 60.0, abs=1e-6)


def test_the_sizes_are_written_and_add_up(tmp_path: Path) -> None:
    path = tmp_path / "sizes.csv"
    done = ask("run", "raw-a", "--every", "30", "--sizes", str(path))
    assert done.exit_code == 0
    assert "Classes of size" in done.output
    rows = [
        [float(cell) for cell in row] for row in list(csv.reader(path.read_text(encoding="utf-8").splitlines()))[1:]
    ]
    assert sum(row[2] for row in rows) == pytest.approx(100.0, abs=1e-3)
    assert rows[0][3] == pytest.approx(100.0, abs=1e-3)


def test_a_run_as_json_is_whole(tmp_path: Path) -> None:
    words = ("run", "raw-c", "--json", "--every", "30", "--sensitivity", "growth.rate")
    told = json.loads(ask(*words, "--csv", str(tmp_path / "course.csv")).output)
    assert told["figures"]["mean aperture"]["unit"] == "mm"
    assert max(told["balances"].values()) < 1e-9
    assert told["sensitivity"]["boiling time"]["growth.rate"] < 0.0
    assert told["hazards"]


def test_a_seed_is_found() -> None:
    told = json.loads(ask("seed", "refined", "--size", "1.0", "--json").output)
    assert told["seed, kg"] > told["by the ratio of sizes, kg"]
    plain = ask("seed", "refined", "--size", "1.0").output
    assert "for a mean size by" in plain


def test_a_recipe_is_printed_and_written(tmp_path: Path) -> None:
    path, table = tmp_path / "card.txt", tmp_path / "card.csv"
    done = ask("recipe", "raw-a", "--card", str(path), "--csv", str(table))
    assert done.exit_code == 0
    assert "What one per cent more of a setting changes" in done.output
    assert "confined space" in path.read_text(encoding="utf-8")
    assert len(list(csv.reader(table.read_text(encoding="utf-8").splitlines()))) == 31


def test_a_log_that_cannot_be_used_is_told_row_by_row(tmp_path: Path) -> None:
    log = tmp_path / "log.csv"
    log.write_text('"time, min",seeded\n0,2\n', encoding="utf-8")
    done = ask("fit", "refined", str(log))
    assert done.exit_code == 2
    assert "header: 'feed 1, t/h' is wanting" in done.output
    assert "feed 1, t/h" in ask("columns").output


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("run", "nothing"), "no strike is called 'nothing'"),
        (("run", "nothing.toml"), "nothing.toml cannot be read"),
        (("run", "refined", "--set", "seed.mass"), "--set: found 'seed.mass'"),
        (("run", "refined", "--set", "seed.mass=x"), "--set: found 'seed.mass=x'"),
        (("run", "refined", "--set", "pan.footing=50"), "line 11: pan.footing: found 50 m³"),
        (("run", "refined", "--sensitivity", "seeds"), "no setting is called 'seeds'"),
        (("seed", "raw-a", "--size", "0.2"), "accepted: a seed smaller than"),
        (("recipe", "refined", "--aim", "money"), "aim: found 'money'"),
        (("fit", "refined", "none.csv"), "none.csv cannot be read"),
    ],
)
def test_bad_input_is_refused_with_code_two_and_one_sentence(words: tuple[str, ...], says: str) -> None:
    done = ask(*words)
    assert done.exit_code == 2
    assert says in done.output.replace("\n", " ")
    assert "Traceback" not in done.output
