"""The command: measures, prints, writes."""

from __future__ import annotations

import argparse
import itertools
import json
import sys
import tomllib
from collections.abc import Sequence
from pathlib import Path

from canewright.plant.plant import Plant
from canewright_bench.cane import cane
from canewright_bench.harvest import harvest
from canewright_bench.measurements import Bench, all_of
from canewright_bench.payment import payment
from canewright_bench.properties import properties
from canewright_bench.seasons import seasons
from canewright_bench.strikes import strikes
from canewright_bench.timing import Result

IDS = Path(__file__).resolve().parent.parent / "ids.toml"
DEMO = Path(sys.modules["canewright"].__path__[0]) / "demo_data" / "plant.toml"
QUICK = {
    "repeats": 2, "scenarios": 20, "starts": 5, "rival_scenarios": 5, "patience": 5, "values": 20_000,
    "days": 6, "rival_days": 2,
    "deliveries": 2_000, "printed": 12, "blocks": 150,
}  # fmt: skip


def main(given: Sequence[str] | None = None) -> int:
    """Measure, print, and write the results if asked."""
    asked = _arguments().parse_args(given)
    text = asked.plant.read_text(encoding="utf-8")
    settings = tomllib.loads(IDS.read_text(encoding="utf-8"))["settings"] | (QUICK if asked.quick else {})
    values, deliveries, printed, blocks = (settings.pop(name) for name in ("values", "deliveries", "printed", "blocks"))
    plant = Plant.from_text(text)
    bench = Bench(text, plant, plant.predict(), **settings)
    print(
        f"{plant.model.n} equations, {len(plant.model.settings)} settings; medians of {bench.repeats} runs unless said"
    )
    results = []
    formulas = properties(values, bench.seed, bench.repeats)
    paid = payment(deliveries, printed, bench.seed, bench.repeats)
    delivered = cane(deliveries, bench.repeats)
    plant_and_days = itertools.chain(all_of(bench), seasons(bench))
    rest = itertools.chain(delivered, paid, harvest(blocks), strikes(bench.repeats))
    for result in itertools.chain(formulas, plant_and_days, rest):
        print(_lines(result), flush=True)
        results.append(result)
    if asked.json:
        written = json.dumps({r.identity: r.to_json() for r in results}, indent=2, allow_nan=False)
        asked.json.write_text(written + "\n", encoding="utf-8")
    return 0


def _arguments() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser("bench", description="Times canewright against named rivals.")
    parser.add_argument("--json", type=Path, metavar="FILE", help="also write the results here")
    parser.add_argument("--plant", type=Path, metavar="FILE", default=DEMO, help="a plant description (the demo plant)")
    parser.add_argument(
        "--quick", action="store_true", help="few runs and scenarios: shows that it works, not how fast"
    )
    return parser


def _lines(result: Result) -> str:
    ratio = "no ratio" if result.ratio is None else f"rival/ours {result.ratio:.2f}"
    head = (
        f"{result.identity:<17} {_time(result.seconds):>11}   {ratio}   ours/floor {result.seconds / result.floor:.2f}"
    )
    rivals = [f"    {_time(r.seconds):>11}  {r.name}{f' ({r.why})' if r.why else ''}" for r in result.rivals]
    return "\n".join([head, *rivals, *(f"    {note}" for note in result.notes)])


def _time(seconds: float | None) -> str:
    if seconds is None:
        return "failed"
    return f"{seconds:.2f} s" if seconds >= 1 else f"{1e3 * seconds:.2f} ms"
