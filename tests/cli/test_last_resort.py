"""What nobody foresaw: one sentence, an incident file with the traceback, exit code 70, nothing else on the screen."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path
from typing import Any, NoReturn

import pytest

import canewright
from accounts.small_mill import MONDAY, TEXT
from canewright.accounts.books import Books
from canewright.cli import main
from canewright.cli.incidents import write_incidents_to

DAY = MONDAY.isoformat()
SOURCE = Path(canewright.__file__).parents[1]


@pytest.fixture
def business(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A business folder with a plant, and a temp folder of its own for incidents without a business."""
    folder = tmp_path / "business"
    folder.mkdir()
    (folder / "plant.toml").write_text(TEXT, encoding="utf-8")
    temp = tmp_path / "temp"
    temp.mkdir()
    monkeypatch.setattr("tempfile.tempdir", str(temp))
    write_incidents_to(temp)
    return folder


def breaking(*args: Any, **named: Any) -> NoReturn:
    """Raise what nobody foresees."""
    del args, named
    raise ZeroDivisionError("a drum without\nradius")


def ended(monkeypatch: pytest.MonkeyPatch, *words: object) -> int:
    """The exit code of a command typed with these words."""
    monkeypatch.setattr(sys, "argv", ["canewright", *(str(w) for w in words)])
    with pytest.raises(SystemExit) as stop:
        main()
    assert isinstance(stop.value.code, int)
    return stop.value.code


@pytest.mark.parametrize(
    ("broken", "words"),
    [
        ("published", ("day", "show", "--day", DAY)),
        ("published", ("explain", "pol extraction", "--day", DAY)),
        ("close", ("day", "close", "--day", DAY)),
        ("reopen", ("day", "reopen", "--day", DAY, "--reason", "x", "--by", "chemist")),
        ("advice", ("advise", "--day", DAY)),
    ],
)
def test_an_unforeseen_exception_is_one_sentence_and_a_file_in_the_business_folder(
    business: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    broken: str,
    words: tuple[str, ...],
) -> None:
    monkeypatch.setattr(Books, broken, breaking)
    assert ended(monkeypatch, *words, "--business", business) == 70
    said = capsys.readouterr()
    (incident,) = business.glob("incident-*.log")
    assert "Traceback" not in said.out + said.err
    assert said.err.count("\n") == 1
    assert said.err.startswith("canewright stopped at something it does not foresee (ZeroDivisionError)")
    assert str(incident) in said.err
    written = incident.read_text(encoding="utf-8")
    assert "Traceback (most recent call last)" in written
    assert "a drum without\nradius" in written
    assert f"canewright {canewright.__version__}" in written
    assert " ".join(words[:2]) in written


def test_without_a_business_the_file_goes_among_temporary_files(
    business: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr("canewright.plant.plant.Plant.predict", breaking)
    assert ended(monkeypatch, "plant", "check", business / "plant.toml") == 70
    (incident,) = (tmp_path / "temp").glob("incident-*.log")
    assert str(incident) in capsys.readouterr().err


def test_where_no_file_can_be_written_the_fault_itself_is_told_on_one_line(
    business: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    write_incidents_to(business / "gone")
    monkeypatch.setattr("tempfile.tempdir", str(business / "gone"))
    monkeypatch.setattr("canewright.plant.plant.Plant.predict", breaking)
    assert ended(monkeypatch, "plant", "check", business / "plant.toml") == 70
    said = capsys.readouterr().err
    assert "no incident file could be written: send 'a drum without radius'" in said
    assert said.count("\n") == 1


def test_refusals_and_wrong_usage_keep_their_codes_and_leave_no_incident(
    business: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    assert ended(monkeypatch, "day", "show", "--day", DAY, "--business", business) == 1
    assert ended(monkeypatch, "day", "show", "--business", business) == 2
    assert ended(monkeypatch, "nonsense") == 2
    assert ended(monkeypatch, "--help") == 0
    assert "Traceback" not in capsys.readouterr().err
    assert not [*business.glob("incident-*"), *(tmp_path / "temp").glob("incident-*")]


def test_stopping_by_hand_is_no_incident(business: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def stopped(*args: Any, **named: Any) -> NoReturn:
        del args, named
        raise KeyboardInterrupt

    monkeypatch.setattr("canewright.cli._commands", stopped)
    assert ended(monkeypatch, "day", "show", "--day", DAY, "--business", business) == 130
    assert not [*business.glob("incident-*"), *(tmp_path / "temp").glob("incident-*")]


def run_python(code: str, **environment: str) -> str:
    """What a fresh interpreter prints for this code."""
    clean = {k: v for k, v in os.environ.items() if k != "OPENBLAS_NUM_THREADS"}
    done = subprocess.run(
        [sys.executable, "-c", code],
        env={**clean, "PYTHONPATH": str(SOURCE), **environment},
        capture_output=True,
        text=True,
        timeout=60,
        check=True,
    )
    return done.stdout


def test_help_loads_nothing_heavy() -> None:
    code = """
import sys
from canewright.cli.commands import app
heavy = {"numpy", "scipy", "casadi", "sqlalchemy", "starlette", "jinja2", "uvicorn"}
print(sorted(heavy & set(sys.modules)))
"""
    assert run_python(code).strip() == "[]"


def test_one_thread_for_small_matrices_unless_the_machine_says_otherwise() -> None:
    code = "import os, sys, canewright.cli; print('numpy' in sys.modules, os.environ['OPENBLAS_NUM_THREADS'])"
    assert run_python(code).split() == ["False", "1"]
    assert run_python(code, OPENBLAS_NUM_THREADS="2").split() == ["False", "2"]
