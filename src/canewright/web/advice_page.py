"""Advice for a day: what to move and what it gains, what the safety of quality costs, what binds, what to try first."""

from __future__ import annotations

import math
from typing import Any

from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from canewright.plant.advising import AdvisedMove, PlantAdvice
from canewright.plant.handles import hazards_of
from canewright.web.desk import Desk, NotHere
from canewright.web.words import path

REFUSED = 422
SMALL = 0.5
"""Money a day that is not told, $."""


def advice_page(desk: Desk, request: Request) -> Response:
    """The advice for a day; 422 with the sentence where none can be given."""
    day = desk.day(request.path_params["day"])
    _refuse_empty(desk, day)
    only, hold = request.query_params.getlist("only"), request.query_params.getlist("hold")
    try:
        advice = desk.advice(day, tuple(only), tuple(hold))
    except (ValueError, RuntimeError) as lack:
        return desk.page("advice.html", REFUSED, day=day, refusal=str(lack), advice=None)
    shown = desk.shown(day)
    moved = [m for m in advice.moves if _moves(m)]
    return desk.page(
        "advice.html", day=day, refusal="", advice=advice, moved=moved, suspect=shown.account.get("suspect"),
        kept=[m for m in advice.moves if not _moves(m)], lines=_lines, tried=_try_address(day, moved),
        qualities=[one for one in advice.limits if not one.capacity], ends=_ends,
        costs={s.sentence: s for s in advice.safety},
        hazards=hazards_of(
            desk.books.plant.assembly.stations, [*(m.setting for m in moved), *(t.setting for t in advice.trials)]
        ),
    )  # fmt: skip


def advice_json(desk: Desk, request: Request) -> Response:
    """The same advice as data."""
    day = desk.day(request.path_params["day"])
    _refuse_empty(desk, day)
    only, hold = request.query_params.getlist("only"), request.query_params.getlist("hold")
    try:
        advice: PlantAdvice = desk.advice(day, tuple(only), tuple(hold))
    except (ValueError, RuntimeError) as lack:
        return JSONResponse({"state": "refused", "sentence": str(lack)}, REFUSED)
    return JSONResponse({"day": day.isoformat(), **advice.to_json()})


def _refuse_empty(desk: Desk, day: Any) -> None:
    if day not in desk.books.store.days():
        raise NotHere(f"Nothing is stored for {day}.", desk.known_days())


def _moves(move: AdvisedMove) -> bool:
    return f"{move.now:.4g}" != f"{move.then:.4g}"


def _lines(move: AdvisedMove) -> list[tuple[str, float]]:
    """The money lines that a move changes by itself, the largest first."""
    return sorted(((w, c) for w, c in move.lines if abs(c) >= SMALL), key=lambda line: -abs(line[1]))


def _ends(low: float, high: float) -> str:
    """The ends of a limit in words."""
    return " and ".join(f"{way} {end:g}" for way, end in (("at least", low), ("at most", high)) if math.isfinite(end))


def _try_address(day: Any, moved: list[AdvisedMove]) -> str:
    """The what-if page with the advised settings put in."""
    return f"/day/{day}/what-if?" + "&".join(f"{path(m.setting)}={m.then:.6g}" for m in moved)
