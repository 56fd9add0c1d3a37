"""Every command from the outside: what it prints, what it leaves behind, and how it refuses."""

from __future__ import annotations

import datetime as dt
import json
import shutil
import socket
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

import canewright
from accounts.small_mill import MONDAY, TEXT, TUESDAY, rows_of, truth, write_day, write_files
from canewright.cli import desk
from canewright.cli.commands import app

PUBLISHED = Path(canewright.__file__).parent / "demo_data" / "published_mill"
DAY = MONDAY.isoformat()
COMMANDS = (
    (), ("plant",), ("plant", "check"), ("day",), ("day", "template"), ("day", "check"), ("day", "import"),
    ("day", "close"), ("day", "reopen"), ("day", "show"), ("explain",), ("formulas",), ("work",), ("advise",),
    ("worth-reading",), ("serve",), ("demo",), ("stations",), ("plant", "new"), ("plant", "show"), ("plant", "fit"),
    ("plant", "sensitivity"), ("season",), ("season", "smooth"), ("season", "show"), ("season", "proposals"),
    ("day", "check-intervals"), ("plant", "cheapest-meters"), ("season", "accept"), ("season", "decline"),
    ("season", "withdraw"),
    ("plant", "sensitivity"), ("what-if",), ("what-matters",), ("trials",), ("trials", "list"), ("trials", "export"),
)  # fmt: skip


@pytest.fixture(autouse=True)
def wide(monkeypatch: pytest.MonkeyPatch) -> None:
    """A screen on which no sentence is broken."""
    monkeypatch.setattr(desk.out, "_width", 1000)
    monkeypatch.setattr(desk.trouble, "_width", 1000)


def run(*words: object) -> Result:
    """A command as a person types it; an error that is not a refusal fails the test."""
    result = CliRunner().invoke(app, [str(w) for w in words], env={"COLUMNS": "1000", "NO_COLOR": "1"})
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    assert "Traceback" not in result.output
    return result


def refused(*words: object, code: int = 1) -> str:
    """What a refused command says."""
    result = run(*words)
    assert result.exit_code == code, result.output
    return result.output


def done(*words: object) -> str:
    """What an accepted command prints."""
    result = run(*words)
    assert result.exit_code == 0, result.output
    return result.output


@pytest.fixture
def plant(tmp_path: Path) -> Path:
    """The small mill's description as a file."""
    path = tmp_path / "plant.toml"
    path.write_text(TEXT, encoding="utf-8")
    return path


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """The files of a good Monday."""
    return write_day(tmp_path / "monday", MONDAY)


@pytest.fixture
def closed(tmp_path: Path, plant: Path, folder: Path) -> Path:
    """A business with Monday closed."""
    business = tmp_path / "business"
    done("day", "close", "--business", business, "--plant", plant, "--day", DAY, "--folder", folder, "--by", "chemist")
    return business


@pytest.mark.parametrize("words", COMMANDS, ids=lambda w: " ".join(w) or "canewright")
def test_every_command_helps(words: tuple[str, ...]) -> None:
    said = done(*words, "--help")
    assert "Usage" in said
    assert len(said.splitlines()) > 5


# --- plant check ------------------------------------------------------------------------------------------------------


def test_plant_check_says_what_the_plant_makes_and_what_its_meters_can_tell() -> None:
    said = done("plant", "check", PUBLISHED / "plant.toml")
    assert "published mill: 11 stations, " in said
    assert "solved (newton)" in said
    assert "bagasse: 100.5" in said
    assert "These meters are checked by nothing else" in said
    assert "cane scale, imbibition meter" in said
    assert "apparent purity of last juice" in said


def test_plant_check_lists_every_fault_by_line(tmp_path: Path) -> None:
    bad = tmp_path / "bad.toml"
    bad.write_text(TEXT.replace('kind = "juice screen"', 'kind = "juice scren"'), encoding="utf-8")
    said = refused("plant", "check", bad)
    assert f"{bad} has 1 fault:" in said
    assert "stations.screen.kind: found 'juice scren'; accepted: did you mean 'juice screen'?" in said
    bad.write_text(TEXT.replace('bagasse = "mill 5', 'bagase = "mill 5').replace('"pol extraction" = 96', '"pol" = 96'))
    said = refused("plant", "check", bad)
    assert f"{bad} has 2 faults:" in said
    assert "roles.bagase: found 'bagase'; accepted: did you mean 'bagasse'?" in said
    assert "sheet.targets.pol: found 'pol'" in said


