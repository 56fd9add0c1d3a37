"""Kept trials: all of them, one with its notes, several side by side, and as files."""

from __future__ import annotations

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import PlainTextResponse, RedirectResponse, Response

from canewright.accounts.trials import Compared, compared, trials_csv, trials_json
from canewright.store import StoreError, Trial, UnknownTrial
from canewright.web.desk import Desk, NotHere
from canewright.web.words import change

REFUSED = 422
FORMS = {".csv": (trials_csv, "text/csv"), ".json": (trials_json, "application/json")}


def trials_page(desk: Desk, request: Request) -> Response:
    """Every kept trial."""
    return desk.page("trials.html", trials=desk.books.store.trials(), refusal="")


def trials_file(desk: Desk, request: Request) -> Response:
    """Every kept trial as CSV or JSON, to be saved."""
    write, kind = FORMS["." + request.url.path.rpartition(".")[2]]
    name = request.url.path.rpartition("/")[2]
    headers = {"content-disposition": f'attachment; filename="{name}"'}
    return PlainTextResponse(write(desk.books.store.trials()), media_type=kind, headers=headers)


def compare_page(desk: Desk, request: Request) -> Response:
    """Trials side by side; 422 where fewer than two are chosen."""
    numbers = list(dict.fromkeys(request.query_params.getlist("trial")))
    if len(numbers) < 2:
        refusal = "Choose two trials or more to compare."
        return desk.page("trials.html", REFUSED, trials=desk.books.store.trials(), refusal=refusal)
    chosen = [_trial(desk, number) for number in numbers]
    return desk.page("compared.html", trials=chosen, rows=compared(chosen), change=_told)


def trial_page(desk: Desk, request: Request) -> Response:
    """One kept trial as it was answered."""
    return _page(desk, _trial(desk, request.path_params["number"]))


def _page(desk: Desk, trial: Trial, refusal: str = "", text: str = "") -> Response:
    status = REFUSED if refusal else 200
    rows = compared([trial])
    return desk.page("trial.html", status, trial=trial, rows=rows, change=_told, refusal=refusal, text=text)


async def trial_post(desk: Desk, request: Request) -> Response:
    """Add a note."""
    async with request.form() as form:
        text = form.get("note", "")
    number = request.path_params["number"]
    return await run_in_threadpool(_note, desk, number, text if isinstance(text, str) else "")


def _note(desk: Desk, number: str, text: str) -> Response:
    trial = _trial(desk, number)
    try:
        desk.books.store.note_trial(trial.id, desk.person, text)
    except StoreError as refused:
        return _page(desk, trial, str(refused), text)
    return RedirectResponse(f"/trials/{trial.id}#notes", 303)


def _trial(desk: Desk, number: str) -> Trial:
    """A trial by what an address says. Raises NotHere with the latest ones."""
    try:
        return desk.books.store.trial(int(number) if number.isascii() and number.isdigit() else 0)
    except (UnknownTrial, OverflowError):
        latest = [(f"trial {t.id}: {t.name}", f"/trials/{t.id}") for t in desk.books.store.trials()[:14]]
        raise NotHere(f"No trial '{number[:20]}' is kept.", latest) from None


def _told(row: Compared, which: int) -> str:
    """What a trial changes of a figure, with its interval."""
    found = row.changes[which]
    return "no value" if found is None else change(*found, row.decimals)
