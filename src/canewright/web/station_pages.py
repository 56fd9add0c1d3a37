"""The kinds of station: all of them, and each told from its declaration."""

from __future__ import annotations

import difflib

from starlette.requests import Request
from starlette.responses import Response

from canewright.plant.catalogue import STATIONS
from canewright.plant.handbook import told
from canewright.web.desk import Desk, NotHere

LONGEST = 80


def stations_page(desk: Desk, request: Request) -> Response:
    """Every kind of station with its first sentence; those that this plant has come marked."""
    used = {s.kind.kind for s in desk.books.description.stations.values()}
    return desk.page("stations.html", kinds=[told(kind) for kind in sorted(STATIONS)], used=used)


def station_page(desk: Desk, request: Request) -> Response:
    """One kind of station: ports, settings, equations in words, capacities, cautions, sources."""
    kind = request.path_params["kind"]
    if kind not in STATIONS:
        near = [
            (each, f"/stations/{each}") for each in difflib.get_close_matches(kind, sorted(STATIONS), n=3, cutoff=0.0)
        ]
        raise NotHere(f"No station is of kind '{kind[:LONGEST]}'.", [*near, ("every kind of station", "/stations")])
    mine = [name for name, s in desk.books.description.stations.items() if s.kind.kind == kind]
    one = told(kind)
    return desk.page(
        "station.html",
        one=one,
        mine=mine,
        ports=[(p.name, p.way, p.stream, p.takes) for p in one.ports],
        equations=[(e.sentence, e.left, e.right) for e in one.equations],
    )
