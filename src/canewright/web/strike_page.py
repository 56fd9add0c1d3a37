"""Strikes: those that come along, and each boiled with the settings typed, its course as charts and figures."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from typing import Any

import numpy as np
from markupsafe import Markup
from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from canewright.accounts.curve import Curve
from canewright.pans.description import Described, StrikeRefused, template, templates
from canewright.pans.settings import declared
from canewright.pans.strike import HAZARDS, UNITS, Boiled, boil
from canewright.plant.faults import DescriptionFaults
from canewright.quantity import argument
from canewright.web.chart import chart
from canewright.web.desk import Desk, NotHere

REFUSED = 422
TYPED = (
    "seed.mass", "seed.size", "seed.supersaturation", "vapour.pressure", "vapour.steam_pressure", "feed 1.brix",
    "feed 1.purity", "feed 1.colour", "control.brix", "control.brix_full", "pan.footing", "drop.brix", "drop.hold_brix",
    "growth.rate", "pan.heat_transfer",
)  # fmt: skip
"""Settings with a field on the page; the command line and the description have all."""
CHARTS = (
    "volume", "brix", "supersaturation", "temperature", "crystal on massecuite", "mean size", "growth", "steam rate",
    "feed rate", "liquor purity", "crystal colour", "coefficient",
)  # fmt: skip
POINTS = 400
"""Points of a chart."""
ROWS = 13


def strikes_page(desk: Desk, request: Request) -> Response:
    """Every strike that comes along."""
    return desk.page("strikes.html", strikes=[(name, template(name)) for name in templates()], hazards=HAZARDS)


def strike_page(desk: Desk, request: Request) -> Response:
    """A strike boiled with the settings of the address."""
    name, strike = _asked(request)
    typed = {key: request.query_params.get(key, f"{strike.values[key]:g}") for key in TYPED}
    try:
        one, refused = _boiled(name, _changes(request.query_params)), []
    except StrikeRefused as problem:
        one, refused = None, [str(problem)]
    except DescriptionFaults as faults:
        one, refused = None, [f"{f.field}: found {f.found}; accepted: {f.accepted}" for f in faults.faults]
    return desk.page(
        "strike.html",
        REFUSED if refused else 200,
        name=name,
        strike=strike,
        fields=[(key, declared(key), typed[key]) for key in TYPED],
        refused=refused,
        hazards=HAZARDS,
        **(_shown(one) if one is not None else {"figures": [], "charts": [], "rows": [], "heads": [], "cautions": []}),
    )


def strike_json(desk: Desk, request: Request) -> Response:
    """The same strike as data, its course included."""
    name, _ = _asked(request)
    try:
        one = _boiled(name, _changes(request.query_params))
    except (StrikeRefused, DescriptionFaults) as refused:
        return JSONResponse({"state": "refused", "sentence": str(refused)}, REFUSED)
    picked = _picked(one, POINTS)
    return JSONResponse(
        {
            "strike": one.strike.name,
            "phases": [{"phase": n, "from, min": a, "to, min": b} for n, a, b in one.phases],
            "figures": {n: {"value": value, "unit": unit} for n, (value, unit) in one.figures().items()},
            "cautions": one.cautions(),
            "time, min": one.times[picked].tolist(),
            "course": {n: {"unit": UNITS[n], "values": v[picked].tolist()} for n, v in one.course.items()},
        }
    )


def _asked(request: Request) -> tuple[str, Described]:
    name = request.path_params["name"]
    if name not in templates():
        known = [(each, f"/strikes/{each}") for each in templates()]
        raise NotHere(f"No strike is called '{name[:80]}'.", [*known, ("every strike", "/strikes")])
    return name, template(name)


def _changes(typed: Mapping[str, str]) -> tuple[tuple[str, float], ...]:
    """Settings typed otherwise than described. Raises StrikeRefused for what is no number."""
    found = []
    for key, text in typed.items():
        if text.strip():
            try:
                found.append((key, float(text)))
            except ValueError:
                raise StrikeRefused(f"{key}: found '{text[:40]}'; accepted: a number") from None
    return tuple(sorted(found))


@lru_cache(maxsize=16)
def _boiled(name: str, changes: tuple[tuple[str, float], ...]) -> Boiled:
    return boil(template(name).with_values(dict(changes)), every=0.25)


def _picked(one: Boiled, count: int) -> Any:
    return np.unique(np.linspace(0, len(one.times) - 1, count).round().astype(int))


def _shown(one: Boiled) -> dict[str, Any]:
    few = _picked(one, ROWS)
    return {
        "figures": [(n, f"{value:.4g}", unit) for n, (value, unit) in one.figures().items()],
        "cautions": one.cautions(),
        "charts": [(n, _chart(one, n)) for n in CHARTS],
        "heads": ["time, min", *(_head(n) for n in CHARTS)],
        "rows": [[f"{one.times[i]:.0f}", *(f"{one.course[n][i]:.4g}" for n in CHARTS)] for i in few],
    }


def _head(name: str) -> str:
    return f"{name}, {UNITS[name]}" if UNITS[name] else name


def _chart(one: Boiled, name: str) -> Markup:
    """A quantity over time; the mark stands at the seeding."""
    picked = _picked(one, POINTS)
    seeded = one.phases[0][2]
    at = float(np.interp(seeded, one.times, one.course[name]))
    time = argument("min", "time since steam was opened")
    drawn = Curve("time", time, one.times[picked], one.course[name][picked], seeded, at, whole=True)
    return chart(drawn, "time, min", _head(name))
