"""The bench writes every identifier of benchmarks/ids.toml; no time is asserted here."""

import json
import os
import subprocess
import sys
import tomllib
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
TINY = """
[plant]
name = "one mill"

[sections.mill]
hours = 24

[stations.cane]
kind = "cane supply"
rate = { value = 300, uncertainty = 15 }
fibre = { value = 14, uncertainty = 0.5 }

[stations.water]
kind = "water supply"
temperature = 70

[stations.imbibition]
kind = "imbibition"
on_fibre = { value = 200, uncertainty = 10 }

[stations.grid]
kind = "grid"

[stations.board]
kind = "power board"

[stations.preparation]
kind = "cane preparation"

[stations.mill]
kind = "mill"
moisture = { value = 50, uncertainty = 1 }

[connections]
"preparation.cane" = "cane.cane"
"preparation.power" = "board.branches"
"board.imported" = "grid.power"
"outside.export" = "board.exported"
"imbibition.cane" = "preparation.prepared"
"imbibition.source" = "water.water"
"mill.feed" = "imbibition.passed"
"mill.imbibition" = "imbibition.water"
"mill.power" = "board.branches"
"outside.juice" = "mill.juice"
"outside.bagasse" = "mill.bagasse"

[[meters]]
tag = "juice weight"
stream = "mill.juice"
quantity = "mass"
uncertainty = "0.5 %"

[[meters]]
tag = "cane weight"
stream = "cane.cane"
quantity = "mass"
uncertainty = "0.2 %"

[[prices]]
what = "juice"
stream = "mill.juice"
kind = "income"
price = 20
unit = "$/t"

[[advice.moves]]
setting = "imbibition.on_fibre"
low = 150
high = 250
step = 20
"""


def test_every_identifier_is_written(tmp_path: Path) -> None:
    plant, written = tmp_path / "plant.toml", tmp_path / "bench.json"
    plant.write_text(TINY, encoding="utf-8")
    searched = os.pathsep.join([str(ROOT / "src"), str(ROOT / "benchmarks")])
    command = [sys.executable, "-m", "canewright_bench", "--quick", "--plant", str(plant), "--json", str(written)]
    done = subprocess.run(
        command, env={**os.environ, "PYTHONPATH": searched}, capture_output=True, text=True, timeout=120, check=False
    )
    assert done.returncode == 0, done.stderr
    results = json.loads(written.read_text(encoding="utf-8"))
    listed = tomllib.loads((ROOT / "benchmarks/ids.toml").read_text(encoding="utf-8"))
    assert listed.pop("settings")
    assert set(results) == set(listed)
    for identity, result in results.items():
        assert min(result["seconds"], result["floor_ratio"]) > 0, identity
        assert result["equations"] > 10, identity
        assert result["ratio"] is None or result["ratio"] > 0, identity
        assert result["rival"], identity
        for rival in result["rivals"]:
            assert rival["seconds"] is not None or rival["why"], f"{identity}: {rival['name']} fails without a reason"


def test_every_identifier_is_described() -> None:
    listed = tomllib.loads((ROOT / "benchmarks/ids.toml").read_text(encoding="utf-8"))
    for identity, described in listed.items():
        if identity != "settings":
            assert set(described) == {"times", "size", "rival", "floor"}, identity
            assert all(described.values()), identity
