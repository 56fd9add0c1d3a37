"""The pages: addresses, refusals, and the server, which listens on this machine only."""

from __future__ import annotations

import datetime as dt
import secrets
from collections.abc import Callable
from pathlib import Path
from typing import Any

import uvicorn
from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.middleware.trustedhost import TrustedHostMiddleware
from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response
from starlette.routing import Mount, Route
from starlette.staticfiles import StaticFiles

from canewright.accounts.books import Books
from canewright.web.advice_page import advice_json, advice_page
from canewright.web.cane_pages import (
    block_page,
    cane_page,
    grower_page,
    own_page,
    register_page,
    sign_in,
    sign_in_page,
    sign_out,
    ticket_page,
)
from canewright.web.day_page import day_json, day_page, figure_json, figure_page, growers_page
from canewright.web.desk import Desk
from canewright.web.doors import Door, Page, unknown_address
from canewright.web.entry_page import entry_page, entry_post
from canewright.web.guard import Guard
from canewright.web.handbook import dictionary_page, formula_page, formula_work, formulas_page
from canewright.web.harvest_page import harvest_json, harvest_page
from canewright.web.pay_pages import PayPages
from canewright.web.pay_sessions import Sessions
from canewright.web.plant_page import plant_json, plant_page
from canewright.web.plant_tables_page import capacities_csv, plant_tables_json, plant_tables_page, streams_csv
from canewright.web.season_page import season_csv, season_json, season_page, season_post
from canewright.web.station_pages import station_page, stations_page
from canewright.web.strike_page import strike_json, strike_page, strikes_page
from canewright.web.trials_page import compare_page, trial_page, trial_post, trials_file, trials_page
from canewright.web.visitors import Visitors
from canewright.web.what_if_page import what_if_json, what_if_page, what_if_post

HOST = "127.0.0.1"
STATIC = Path(__file__).with_name("static")


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


READ_BY_THE_OFFICE: list[tuple[str, Page]] = [
    ("/", _latest),
    ("/day/{day}.json", day_json),
    ("/day/{day}/plant.json", plant_json),
    ("/day/{day}/figure/{name}.json", figure_json),
    ("/day/{day}/advice.json", advice_json),
    ("/day/{day}/what-if.json", what_if_json),
    ("/day/{day}", day_page),
    ("/day/{day}/advice", advice_page),
    ("/day/{day}/what-if", what_if_page),
    ("/day/{day}/plant", plant_page),
    ("/day/{day}/plant/tables", plant_tables_page),
    ("/day/{day}/plant/tables.json", plant_tables_json),
    ("/day/{day}/plant/streams.csv", streams_csv),
    ("/day/{day}/plant/capacities.csv", capacities_csv),
    ("/day/{day}/growers", growers_page),
    ("/day/{day}/figure/{name}", figure_page),
    ("/day/{day}/entry", entry_page),
    ("/season.json", season_json),
    ("/season.csv", season_csv),
    ("/season", season_page),
    ("/trials", trials_page),
    ("/trials.csv", trials_file),
    ("/trials.json", trials_file),
    ("/trials/compare", compare_page),
    ("/trials/{number}", trial_page),
    ("/dictionary", dictionary_page),
    ("/formulas", formulas_page),
    ("/formulas/{name}/work", formula_work),
    ("/formulas/{name}", formula_page),
    ("/harvest", harvest_page),
    ("/harvest/{season}.json", harvest_json),
    ("/harvest/{season}", harvest_page),
    ("/stations", stations_page),
    ("/stations/{kind}", station_page),
    ("/strikes", strikes_page),
    ("/strikes/{name}.json", strike_json),
    ("/strikes/{name}", strike_page),
    ("/health", _health),
    ("/cane", cane_page),
    ("/cane/registers/{register}", register_page),
]
"""Pages for the person of this machine; whose they are is judged by the doors."""
READ_BY_GROWERS: list[tuple[str, Page]] = [
    ("/cane/own", own_page),
    ("/cane/growers/{grower}", grower_page),
    ("/cane/blocks/{block}", block_page),
    ("/cane/tickets/{ticket}", ticket_page),
]
"""Pages that show a grower what is his own."""
POSTED_BY_THE_OFFICE: list[tuple[str, Page]] = [
    ("/day/{day}/entry", entry_post),
    ("/day/{day}/what-if", what_if_post),
    ("/trials/{number}", trial_post),
    ("/season", season_post),
]


