"""Plants from the outside: written, checked, shown, run for a week of days, and fitted, as a new user would."""

from __future__ import annotations

import csv
import datetime as dt
import io
import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from typer.testing import CliRunner, Result

from accounts.whole_days import fill_day, readings_of
from canewright.cli import desk
from canewright.cli.commands import app
from canewright.plant.assumptions import assumptions
from canewright.plant.drafting.templates import TEMPLATES
from canewright.plant.plant import Plant
from plant.milling_train import TEXT

MONDAY = dt.date(2031, 7, 14)
REFINERY = ("--template", "refinery", "--answers", "melt=30", "strikes=3", "name=Small", "refinery")


@pytest.fixture(autouse=True)
def wide(monkeypatch: pytest.MonkeyPatch) -> None:
    """A screen on which no sentence is broken."""
    monkeypatch.setattr(desk.out, "_width", 1000)
    monkeypatch.setattr(desk.trouble, "_width", 1000)


def run(*words: object, typed: str | None = None) -> Result:
    """A command as a person types it; an error that is not a refusal fails the test."""
    result = CliRunner().invoke(app, [str(w) for w in words], input=typed, env={"COLUMNS": "1000", "NO_COLOR": "1"})
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    assert "Traceback" not in result.output
    return result


def done(*words: object, typed: str | None = None) -> str:
    """What an accepted command prints."""
    result = run(*words, typed=typed)
    assert result.exit_code == 0, result.output
    return result.output


def refused(*words: object, typed: str | None = None, code: int = 2) -> str:
    """The one line of a refused command."""
    result = run(*words, typed=typed)
    assert result.exit_code == code, result.output
    return result.output.strip().split("\n")[-1]


