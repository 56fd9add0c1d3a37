"""One matter that needs attention, as the day sheet and the day page show it."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any


@dataclass(frozen=True)
class Attention:
    """One matter: what, why, what to do, and the money a day at stake (None where it cannot be said).

    ``about`` names the readings, stores or waters that it speaks of, the likeliest first. ``size`` is how large it is,
    in ``unit``, where a size can be told.
    """

    what: str
    why: str
    act: str
    money: float | None
    about: tuple[str, ...] = ()
    size: float | None = None
    unit: str = ""

    def to_json(self) -> dict[str, Any]:
        """Plain data."""
        return {**asdict(self), "about": list(self.about)}
