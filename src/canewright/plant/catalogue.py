"""The station kinds that a plant description may name."""

from __future__ import annotations

import importlib
import pkgutil

from canewright.plant import stations
from canewright.plant.station import Station


def _subclasses(kind: type[Station]) -> list[type[Station]]:
    direct = kind.__subclasses__()
    return direct + [deeper for each in direct for deeper in _subclasses(each)]


def _collect() -> dict[str, type[Station]]:
    for module in pkgutil.iter_modules(stations.__path__):
        importlib.import_module(f"{stations.__name__}.{module.name}")
    ours = [k for k in _subclasses(Station) if k.__module__.startswith(stations.__name__)]
    return {kind.kind: kind for kind in ours if kind.kind}


STATIONS: dict[str, type[Station]] = _collect()
"""Every station kind by the word that a plant description uses for it."""
