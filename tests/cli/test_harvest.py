"""The harvest from the outside: registers in, plan, allotments, yard; deliveries in, planned again; refusals."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from accounts.small_district import deliveries, register_texts, write_registers
from canewright.cli import desk
from canewright.cli.commands import DEMO_DATA, app


@pytest.fixture(autouse=True)
def wide(monkeypatch: pytest.MonkeyPatch) -> None:
    """A screen on which no sentence is broken."""
    monkeypatch.setattr(desk.out, "_width", 1000)
    monkeypatch.setattr(desk.trouble, "_width", 1000)


@pytest.fixture
def mill(tmp_path: Path) -> Path:
    """A business with the small district's registers."""
    business = tmp_path / "mill"
    business.mkdir()
    plant = (DEMO_DATA / "published_mill" / "plant.toml").read_text(encoding="utf-8")
    (business / "plant.toml").write_text(plant, encoding="utf-8")
    done("cane", "register", "import", write_registers(tmp_path / "registers"), "--business", business, "--by", "clerk")
    return business


def run(*words: object) -> Result:
    """A command as a person types it; an error that is not a refusal fails the test."""
    result = CliRunner().invoke(app, [str(w) for w in words], env={"COLUMNS": "1000", "NO_COLOR": "1"})
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    assert "Traceback" not in result.output
    return result


def done(*words: object) -> str:
    """What an accepted command prints."""
    result = run(*words)
    assert result.exit_code == 0, result.output
    return result.output


def refused(*words: object) -> str:
    """What a refused command says; it ends with 2."""
    result = run(*words)
    assert result.exit_code == 2, result.output
    return result.output


def harvest(mill: Path, *words: object) -> tuple[object, ...]:
    """The words of a harvest command on this business."""
    return ("harvest", *words, "--business", mill)


def body(mill: Path, *words: object) -> dict[str, object]:
    """The plan as JSON."""
    found = json.loads(done(*harvest(mill, "show", "--json", *words)))
    assert isinstance(found, dict)
    return found


def test_a_season_is_planned_shared_out_and_planned_again(mill: Path, tmp_path: Path) -> None:
    told = done(*harvest(mill, "plan", "--by", "planner", "--set", "band=60"))
    assert "plan 1 of season 2031 from 2031-06-02, by planner" in told
    assert "the equity band of 60 points costs $" in told
    first = body(mill)
    rows = first["rows"]
    assert isinstance(rows, list)
    assert sum(r["tonnes"] for r in rows) == pytest.approx(24 * 800.0, rel=0.02)
    assert {r["week"] for r in rows if r["block"] == "2-4"} <= {"2031-06-02", "2031-06-09"}  # burnt: by 12 June
    assert first["gap"] < 0.01  # type: ignore[operator]
    shares = done(*harvest(mill, "allot", "--day", "2031-06-10", "--bins", 61))
    assert "allotment of 61 bins on 2031-06-10" in shares
    yard = done(*harvest(mill, "yard", "--day", "2031-06-10", "--set", "crush=20", "--set", "opening=300"))
    assert "hours of crush" in yard
    assert "loads" in yard
    season = tmp_path / "season-deliveries.csv"
    cut = ["1-1", "2-4", "3-1", "4-1", "5-1", "6-1"]
    season.write_text(deliveries(cut), encoding="utf-8")
    done("cane", "import", season, "--business", mill, "--by", "clerk")
    late = json.loads(done(*harvest(mill, "allot", "--day", "2031-06-04", "--bins", 60, "--json")))
    assert late[-1]["bins"] == "60"  # what one group catches up, the other gets later
    assert "say why it is planned again" in refused(*harvest(mill, "plan", "--by", "planner", "--set", "band=60"))
    again = done(*harvest(mill, "plan", "--by", "planner", "--set", "band=60", "--reason", "a week is cut"))
    assert "plan 2 of season 2031 from 2031-06-08, by planner, instead of plan 1: a week is cut" in " ".join(
        again.split()
    )
    left = body(mill)["rows"]
    assert isinstance(left, list)
    assert not {r["block"] for r in left} & set(cut)
    assert body(mill, "--version", 1) == first


