"""Cane: the weeks and what is to be decided, the registers, a block, a grower, and one consignment down to readings."""

from __future__ import annotations

import csv
import datetime as dt
import io
from typing import Any

import polars as pl
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from canewright.accounts.cane_office import delivered_days, figure_words, season_frame, usual_day
from canewright.accounts.cane_registers import RegisterRefused, register_called, registers_of
from canewright.accounts.cane_season import CaneRefused, questions, trail_of
from canewright.cane.delivery_frame import season_totals
from canewright.cane.fall_back import NoSampleAtAll
from canewright.cane.registers import of_grower
from canewright.cane.waiting import weekly
from canewright.web.desk import Desk, NotHere
from canewright.web.visitors import Visitor, Visitors

SHOWN = 500
"""Consignments on a page; the file has all of them."""
HOME = [("cane", "/cane")]
COLUMNS = (
    "ticket", "day", "block", "gross_kg", "tare_kg", "net", "brix", "pol", "fibre", "paid_ccs", "paid_u", "delay",
    "says",
)  # fmt: skip
WRONG_KEY = "This key opens nothing: look at it again, or ask the cane office for another."


def _visitor(request: Request) -> Visitor:
    found: Visitor = request.state.visitor
    return found


def _frame(desk: Desk) -> pl.DataFrame:
    """Every stored delivery, analysed; worked out again only when something about cane was stored since."""
    span = delivered_days(desk.books.store)
    if span is None:
        raise NotHere("No consignments are stored. Import them with: canewright cane import", [])
    try:
        found = desk.kept(("cane", *desk.books.store.newest()), lambda: season_frame(desk.books, *span))
    except (CaneRefused, NoSampleAtAll) as refused:
        raise NotHere(f"The deliveries cannot be shown: {refused}", []) from refused
    return found


def _on(desk: Desk, request: Request) -> dt.date:
    text = request.query_params.get("on")
    if text is None:
        return usual_day(desk.books, desk.now().date())
    try:
        return desk.day(text)
    except NotHere as wrong:
        raise NotHere(str(wrong), _home(_visitor(request))) from wrong


def cane_page(desk: Desk, request: Request) -> Response:
    """The weeks of the season, totals by grower, and the samples that wait for a decision."""
    frame = _frame(desk)
    totals = season_totals(frame)
    shown: dict[str, Any] = {
        "weeks": weekly(frame).rows(named=True),
        "questions": questions(frame),
        "growers": totals.by_grower.rows(named=True),
        "mean": totals.season_ccs,
    }
    return desk.page("cane.html", visitor=_visitor(request), **shown)


def register_page(desk: Desk, request: Request) -> Response:
    """A register as it stands on a day, also as a file."""
    try:
        each = register_called(request.path_params["register"])
    except RegisterRefused as refused:
        raise NotHere(str(refused), HOME) from refused
    day = _on(desk, request)
    found = sorted(registers_of(desk.books.store).at(each.name, day).items())
    headers = [each.key.header, *(column.header for column in each.fields)]
    rows = [[key, *(details.get(column.name, "") for column in each.fields)] for key, details in found]
    if request.query_params.get("as") == "csv":
        return _file(f"{each.form.name.removesuffix('.csv')}-{day}.csv", headers, rows)
    links = {"block": "/cane/blocks/", "grower": "/cane/growers/"}
    return desk.page(
        "cane_register.html", visitor=_visitor(request), register=each, on=day, headers=headers, rows=rows,
        link=links.get(each.name, ""),
    )  # fmt: skip


def block_page(desk: Desk, request: Request) -> Response:
    """A block: what the register says of it from when on, and the consignments cut from it."""
    visitor, block = _visitor(request), request.path_params["block"]
    held = registers_of(desk.books.store)
    spans = held.spans("block", block)
    mine = [span for span in spans if visitor.grower is None or visitor.grower in held.growers_within(block, span)]
    if not mine:
        raise NotHere(f"There is no block '{block[:40]}' here.", _home(visitor))
    loads = _loads(desk, visitor).filter(pl.col("block") == block)
    history = [] if visitor.grower else desk.books.store.register_history("block", block)
    return desk.page(
        "cane_block.html", visitor=visitor, block=block, spans=mine, loads=_rows(loads), history=history,
        grower=held.grower_of(block, mine[-1].start),
    )  # fmt: skip


