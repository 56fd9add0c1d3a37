"""The pages: addresses, refusals, and the server, which listens on this machine only."""

from __future__ import annotations

import datetime as dt
import inspect
from collections.abc import Awaitable, Callable
from pathlib import Path
from typing import Any

import uvicorn
from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.middleware.trustedhost import TrustedHostMiddleware
from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response
from starlette.routing import Mount, Route
from starlette.staticfiles import StaticFiles

from canewright.accounts.books import Books
from canewright.store import StoreError
from canewright.web.day_page import day_json, day_page, figure_json, figure_page, growers_page
from canewright.web.desk import CannotBeShown, Desk, NotHere
from canewright.web.entry_page import entry_page, entry_post
from canewright.web.guard import Guard
from canewright.web.handbook import dictionary_page, formula_page, formula_work, formulas_page
from canewright.web.harvest_page import harvest_json, harvest_page
from canewright.web.plant_page import plant_json, plant_page
from canewright.web.station_pages import station_page, stations_page

HOST = "127.0.0.1"
STATIC = Path(__file__).with_name("static")
Page = Callable[[Desk, Request], Any]


def create_app(books: Books, *, now: Callable[[], dt.datetime], person: str) -> Starlette:
    """The pages of one business.

    ``now`` gives the present moment with a time zone; ``person`` is recorded as who enters readings.
    """
    desk = Desk(books, now, person)
    told: list[tuple[str, Page]] = [
        ("/", _latest),
        ("/day/{day}.json", day_json),
        ("/day/{day}/plant.json", plant_json),
        ("/day/{day}/figure/{name}.json", figure_json),
        ("/day/{day}", day_page),
        ("/day/{day}/plant", plant_page),
        ("/day/{day}/growers", growers_page),
        ("/day/{day}/figure/{name}", figure_page),
        ("/day/{day}/entry", entry_page),
        ("/dictionary", dictionary_page),
        ("/formulas", formulas_page),
        ("/formulas/{name}/work", formula_work),
        ("/formulas/{name}", formula_page),
        ("/harvest", harvest_page),
        ("/harvest/{season}.json", harvest_json),
        ("/harvest/{season}", harvest_page),
        ("/stations", stations_page),
        ("/stations/{kind}", station_page),
        ("/health", _health),
    ]
    routes: list[Any] = [Route(address, _answering(desk, page), methods=["GET"]) for address, page in told]
    routes.append(Route("/day/{day}/entry", _answering(desk, entry_post), methods=["POST"]))
    routes.append(Mount("/static", StaticFiles(directory=STATIC), name="static"))
    return Starlette(
        routes=routes,
        middleware=[
            Middleware(Guard, now=now),
            Middleware(TrustedHostMiddleware, allowed_hosts=[HOST, "localhost"], www_redirect=False),
        ],
        exception_handlers={HTTPException: _unknown_address(desk)},
    )


def serve(app: Starlette, port: int) -> None:
    """Serve the pages to this machine until interrupted."""
    uvicorn.run(app, host=HOST, port=port, log_level="warning", access_log=False, server_header=False)


def _answering(desk: Desk, page: Page) -> Callable[[Request], Awaitable[Response]]:
    """A page with its refusals in sentences: what is not here, what cannot be shown, what the records refuse."""

    async def answer(request: Request) -> Response:
        try:
            if inspect.iscoroutinefunction(page):
                response = await page(desk, request)
            else:
                response = await run_in_threadpool(page, desk, request)
        except NotHere as lacking:
            response = await run_in_threadpool(_refused, desk, request, 404, str(lacking), lacking.known)
        except (CannotBeShown, StoreError) as refused:
            known = [("enter readings of the day", f"/day/{request.path_params['day']}/entry")]
            response = await run_in_threadpool(_refused, desk, request, 503, str(refused), known)
        if not isinstance(response, Response):
            raise TypeError(f"{request.url.path} made no response")
        return response

    return answer


def _refused(desk: Desk, request: Request, status: int, message: str, known: list[tuple[str, str]]) -> Response:
    wants_json = request.url.path.endswith(".json") or "application/json" in request.headers.get("accept", "")
    if wants_json:
        there = [address for _, address in known]
        return JSONResponse({"state": "refused", "sentence": message, "there is": there}, status)
    heading = "There is no such page" if status == 404 else "This cannot be shown"
    return desk.page("message.html", status, heading=heading, message=message, known=known)


def _unknown_address(desk: Desk) -> Callable[[Request, Exception], Awaitable[Response]]:
    async def answer(request: Request, error: Exception) -> Response:
        status = error.status_code if isinstance(error, HTTPException) else 500
        known = [("the latest day", "/"), ("the day's files", "/dictionary"), ("formulas", "/formulas")]
        message = f"'{request.url.path[:80]}' is not an address of these pages."
        if status == 405:
            message = f"'{request.url.path[:80]}' is read, not posted to."
        return await run_in_threadpool(_refused, desk, request, status, message, known)

    return answer


def _latest(desk: Desk, request: Request) -> Response:
    days = desk.books.store.days()
    if not days:
        message = "Import a day's files with: canewright day import. The dictionary names every column."
        known = [("the day's files, column by column", "/dictionary")]
        return desk.page("message.html", heading="Nothing is stored yet", message=message, known=known)
    return RedirectResponse(f"/day/{days[-1]}", 307)


def _health(desk: Desk, request: Request) -> Response:
    """Whether the records can be read."""
    return JSONResponse({"status": "ok", "plant": desk.books.description.name, "days": len(desk.books.store.days())})