def test_maturity_and_estimate_are_printed_and_exported(mill: Path, tmp_path: Path) -> None:
    curves = json.loads(done(*harvest(mill, "maturity", "variety", "--json")))
    peaks = {row["curve"]: float(row["peak week"]) for row in curves}
    assert peaks["early 1"] < peaks["mid 1"] < peaks["late 1"]
    assert peaks["mid 1"] == pytest.approx(6.0, abs=0.7)
    assert "accepted: district, variety, class, farm, block" in refused(*harvest(mill, "maturity", "paddock"))
    file = tmp_path / "blocks.csv"
    done(*harvest(mill, "maturity", "block", "--csv", file))
    assert len(file.read_text(encoding="utf-8-sig").splitlines()) == 25
    assert "blocks not cut out: 19,4" in done(*harvest(mill, "estimate", "--for", "2031-06-02"))


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--set", "bend=3"), "--set: found the term 'bend'; did you mean band"),
        (("--set", "band=0"), "equity band: found 0 points; accepted: above 0 and up to 100"),
        (("--set", "band=wide"), "--set band: found 'wide'; accepted: a number such as 10 or 0.75"),
        (("--set", "cutting=0.3"), "these limits cannot all be kept; the least that would have to give: "),
        (("--set", "youngest=20"), "may be cut in none of the weeks"),
        (("--set", "sugar=-1"), "accepted: a price above 0"),
        (("--for", "June"), "day: found 'June'; accepted: a date such as"),
        (("--for", "2031-06-20"), "block 2-4 (burnt) was to be cut by 2031-06-12 and still stands on 2031-06-20"),
        (("--for", "2032-01-01"), "found no week from 2032-01-01 on"),
    ],
)
def test_a_plan_that_cannot_be_made_is_refused_in_words_and_nothing_is_stored(
    mill: Path, words: tuple[str, ...], told: str
) -> None:
    assert told in refused(*harvest(mill, "plan", "--by", "planner", *words))
    assert "which has no plan" in refused(*harvest(mill, "show"))


def test_what_equity_costs_is_told_band_by_band(mill: Path, tmp_path: Path) -> None:
    rows = json.loads(done(*harvest(mill, "equity", 50, 20, "--json")))
    assert [row["farms' shares cut"] for row in rows] == [
        "no band", "within 50 points", "within 20 points", "every block alike each week",
    ]  # fmt: skip
    worth = [float(row["worth, $"]) for row in rows]
    assert worth == sorted(worth, reverse=True)
    assert worth[-1] < worth[0]
    assert "found 0 points" in refused(*harvest(mill, "equity", 0))
    file = tmp_path / "weeks.csv"
    done(*harvest(mill, "plan", "--by", "planner"))
    done(*harvest(mill, "show", "--csv", file))
    assert len(file.read_text(encoding="utf-8-sig").splitlines()) == 11
    assert "red" in done(*harvest(mill, "show", "--by", "group"))
    assert "version: found 4; accepted: 1 to 1" in refused(*harvest(mill, "show", "--version", 4))


@pytest.mark.parametrize(
    ("file", "old", "new", "told"),
    [
        ("blocks.csv", "1-1,2031-01-01,1,10,", "1-1,2031-01-01,1,-10,", "found -10 ha; accepted: a number from 0.01"),
        ("farms.csv", ",g1,red,", ",g1,green,", "'green'"),
        ("crush-weeks.csv", "2300", "-1", "found -1 t; accepted: a number from 0"),
        ("harvest-orders.csv", "burnt", "scorched", "one of burnt, diseased"),
    ],
)
def test_wrong_cells_of_the_files_are_listed_and_nothing_is_stored(
    tmp_path: Path, mill: Path, file: str, old: str, new: str, told: str
) -> None:
    assert old in register_texts()[file]
    folder = tmp_path / "wrong"
    folder.mkdir()
    (folder / file).write_text(register_texts()[file].replace(old, new), encoding="utf-8")
    said = refused("cane", "register", "import", folder, "--business", mill)
    assert "nothing was stored" in said
    assert told in said


def test_what_is_missing_is_named(mill: Path) -> None:
    done("cane", "register", "end", "estimate", "3-2", "--from", "2031-05-02", "--business", mill, "--by", "clerk")
    assert "1 of 24 blocks have none on 2031-06-02: 3-2" in refused(*harvest(mill, "plan"))
    done(
        "cane",
        "register",
        "end",
        "crush week",
        "2031-06-23",
        "--from",
        "2031-05-02",
        "--business",
        mill,
        "--by",
        "clerk",
    )
    assert "2031-06-30 follows 2031-06-16; accepted: weeks of seven days" in refused(*harvest(mill, "plan"))


def test_the_invented_files_of_the_demo_district_are_written(tmp_path: Path) -> None:
    said = done("harvest", "demo", tmp_path / "files")
    for name in ("estimates.csv", "ripeness-samples.csv", "harvest-orders.csv", "crush-weeks.csv"):
        assert name in said
        assert (tmp_path / "files" / name).stat().st_size > 100