def test_plant_check_names_a_plant_that_does_not_match(tmp_path: Path) -> None:
    bad = tmp_path / "bad.toml"
    loose = '[stations.spare]\nkind = "water supply"\n\n[connections]\n"outside.drain" = "spare.water"'
    bad.write_text(TEXT.replace("[connections]", loose), encoding="utf-8")
    assert "equations and unknowns do not match: nothing determines water of spare.water.1" in refused(
        "plant", "check", bad
    )


def test_plant_check_of_no_file_a_folder_and_a_file_of_other_text(tmp_path: Path) -> None:
    assert "is not a file; give the path of one" in refused("plant", "check", tmp_path / "none.toml")
    assert "is not a file; give the path of one" in refused("plant", "check", tmp_path)
    other = tmp_path / "other.toml"
    other.write_bytes(b"[plant]\nname = '\xff'\n")
    assert "line 2: file: found byte 0xff that is not UTF-8 text" in refused("plant", "check", other)
    other.write_bytes(b"")
    assert "stations: found nothing; accepted: stations, such as" in refused("plant", "check", other)


def test_plant_check_of_settings_without_a_state(tmp_path: Path) -> None:
    bad = tmp_path / "bad.toml"
    poor = TEXT.replace("rate = 400", "rate = 400\nfibre = 25\nsucrose = 20\nother = 5\nash = 3\nreducing_sugars = 4")
    bad.write_text(poor.replace("moisture = 54", "moisture = 65"), encoding="utf-8")
    said = refused("plant", "check", bad)
    assert "mill" in said


def test_plant_check_names_the_setting_furthest_from_its_usual_value_first(tmp_path: Path) -> None:
    bad = tmp_path / "bad.toml"
    odd = TEXT.replace("{ value = 220,", "{ value = 20,")
    assert odd != TEXT
    poor = odd.replace("rate = 400", "rate = 400\nfibre = 25\nsucrose = 20\nother = 5\nash = 3\nreducing_sugars = 4")
    bad.write_text(poor.replace("moisture = 54", "moisture = 65"), encoding="utf-8")
    said = refused("plant", "check", bad)
    assert said.startswith("look first at: imbibition.on_fibre is 20 %, usual is about 220 % (accepted: 20 to 500)")
    assert " apart" in said or "possible is" in said
    assert "·" not in said


# --- a day ------------------------------------------------------------------------------------------------------------


def test_template_writes_blank_files_and_never_over_others(tmp_path: Path, plant: Path) -> None:
    said = done("day", "template", "--plant", plant, "--day", DAY, "--folder", tmp_path / "blank")
    assert f"Fill them in for {DAY}" in said
    rows = (tmp_path / "blank" / "meters.csv").read_text(encoding="utf-8-sig").splitlines()
    assert rows == ["time,meter,value,unit,quality,by", ",cane scale,,t,,", ",juice scale,,t,,", ",water meter,,t,,"]
    said = refused("day", "template", "--plant", plant, "--folder", tmp_path / "blank")
    assert "exist already" in said
    assert "nothing was written" in said
    assert "cannot be used" in refused("day", "template", "--plant", plant, "--folder", plant)
    assert "day: found 'soon'" in refused(
        "day", "template", "--plant", plant, "--day", "soon", "--folder", tmp_path / "x"
    )
    assert not (tmp_path / "x").exists()


def test_check_previews_and_leaves_nothing_behind(tmp_path: Path, plant: Path, folder: Path) -> None:
    business = tmp_path / "business"
    said = done("day", "check", "--business", business, "--plant", plant, "--day", DAY, "--folder", folder)
    assert f"{DAY}: would store " in said
    assert "Note: deliveries.csv is absent" in said
    assert not business.exists()


def test_check_lists_every_bad_row(tmp_path: Path, plant: Path) -> None:
    rows = rows_of(MONDAY, dict(truth(24.0, 220.0)), 24.0)
    end = f"{TUESDAY} 05:00"
    bad = [(end, "cane scale", "nine", "t", "good", "x"), (end, "cane scal", "9600", "t", "good", "x")]
    folder = write_files(tmp_path / "bad", {**rows, "meters.csv": bad})
    business = tmp_path / "business"
    for command in ("check", "import", "close"):
        said = refused("day", command, "--business", business, "--plant", plant, "--day", DAY, "--folder", folder)
        assert "nothing was stored; 2 fault(s) in the day's files:" in said
        assert "meters.csv, row 2, column 'value': found 'nine'" in said
        assert "meters.csv, row 3" in said
        assert not business.exists()


