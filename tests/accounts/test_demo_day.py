"""The committed demo day and its variants: imported, closed, explained, and compared with what truly happened.

The truth files are made with the days by the generator beside them and are read only here.
"""

from __future__ import annotations

import csv
import datetime as dt
import json
import statistics
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

import canewright
from canewright.accounts.books import Books
from canewright.accounts.intake import import_day, read_day
from canewright.accounts.measuring import expected_points, measure_day
from canewright.accounts.reckoning import Reckoning, reckon
from canewright.accounts.trees import tree_of
from canewright.cane.propagation import leaf_derivatives
from canewright.plant.plant import Plant
from canewright.quantity import Figure
from canewright.store import ClosedDay, Reading, Store

DEMO = Path(canewright.__file__).parent / "demo_data"
MADE = Path(__file__).parents[2] / "demo"
DAY = dt.date(2031, 8, 14)
JUICE = "mixed juice weight"


def _now() -> dt.datetime:
    return dt.datetime(2031, 9, 1, tzinfo=dt.UTC)


@dataclass(frozen=True)
class Made:
    """A day closed from its files: what was published, the readings, and the books it stands in."""

    books: Books
    closed: ClosedDay
    readings: tuple[Reading, ...]
    opening: dict[str, Figure]

    @property
    def sheet(self) -> dict[str, dict[str, Any]]:
        """Rows of the day sheet by name."""
        return {row["name"]: row for row in self.closed.figures["sheet"]}

    @property
    def meters(self) -> dict[str, dict[str, Any]]:
        """Meters by tag."""
        return {row["tag"]: row for row in self.closed.figures["meters"]}

    def reckoned(self, readings: Sequence[Reading] | None = None) -> Reckoning:
        """The day worked out anew from raw readings alone."""
        description = self.books.description
        chosen = self.readings if readings is None else readings
        return reckon(self.books.plant, measure_day(description, self.closed.day, chosen, self.opening))


def close(plant: Plant, folder: Path, day: dt.date, home: Path) -> Iterator[Made]:
    """A day's files imported into a new business and closed."""
    described = plant.description
    with Store.open(home, now=_now) as store:
        books = Books(plant, store)
        sections = list(described.sections)
        points = expected_points(described)
        files = read_day(folder, day, points, described.cut_hour, described.zone, sections=sections)
        import_day(store, files, "analyst")
        closed = books.close(day, "chemist")
        yield Made(books, closed, tuple(store.readings(day)), books._opening(day))


@pytest.fixture(scope="module")
def plant() -> Plant:
    return Plant.read(DEMO / "plant.toml")


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Made]:
    yield from close(
        Plant.read(DEMO / "plant.toml"), DEMO / "days" / DAY.isoformat(), DAY, tmp_path_factory.mktemp("demo")
    )


@pytest.fixture(scope="module")
def worked(demo: Made) -> Reckoning:
    return demo.reckoned()


@pytest.fixture(scope="module")
def thin(plant: Plant, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Made]:
    yield from close(plant, MADE / "variants" / "thin-day", dt.date(2031, 8, 15), tmp_path_factory.mktemp("thin"))


@pytest.fixture(scope="module")
def stopped(plant: Plant, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Made]:
    yield from close(
        plant, MADE / "variants" / "stop-and-draw", dt.date(2031, 8, 16), tmp_path_factory.mktemp("stopped")
    )


def truth(name: str) -> dict[str, Any]:
    found: dict[str, Any] = json.loads((MADE / "truth" / f"{name}.json").read_text(encoding="utf-8"))
    return found


def fault(name: str) -> dict[str, Any]:
    return next(f for f in truth(DAY.isoformat())["faults"] if f["id"] == name)


# --- the day closes and is well checked -----------------------------------------------------------------------------


def test_at_least_fifteen_measurements_are_checked_by_others(demo: Made) -> None:
    checked = [tag for tag, m in demo.meters.items() if m["redundancy_of_readings"] > 0.05]
    assert len(checked) >= 15


def test_missing_and_bad_meters_are_left_out_and_said(demo: Made) -> None:
    notes = demo.closed.figures["notes"]
    for name in ("missing", "bad"):
        tag = fault(name)["tag"]
        assert tag not in demo.meters
        assert any(tag in note and f"({name})" in note for note in notes)


def test_balances_of_the_reconciled_state_close(worked: Reckoning) -> None:
    closures = worked.reconciled.state.closures
    assert len(closures) > 500
    assert max(c.relative for c in closures) <= 1e-9


