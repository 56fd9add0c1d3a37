"""Six blocks of three farms in three weeks: small enough to be solved by another tool."""

from __future__ import annotations

from typing import Any

import numpy as np

from canewright.plans import HarvestTables

TONNES = np.array([900.0, 1200.0, 700.0, 1000.0, 800.0, 1400.0])
TOP = np.array([13.8, 14.6, 14.2, 14.9, 13.5, 14.4])
BEND = np.array([0.9, 0.5, 0.7, 0.6, 0.8, 0.55])
PEAK = np.array([1.0, 3.0, 2.0, 3.0, 1.0, 2.0])
FARM = np.array([0, 0, 1, 1, 2, 2])
CCS = TOP[:, None] - BEND[:, None] * (np.arange(1.0, 4.0) - PEAK[:, None]) ** 2


def six_blocks(**changes: Any) -> HarvestTables:
    """The tables; worth is CCS/100, so that values are t of CCS."""
    usual: dict[str, Any] = {
        "blocks": tuple("123456"), "farms": ("A", "B", "C"), "groups": ("one", "two"), "weeks": ("1", "2", "3"),
        "farm": FARM, "group": np.array([0, 0, 0, 1, 1, 1]), "crop": TONNES,
        "tonnes": np.repeat(TONNES[:, None], 3, axis=1), "worth": CCS / 100.0, "may_cut": np.ones((6, 3), dtype=bool),
        "ordered": np.zeros(6, dtype=bool), "workable": np.ones((6, 3)), "haul_hours": np.full(6, 0.05),
        "crush": np.full(3, 2100.0), "least": np.full(3, 1900.0), "haul": np.full(3, np.inf),
        "group_tonnes": np.full((2, 3), 1e6), "cut": np.zeros(3), "band": None,
    }  # fmt: skip
    return HarvestTables(**(usual | changes))
