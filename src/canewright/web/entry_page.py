"""Keyboard entry of a shift's readings: a grid whose rows are saved as they are left."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response

from canewright.store import StoreError
from canewright.web.desk import Desk
from canewright.web.duplicates import differences
from canewright.web.entering import (
    COLUMNS,
    Entry,
    GridRow,
    Moment,
    RowRefused,
    factory_day,
    grid,
    moment_of,
    shift_ends,
    store_row,
)
from canewright.web.words import path

NOT_UNDERSTOOD = (
    "The entry could not be read and was not stored; accepted: one row of the entry page. Open the page again and "
    "enter the row there."
)


def entry_page(desk: Desk, request: Request) -> Response:
    """The grid for one time of a factory day."""
    day = factory_day(desk.books, desk.day(request.path_params["day"]))
    asked = request.query_params.get("time")
    refusal, status = "", 200
    moment = _usual(desk, day)
    if asked:
        try:
            moment = moment_of(day, asked)
        except RowRefused as refused:
            refusal, status = str(refused), 422
    return _page(desk, moment, status, refusal)


def _usual(desk: Desk, day: Any) -> Moment:
    """The shift that is being worked, or the last one of another day."""
    ends = shift_ends(day)
    return next((m for m in ends if day.start <= desk.now() <= m.local), ends[-1])


def _page(
    desk: Desk, moment: Moment, status: int = 200, refusal: str = "", refused: tuple[Entry, str] | None = None
) -> Response:
    rows = grid(desk.books, moment)
    day = moment.day.day
    stored = {r.taken_at for r in desk.books.store.readings(day) if (r.place, r.quantity) in _points(rows)}
    times = {m.text: "shift end" for m in shift_ends(moment.day)}
    for when in sorted(stored):
        times.setdefault(f"{when.astimezone(moment.day.zone):%H:%M}", "readings stored")
    times.setdefault(moment.text, "chosen")
    return desk.page(
        "entry.html", status, day=day, moment=moment, rows=rows, differences=_said(desk, rows),
        times=times, refusal=refusal, refused=refused, closed=desk.books.store.is_closed(day),
    )  # fmt: skip


def _said(desk: Desk, rows: list[GridRow]) -> dict[int, str]:
    """What stands below each row: a reading above its limit before all else, else how duplicates differ."""
    return {**differences(desk.books.description, rows), **{row.number: row.alarm for row in rows if row.alarm}}


def _points(rows: list[GridRow]) -> set[tuple[str, str]]:
    return {(row.point.place, row.point.quantity) for row in rows}


async def entry_post(desk: Desk, request: Request) -> Response:
    """A row left: JSON from the script, or a form from a browser without it."""
    body = await request.body()
    kind = request.headers.get("content-type", "").partition(";")[0].strip()
    if kind == "application/json":
        return await run_in_threadpool(_save_json, desk, request.path_params["day"], body)
    if kind == "application/x-www-form-urlencoded":
        async with request.form() as form:
            given = {k: v for k, v in form.items() if isinstance(v, str)}
        return await run_in_threadpool(_save_form, desk, request.path_params["day"], given)
    return JSONResponse({"state": "refused", "sentence": NOT_UNDERSTOOD}, 415)


def _entry(given: Mapping[str, Any]) -> Entry:
    """A row from plain texts. Raises RowRefused when something is not a text or is lacking."""
    wanted = ["place", "quantity", "reason", *(f"{part}{column}" for part in ("value", "key") for column in COLUMNS)]
    texts = {name: given.get(name, "") for name in wanted}
    if not all(isinstance(text, str) for text in texts.values()):
        raise RowRefused(NOT_UNDERSTOOD)
    return Entry(
        texts["place"], texts["quantity"], {c: texts[f"value{c}"] for c in COLUMNS},
        {c: texts[f"key{c}"] for c in COLUMNS}, texts["reason"],
    )  # fmt: skip


def _moment(desk: Desk, day: str, given: Mapping[str, Any]) -> Moment:
    return moment_of(factory_day(desk.books, desk.day(day)), str(given.get("time", "")))


def _save_json(desk: Desk, day: str, body: bytes) -> Response:
    try:
        given = json.loads(body)
    except (ValueError, RecursionError):
        given = None
    if not isinstance(given, dict):
        return JSONResponse({"state": "refused", "sentence": NOT_UNDERSTOOD}, 422)
    try:
        moment = _moment(desk, day, given)
        entry = _entry(given)
        row = store_row(desk.books, moment, entry, desk.person)
    except (RowRefused, StoreError) as refused:
        return JSONResponse({"state": "refused", "sentence": str(refused)}, 422)
    said = _said(desk, grid(desk.books, moment))
    cells = [
        {"column": c.column, "text": c.text, "key": c.key, "saved": c.reading is not None, "former": list(c.former)}
        for c in row.cells
    ]
    sentence = "Saved." if row.saved else "Nothing to save."
    differing = {str(number): words for number, words in said.items()}
    state = "saved" if row.saved else "empty"
    return JSONResponse({"state": state, "sentence": sentence, "cells": cells, "differences": differing})


def _save_form(desk: Desk, day: str, given: Mapping[str, str]) -> Response:
    named = desk.day(day)
    try:
        moment = _moment(desk, day, given)
    except RowRefused as refused:
        return _page(desk, _usual(desk, factory_day(desk.books, named)), 422, str(refused))
    try:
        entry = _entry(given)
        row = store_row(desk.books, moment, entry, desk.person)
    except (RowRefused, StoreError) as refused:
        return _page(desk, moment, 422, "", (_entry(given), str(refused)))
    return RedirectResponse(f"/day/{named}/entry?time={path(moment.text)}#row-{row.number}", 303)
