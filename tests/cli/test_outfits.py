"""Which meters to buy, at the command line."""

from __future__ import annotations

import json
from pathlib import Path

from typer.testing import CliRunner

from accounts.small_mill import TEXT
from canewright.cli.commands import app

OFFERS = (
    "name,stream,quantity,uncertainty,price\nbelt,mill 5.bagasse,mass,0.8 %,9000\nflow,mixed juice,mass,0.5 %,7000\n"
)


def test_the_cheapest_meters_are_printed_and_bad_files_refused(tmp_path: Path) -> None:
    plant, offers = tmp_path / "plant.toml", tmp_path / "meters.csv"
    plant.write_text(TEXT, encoding="utf-8")
    offers.write_text(OFFERS, encoding="utf-8")
    words = ["plant", "cheapest-meters", str(plant), "mass of bagasse", "--candidates"]
    told = CliRunner().invoke(app, [*words, str(offers), "--json"])
    assert told.exit_code == 0, told.output
    data = json.loads(told.output)
    assert data["cost"] == sum(o["price"] for o in data["buy"]) > 0
    assert "Buy" in CliRunner().invoke(app, [*words, str(offers)]).output
    assert CliRunner().invoke(app, [*words, str(tmp_path / "none.csv")]).exit_code == 2
    offers.write_text(OFFERS.replace("9000", "-1"), encoding="utf-8")
    assert CliRunner().invoke(app, [*words, str(offers)]).exit_code == 2
