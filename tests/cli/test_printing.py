"""Printed values, day sheets on narrow and wide screens, standings in words, and advice with its hazards."""

from __future__ import annotations

import datetime as dt
import math
from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import pytest

from canewright.cli import desk
from canewright.cli.advice_printing import print_advice
from canewright.cli.digits import rounded, share_text, value_text, warranted
from canewright.cli.printing import print_sheet
from canewright.cli.standing import standing_text, today_text
from canewright.cli.tree_printing import amount_text, print_tree
from canewright.plant.advising import AdvisedMove, Safety, Trial
from canewright.plant.experience import Range, Response
from canewright.plant.handles import hazards_of
from canewright.plant.keeping import KeptLimit
from canewright.plant.stations.imbibition import Imbibition
from canewright.plant.stations.mill import Mill
from canewright.quantity import Figure, Source

PERIOD: dict[str, Any] = {"value": 90.2, "uncertainty": 0.5, "days": 1, "significant": True}


def row(**other: Any) -> dict[str, Any]:
    """A row of an account."""
    plain: dict[str, Any] = {
        "name": "undetermined loss of the boiling house", "group": "losses", "unit": "%", "decimals": 2,
        "value": 2.66, "uncertainty": 0.6, "standing": "known", "loss": False, "target": 0.8, "significant": True,
        "week to date": PERIOD, "season to date": PERIOD,
    }  # fmt: skip
    return plain | other


def account(*rows: dict[str, Any]) -> dict[str, Any]:
    """An account with these rows."""
    return {
        "plant": "small [mill]", "day": "2031-08-14", "sheet": list(rows),
        "attention": [{"what": "the scale", "money": 1200.4, "why": "it reads high", "act": "check it"}],
        "products": [
            {"product": "raw sugar", "quantity": "colour", "unit": "IU", "value": 1405.7, "uncertainty": 48.5,
             "low": 0.0, "high": 1500.0, "probability": 0.974},
        ],
        "stops": [["mill", "no cane", 0.62]], "hours": {"sections.mill.hours": 20.43}, "stocks": {"molasses": 5220.0},
        "cane": {"tonnes": "8697.49", "owed": "283380.81", "mean_ccs": "12.8861", "owed_by_grower": {"a": "1"},
                 "scheme": "classic"},
        "tests": {"passes": True, "objective": 65.31, "level": 103.02, "readings": 81, "equations": 1377},
        "notes": ["vapour: not used", "clear juice: not used"],
    }  # fmt: skip


def shown(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, width: int, **how: Any) -> str:
    """The sheet of two figures as printed on a screen this wide."""
    monkeypatch.setattr(desk.out, "_width", width)
    monkeypatch.setattr(desk.out, "_file", None)
    rows = (row(), row(name="apparent purity of refinery molasses", group="refinery", read=None, prior_share=0.604))
    print_sheet(account(*rows), "closed", dt.date(2031, 6, 2), **how)
    return capsys.readouterr().out


@pytest.mark.parametrize(
    ("value", "half", "most", "told"),
    [
        (1405.4, 95.1, None, "1405 ± 95"),
        (8670.0, 110.0, None, "8670 ± 110"),
        (12344.0, 446.0, 0, "12340 ± 450"),
        (98.8204, 0.0831, None, "98.820 ± 0.083"),
        (98.8204, 0.0831, 2, "98.82 ± 0.08"),
        (2.66, 1.19, 2, "2.7 ± 1.2"),
        (21.248, 1.027, 0, "21 ± 1"),
        (3.7, 0.0996, 3, "3.70 ± 0.10"),
        (-0.001, 0.4, 2, "0.00 ± 0.40"),
        (0.02, 0.004, 2, "0.0200 ± 0.0040"),
        (0.0, 1e-8, 1, "0.0 ± 0.0"),
        (5.0, 0.0, 1, "5.0 ± 0.0"),
    ],
)
def test_the_half_width_decides_the_decimals(value: float, half: float, most: int | None, told: str) -> None:
    assert value_text(value, half / 1.96, most) == told
    assert "e+" not in told


