"""The cane office from the outside: what each command prints and leaves behind, and how it refuses."""

from __future__ import annotations

import csv
import json
import shutil
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from accounts.cane_files import as_file, changed, good_rows, register_files
from accounts.small_mill import TEXT
from canewright.cli import desk
from canewright.cli.commands import app

PLANT = TEXT + '\n[cane]\nseason = "2031"\nsugar_price = "400"\n'
COMMANDS = (
    (), ("template",), ("import",), ("note",), ("list",), ("show",), ("weekly",), ("growers",), ("audit",), ("costs",),
    ("yard",),
    ("planting",), ("demo",), ("register",), ("register", "import"), ("register", "list"), ("register", "show"),
    ("register", "history"), ("register", "correct"), ("register", "change"), ("register", "end"), ("sample",),
    ("sample", "questions"), ("sample", "accept"), ("sample", "rule"), ("sample", "retest"), ("access",),
    ("access", "give"), ("access", "withdraw"), ("access", "list"),
)  # fmt: skip
TICKET = good_rows(0.004)["ticket"][20]


@pytest.fixture(autouse=True)
def wide(monkeypatch: pytest.MonkeyPatch) -> None:
    """A screen on which no sentence is broken."""
    monkeypatch.setattr(desk.out, "_width", 1000)
    monkeypatch.setattr(desk.trouble, "_width", 1000)


def run(*words: object) -> Result:
    """A command as a person types it; an error that is not a refusal fails the test."""
    result = CliRunner().invoke(app, ["cane", *(str(w) for w in words)], env={"COLUMNS": "1000", "NO_COLOR": "1"})
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    assert "Traceback" not in result.output
    return result


def done(*words: object) -> str:
    """What an accepted command prints."""
    result = run(*words)
    assert result.exit_code == 0, result.output
    return result.output


def refused(*words: object) -> str:
    """What a refused command says; bad input leaves with 2."""
    result = run(*words)
    assert result.exit_code == 2, (result.exit_code, result.output)
    return result.output


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A business with registers and the first day of the invented season, which no test writes to."""
    folder = tmp_path_factory.mktemp("made")
    business, files = folder / "business", folder / "files"
    business.mkdir()
    files.mkdir()
    (business / "plant.toml").write_text(PLANT, encoding="utf-8")
    for name, data in register_files().items():
        (files / name).write_bytes(data)
    (folder / "season.csv").write_bytes(as_file(good_rows(0.004)))
    said = done("register", "import", files, "--business", business, "--by", "cane office")
    assert "stored 1968 entries" in said
    said = done("import", folder / "season.csv", "--business", business, "--by", "cane office")
    assert f"stored {good_rows(0.004).height} consignments" in said
    return folder


@pytest.fixture
def business(made: Path, tmp_path: Path) -> Path:
    """A business of a test's own."""
    return Path(shutil.copytree(made / "business", tmp_path / "business"))


@pytest.mark.parametrize("words", COMMANDS, ids=lambda w: " ".join(w) or "cane")
def test_every_command_says_what_it_takes(words: tuple[str, ...]) -> None:
    assert "Usage" in done(*words, "--help")


def test_registers_are_listed_shown_corrected_changed_and_ended(business: Path, tmp_path: Path) -> None:
    at = ("--business", business)
    said = done("register", "list", "blocks", *at, "--on", "2031-07-01")
    assert "block register on 2031-07-01: 1400" in said
    assert "and 1340 more" in said
    file = tmp_path / "blocks.csv"
    done("register", "list", "block", *at, "--on", "2031-07-01", "--csv", file)
    with file.open(encoding="utf-8-sig", newline="") as opened:
        assert len(list(csv.reader(opened))) == 1401
    found = json.loads(done("register", "list", "grower", *at, "--on", "2031-07-01", "--json"))
    assert len(found) == 180
    assert "variety" in done("register", "show", "block", "017-1", *at, "--on", "2031-07-01")
    said = done(
        "register", "correct", "block", "017-1", *at, "--on", "2031-07-01", "--set", "area=12.5",
        "--reason", "measured", "--by", "clerk",
    )  # fmt: skip
    assert "became 12.5" in said
    said = done("register", "change", "block", "017-1", *at, "--from", "2031-08-20", "--set", "crop class=R3")
    assert "crop class: R2 became R3" in said or "became R3" in said
    done("register", "end", "block", "017-1", *at, "--from", "2032-01-01")
    history = done("register", "history", "block", "017-1", *at)
    assert history.count("entry") >= 5
    assert "by clerk" in history
    assert "measured" in history
    assert "taken out of the register" in history
    assert "no longer in the register" in done("register", "show", "block", "017-1", *at, "--on", "2032-02-01")


def test_register_commands_refuse_in_sentences(business: Path, made: Path) -> None:
    at = ("--business", business)
    assert "did you mean block" in refused("register", "list", "blok", *at)
    assert "nearest: 017-1" in refused("register", "show", "block", "17-1", *at, "--on", "2031-07-01")
    assert "There is no block" in refused("register", "history", "block", "none", *at)
    wrong = ("register", "correct", "block", "017-1", *at, "--on", "2031-07-01", "--reason", "x", "--set")
    assert "accepted: field=value" in refused(*wrong, "area")
    assert "found -1 ha" in refused(*wrong, "area=-1")
    assert "a date such as" in refused("register", "list", "block", *at, "--on", "tomorrow")
    assert "no register file" in refused("register", "import", made / "season.csv", *at)