def test_stored_state_is_the_reconciled_one(demo: Made, worked: Reckoning) -> None:
    stored = demo.closed.state["values"]
    assert stored.keys() == worked.reconciled.state.values.keys()
    for name, value in worked.reconciled.state.values.items():
        assert stored[name] == pytest.approx(value, rel=1e-9, abs=1e-9)


def test_figures_that_no_fault_touches_hold_the_truth(demo: Made) -> None:
    """Within 4 standard uncertainties: the chance of a miss in ten such figures is below one in a thousand."""
    exact = truth(DAY.isoformat())["figures"]
    for name in (
        "cane crushed", "raw sugar made", "pol of raw sugar", "final molasses", "raw sugar melted",
        "refined sugar made", "refinery yield on pol", "power generated", "power exported", "colour of melt liquor",
    ):  # fmt: skip
        row = demo.sheet[name]
        assert abs(row["value"] - exact[name]) <= 4 * row["uncertainty"], name


# --- planted faults -------------------------------------------------------------------------------------------------


def test_biased_juice_weigher_is_the_first_suspect_with_its_size(demo: Made) -> None:
    flagged = sorted((m for m in demo.meters.values() if m["flagged"]), key=lambda m: -m["test"])
    first = flagged[0]
    assert first["tag"] == JUICE
    planted = fault("juice weigher")["size"]
    size, spread = first["bias"] / first["implied"], 1.645 * first["bias_uncertainty"] / first["implied"]
    assert size - spread <= planted <= size + spread
    matters = [a["what"] for a in demo.closed.figures["attention"]]
    assert any(JUICE in what and "first suspect" in what for what in matters)


def test_transposed_consignment_is_questioned_and_not_paid_on(demo: Made) -> None:
    typed = fault("typed pol")
    lines = {line["ticket"]: line for line in demo.closed.figures["cane"]["lines"]}
    one = lines[typed["ticket"]]
    assert one["basis"] != "own juice sample"
    assert any("purity" in note for note in one["notes"])
    others = [float(x["ccs"]) for x in lines.values()]
    assert abs(float(one["ccs"]) - statistics.median(others)) < 2.0


def test_samples_that_were_not_taken_are_paid_on_another_basis(demo: Made) -> None:
    lines = {line["ticket"]: line for line in demo.closed.figures["cane"]["lines"]}
    for ticket in fault("no juice")["tickets"]:
        assert lines[ticket]["basis"] != "own juice sample"


# --- what growers are owed ------------------------------------------------------------------------------------------


def test_grower_totals_are_the_sums_of_their_lines(demo: Made) -> None:
    cane = demo.closed.figures["cane"]
    owed: dict[str, Decimal] = defaultdict(Decimal)
    for line in cane["lines"]:
        owed[line["grower"]] += Decimal(line["amount"])
    assert {k: str(v) for k, v in owed.items()} == cane["owed_by_grower"]
    assert sum(owed.values()) == Decimal(cane["owed"])