def test_values_without_uncertainty_or_without_value_say_so() -> None:
    assert value_text(3.14159, None, 2) == "3.14, no estimate of uncertainty"
    assert value_text(3.14159, None) == "3.14159, no estimate of uncertainty"
    assert value_text(None, 1.0, 2) == "no value"
    assert value_text(1234567.0, 500.0, 0, ",") == "1,234,570 ± 980"
    assert warranted(0.0) is None
    assert warranted(float("nan")) is None
    assert rounded(-0.2, 0) == "0"
    assert [share_text(p) for p in (0.99999, 0.974, 0.00001)] == ["more than 99.9 %", "97.4 %", "less than 0.1 %"]


@pytest.mark.parametrize(
    ("given", "told"),
    [
        ({"standing": "known"}, "readings"),
        ({"standing": "known", "prior_share": 0.001}, "readings"),
        ({"standing": "partly priors", "prior_share": 0.6}, "readings 40 %, priors 60 %"),
        ({"standing": "rests on priors only", "prior_share": 0.97}, "priors only"),
        ({"standing": "priors only"}, "priors only"),
        ({"standing": "not known"}, "not known"),
        ({"standing": "impossible"}, "impossible"),
        ({"standing": "hangs on the scale"}, "hangs on the scale"),
        (
            {"standing": "hangs on the scale", "without_suspect": {"value": 1.013, "uncertainty": 0.7}},
            "hangs on the scale; without it 1.0 ± 1.4",
        ),
    ],
)
def test_what_a_figure_rests_on_is_told_in_words_for_old_and_new_accounts(given: dict[str, Any], told: str) -> None:
    assert standing_text(row(**given)) == told


def test_a_weighed_value_stands_under_the_reconciled_one() -> None:
    assert today_text(row(decimals=1, value=8692.2, uncertainty=12.5, read=8681.44)) == "8692 ± 24\nweighed 8681.4"
    assert today_text(row(read=None)) == today_text(row()) == "2.7 ± 1.2"