def test_import_then_close_then_show(tmp_path: Path, plant: Path, folder: Path) -> None:
    business = tmp_path / "business"
    assert "stored 10 readings" in done(
        "day", "import", "--business", business, "--plant", plant, "--day", DAY, "--folder", folder, "--by", "analyst"
    )
    said = done("day", "close", "--business", business, "--day", DAY, "--by", "chemist")
    assert f"small mill: day sheet of {DAY}" in said
    assert "(closed, version 1, by chemist)" in said
    assert "pol extraction" in said
    assert "96.47 ±" in said
    assert done("day", "show", "--business", business, "--day", DAY) in said
    sheet = json.loads(done("day", "show", "--business", business, "--day", DAY, "--json"))
    assert next(r for r in sheet["sheet"] if r["name"] == "cane crushed")["value"] == pytest.approx(9600.0, rel=1e-3)
    assert "was imported before" in refused("day", "import", "--business", business, "--day", DAY, "--folder", folder)


def test_reopen_and_close_again(closed: Path) -> None:
    assert "is closed (version 1)" in refused("day", "close", "--business", closed, "--day", DAY)
    assert "reason" in refused("day", "reopen", "--business", closed, "--day", DAY, code=2)
    assert "without a reason" in refused("day", "reopen", "--business", closed, "--day", DAY, "--reason", " ")
    said = done("day", "reopen", "--business", closed, "--day", DAY, "--reason", "late result")
    assert f"{DAY} is open again; version 1 stays readable with --version" in said
    assert "not closed; there is nothing to reopen" in refused(
        "day", "reopen", "--business", closed, "--day", DAY, "--reason", "late result"
    )
    assert "version 2" in done("day", "close", "--business", closed, "--day", DAY, "--reason", "late result")
    assert "version 1" in done("day", "show", "--business", closed, "--day", DAY, "--version", "1")
    assert "has no version 3; it has version 1, 2" in refused(
        "day", "show", "--business", closed, "--day", DAY, "--version", "3"
    )


def test_explain_prints_a_tree_down_to_the_readings(closed: Path) -> None:
    said = done("explain", "pol extraction", "--business", closed, "--day", DAY)
    assert said.startswith("pol extraction: 96.4")
    assert "[reading " in said
    assert "bagasse: pol" in said
    assert "more with" in said
    whole = done("explain", "pol extraction", "--business", closed, "--day", DAY, "--all")
    assert len(whole) > len(said)
    assert "more with" not in whole
    said = refused("explain", "mill extraction", "--business", closed, "--day", DAY)
    assert "no figure is called 'mill extraction' on 2031-07-14; nearest: pol extraction, reduced extraction, " in said
    assert said.rstrip().endswith(f"canewright day show --business {closed} --day {DAY} lists all")


def test_worth_reading_ranks_readings_and_refuses_an_unknown_figure(closed: Path) -> None:
    where = ("--business", closed, "--day", DAY)
    said = done("worth-reading", "pol extraction", *where, "--most", 3)
    assert said.startswith("pol extraction: 96.4")
    assert "One more reading" in said
    assert "twice as sure" in said
    data = json.loads(done("worth-reading", "pol extraction", *where, "--json"))
    cuts = [row["cut"] for row in data["alone"]]
    assert cuts == sorted(cuts, reverse=True)
    assert data["together"][0]["reading"] == data["alone"][0]["reading"]
    assert "no figure is called 'mill extraction'" in refused("worth-reading", "mill extraction", *where)


def test_a_description_becomes_the_folders_own_only_when_all_went_well(
    tmp_path: Path, plant: Path, closed: Path
) -> None:
    other = tmp_path / "other.toml"
    other.write_text(TEXT.replace('name = "small mill"', 'name = "renamed mill"'), encoding="utf-8")
    kept = (closed / "plant.toml").read_text(encoding="utf-8")
    assert "no readings are stored for 2031-07-15" in refused(
        "day", "close", "--business", closed, "--plant", other, "--day", TUESDAY
    )
    assert (closed / "plant.toml").read_text(encoding="utf-8") == kept
    folder = write_day(tmp_path / "tuesday", TUESDAY)
    done("day", "check", "--business", closed, "--plant", other, "--day", TUESDAY, "--folder", folder)
    assert (closed / "plant.toml").read_text(encoding="utf-8") == kept
    said = done("day", "close", "--business", closed, "--plant", other, "--day", TUESDAY, "--folder", folder)
    assert "renamed mill: day sheet" in said
    assert (closed / "plant.toml").read_text(encoding="utf-8") == other.read_text(encoding="utf-8")


