"""Trees of figures as they are stored: what figures rest on is kept once for the day, each figure points at it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from canewright.quantity import Figure
from canewright.quantity.figure import Source

NOTHING = 1e-13
"""Share of a variance below which a prior is left out of a stored tree; readings always stay."""


def stored_leaves(leaves: Sequence[Figure]) -> list[dict[str, Any]]:
    """What figures rest on, as plain data: the figure of each meter with its readings, and each prior."""
    return [leaf.to_json() for leaf in leaves]


def stored_tree(figure: Figure, leaves: Sequence[Figure]) -> dict[str, Any]:
    """A figure with its inputs as ``[place among the leaves, derivative, share of the variance]``."""
    place = {id(leaf): i for i, leaf in enumerate(leaves)}
    plain = figure.to_json() | {"inputs": []}
    plain["inputs"] = [
        [place[id(s.figure)], s.derivative, s.variance_share]
        for s in figure.inputs
        if (s.variance_share or 0.0) > NOTHING or not s.figure.name.startswith("prior: ")
    ]
    return plain


def tree_of(account: Mapping[str, Any], name: str) -> Figure | None:
    """The whole tree of a figure of a stored account; None where the account has no such figure."""
    for row in account["sheet"]:
        if row["name"] == name:
            return _built(row["tree"], account["leaves"])
    return None


def _built(tree: Mapping[str, Any], leaves: Sequence[dict[str, Any]]) -> Figure:
    inputs = tuple(Source(Figure.from_json(leaves[i]), slope, share) for i, slope, share in tree["inputs"])
    return Figure(**{k: v for k, v in tree.items() if k != "inputs"}, inputs=inputs)
