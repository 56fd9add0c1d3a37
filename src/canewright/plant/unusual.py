"""Which settings are furthest from what they usually are: the first place to look when no state satisfies them."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping

from canewright.plant.assembly import Assembly

MOST = 2
"""How many settings are named."""
CHANGED = math.log(1.05)
"""Least departure (logarithm of the ratio) at which a setting changed from its description is named."""
UNLIKE_ITS_KIND = math.log(10.0)
"""Least departure from the default of the kind; sizes of equipment differ by less than this between plants."""
SMALL = 0.01
"""Share of the usual value below which a value counts as this share, so that zero has a ratio."""


def unusual(assembly: Assembly, settings: Mapping[str, float]) -> list[str]:
    """Sentences on the settings furthest from the described value, or as described from the default of their kind.

    ``settings`` holds values by name in the settings' own units; what was changed comes first.
    """
    found = [*sorted(_changed(assembly, settings), reverse=True), *sorted(_unlike(assembly, settings), reverse=True)]
    return [sentence for far, sentence in found[:MOST] if far >= 0.5 * found[0][0]]


def _changed(assembly: Assembly, settings: Mapping[str, float]) -> Iterator[tuple[float, str]]:
    for name, value in settings.items():
        if name in assembly.given:
            variable, described, _ = assembly.given[name]
            far = _departure(value, described)
            if far > CHANGED:
                now = _with_unit(f"{value:.4g}", variable.unit)
                yield far, f"{name} is {now}, described {_with_unit(f'{described:.4g}', variable.unit)}"


def _unlike(assembly: Assembly, settings: Mapping[str, float]) -> Iterator[tuple[float, str]]:
    for station_name, station in assembly.description.stations.items():
        for key, declared in station.kind.settings().items():
            name = f"{station_name}.{key}"
            value = settings.get(name)
            if value is None or value != assembly.given[name][1] or 0.0 in {value, declared.default}:
                continue  # a zero is a choice: no such stream, no such loss
            if key == "share":
                continue  # how a stream is split is the plant's own; no share is usual
            far = _departure(value, declared.default)
            if far > UNLIKE_ITS_KIND:
                usual = _with_unit(f"{declared.default:.4g}", declared.unit)
                low, high = declared.limits
                yield (
                    far,
                    (
                        f"{name} is {_with_unit(f'{value:.4g}', declared.unit)}, usual is about {usual} "
                        f"(accepted: {low:g} to {high:g})"
                    ),
                )


def _departure(value: float, usual: float) -> float:
    """How far a value is from the usual one: the logarithm of their ratio; infinite where the sign differs."""
    if value == usual:
        return 0.0
    least = max(SMALL * max(abs(usual), abs(value)), 1e-12)
    if value * usual < 0:
        return math.inf
    return abs(math.log(max(abs(value), least) / max(abs(usual), least)))


def _with_unit(number: str, symbol: str) -> str:
    return number if symbol == "1" else f"{number} {symbol}"