def test_a_bad_file_is_refused_whole(business: Path, tmp_path: Path) -> None:
    cells = changed(changed(good_rows(0.006), 30, "grower", "farm 17"), 31, "gross, t", "12,5")
    path = tmp_path / "bad.csv"
    path.write_bytes(as_file(cells))
    said = refused("import", path, "--business", business)
    assert "nothing was stored" in said
    assert "row 30, column 'grower': found 'farm 17'" in said
    assert "row 31, column 'gross, t': found '12,5'" in said
    assert "check the path" in refused("import", tmp_path / "none.csv", "--business", business)


def test_a_file_is_only_checked_when_asked(made: Path, tmp_path: Path) -> None:
    business = Path(shutil.copytree(made / "business", tmp_path / "b"))
    late = good_rows(0.01).tail(5)
    path = tmp_path / "late.csv"
    path.write_bytes(as_file(late))
    assert "would store 5 consignments" in done("import", path, "--business", business, "--check")
    assert "stored 5 consignments" in done("import", path, "--business", business)
    assert "stored already" in refused("import", path, "--business", business)


def test_deliveries_are_listed_shown_and_added_up(business: Path, tmp_path: Path) -> None:
    at = ("--business", business)
    assert f"{good_rows(0.004).height} consignments" in done("list", *at)
    file = tmp_path / "list.csv"
    done("list", *at, "--csv", file)
    assert len(file.read_text(encoding="utf-8-sig").splitlines()) == good_rows(0.004).height + 1
    said = done("show", TICKET, *at)
    assert "paid ccs" in said
    assert "Trail:" in said
    assert "nearest" in refused("show", TICKET + "77", *at)
    assert "mean CCS" in done("growers", *at)
    assert "delay" in done("weekly", *at)
    assert "doubt of the samples" in done("costs", *at)
    assert done("audit", *at)
    assert "yard on 2031-06-02" in done("yard", "--day", "2031-06-02", *at)
    assert "no consignment with a recorded arrival" in refused("yard", "--day", "2030-06-02", *at)
    assert "import them with" in refused_without_cane(tmp_path)


def refused_without_cane(folder: Path) -> str:
    """What is said of a business that has no deliveries."""
    empty = folder / "empty"
    empty.mkdir()
    (empty / "plant.toml").write_text(PLANT, encoding="utf-8")
    return refused("list", "--business", empty)


def test_a_note_is_checked_before_tipping(business: Path) -> None:
    row = good_rows(0.004).row(20, named=True)
    words = (
        "--grower", row["grower"], "--block", row["block"], "--group", row["harvest group"],
        "--carrier", row["carrier"], "--class", row["fibre class"], "--day", "2031-06-03", "--business", business,
    )  # fmt: skip
    assert "agrees with the registers" in done("note", "99999", *words)
    said = refused("note", TICKET, *words)
    assert "is not to be tipped yet" in said
    assert "stored already" in said


def test_samples_are_questioned_ruled_on_and_analysed_again(business: Path) -> None:
    at = ("--business", business)
    assert "open question(s)" in done("sample", "questions", *at)
    day = ("--day", "2031-06-02")
    said = done("sample", "rule", TICKET, "disputed", *day, *at, "--reason", "grower asks", "--by", "clerk")
    assert "disputed by clerk: grower asks" in said
    assert "is not accepted" in refused("sample", "rule", TICKET, "perhaps", *day, *at, "--reason", "x")
    assert "not stored for" in refused("sample", "rule", "0", "settled", *day, *at, "--reason", "x")
    done("sample", "retest", TICKET, "--brix", "20.5", "--pol", "18.0", *day, *at)
    assert "accepted: brix 5 to 30" in refused("sample", "retest", TICKET, "--brix", "1", "--pol", "18", *day, *at)
    assert "has no open question" in refused("sample", "accept", "0", *at)
    assert "disputed: grower asks" in done("show", TICKET, *at)


def test_access_is_given_listed_and_withdrawn(business: Path) -> None:
    at = ("--business", business)
    said = done("access", "give", "farm 017", "--to", "A. Grower", *at)
    key = said.rsplit(": ", 1)[1].strip()
    assert len(key) >= 24
    assert "nearest: farm 017" in refused("access", "give", "farm 17", "--to", "x", *at)
    assert "open" in done("access", "list", *at)
    assert key not in done("access", "list", *at)
    done("access", "withdraw", "1", "--reason", "key lost", *at)
    assert "withdrawn: key lost" in done("access", "list", *at)
    assert "withdrawn before" in refused("access", "withdraw", "1", "--reason", "again", *at)


def test_planting_methods_and_blank_files(tmp_path: Path) -> None:
    assert "nursery seedlings" in done("planting")
    assert "accepted" in refused("planting", "--ratoons", "99")
    done("template", "--folder", tmp_path / "blank")
    assert (tmp_path / "blank" / "blocks.csv").read_text(encoding="utf-8-sig").startswith("block,valid from,farm")
    assert "is there already and stays" in done("template", "--folder", tmp_path / "blank")
