"""Complete small raw houses in plain description text, one file for each scheme of boiling. Invented sizes."""

from __future__ import annotations

from pathlib import Path

from canewright.plant.plant import Plant

HERE = Path(__file__).parent
SCHEMES = (
    "two_massecuites", "two_and_a_half_massecuites", "three_massecuites", "three_and_a_half_massecuites",
    "double_magma", "double_curing",
)  # fmt: skip


def text_of(name: str) -> str:
    """The description of a scheme with what every raw house is given."""
    return (HERE / "common.toml").read_text() + (HERE / f"{name}.toml").read_text()


def scheme(name: str, more: str = "") -> Plant:
    """A raw house; ``more`` is appended to its description."""
    return Plant.from_text(text_of(name) + more)
