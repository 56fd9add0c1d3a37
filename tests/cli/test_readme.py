"""The lines that the README gives for a plant and files of one's own, run word for word."""

from __future__ import annotations

import csv
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

import canewright

ROOT = Path(canewright.__file__).parents[2]
PUBLISHED = Path(canewright.__file__).parent / "demo_data" / "published_mill"
SECTION = "## Close a day with your own plant and files"
DAY = "2031-01-15"


def blocks() -> list[str]:
    """The fenced blocks of the section, in order."""
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    section = text[text.index(SECTION) :].split("\n## ")[0]
    return re.findall(r"^```\n(.*?)^```", section, flags=re.MULTILINE | re.DOTALL)


def run(folder: Path, line: str) -> str:
    """One line of the README in a shell; it must succeed."""
    environment = {
        **os.environ,
        "COLUMNS": "200",
        "PYTHONPATH": str(ROOT / "src"),
        "NO_COLOR": "1",
        "LOGNAME": "chemist",
    }
    done = subprocess.run(
        ["bash", "-c", line], cwd=folder, env=environment, capture_output=True, text=True, timeout=120, check=False
    )
    assert done.returncode == 0, f"{line}\n{done.stdout}\n{done.stderr}"
    assert done.stderr == ""
    return done.stdout


def published(name: str) -> dict[tuple[str, ...], dict[str, str]]:
    """The rows of a published file by what they tell of."""
    with (PUBLISHED / "days" / DAY / name).open(encoding="utf-8", newline="") as file:
        keys = ("sample", "determination", "meter")
        return {tuple(r.get(k, "") for k in keys): r for r in csv.DictReader(file)}


def fill_in(folder: Path, name: str) -> None:
    """Fill a blank file in as a person does: time, value, quality and name in each row that is there."""
    path = folder / name
    with path.open(encoding="utf-8-sig", newline="") as file:
        reader = csv.DictReader(file)
        headers, rows = list(reader.fieldnames or []), list(reader)
    known = published(name)
    assert rows
    for row in rows:
        told = known[tuple(row.get(k, "") for k in ("sample", "determination", "meter"))]
        assert row["unit"] == told["unit"]
        row.update({k: told[k] for k in ("time", "value", "quality", "by")})
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, headers)
        writer.writeheader()
        writer.writerows(rows)


@pytest.fixture
def clone(tmp_path: Path) -> Path:
    """A folder that looks like a fresh clone after set-up."""
    (tmp_path / "src").symlink_to(ROOT / "src")
    command = tmp_path / ".venv" / "bin" / "canewright"
    command.parent.mkdir(parents=True)
    command.write_text(f"#!{sys.executable}\nfrom canewright.cli import main\nmain()\n", encoding="utf-8")
    command.chmod(0o755)
    return tmp_path


def test_the_lines_for_a_plant_of_ones_own_run_word_for_word(clone: Path) -> None:
    before, after = (b.splitlines() for b in blocks())
    said = [run(clone, line) for line in before]
    assert "solved (newton)" in said[1]
    assert "wrote day-2031-01-15/laboratory.csv" in said[2]
    days = clone / f"day-{DAY}"
    for name in ("laboratory.csv", "meters.csv"):
        fill_in(days, name)
    with (days / "hours.csv").open("a", encoding="utf-8", newline="") as file:
        file.writelines(
            (PUBLISHED / "days" / DAY / "hours.csv").read_text(encoding="utf-8").splitlines(keepends=True)[1:]
        )
    check, close, explain, reopen, again, show = after
    assert "would store 18 readings" in run(clone, check)
    assert not (clone / "our-mill").exists()
    sheet = run(clone, close)
    assert "published mill: day sheet of 2031-01-15" in sheet
    assert "97.01 ± 0.29" in sheet
    assert "[reading " in run(clone, explain)
    assert "is open again" in run(clone, reopen)
    assert "version 2" in run(clone, again)
    assert "version 1" in run(clone, show)


def test_every_command_of_the_section_is_in_a_block_or_known() -> None:
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    section = text[text.index(SECTION) :].split("\n## ")[0]
    shown = set(re.findall(r"\.venv/bin/canewright ((?:day |plant )?[a-z]+)", section))
    assert shown == {
        "plant check", "day template", "day check", "day close", "day reopen", "day show", "explain", "serve",
    }  # fmt: skip
    for path in re.findall(r"src/canewright/demo_data/[\w/.]+toml", section):
        assert (ROOT / path).is_file()
