"""The day: what needs attention, the losses, recovery and yield, then the whole sheet by group."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, Response

from canewright.accounts.trees import tree_of
from canewright.web.desk import Desk, NotHere, ShownDay
from canewright.web.words import path

MILL_RECOVERY = ("pol extraction", "boiling house recovery", "overall recovery")
REFINERY_YIELD = ("refinery yield on pol",)
WEEK, SEASON = "week to date", "season to date"
PERIODS = (WEEK, SEASON)
RATES = ("crushing rate while running", "melt rate while running")


def day_page(desk: Desk, request: Request) -> Response:
    """The page of a day."""
    day = desk.day(request.path_params["day"])
    shown = desk.shown(day, request.query_params.get("version"))
    return desk.page("day.html", day=day, shown=shown, **headlines(shown.account))


def day_json(desk: Desk, request: Request) -> Response:
    """The same day as data: every figure of the page, without the trees, which have their own addresses."""
    day = desk.day(request.path_params["day"])
    shown = desk.shown(day, request.query_params.get("version"))
    account = dict(shown.account)
    account["sheet"] = [{k: v for k, v in row.items() if k != "tree"} for row in account["sheet"]]
    account.pop("measured", None)
    account.pop("leaves", None)
    status = {"status": shown.status, "says": shown.says, "version": shown.closed.version if shown.closed else None}
    return JSONResponse({**status, **account})


def headlines(account: Mapping[str, Any]) -> dict[str, Any]:
    """What stands at the top of the page, and the groups of the sheet in order."""
    sheet: Sequence[Mapping[str, Any]] = account["sheet"]
    groups: dict[str, list[Mapping[str, Any]]] = {}
    for row in sheet:
        groups.setdefault(row["group"], []).append(row)
    return {
        "losses": [r for r in sheet if r["name"].startswith("undetermined loss")],
        "mill": [r for name in MILL_RECOVERY for r in sheet if r["name"] == name],
        "refinery": [r for name in REFINERY_YIELD for r in sheet if r["name"] == name],
        "rates": [r for name in RATES for r in sheet if r["name"] == name],
        "hours": {k.removeprefix("sections.").removesuffix(".hours"): v for k, v in account["hours"].items()},
        "opens": {
            a["what"]: r["name"]
            for a in account["attention"]
            for r in sheet
            if a["what"].startswith(f"{r['name']} is ")
        },
        "suspect": account.get("suspect"),
        "without": account.get("without_suspect", {}),
        "products": account.get("products", []),
        "groups": groups,
        "periods": PERIODS,
    }


def figure_page(desk: Desk, request: Request) -> Response:
    """The tree of one figure, down to single readings."""
    row, shown = _figure(desk, request)
    return desk.page("figure.html", day=shown.day, shown=shown, row=row, tree=tree_of(shown.account, row["name"]))


def figure_json(desk: Desk, request: Request) -> Response:
    """The tree of one figure as data."""
    row, shown = _figure(desk, request)
    tree = tree_of(shown.account, row["name"])
    whole = {**row, "tree": tree.to_json() if tree else None}
    return JSONResponse({"day": shown.day.isoformat(), "status": shown.status, **whole})


def _figure(desk: Desk, request: Request) -> tuple[dict[str, Any], ShownDay]:
    day, name = desk.day(request.path_params["day"]), request.path_params["name"]
    shown = desk.shown(day, request.query_params.get("version"))
    for row in shown.account["sheet"]:
        if row["name"] == name:
            return row, shown
    known = [(r["name"], f"/day/{day}/figure/{path(r['name'])}") for r in shown.account["sheet"]]
    raise NotHere(f"The day sheet of {day} has no figure '{name[:80]}'. It has:", known)


def growers_page(desk: Desk, request: Request) -> HTMLResponse:
    """What each grower is owed for the day's consignments."""
    day = desk.day(request.path_params["day"])
    shown = desk.shown(day, request.query_params.get("version"))
    return desk.page("growers.html", day=day, shown=shown, cane=shown.account["cane"])
