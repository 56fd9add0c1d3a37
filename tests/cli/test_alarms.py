"""A reading above its limit speaks on the screen when the day's files are imported."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

from typer.testing import CliRunner

from accounts.small_mill import MONDAY, TEXT, rows_of, truth, write_files
from canewright.cli.commands import app

WATER = """
[[traces]]
sample = "imbibition water"
stream = "imbibition.water"
limit = 20
to_boilers = true
"""


def test_sugar_in_boiler_water_is_told_first(tmp_path: Path) -> None:
    plant = tmp_path / "plant.toml"
    plant.write_text(TEXT + WATER, encoding="utf-8")
    rows = rows_of(MONDAY, dict(truth(24.0, 220.0)), 24.0)
    end = f"{MONDAY + dt.timedelta(days=1)} 05:00"
    rows["laboratory.csv"].append((end, "imbibition water", "sugar", 0, "45", "mg/kg", "good", "analyst"))
    named = ["--business", str(tmp_path / "mill"), "--plant", str(plant), "--day", MONDAY.isoformat()]
    told = CliRunner().invoke(app, ["day", "import", *named, "--folder", str(write_files(tmp_path / "day", rows))])
    said = " ".join(told.output.split())
    assert told.exit_code == 0, said
    assert "AT ONCE: imbibition water: sugar 45 mg/kg is above its limit of 20 mg/kg" in said
