"""The five-mill train of the worked reference case as a described plant, and ways to spoil its description."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from canewright.plant.plant import Plant

TEXT = Path(__file__).with_name("milling_train.toml").read_text(encoding="utf-8")
METER = """
[[meters]]
tag = "cane scale"
stream = "cane.cane"
quantity = "mass"
uncertainty = "0.2 %"
"""
ANALYSIS = """
[[meters]]
tag = "bagasse moisture"
stream = "mill 5.bagasse"
quantity = "moisture"
uncertainty = 0.5
file = "laboratory"
sample = "bagasse"
"""


@cache
def train() -> Plant:
    """The train as described."""
    return Plant.from_text(TEXT)


def replaced(old: str, new: str) -> str:
    """The description with one piece of its text changed, which must be there exactly once."""
    assert TEXT.count(old) == 1, f"{old!r} stands {TEXT.count(old)} times in the description"
    return TEXT.replace(old, new)


def line_of(text: str, piece: str) -> int:
    """The number of the first line that holds a piece of text."""
    return next(i for i, line in enumerate(text.splitlines(), start=1) if piece in line)
