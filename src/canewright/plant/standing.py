"""Whose value a number of the description is: the site's own, one assumed for it, or one fitted to its days.

The key tells: ``moisture = 50`` and ``{ value = 50 }`` are the site's own, ``{ assumed = 50, because = "..." }`` is an
assumption, ``{ fitted = 50, because = "..." }`` was estimated from closed days. What the description leaves out is
assumed as well, as the station kind has it. So the mark goes when a person writes a value of their own.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from canewright.plant.faults import Reader
from canewright.plant.toml_lines import Path

OWN, ASSUMED, FITTED = "value", "assumed", "fitted"
STANDINGS = (OWN, ASSUMED, FITTED)
LEFT_OUT = "not in the description: the default of its kind"


@dataclass(frozen=True)
class Standing:
    """The key under which a number stands (``value``, ``assumed`` or ``fitted``) and the reason given with it."""

    key: str
    because: str = ""

    @property
    def assumed(self) -> bool:
        """Whether nobody at the site has given or fitted this number."""
        return self.key == ASSUMED


ONES_OWN = Standing(OWN)


def left(default: float) -> dict[str, Any]:
    """What stands for a number that the description leaves out."""
    return {ASSUMED: default, "because": LEFT_OUT}


def read_standing(reader: Reader, path: Path, table: Mapping[str, Any], own: str = OWN) -> Standing:
    """The standing of a number given by a table; more than one number is a fault. ``own`` is the key of one's own.

    The key of a number of one's own is given back where there is none at all.
    """
    found = [key for key in (own, ASSUMED, FITTED) if key in table]
    if len(found) > 1:
        reader.say(path, f"{' and '.join(found)} together", f"one of them: {own} where the number is the site's own")
    because = table.get("because", "")
    if because != "":
        because = reader.words((*path, "because"), because)
    return Standing(found[0] if found else own, because)
