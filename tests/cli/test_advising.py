"""Advice, what-if and kept trials at the command line."""

from __future__ import annotations

import csv
import json
import shutil
from pathlib import Path

import pytest

from accounts.advised_mill import TEXT, advised, with_limit, write
from accounts.small_mill import MONDAY, now, take_in, write_day
from canewright.accounts.books import Books
from canewright.cli import desk
from canewright.store import Store
from cli.test_commands import done, refused

DAY = MONDAY.isoformat()
WATER = "imbibition.on_fibre"


@pytest.fixture(autouse=True)
def wide(monkeypatch: pytest.MonkeyPatch) -> None:
    """A screen on which no sentence is broken."""
    monkeypatch.setattr(desk.out, "_width", 1000)
    monkeypatch.setattr(desk.trouble, "_width", 1000)


@pytest.fixture(scope="module")
def filled(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A business with one day."""
    folder = tmp_path_factory.mktemp("business")
    write(folder / "plant.toml")
    with Store.open(folder, now=now) as store:
        books = Books(advised(), store)
        take_in(books, write_day(folder / "files", MONDAY), MONDAY)
    return folder


@pytest.fixture
def business(filled: Path, tmp_path: Path) -> Path:
    """A business of a test's own."""
    return shutil.copytree(filled, tmp_path / "business")


def test_advice_says_what_to_move_what_to_try_and_what_safety_costs(business: Path) -> None:
    said = done("advise", "--business", business, "--day", DAY)
    assert "imbibition.on_fibre (imbibition water on fibre): 220 to 245 %" in said
    assert "of which juice +" in said
    assert "trial first: imbibition.on_fibre" in said
    assert "known is 200 to 245 as the site states" in said
    assert "Response: mill 5.imbibition_coefficient by imbibition.on_fibre" in said
    assert "Hazard at imbibition: Hot water" in said
    assert "not a control or safety system" in said
    told = json.loads(done("advise", "--business", business, "--day", DAY, "--json", "--hold", WATER))
    assert told["left alone"] == [WATER]
    assert WATER not in {m["setting"] for m in told["moves"]}
    only = json.loads(done("advise", "--business", business, "--day", DAY, "--json", "--only", WATER))
    assert [m["setting"] for m in only["moves"]] == [WATER]


def test_unknown_handles_are_refused_with_the_nearest(business: Path) -> None:
    for option in ("--only", "--hold"):
        said = refused("advise", "--business", business, "--day", DAY, option, "imbibition.on_fiber", code=2)
        assert "no handle is called 'imbibition.on_fiber'; did you mean 'imbibition.on_fibre'?" in said


def test_limits_in_conflict_and_missing_prices_are_sentences(business: Path) -> None:
    write(business / "plant.toml", with_limit(17.5))
    said = refused("advise", "--business", business, "--day", DAY)
    assert "in conflict: brix of mixed juice (alone it would be" in said
    assert "more room would help for" in said
    write(business / "plant.toml", TEXT.replace("[[prices]]", "[[pricez]]"))
    assert "did you mean 'prices'" in refused("advise", "--business", business, "--day", DAY)
    without = TEXT[: TEXT.index("[[prices]]")] + TEXT[TEXT.index("[[advice.moves]]") :]
    write(business / "plant.toml", without)
    assert "no [[prices]]" in refused("advise", "--business", business, "--day", DAY)


def test_what_if_tells_differences_with_intervals(business: Path) -> None:
    said = done("what-if", f"{WATER}=230", "cane.fibre=14.5", "--business", business, "--day", DAY)
    assert "imbibition.on_fibre (imbibition water on fibre): 220 to 230 %" in said
    assert "money a day" in said
    assert " ± " in said
    told = json.loads(done("what-if", f"{WATER}=230", "--business", business, "--day", DAY, "--json"))
    row = next(r for r in told["rows"] if r["name"] == "pol extraction")
    assert row["change"] == pytest.approx(row["then"] - row["base"])
    assert row["uncertainty"] > 0
    assert "Beyond a limit: brix of mixed juice would be" in done(
        "what-if", f"{WATER}=290", "--business", business, "--day", DAY
    )


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        (["imbibition.on_fiber=230"], "no setting or input is called 'imbibition.on_fiber'; did you mean"),
        ([f"{WATER}=wet"], "imbibition.on_fibre: found 'wet'; accepted: a number"),
        ([f"{WATER}=9000"], "imbibition.on_fibre: found 9000 %; accepted: 20 to 500"),
        ([f"{WATER}=nan"], "found nan"),
        ([WATER], 'accepted: "setting=value"'),
        ([f"{WATER}=1", f"{WATER}=2"], "changed twice"),
    ],
)  # fmt: skip
def test_what_cannot_be_asked_is_refused_in_words(business: Path, changes: list[str], said: str) -> None:
    assert said in refused("what-if", *changes, "--business", business, "--day", DAY, code=2)


