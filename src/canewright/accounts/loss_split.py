"""How an undetermined loss spreads over its envelope: only as far as readings tell, else that it cannot be split.

An envelope (mill, boiling house, refinery) has one undetermined loss unless the description puts further stations of
that kind into the same section. Where there are several, each is told with the share of its variance that priors
bring; where priors bring nearly all of it, the split would be the description's and not the day's.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from canewright.accounts.reckoning import PRIOR_ONLY
from canewright.engine.model import Values
from canewright.intervals import TIMES
from canewright.plant.plant import Plant, Reconciled
from canewright.quantity import Num, noting_breaches

ENVELOPES = {
    "undetermined loss of the mill": "mill loss",
    "undetermined loss of the boiling house": "boiling house loss",
    "undetermined loss of the refinery": "refinery loss",
}
"""The role of each figure's stream."""
WHOLE = "cannot be split over its stations: nothing is measured between them that tells where it goes"


def split_of(plant: Plant, reconciled: Reconciled, figure: str) -> dict[str, Any] | None:
    """What can be said of the parts of an undetermined loss; None for any other figure."""
    role = ENVELOPES.get(figure)
    if role is None or role not in plant.description.roles:
        return None
    parts = _stations(plant, plant.description.roles[role])
    if len(parts) < 2:
        return {"says": WHOLE, "parts": []}
    told = [_told(plant, reconciled, name) for name in parts]
    if all(part["prior_share"] > PRIOR_ONLY for part in told):
        return {"says": WHOLE, "parts": []}
    return {"says": "; ".join(_words(part) for part in told), "parts": told}


def _stations(plant: Plant, stream: str) -> list[str]:
    """The undetermined losses of the section of a stream's station."""
    given = plant.description.stations
    section = given[stream.partition(".")[0]].section
    return [n for n, s in given.items() if s.section == section and s.kind.kind.startswith("undetermined")]


def _told(plant: Plant, reconciled: Reconciled, station: str) -> dict[str, Any]:
    """Sucrose lost in a day at one of them, t, with its uncertainty and the share of priors."""
    stream, result = f"{station}.lost", reconciled.result

    def lost(values: Values) -> list[Num]:
        return [plant.assembly.stream(stream, values).component("sucrose") * plant.assembly.hours(stream, values)]

    with noting_breaches():
        value, slope = result.gradient(reconciled.expressions(lost))
    weights = (slope @ result.influence)[0] ** 2
    total = float(np.sum(weights)) or 1.0
    share = float(np.sum(weights[len(result.measured) :])) / total
    return {
        "station": station, "value": float(value[0]), "unit": "t", "uncertainty": float(result.deviations(slope)[0]),
        "prior_share": share,
    }  # fmt: skip


def _words(part: Mapping[str, Any]) -> str:
    if part["prior_share"] > PRIOR_ONLY:
        return f"{part['station']}: cannot be split off, it rests on priors"
    half = TIMES * part["uncertainty"]
    owed = f"{100 * part['prior_share']:.0f} % of its uncertainty owed to priors"
    return f"{part['station']}: {part['value']:.1f} ± {half:.1f} t of sucrose, {owed}"