def test_eighty_columns_hold_names_in_two_lines_and_cut_nothing(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    said = shown(capsys, monkeypatch, 80)
    lines = said.splitlines()
    assert max(len(line.rstrip()) for line in lines) <= 80
    first = next(i for i, line in enumerate(lines) if line.startswith(" undetermined loss of"))
    assert lines[first + 1].split("  ")[0].strip() == "the boiling house"
    assert "priors 60 %" in said
    assert "Not shown: week to date and season to date" in said
    assert "of 74 days" not in said
    other = shown(capsys, monkeypatch, 80, periods=True)
    assert max(len(line.rstrip()) for line in other.splitlines()) <= 80
    assert "90.20 ± 0.98" in other
    assert "rests on" not in other
    assert "Not shown" not in other


def test_a_wide_screen_shows_every_period_with_its_days(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    said = shown(capsys, monkeypatch, 200)
    assert "undetermined loss of the boiling house" in said
    words = " ".join(said.split())
    assert "of 74" in words
    assert "1 of 4 days" in words
    assert "Not shown: season to date;" in shown(capsys, monkeypatch, 100)


def test_what_matters_stands_first_and_notes_last_in_order(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    said = shown(capsys, monkeypatch, 200)
    order = (
        "small [mill]: day sheet", "Needs attention", "raw sugar: colour 1406 ± 95 IU", "Stop of mill", "Running hours",
        "Closing stock", "mean CCS 12.89; owed 283,380.81 $ (classic), 32.58 $/t", "losses", "refinery",
        "All readings and priors together agree", "Note: clear juice", "Note: vapour",
    )  # fmt: skip
    places = [said.index(each) for each in order]
    assert places == sorted(places)


def test_a_tree_gives_the_same_interval_as_the_sheet_and_says_so(capsys: pytest.CaptureFixture[str]) -> None:
    leaf = Figure("scale", 9600.0, "t", None, reading="reading 3")
    whole = Figure("extraction", 96.4712, "%", 0.23, "part / whole", (Source(leaf, 0.01, 1.0),))
    assert amount_text(whole) == "96.47 ± 0.45 % (95 %)"
    assert amount_text(replace(whole, value=None)) == "no value"
    print_tree(whole, 8)
    said = capsys.readouterr().out
    assert "scale: 9600 t [reading 3]" in said
    assert "± is the half-width of a 95 % interval, as on the day sheet." in said
    assert "standard uncertainty" not in said


def advice(*moves: AdvisedMove, notes: tuple[str, ...] = ()) -> Any:
    """Advice with these moves, as far as it is printed."""
    first = moves[0]
    colour = KeptLimit("colour of refined sugar", "IU", -math.inf, 45.0, 1.4, 0.95, 30.0, 41.0, capacity=False)
    power = KeptLimit("mill 1: power within the installed power", "kW", -math.inf, 0.0, 0.0, None, -10.0, -4.0, True)
    behind = Range(first.low, 230.0, 12)
    return SimpleNamespace(
        gain_a_day=4183.0, gain_uncertainty=120.0, gain_an_hour=174.3, moves=moves,
        money=(("raw sugar", 10.0, 30.0), ("power", -0.2, 0.3)), sentences=("one more % of room is worth 3.00 $/d",),
        resources=(), already_over=(), limits=(colour, power), notes=notes, left_alone=("boiler.pressure",),
        safety=(Safety("colour of refined sugar", 0.95, 1.4, 212.0),), smallest_set={first.setting: 245.0},
        smallest_gain=3900.0, trials=(Trial(first.setting, "%", first.now, 245.0, behind),), trial_gain=250.0,
        responses=(Response("mill 1.moisture", first.setting, 0.01, 0.002, 0.02, 12, (210.0, 230.0)),),
    )  # fmt: skip


def move(setting: str, now: float, then: float, gain: float | None) -> AdvisedMove:
    """A move."""
    lines = (("water", -80.0), ("juice", 3400.0)) if gain and gain > 100 else ()
    return AdvisedMove(setting, "a setting", "%", now, then, 0.0, 500.0, gain, lines=lines)


def test_advice_says_first_what_is_suspect_then_moves_then_their_hazards(capsys: pytest.CaptureFixture[str]) -> None:
    stations = {"imbibition": Imbibition("imbibition"), "mill 1": Mill("mill 1"), "mill 2": Mill("mill 2")}
    moves = (
        move("imbibition.on_fibre", 220.0, 245.0, 3320.0),
        move("mill 1.moisture", 50.0, 49.0, 0.1),
        move("mill 2.moisture", 50.0, 50.000001, 0.0),
        move("target.mill 2.bagasse moisture", 50.0, 48.0, None),
    )
    print_advice(advice(*moves, notes=("wear",)), "juice scale", stations)
    said = capsys.readouterr().out
    assert said.startswith("juice scale is the first suspect")
    words = " ".join(said.split())
    assert "Gain 4,180 ± 240 $/d (95 %), 174.3 $/h" in words
    assert "220 to 245 %; 3,320 $/d alone of which juice +3,400, water -80" in words
    assert "The fewest moves for nine tenths of it: imbibition.on_fibre to 245 (3,900 $/d)" in words
    assert "trial first: imbibition.on_fibre from 220 to 245 %; known is 0 to 230 in 12 closed days" in words
    assert "The model gives 250 $/d more for these steps; nothing yet shows that the plant does." in words
    assert "Response: mill 1.moisture by imbibition.on_fibre: 0.01 ± 0.0039; 12 closed days" in words
    assert "Left alone as asked: boiler.pressure" in words
    assert "Worth: one more % of room is worth 3.00 $/d" in words
    assert "Not considered: wear" in words
    assert "50 to 49 %; NO gain alone (0 $/d), only with the others" in words
    assert "NOT possible alone" in words
    assert "As they are: mill 2.moisture" in words
    assert "Hazard at imbibition: Hot water at 60-85 °C scalds." in words
    assert "Hazard at mill 1, mill 2: Rotating rolls" in words
    assert (
        "Quality: colour of refined sugar 30 to 41 IU; limit at most 45 IU, 1.4 IU kept clear of it "
        "for a probability of 0.95; that safety costs 212 $/d"
    ) in words
    assert "installed power" not in words
    still = advice(moves[2])
    still.trials = ()
    print_advice(still, None, stations)
    said = capsys.readouterr().out
    assert "suspect" not in said
    assert "No move gains anything from here." in said
    assert "Hazard" not in said


def test_settings_of_no_station_have_no_hazards() -> None:
    assert hazards_of({}, ["links.rotation", "sections.mill.hours", "target.mill 5.bagasse moisture"]) == {}