def test_a_plant_named_in_brackets_is_printed_as_it_is(tmp_path: Path, folder: Path) -> None:
    path = tmp_path / "plant.toml"
    path.write_text(TEXT.replace('name = "small mill"', 'name = "mill [/bold] [red]"'), encoding="utf-8")
    said = done("day", "close", "--business", tmp_path / "b", "--plant", path, "--day", DAY, "--folder", folder)
    assert "mill [/bold] [red]: day sheet" in said
    assert "mill [/bold] [red]: 12 stations" in done("plant", "check", path)


# --- refusals ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("day", ["2031-13-01", "14.7.2031", "", "yesterday"])
def test_a_day_that_is_no_date(tmp_path: Path, plant: Path, folder: Path, day: str) -> None:
    business = tmp_path / "business"
    accepted = "accepted: a date such as 2031-08-14"
    for words in (
        ("day", "check", "--business", business, "--plant", plant, "--folder", folder),
        ("day", "import", "--business", business, "--plant", plant, "--folder", folder),
        ("day", "close", "--business", business, "--plant", plant),
        ("day", "reopen", "--business", business, "--reason", "x"),
        ("day", "show", "--business", business),
        ("explain", "pol extraction", "--business", business),
        ("advise", "--business", business),
    ):
        assert f"day: found '{day}'; {accepted}" in refused(*words, "--day", day)
    assert not business.exists()


@pytest.mark.parametrize(
    "words",
    [
        ("day", "close", "--day", DAY),
        ("day", "reopen", "--day", DAY, "--reason", "x"),
        ("day", "show", "--day", DAY),
        ("explain", "pol extraction", "--day", DAY),
        ("advise", "--day", DAY),
        ("serve",),
    ],
    ids=lambda w: " ".join(w[:2]),
)
def test_a_business_that_is_not_there(tmp_path: Path, words: tuple[str, ...]) -> None:
    business = tmp_path / "none"
    said = refused(*words, "--business", business)
    assert f"{business} holds no plant.toml; copy a plant description there" in said
    assert not business.exists()


def test_a_business_folder_that_cannot_be_one(tmp_path: Path, plant: Path, folder: Path) -> None:
    said = refused("day", "close", "--business", plant, "--plant", plant, "--day", DAY, "--folder", folder)
    assert "cannot be used" in said
    assert "give another with --business" in said
    broken = tmp_path / "broken"
    broken.mkdir()
    shutil.copy(plant, broken / "plant.toml")
    (broken / "business.db").write_bytes(b"not a database" * 100)
    assert "business" in refused("day", "show", "--business", broken, "--day", DAY)
    assert (broken / "business.db").read_bytes() == b"not a database" * 100


def test_files_that_are_not_there(tmp_path: Path, plant: Path) -> None:
    business = tmp_path / "business"
    said = refused(
        "day", "check", "--business", business, "--plant", plant, "--day", DAY, "--folder", tmp_path / "nowhere"
    )
    assert "laboratory.csv: found no such file" in said
    assert "meters.csv: found no such file" in said


def test_days_without_readings_and_not_closed(closed: Path) -> None:
    day = TUESDAY.isoformat()
    assert "no readings are stored for 2031-07-15" in refused("day", "close", "--business", closed, "--day", day)
    assert f"{day} is not closed" in refused("day", "show", "--business", closed, "--day", day)
    assert f"{day} is not closed" in refused("explain", "pol extraction", "--business", closed, "--day", day)
    assert "not closed" in refused("day", "reopen", "--business", closed, "--day", day, "--reason", "x")


def test_advice_without_moves_is_refused_in_a_sentence(closed: Path) -> None:
    assert "[[advice.moves]]" in refused("advise", "--business", closed, "--day", DAY)


@pytest.mark.parametrize("port", ["0", "70000", "web"])
def test_a_port_that_is_none(tmp_path: Path, port: str) -> None:
    assert "--port" in refused("serve", "--business", tmp_path, "--port", port, code=2)


def test_a_port_that_another_program_holds(closed: Path) -> None:
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        port = other.getsockname()[1]
        said = refused("serve", "--business", closed, "--port", port)
    assert f"port {port} cannot be used: " in said
    assert "give another with --port" in said


def test_missing_options_and_unknown_commands_are_named() -> None:
    assert "--business" in refused("day", "close", "--day", DAY, code=2)
    assert "nonsense" in refused("nonsense", code=2)
    assert "--plnt" in refused("day", "template", "--plnt", "x", code=2)


def test_the_person_is_the_one_named_else_the_account_of_the_machine(monkeypatch: pytest.MonkeyPatch) -> None:
    assert desk.person(" chief chemist ") == "chief chemist"
    monkeypatch.setattr("getpass.getuser", lambda: "analyst")
    assert desk.person(None) == desk.person("  ") == "analyst"
    assert desk.now().tzinfo is dt.UTC