@pytest.fixture(scope="module")
def refinery(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The description of a small refinery."""
    path = tmp_path_factory.mktemp("refinery") / "plant.toml"
    done("plant", "new", path, *REFINERY)
    return path


# --- new --------------------------------------------------------------------------------------------------------------


def test_a_template_with_answers_is_written_and_accepted(refinery: Path) -> None:
    text = refinery.read_text(encoding="utf-8")
    assert 'name = "Small refinery"' in text
    assert "# Answered: name Small refinery, melt 30.0, strikes 3.0" in text
    said = done("plant", "check", refinery)
    assert "Small refinery: " in said
    assert "Assumed: " in said
    assert "The assumptions that matter most, by what one standard uncertainty of each moves of money a day:" in said
    assert "  10. " in said
    assert "  11. " not in said


def test_questions_are_asked_again_until_answered(tmp_path: Path) -> None:
    path = tmp_path / "plant.toml"
    typed = "refinry\nrefinery\nNight shift\na lot\n25\n\n2\n\n"
    said = done("plant", "new", path, typed=typed)
    assert "template: found 'refinry'; did you mean 'refinery'?" in said
    assert "melt: found 'a lot'; accepted: a number from 5 to 300 t/h" in said
    text = path.read_text(encoding="utf-8")
    assert "# Answered: name Night shift, melt 25.0, strikes 2.0" in text
    assert "# Assumed: refinery_hours 23.0, exhaust_pressure 240.0" in text
    assert "canewright plant check" in said


def test_what_is_there_is_never_overwritten(tmp_path: Path) -> None:
    path = tmp_path / "plant.toml"
    path.write_text("mine", encoding="utf-8")
    assert "is there already and is not overwritten" in refused("plant", "new", path, "--template", "raw mill")
    assert path.read_text(encoding="utf-8") == "mine"
    assert "is not a folder" in refused("plant", "new", tmp_path / "none" / "plant.toml", "--template", "raw mill")


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--template", "raw mil"), "template: found 'raw mil'; did you mean 'raw mill'?"),
        (
            ("--template", "raw mill", "--answers", "crush=much"),
            "crush: found 'much'; accepted: a number from 20 to 1000",
        ),
        (("--template", "raw mill", "--answers", "crsh=300"), "no question is called 'crsh'; nearest: crush"),
        (("--template", "raw mill", "--answers", "300"), "found '300' where an answer should be; accepted: key=value"),
        (("--template", "raw mill", "crush=300", "crush=310"), "crush: answered twice"),
        (
            ("--template", "raw mill", "boiler_pressure=5500", "steam_temperature=330"),
            "would leave the turbine wet; accepted: a higher steam_temperature",
        ),
    ],
)
def test_a_wrong_answer_is_one_line_and_leaves_nothing(tmp_path: Path, words: tuple[str, ...], said: str) -> None:
    path = tmp_path / "plant.toml"
    assert said in refused("plant", "new", path, *words)
    assert not path.exists()


def test_stopping_half_way_leaves_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "plant.toml"
    assert refused("plant", "new", path, typed="raw mill\nour mill\n") == "stopped: nothing was written"

    def interrupt(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("canewright.cli.plants._one_answer", interrupt)
    assert refused("plant", "new", path, typed="raw mill\n") == "stopped: nothing was written"
    assert not path.exists()


def test_templates_are_listed_with_their_questions(tmp_path: Path) -> None:
    said = done("plant", "new", tmp_path / "plant.toml", "--template", "list")
    assert all(f"{name}: " in said for name in TEMPLATES)
    assert "crush: Cane crushed while running; a number from 20 to 1000 t/h; 300 t/h where not answered" in said
    assert not (tmp_path / "plant.toml").exists()


# --- show -------------------------------------------------------------------------------------------------------------


def test_show_prints_streams_capacities_and_assumptions(refinery: Path) -> None:
    said = done("plant", "show", refinery)
    assert "hopper.sugar_out" in said
    assert "massecuite of one cycle within the strike volume" in said
    assert "sucrose goes by" in said
    assert "Assumed: " in said


def test_show_as_csv_and_json(refinery: Path) -> None:
    rows = list(csv.DictReader(io.StringIO(done("plant", "show", refinery, "--csv"))))
    plant = Plant.read(refinery)
    state = plant.predict()
    assert len(rows) == len(plant.assembly.streams)
    melt = next(r for r in rows if r["stream"] == "hopper.sugar_out")
    assert float(melt["flow, t/h"]) == pytest.approx(float(state.stream("hopper.sugar_out").flow), rel=1e-5)
    data = json.loads(done("plant", "show", refinery, "--json"))
    assert data["units"]["flow"] == "t/h"
    assert len(data["streams"]) == len(rows)
    assert len(data["assumed"]["most"]) == 10
    assert sum(way["share"] for way in data["sucrose"]["went"]) == pytest.approx(100.0)
    assert "give one of them" in refused("plant", "show", refinery, "--csv", "--json")


# --- every template, a day from blank files ---------------------------------------------------------------------------


@pytest.mark.parametrize("name", sorted(TEMPLATES))
def test_a_day_from_blank_files(name: str, tmp_path: Path) -> None:
    path = tmp_path / "plant.toml"
    done("plant", "new", path, "--template", name)
    plant = Plant.read(path)
    hours = dict.fromkeys((f"sections.{s}.hours" for s in plant.description.sections), 22.0)
    state = plant.predict(hours)
    folder = fill_day(tmp_path / "monday", plant, readings_of(plant, state), MONDAY)
    business = tmp_path / "business"
    words = ("--business", business, "--plant", path, "--day", MONDAY, "--folder", folder, "--by", "chemist")
    assert "would store" in done("day", "check", *words)
    assert "day sheet" in done("day", "close", *words)
    sheet = {
        r["name"]: r
        for r in json.loads(done("day", "show", "--business", business, "--day", MONDAY, "--json"))["sheet"]
    }
    role, figure = ("refined sugar", "refined sugar made") if name == "refinery" else ("raw sugar", "raw sugar made")
    true = 22.0 * float(state.stream(plant.description.roles[role]).flow)
    assert sheet[figure]["value"] == pytest.approx(true, rel=1e-3)
    blank = tmp_path / "blank"
    done("day", "template", "--plant", path, "--folder", blank)
    nothing = refused(
        "day", "close", "--business", tmp_path / "other", "--plant", path, "--day", MONDAY, "--folder", blank, code=1
    )
    assert "Traceback" not in nothing


# --- fit --------------------------------------------------------------------------------------------------------------

TRAIN = TEXT.replace("on_fibre = 220", "on_fibre = { assumed = 220, uncertainty = 30 }") + "".join(
    f'\n[[meters]]\ntag = "{tag}"\nstream = "{stream}"\nquantity = "{quantity}"\nuncertainty = {u}\n'
    for tag, stream, quantity, u in (
        ("cane scale", "cane.cane", "mass", '"0.2 %"'),
        ("juice scale", "screen.screened", "mass", '"0.4 %"'),
        ("water meter", "imbibition.water", "mass", '"1 %"'),
        ("bagasse weight", "mill 5.bagasse", "mass", '"2 %"'),
    )
)
TRUE = 245.0


@pytest.fixture
def week(tmp_path: Path) -> Path:
    """A business with five closed days of a mill that takes more imbibition than its description assumes."""
    path, business = tmp_path / "plant.toml", tmp_path / "business"
    path.write_text(TRAIN, encoding="utf-8")
    plant, chance = Plant.from_text(TRAIN), np.random.default_rng(3)

    def error(meter: Any, true: float) -> float:
        return float(0.7 * meter.standard_uncertainty(true) * chance.standard_normal())

    state = plant.predict({"imbibition.on_fibre": TRUE})
    for i in range(5):
        day = MONDAY + dt.timedelta(days=i)
        folder = fill_day(tmp_path / str(day), plant, readings_of(plant, state, error), day, hours=24.0)
        extra = ("--plant", path) if i == 0 else ()
        done("day", "close", "--business", business, "--day", day, "--folder", folder, "--by", "chemist", *extra)
    return business


def test_a_week_is_fitted_written_and_the_former_description_kept(week: Path) -> None:
    before = (week / "plant.toml").read_text(encoding="utf-8")
    said = done("plant", "fit", "--business", week)
    assert "5 days, 2031-07-14 to 2031-07-18" in said
    assert "imbibition.on_fibre" in said
    assert "Nothing was written" in said
    assert (week / "plant.toml").read_text(encoding="utf-8") == before
    data = json.loads(done("plant", "fit", "--business", week, "--json"))
    one = next(s for s in data["settings"] if s["name"] == "imbibition.on_fibre")
    assert one["new"] == pytest.approx(TRUE, abs=3 * one["uncertainty"])
    assert one["uncertainty"] < 15

    assert "found no reason" in refused("plant", "fit", "--business", week, "--write")
    words = ("--write", "--reason", "first week", "--by", "engineer")
    assert "the former description is" in done("plant", "fit", "--business", week, *words)
    kept = list((week / "former-descriptions").iterdir())
    assert len(kept) == 1
    lines = kept[0].read_text(encoding="utf-8").split("\n")
    assert "by engineer" in lines[0]
    assert lines[1] == "# Reason: first week"
    assert "\n".join(lines[2:]) == before
    after = Plant.read(week / "plant.toml")
    assert after.settings()["imbibition.on_fibre"] == pytest.approx(one["new"], rel=1e-4)
    assert after.priors()["imbibition.on_fibre"][1] == pytest.approx(one["uncertainty"], rel=1e-2)
    assert "imbibition.on_fibre" not in {a.name for a in assumptions(after)}
    assert "fitted to 5 days" in (week / "plant.toml").read_text(encoding="utf-8")
    assert done("plant", "check", week / "plant.toml")


def test_a_fit_of_too_few_days_is_refused(week: Path) -> None:
    assert "1 days can be used, at least 3" in refused("plant", "fit", "--business", week, "--to", MONDAY, code=1)
    assert "accepted: a date" in refused("plant", "fit", "--business", week, "--from", "monday", code=1)
    assert "holds no plant.toml" in refused("plant", "fit", "--business", week / "none", code=1)


# --- stations ---------------------------------------------------------------------------------------------------------


def test_stations_are_listed_and_told() -> None:
    assert "evaporator effect: One vessel" in done("stations")
    said = done("stations", "evaporator", "effect")
    assert "heat passes the surface" in said
    assert "Cautions" in said
    assert done("stations", "mill", "--markdown").startswith("## mill\n")
    assert json.loads(done("stations", "mill", "--json"))["kind"] == "mill"
    assert "no station is of kind 'evaporater'; nearest: evaporator effect" in refused("stations", "evaporater")
    assert "accepted: one kind" in refused("stations", "--json")
