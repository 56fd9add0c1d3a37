"""The season: what drifted or stepped, the course of slow quantities, and corrections of closed days to decide on."""

from __future__ import annotations

from collections.abc import Mapping
from typing import get_args

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response

from canewright.accounts.seasons import course_csv, decide, proposal_to_json
from canewright.store import Act, Proposal, Season, StoreError
from canewright.web.chart import band_chart
from canewright.web.desk import Desk, NotHere

SHOWN = 4
"""Quantities drawn without being asked for: those that changed, at most so many."""


def season_page(desk: Desk, request: Request) -> Response:
    """The page of the season as it was last smoothed, or of an earlier smoothing by its number."""
    return _page(desk, request)


def season_json(desk: Desk, request: Request) -> Response:
    """The same season as data, with every proposal and decision."""
    season = _season(desk, request)
    if season is None:
        raise _none()
    mine = [proposal_to_json(p) for p in desk.books.store.proposals() if p.season == season.id]
    return JSONResponse({"season": season.id, "by": season.by, "at": season.at.isoformat(), **season.course} | {
        "proposals": mine
    })  # fmt: skip


def season_csv(desk: Desk, request: Request) -> Response:
    """The course of every quantity, a row for each day."""
    season = _season(desk, request)
    if season is None:
        raise _none()
    name = f"season-{season.first}-{season.last}.csv"
    headers = {"content-disposition": f'attachment; filename="{name}"'}
    return Response(course_csv(season.course), media_type="text/csv; charset=utf-8", headers=headers)


async def season_post(desk: Desk, request: Request) -> Response:
    """A decision on a proposal from the page's form."""
    async with request.form() as form:
        given = {k: v for k, v in form.items() if isinstance(v, str)}
    return await run_in_threadpool(_decided, desk, request, given)


def _decided(desk: Desk, request: Request, given: Mapping[str, str]) -> Response:
    act, number = given.get("act", ""), given.get("proposal", "")
    if act not in get_args(Act) or not number.isdigit():
        return _page(desk, request, 422, "The decision could not be read and nothing was stored; open the page again.")
    try:
        decide(desk.books, int(number), act, desk.person, given.get("reason", ""))  # type: ignore[arg-type]
    except (StoreError, ValueError, RuntimeError) as refused:
        return _page(desk, request, 422, f"Nothing was stored: {refused}")
    return RedirectResponse(f"/season#proposal-{number}", 303)


def _none() -> NotHere:
    return NotHere(
        "No season has been smoothed yet; do so with: canewright season smooth.", [("the season", "/season")]
    )


def _season(desk: Desk, request: Request) -> Season | None:
    """The newest season, or the one asked for. Raises NotHere for a number that there is not."""
    asked = request.query_params.get("season")
    if asked is None:
        return desk.books.store.season()
    found = desk.books.store.season(int(asked)) if asked.isascii() and asked.isdigit() and len(asked) < 10 else None
    if found is None:
        raise NotHere(f"There is no season '{asked[:20]}'.", [("the newest season", "/season")])
    return found


def _page(desk: Desk, request: Request, status: int = 200, refusal: str = "") -> Response:
    season = _season(desk, request)
    if season is None:
        message = "Smooth the closed days together with: canewright season smooth. It may take half a minute."
        heading = "No season has been smoothed yet"
        return desk.page("message.html", heading=heading, message=message, known=desk.known_days()[:1])
    course = season.course
    chosen = request.query_params.get("of", "")
    names = [q["name"] for q in course["quantities"]]
    if chosen and chosen not in names:
        raise NotHere(f"This season does not follow '{chosen[:80]}'.", [("the season", "/season")])
    changed = list(dict.fromkeys(c["quantity"] for c in course["changes"]))[:SHOWN]
    drawn = [chosen] if chosen else changed
    charts = [(q, band_chart(q, course["days"])) for q in course["quantities"] if q["name"] in drawn]
    every = desk.books.store.proposals()
    return desk.page(
        "season.html", status, season=season, course=course, charts=charts, chosen=chosen, refusal=refusal,
        open=[p for p in every if p.status == "open"], decided=_history(every), names=names,
    )  # fmt: skip


def _history(proposals: tuple[Proposal, ...]) -> list[Proposal]:
    """What was decided, the newest decision first."""
    return sorted((p for p in proposals if p.decisions), key=lambda p: p.decisions[-1].at, reverse=True)