def test_settings_without_a_state_are_refused_in_words(business: Path) -> None:
    rich = [f"cane.{k}" for k in ("sucrose=20", "other=5", "ash=3", "reducing_sugars=4", "fibre=25", "suspended=8")]
    said = refused("what-if", *rich, "--business", business, "--day", DAY)
    assert "look first at: " in said
    assert "no state satisfies these settings" in said


def test_what_matters_is_listed_with_bars(business: Path) -> None:
    said = done("what-matters", "money a day", "--business", business, "--day", DAY)
    assert "What moves money a day, $/d" in said
    assert "imbibition.on_fibre (its step)" in said
    assert "####" in said
    told = json.loads(done("what-matters", "pol extraction", "--business", business, "--day", DAY, "--json"))
    assert told[0]["swing"] >= told[-1]["swing"] > 0
    assert "did you mean 'pol extraction'" in refused(
        "what-matters", "pol extractin", "--business", business, "--day", DAY, code=2
    )


def test_trials_are_kept_listed_compared_noted_and_exported(business: Path, tmp_path: Path) -> None:
    assert "No trial is kept" in done("trials", "list", "--business", business)
    keep = ("--business", business, "--day", DAY, "--by", "chemist", "--keep")
    assert "Kept as trial 1." in done("what-if", f"{WATER}=230", *keep, "wetter", "--note", "mind the boilers")
    assert "Kept as trial 2." in done("what-if", f"{WATER}=205", *keep, "drier")
    listed = done("trials", "list", "--business", business, "--day", DAY)
    assert listed.index("drier") < listed.index("wetter")
    assert "Trial 1 has 2 notes." in done(
        "trials", "note", 1, "tried: bagasse wetter", "--business", business, "--by", "shift"
    )
    shown = done("trials", "show", 1, "--business", business)
    assert "Note by chemist" in shown
    assert "tried: bagasse wetter" in shown
    assert "pol extraction" in shown
    both = done("trials", "compare", 1, 2, "--business", business)
    assert "trial 1: wetter" in both
    assert "trial 2: drier" in both
    target = tmp_path / "trials.csv"
    done("trials", "export", target, "--business", business)
    with target.open(encoding="utf-8", newline="") as file:
        assert {row["trial"] for row in csv.DictReader(file)} == {"1", "2"}
    assert "is there already" in refused("trials", "export", target, "--business", business, code=2)
    assert "ends in .csv or .json" in refused("trials", "export", tmp_path / "t.xls", "--business", business, code=2)
    done("trials", "export", tmp_path / "trials.json", "--business", business)
    assert len(json.loads((tmp_path / "trials.json").read_text(encoding="utf-8"))) == 2


def test_trials_that_are_not_there_are_said(business: Path) -> None:
    assert "No kept trial has the number 9" in refused("trials", "show", 9, "--business", business)
    assert "No kept trial has the number 9" in refused("trials", "note", 9, "x", "--business", business)
    assert "found 1 trial" in refused("trials", "compare", 1, 1, "--business", business, code=2)
    nothing = refused("what-if", f"{WATER}=220", "--keep", " ", "--business", business, "--day", DAY, "--by", "c")
    assert "name of the trial is empty" in nothing
