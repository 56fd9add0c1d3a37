"""A figure: a value with unit, standard uncertainty, and the tree of what it was computed from.

The tree is plain data. It is stored with the closed day and printed by ``explain``.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any


@dataclass(frozen=True)
class Source:
    """One input of a figure with the derivative of the figure to it and its share of the variance."""

    figure: Figure
    derivative: float | None = None
    variance_share: float | None = None


@dataclass(frozen=True)
class Figure:
    """A number that can explain itself.

    ``how`` is the formula or act in words; ``reading`` names the stored raw reading for a leaf; ``uncertainty`` is
    one standard deviation, or None where there is no estimate of it.
    """

    name: str
    value: float | None
    unit: str
    uncertainty: float | None = None
    how: str = ""
    inputs: tuple[Source, ...] = ()
    reading: str | None = None
    note: str = ""
    decimals: int = 2
    data: dict[str, Any] = field(default_factory=dict)

    def leaves(self) -> Iterator[Figure]:
        """Every figure of the tree that has no inputs: raw readings, settings and priors."""
        if not self.inputs:
            yield self
        for each in self.inputs:
            yield from each.figure.leaves()

    def to_json(self) -> dict[str, Any]:
        """The whole tree as plain data."""
        return {
            "name": self.name,
            "value": self.value,
            "unit": self.unit,
            "uncertainty": self.uncertainty,
            "how": self.how,
            "reading": self.reading,
            "note": self.note,
            "decimals": self.decimals,
            "data": self.data,
            "inputs": [
                {"derivative": s.derivative, "variance_share": s.variance_share, "figure": s.figure.to_json()}
                for s in self.inputs
            ],
        }

    @classmethod
    def from_json(cls, data: dict[str, Any]) -> Figure:
        """Rebuild a tree written by ``to_json``."""
        inputs = tuple(Source(cls.from_json(s["figure"]), s["derivative"], s["variance_share"]) for s in data["inputs"])
        plain = {k: v for k, v in data.items() if k != "inputs"}
        return cls(**plain, inputs=inputs)
