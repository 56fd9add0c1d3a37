"""Advice in sentences: what one more unit of a limit or of a stream is worth, and what was not considered."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from canewright.engine import Advice, Move
from canewright.plant.keeping import Held
from canewright.plant.plant import Plant
from canewright.plant.prices import Price, price_list, unpriced
from canewright.plant.streams import Power, Steam

LEAST_TOLD = 0.5
"""Money a day for one more unit of a stream below which nothing is said of it, $/d."""
NEXT_TO_NOTHING = 1e-2
"""Flow, t/h, or power, kW, of a stream that stands still: what more of it would do cannot be told from it."""


def binding_sentences(plant: Plant, found: Advice, held: Sequence[Held], moves: Sequence[Move]) -> Iterator[str]:
    """Shadow prices of what binds."""
    for h in held:
        if h.sentence in found.binding:
            price = abs(found.shadow_prices[h.sentence])
            one = "one more unit of its measure" if h.unit == "1" else f"one more {h.unit}"
            yield f"{one} allowed for '{h.sentence}' is worth {price:,.2f} $/d"
    for move in moves:
        key = f"limit of {move.name}"
        if key in found.binding:
            unit = plant.model.variables[plant.model.index[move.name]].unit
            price = abs(found.shadow_prices[key])
            yield f"one more {'unit' if unit == '1' else unit} of room for {move.name} is worth {price:,.2f} $/d"


def stream_sentences(plant: Plant, found: Advice) -> Iterator[str]:
    """What one more t/h (MW) of each steam and power stream that has a role would be worth where it is used."""
    for role, stream in plant.description.roles.items():
        kind = plant.assembly.streams.get(stream)
        if kind is None or not issubclass(kind, (Steam, Power)):
            continue
        worth = worth_of_more(plant, found, stream)
        if worth is None or abs(worth) < LEAST_TOLD:
            continue
        one = "MW" if issubclass(kind, Power) else "t/h"
        yield f"one more {one} of {role} is worth {worth * (1000.0 if one == 'MW' else 1.0):,.2f} $/d"


def worth_of_more(plant: Plant, found: Advice, stream: str) -> float | None:
    """Money a day for one t/h (kW) more of a stream, as it is, where it is used; None where nobody uses it.

    The price is that of the optimum: what the laws of the stations that take the stream in would pay for it.
    """
    users = {
        name
        for name, station in plant.assembly.stations.items()
        if any(feed.prefix == stream for feeds in station.wiring.values() for feed in feeds)
    }
    kind = plant.assembly.streams[stream]
    now = kind(found.values.__getitem__, stream)
    size = float(now.power) if isinstance(now, Power) else float(now.flow)
    if not users or size <= NEXT_TO_NOTHING:
        return None
    model = plant.model
    direction = np.zeros(len(model.names))
    for name, variable in kind.variables().items():
        if variable.extensive:
            i = model.index[f"{stream}.{name}"]
            direction[i] = found.scaled[i] / size
    _, jacobian = model.jacobian_at(found.scaled)
    moved = jacobian @ direction
    theirs = np.array([law.owner in users for law in model.laws])
    return float(found.law_prices[theirs] @ moved[theirs])


def not_considered(plant: Plant, prices: Sequence[Price] | None = None) -> tuple[str, ...]:
    """What the advice leaves out, in sentences."""
    listed = price_list(plant) if prices is None else list(prices)
    if not listed:
        return ("nothing is priced",)
    said = []
    without = unpriced(plant, listed)
    if without:
        said.append(f"these enter or leave without a price, as if they cost nothing: {', '.join(without)}")
    cane = plant.description.roles.get("cane")
    if cane is not None and cane not in {p.stream for p in listed}:
        said.append("cane payment is not in the price list: crushing rate and cane quality are not weighed against it")
    said.append("labour, wear and what a change itself costs are not in the price list")
    said.append("responses are the model's own where no closed days tell more")
    return tuple(said)