def create_app(
    books: Books,
    *,
    now: Callable[[], dt.datetime],
    person: str,
    secret: bytes = b"",
    growers_only: bool = False,
    chance: Callable[[int], bytes] = secrets.token_bytes,
) -> Starlette:
    """The pages of one business.

    ``now`` gives the present moment with a time zone; ``person`` is recorded as who enters readings. ``secret`` seals
    growers' signing in; without one no grower can sign in with a key. With ``growers_only`` only signed-in growers are
    let in to the cane. ``chance`` gives so many random octets, for the sign-in tokens of payment.
    """
    desk = Desk(books, now, person)
    visitors = Visitors(books.store, now, person, secret, growers_only=growers_only)
    pay = PayPages(desk, Sessions(now, chance), chance)
    office, grower, anybody = (Door(desk, visitors, pay, open_to=whom) for whom in ("office", "growers", "anybody"))
    routes: list[Any] = [
        Route(address, office.answering(page), methods=["GET"]) for address, page in READ_BY_THE_OFFICE
    ]
    routes += [Route(address, grower.answering(page), methods=["GET"]) for address, page in READ_BY_GROWERS]
    routes += [Route(address, office.answering(page), methods=["POST"]) for address, page in POSTED_BY_THE_OFFICE]
    if secret:
        routes.append(Route("/cane/sign-in", anybody.answering(sign_in_page), methods=["GET"]))
        routes.append(Route("/cane/sign-in", anybody.answering(sign_in), methods=["POST"]))
        routes.append(Route("/cane/sign-out", anybody.answering(sign_out), methods=["POST"]))
    routes += _pay_routes(anybody, pay)
    routes.append(Mount("/static", StaticFiles(directory=STATIC), name="static"))
    app = Starlette(
        routes=routes,
        middleware=[
            Middleware(Guard, now=now),
            Middleware(TrustedHostMiddleware, allowed_hosts=[HOST, "localhost"], www_redirect=False),
        ],
        exception_handlers={HTTPException: unknown_address(desk, visitors)},
    )
    app.state.visitors = visitors
    return app


def _pay_routes(door: Door, pay: PayPages) -> list[Route]:
    """The addresses of payment; what a person may see is decided behind them."""
    run = "/pay/{season}/{number:int}"
    statement = f"{run}/statement/{{grower:path}}"
    shown: list[tuple[str, Page]] = [
        ("/pay", pay.seasons),
        ("/pay/sign-in", pay.sign_in_page),
        ("/pay/schemes", pay.schemes),
        ("/pay/agree", pay.agreement_form),
        ("/pay/{season}/agreement", pay.agreement),
        (run, pay.run),
        (f"{statement}/ticket/{{ticket:path}}", pay.ticket),
        (f"{statement}/as.json", pay.statement_json),
        (f"{statement}/as.pdf", pay.statement_pdf),
        (f"{statement}/as.xlsx", pay.statement_workbook),
        (statement, pay.statement),
    ]
    posted: list[tuple[str, Page]] = [
        ("/pay/sign-in", pay.sign_in),
        ("/pay/sign-out", pay.sign_out),
        ("/pay/agree", pay.agree),
        ("/pay/{season}/compute", pay.compute),
        ("/pay/{season}/correct", pay.correct),
        (f"{run}/act", pay.act),
    ]
    routes = [Route(address, door.answering(page), methods=["GET"]) for address, page in shown]
    return routes + [Route(address, door.answering(page), methods=["POST"]) for address, page in posted]


def serve(app: Starlette, port: int) -> None:
    """Serve the pages to this machine until interrupted."""
    uvicorn.run(app, host=HOST, port=port, log_level="warning", access_log=False, server_header=False)