def grower_page(desk: Desk, request: Request) -> Response:
    """A grower: totals, farms, blocks and consignments, each opening to its readings; also as a file."""
    visitor, grower, day = _visitor(request), request.path_params["grower"], _on(desk, request)
    known = grower in registers_of(desk.books.store).keys("grower")
    if not visitor.may_see(grower) or not known:
        raise NotHere(f"There is no grower '{grower[:40]}' here.", _home(visitor))
    farms, blocks = of_grower(registers_of(desk.books.store), grower, day)
    loads = _loads(desk, visitor).filter(pl.col("grower") == grower)
    if request.query_params.get("as") == "csv":
        return _file(f"consignments-{grower}.csv".replace(" ", "-"), list(COLUMNS), loads.select(COLUMNS).rows())
    totals = season_totals(loads).by_grower.row(0, named=True) if loads.height else None
    return desk.page(
        "cane_grower.html", visitor=visitor, grower=grower, on=day, farms=farms, blocks=blocks, totals=totals,
        loads=_rows(loads), count=loads.height,
    )  # fmt: skip


def ticket_page(desk: Desk, request: Request) -> Response:
    """One consignment from its readings to the CCS it is paid on, with everything that was decided about it."""
    visitor, ticket = _visitor(request), request.path_params["ticket"]
    loads = _loads(desk, visitor)
    found = loads.filter(pl.col("ticket") == ticket)
    if found.is_empty():
        raise NotHere(f"There is no ticket '{ticket[:40]}' here.", _home(visitor))
    told = figure_words(found, ticket)
    return desk.page(
        "cane_ticket.html", visitor=visitor, told=told, trail=trail_of(desk.books.store, told["day"], ticket)
    )


def _loads(desk: Desk, visitor: Visitor) -> pl.DataFrame:
    """The deliveries that a visitor may see: everybody's for the office, his own for a grower."""
    frame = _frame(desk)
    return frame if visitor.grower is None else frame.filter(pl.col("grower") == visitor.grower)


def _rows(loads: pl.DataFrame) -> list[dict[str, Any]]:
    return loads.sort("tipped_at", descending=True).head(SHOWN).rows(named=True)


def _home(visitor: Visitor) -> list[tuple[str, str]]:
    return HOME if visitor.grower is None else [("your own page", "/cane/own")]


def _file(name: str, headers: list[str], rows: Any) -> Response:
    text = io.StringIO()
    writer = csv.writer(text)
    writer.writerow(headers)
    writer.writerows(rows)
    disposition = {"content-disposition": f'attachment; filename="{name.encode("ascii", "replace").decode()}"'}
    return Response(text.getvalue(), media_type="text/csv; charset=utf-8", headers=disposition)


def own_page(desk: Desk, request: Request) -> Response:
    """To the signed-in grower's own page; the office to its own."""
    visitor = _visitor(request)
    if visitor.grower is None:
        return RedirectResponse("/cane", 303)
    return RedirectResponse(f"/cane/growers/{visitor.grower}", 303)


# --- signing in -------------------------------------------------------------------------------------------------------


def sign_in_page(desk: Desk, request: Request) -> Response:
    """The form that takes a key."""
    return desk.page("sign_in.html", visitor=Visitor("nobody", ""), refusal="")


async def sign_in(desk: Desk, request: Request) -> Response:
    """A key typed: to the grower's own page, or the form again."""
    form = await request.form()
    visitors: Visitors = request.app.state.visitors
    response = RedirectResponse("/cane/own", 303)
    if visitors.sign_in(str(form.get("key", "")).strip(), response):
        return response
    return desk.page("sign_in.html", 403, visitor=Visitor("nobody", ""), refusal=WRONG_KEY)


async def sign_out(desk: Desk, request: Request) -> Response:
    """Sign out, and to the form."""
    response = RedirectResponse("/cane/sign-in", 303)
    Visitors.sign_out(response)
    return response
