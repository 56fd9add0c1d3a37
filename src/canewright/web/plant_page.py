"""The plant: the meters and how they are checked, then every stream in plan order: measured, reconciled, predicted."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from canewright.plant.measures import MEASURABLE
from canewright.plant.plant import Plant, State
from canewright.plant.streams import Stream
from canewright.web.desk import Desk

SHOWN_FIRST = (
    "mass flow", "refractometer brix", "pol", "apparent purity", "colour", "moisture", "fibre", "temperature",
    "pressure", "power", "humidity",
)  # fmt: skip
"""Quantities of a stream in the order in which they are read; whatever else is measured on it follows."""
AS_HELD = {"temperature", "pressure", "power"}
"""Quantities that a stream holds as they are read; a stream's variable named colour or fibre is a flow, not these."""
WITH_A_SOLID = {"moisture": "crystal", "fibre": "fibre"}
"""Quantities told only of streams that carry a solid, or where they are measured."""


@dataclass(frozen=True)
class Row:
    """One quantity of a stream. ``uncertainty`` is one standard deviation of the reconciled value, None if unknown."""

    quantity: str
    unit: str
    read: float | None
    read_uncertainty: float | None
    reconciled: float | None
    uncertainty: float | None
    predicted: float | None
    tag: str


@dataclass(frozen=True)
class StreamShown:
    """A stream with its quantities and, below them, its component flows."""

    name: str
    says: str
    rows: tuple[Row, ...]
    components: tuple[Row, ...]


def plant_page(desk: Desk, request: Request) -> Response:
    """The page of the plant on a day."""
    shown, sections, meters = _plant_of(desk, request)
    return desk.page(
        "plant.html", day=shown.day, shown=shown, sections=sections, meters=meters, tests=shown.account["tests"]
    )


def plant_json(desk: Desk, request: Request) -> Response:
    """The same plant as data."""
    shown, sections, meters = _plant_of(desk, request)
    streams = {
        section: {
            station: [
                {"stream": s.name, "rows": [vars(r) for r in s.rows], "components": [vars(r) for r in s.components]}
                for s in streams
            ]
            for station, streams in stations.items()
        }
        for section, stations in sections.items()
    }
    return JSONResponse({"day": shown.day.isoformat(), "status": shown.status, "streams": streams, "meters": meters})


def _plant_of(desk: Desk, request: Request) -> tuple[Any, Any, list[dict[str, Any]]]:
    day = desk.day(request.path_params["day"])
    shown = desk.shown(day, request.query_params.get("version"))
    plant, state, meters = desk.state(shown)
    return shown, streams_by_section(plant, state, meters), meters


def streams_by_section(
    plant: Plant, state: Mapping[str, Any], meters: Sequence[Mapping[str, Any]]
) -> dict[str, dict[str, list[StreamShown]]]:
    """Every stream by section and station, in the order of the plant description."""
    reconciled = State(plant.assembly, state["values"], np.empty(0), "as stored")
    predicted = State(plant.assembly, state["predicted"], np.empty(0), "as stored")
    told = _Told(reconciled, predicted, state, meters)
    found: dict[str, dict[str, list[StreamShown]]] = {section: {} for section in plant.description.sections}
    for station in plant.description.stations.values():
        mine = [n for n in plant.assembly.streams if n.partition(".")[0] == station.name]
        if mine:
            found[station.section][station.name] = [told.stream(n, plant.assembly.streams[n]) for n in mine]
    return {section: stations for section, stations in found.items() if stations}


@dataclass(frozen=True)
class _Told:
    """A day's state, told stream by stream."""

    reconciled: State
    predicted: State
    stored: Mapping[str, Any]
    meters: Sequence[Mapping[str, Any]]

    def stream(self, name: str, kind: type[Stream]) -> StreamShown:
        metered = {m["quantity"]: m for m in self.meters if m["stream"] == name}
        fits = {q for q, m in MEASURABLE.items() if issubclass(kind, m.of)}
        held = set(kind.variables())
        quantities = [q for q in SHOWN_FIRST if q in fits and self._worth_telling(q, held, metered)]
        quantities += [q for q in metered if q not in quantities]
        rows = tuple(self._quantity(name, q, kind, metered.get(q)) for q in quantities)
        return StreamShown(name, _says(kind), rows, tuple(self._components(name, kind)))

    @staticmethod
    def _worth_telling(quantity: str, held: set[str], metered: Mapping[str, Any]) -> bool:
        if quantity in WITH_A_SOLID:
            return quantity in metered or WITH_A_SOLID[quantity] in held
        if quantity in AS_HELD:
            return quantity in held
        return quantity != "mass flow" or bool(held & set(Stream.COMPONENTS))

    def _quantity(self, name: str, quantity: str, kind: type[Stream], meter: Mapping[str, Any] | None) -> Row:
        return Row(
            quantity, MEASURABLE[quantity].unit, meter["read"] if meter else None,
            meter["uncertainty"] if meter else None, _real(self.reconciled.measured(name, quantity)),
            self._uncertainty(name, quantity, kind, meter), _real(self.predicted.measured(name, quantity)),
            meter["tag"] if meter else "",
        )  # fmt: skip

    def _uncertainty(
        self, name: str, quantity: str, kind: type[Stream], meter: Mapping[str, Any] | None
    ) -> float | None:
        """What was stored of it: with the meter, with the variable, or among the stored quantities of streams."""
        if meter is not None:
            return float(meter["reconciled_uncertainty"])
        told = self.stored.get("quantities", {}).get(name, {}).get(quantity)
        if told is not None:
            return None if told["uncertainty"] is None else float(told["uncertainty"])
        alone = [c for c in Stream.COMPONENTS if c in kind.variables()]
        if quantity == "mass flow" and len(alone) == 1:
            variable = alone[0]
        elif quantity in AS_HELD:
            variable = quantity
        else:
            return None
        found = self.stored["uncertainty"].get(f"{name}.{variable}")
        return None if found is None else float(found)

    def _components(self, name: str, kind: type[Stream]) -> list[Row]:
        rows = []
        for variable, held in kind.variables().items():
            if variable in AS_HELD:
                continue
            full = f"{name}.{variable}"
            known = (self.stored["values"].get(full), self.stored["uncertainty"].get(full))
            rows.append(Row(held.says, held.unit, None, None, *known, self.stored["predicted"].get(full), ""))
        return rows if len(rows) > 1 else []


def _real(value: float) -> float | None:
    return value if np.isfinite(value) else None


def _says(kind: type[Stream]) -> str:
    return (kind.__doc__ or "").partition(".")[0].partition(":")[0]
