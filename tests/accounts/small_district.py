"""A small invented district as register and delivery files: 24 blocks of six farms in two groups, ten weeks."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from pathlib import Path

from canewright.accounts.cane_formats import SEASON_DELIVERIES

FIRST = dt.date(2031, 6, 2)
BLOCKS = [f"{farm}-{n}" for farm in range(1, 7) for n in range(1, 5)]
VARIETY = {1: "early 1", 2: "mid 1", 3: "mid 1", 4: "late 1"}
PEAK = {1: 3.0, 2: 6.0, 3: 6.0, 4: 9.0}


def true_ccs(block: str, week: float) -> float:
    """CCS in the field: blocks of one number ripen alike, farms lie apart."""
    farm, number = (int(part) for part in block.split("-"))
    return 13.6 + 0.1 * farm - 0.03 * (week - PEAK[number]) ** 2


def _rows(header: str, rows: Sequence[Sequence[object]]) -> str:
    return "\n".join([header, *(",".join(map(str, row)) for row in rows)]) + "\n"


def register_texts() -> dict[str, str]:
    """The register files by name."""
    year, spring = "2031-01-01", "2030-08-01"
    odd = [0.12, -0.08, 0.05, -0.1, 0.02]
    samples = [
        [b, FIRST + dt.timedelta(days=7 * w - 364), round(true_ccs(b, 1.0 + w) + odd[(k + w) % 5], 2)]
        for k, b in enumerate(BLOCKS)
        for w in (0, 3, 6, 9)
    ] + [[b, FIRST - dt.timedelta(days=7), round(true_ccs(b, 0.0) - odd[k % 5], 2)] for k, b in enumerate(BLOCKS)]
    growers = [[f"g{n}", year, f"Grower {n}", "post"] for n in range(1, 7)]
    groups = [["red", year, 30, 6, 18], ["blue", year, 30, 5, 17]]
    return {
        "growers.csv": _rows("grower,valid from,name,statement to", growers),
        "agreements.csv": _rows(
            "agreement,valid from,grower,season,scheme,until",
            [[f"2031-{n}", year, f"g{n}", 2031, "classic CCS", "2031-12-31"] for n in range(1, 7)],
        ),
        "harvest-groups.csv": _rows('harvest group,valid from,"pour rate, t/h","start, h","stop, h"', groups),
        "farms.csv": _rows(
            'farm,valid from,grower,harvest group,"haul, km",soil',
            [[n, year, f"g{n}", "red" if n % 2 else "blue", 4 + n, "wet" if n == 6 else "usual"] for n in range(1, 7)],
        ),
        "varieties.csv": _rows("variety,valid from,maturity", [[f"{m} 1", year, m] for m in ("early", "mid", "late")]),
        "carriers.csv": _rows('carrier,valid from,carriage,"payload, t"', [["lorry", year, "road", 30]]),
        "blocks.csv": _rows(
            'block,valid from,farm,"area, ha",variety,crop class,started,planting method,fibre class',
            [
                [b, year, b[0], 10, VARIETY[int(b[2])], "P" if b[2] == "1" else f"R{b[2]}", spring, "billets", "mid"]
                for b in BLOCKS
            ],
        ),
        "estimates.csv": _rows(
            'block,valid from,"yield, t/ha",method,estimator', [[b, "2031-05-01", 80, "eye", "officer"] for b in BLOCKS]
        ),
        "ripeness-samples.csv": _rows('block,valid from,"CCS, %"', samples),
        "harvest-orders.csv": _rows(
            "block,valid from,not before,not after,why", [["2-4", "2031-06-01", "", "2031-06-12", "burnt"]]
        ),
        "crush-weeks.csv": _rows(
            'week,valid from,"crush, t","least, t","haulage, h","dry ground, %","usual ground, %","wet ground, %"',
            [[FIRST + dt.timedelta(weeks=w), "2031-05-01", 2300, 800, "", 100, 98, 70] for w in range(10)],
        ),
    }  # fmt: skip


def write_registers(folder: Path) -> Path:
    """Write the register files; gives the folder."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, text in register_texts().items():
        (folder / name).write_text(text, encoding="utf-8")
    return folder


def deliveries(blocks: list[str], first: dt.date = FIRST, tonnes: float = 36.0, loads: int = 22) -> str:
    """Deliveries of whole blocks, one block a day; at 36 t a load a block gives 792 t where 800 t were estimated."""
    rows = []
    for k, block in enumerate(blocks):
        day = first + dt.timedelta(days=k)
        ccs = true_ccs(block, 1.0 + k / 7.0) - 0.3
        pol = (ccs + 0.5 * 20.4 * 0.83) / (1.5 * 0.81)
        rows += [
            [
                1000 * (k + 1) + n, day, f"g{block[0]}", block, "red" if int(block[0]) % 2 else "blue", "lorry", "mid",
                "", "", f"{day} {8 + n % 12:02d}:{n // 12 * 20:02d}", "", "", tonnes + 11.52, 11.52, "", 20.4,
                round(pol + 0.01 * (n % 5 - 2), 2), "", "good",
            ]
            for n in range(loads)
        ]  # fmt: skip
    quoted = ",".join(f'"{h}"' if "," in h else h for h in SEASON_DELIVERIES.headers)
    return _rows(quoted, rows)