def test_delivered_cane_is_every_consignment_to_the_weighers_error(demo: Made) -> None:
    cane = demo.closed.figures["cane"]
    with (DEMO / "days" / DAY.isoformat() / "deliveries.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert len(rows) == len(cane["lines"])
    assert sum(Decimal(r["gross, t"]) - Decimal(r["tare, t"]) for r in rows) == Decimal(cane["tonnes"])
    weighed = demo.meters["cane weight"]
    assert float(cane["tonnes"]) == pytest.approx(weighed["read"], abs=4 * weighed["uncertainty"])


# --- the same again, from raw readings ------------------------------------------------------------------------------


def test_same_files_give_the_same_day_to_the_last_digit(demo: Made, tmp_path: Path) -> None:
    fresh = Plant.read(DEMO / "plant.toml")
    for again in close(fresh, DEMO / "days" / DAY.isoformat(), DAY, tmp_path):
        assert json.dumps(again.closed.figures, sort_keys=True) == json.dumps(demo.closed.figures, sort_keys=True)
        assert again.closed.state == demo.closed.state


def test_raw_readings_alone_give_every_figure_again(demo: Made, worked: Reckoning) -> None:
    again = {f.specification.name: f.figure for f in worked.figures}
    assert again.keys() <= demo.sheet.keys()
    for name, figure in again.items():
        row = demo.sheet[name]
        if row["value"] is None:
            assert figure.value is None
        else:
            assert figure.value == pytest.approx(row["value"], rel=1e-9, abs=1e-12), name
            assert figure.uncertainty == pytest.approx(row["uncertainty"], rel=1e-9, abs=1e-12), name


RAW_KINDS = (
    ("cane weight", "mass"),
    ("mixed juice", "polarimeter reading"),
    ("first juice", "refractometer reading"),
    ("bagasse", "mass after drying"),
    ("raw sugar", "absorbance at 420 nm"),
    ("syrup", "pol of the purity solution"),
    ("bagasse stack", "stock"),
)
MOVED = 0.2
"""How far a meter is moved by its raw reading, in its standard uncertainties, up and down."""
FELT = 1e-3
"""Smallest change looked at, in standard uncertainties of a figure: below it a figure hardly feels the reading."""


@pytest.mark.parametrize(("place", "quantity"), RAW_KINDS)
def test_a_changed_reading_changes_the_figures_as_the_stored_derivative_says(
    demo: Made, worked: Reckoning, place: str, quantity: str
) -> None:
    one = next(
        r for r in demo.readings
        if (r.place, r.quantity) == (place, quantity) and r.value is not None and r.quality == "good"
    )  # fmt: skip
    tag, slope = _meter_of(worked, one)
    step = MOVED * demo.meters[tag]["uncertainty"] / slope
    up, down = (_figures(demo.reckoned(_moved(demo.readings, one, by))) for by in (step, -step))
    looked_at = 0
    for name, row in demo.sheet.items():
        if row["uncertainty"] is None or row["value"] is None:
            continue
        tree = tree_of(demo.closed.figures, name)
        assert tree is not None
        said = 2 * step * _derivative(tree, one)
        if abs(said) > FELT * row["uncertainty"]:
            looked_at += 1
            assert up[name] - down[name] == pytest.approx(said, rel=0.01), name
    assert looked_at >= 5


def _meter_of(worked: Reckoning, one: Reading) -> tuple[str, float]:
    """The meter that a raw reading belongs to, and the derivative of the meter to it."""
    slopes = {tag: _derivative(figure, one) for tag, figure in worked.measured.figures.items()}
    return next((tag, slope) for tag, slope in slopes.items() if slope)


def _derivative(figure: Figure, one: Reading) -> float:
    return sum(d for key, (_, d) in leaf_derivatives(figure).items() if key[1] == f"reading {one.id}")


def _moved(readings: Sequence[Reading], one: Reading, by: float) -> list[Reading]:
    return [replace(r, value=r.value + by) if r.id == one.id and r.value is not None else r for r in readings]


def _figures(worked: Reckoning) -> dict[str, float]:
    return {f.specification.name: f.figure.value for f in worked.figures if f.figure.value is not None}


# --- a thin day, and a day with a stop and a draw -------------------------------------------------------------------


def test_thin_day_closes_and_says_what_it_rests_on(thin: Made) -> None:
    standing = {name: row["standing"] for name, row in thin.sheet.items()}
    known = {
        "cane crushed",
        "mixed juice",
        "pol in bagasse",
        "moisture of bagasse",
        "raw sugar made",
        "pol of raw sugar",
    }
    assert {standing[name] for name in known} == {"known"}
    unread = {"fibre in cane", "power generated", "raw sugar melted", "refined sugar made"}
    assert not {name for name in unread if standing[name] == "known"}
    assert set(standing.values()) <= {"known", "partly priors", "priors only", "not known"}
    assert any("no usable reading of" in note and "melt weight" in note for note in thin.closed.figures["notes"])


def test_thin_day_covers_the_truth_of_what_it_calls_known(thin: Made) -> None:
    """At 4 standard uncertainties: an honest interval misses once in 16,000."""
    exact = truth("thin-day")["figures"]
    for name, row in thin.sheet.items():
        if row["standing"] == "known" and row["uncertainty"]:
            assert abs(row["value"] - exact[name]) <= 4 * row["uncertainty"], name


def test_day_with_a_six_hour_stop_and_a_draw_closes(stopped: Made) -> None:
    account = stopped.closed.figures
    assert any(section == "mill" and hours == pytest.approx(6.0) for section, _, hours in account["stops"])
    assert account["hours"]["sections.mill.hours"] < 18.0
    opening = stopped.books.description.data["sheet"]["opening_stocks"]["raw sugar store"]
    assert account["stocks"]["raw sugar store"] - opening == pytest.approx(-500.0, abs=120.0)
    assert max(c.relative for c in stopped.reckoned().reconciled.state.closures) <= 1e-9
    exact = truth("stop-and-draw")["figures"]
    for name in ("cane crushed", "raw sugar made", "raw sugar melted", "refined sugar made", "final molasses"):
        row = stopped.sheet[name]
        assert abs(row["value"] - exact[name]) <= 4 * row["uncertainty"], name
