"""The harvest plan: its weeks as a table first, then as bars, with what each limit costs."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from canewright.accounts.cane_season import CaneRefused
from canewright.accounts.harvest_office import planned_seasons, stored_plan, week_table
from canewright.store import StoredPlan
from canewright.web.chart import columns
from canewright.web.desk import Desk, NotHere


def harvest_page(desk: Desk, request: Request) -> Response:
    """The standing plan of a season, or an earlier one by ``version``; how to make one where there is none."""
    if "season" not in request.path_params and not planned_seasons(desk.books):
        return desk.page("harvest.html", plan=None)
    plan = _asked(desk, request)
    headers, rows = week_table(plan.body)
    drawn = columns([row[0] for row in rows], [float(row[1]) for row in rows], "week from", "planned, t")
    versions = desk.books.store.harvest_plans(plan.season)
    return desk.page("harvest.html", plan=plan, headers=headers, rows=rows, bars=drawn, versions=versions)


def harvest_json(desk: Desk, request: Request) -> Response:
    """The plan as it is kept."""
    return JSONResponse(dict(_asked(desk, request).body))


def _asked(desk: Desk, request: Request) -> StoredPlan:
    seasons = planned_seasons(desk.books)
    known = [(f"harvest of {each}", f"/harvest/{each}") for each in seasons]
    season = request.path_params.get("season") or max(seasons)
    version = request.query_params.get("version")
    try:
        return stored_plan(desk.books, season, None if version is None else int(version))
    except ValueError as wrong:
        said = str(wrong) if isinstance(wrong, CaneRefused) else f"version: found '{str(version)[:20]}', no number"
        raise NotHere(f"{said}.", known) from wrong
