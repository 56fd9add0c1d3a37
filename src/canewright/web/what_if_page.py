"""What if: settings and inputs of a day changed by slider or keyboard, every figure against the day as it is."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from markupsafe import Markup
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response

from canewright.accounts.what_if import MONEY, DayWhatIf
from canewright.plant.what_if import Answer, Bar, Difference
from canewright.store import StoreError
from canewright.web.chart import bars
from canewright.web.desk import Desk, NotHere
from canewright.web.words import change, given, number

REFUSED = 422
FIGURE, ADD = "figure", "add"
"""Fields of the form that are no settings: a setting's name has a full stop in it."""
ABOUT = 0.25
"""Part of a value by which the slider of a setting that is no handle reaches on each side."""
TICKS = 200
"""Places of a slider."""
MOST_TYPED = 40
"""Settings that one question may change."""


class Unreadable(ValueError):
    """Something typed that is no value; the message says what is accepted."""


@dataclass(frozen=True)
class Slider:
    """One setting on the page: what is typed, the day's value, and the ends of its slider."""

    setting: str
    says: str
    unit: str
    base: float
    typed: str
    low: float
    high: float
    step: float
    behind: str


@dataclass(frozen=True)
class Row:
    """A figure as the page shows it."""

    name: str
    unit: str
    base: str
    then: str
    change: str
    group: str


@dataclass(frozen=True)
class Shown:
    """An answer as the page shows it; ``refusal`` instead of one."""

    rows: tuple[Row, ...] = ()
    warnings: tuple[str, ...] = ()
    money: str = ""
    refusal: str = ""
    changed: Mapping[str, float] = field(default_factory=dict)


def what_if_page(desk: Desk, request: Request) -> Response:
    """The page; works without a script."""
    day, asked = _asked(desk, request)
    typed = _typed(request)
    shown = _shown(desk, asked, typed)
    figure = request.query_params.get(FIGURE, "") or (MONEY if MONEY in asked.figures else asked.figures[0])
    return _page(desk, day, asked, typed, shown, figure, request.query_params.get(ADD, "").strip())


def _page(
    desk: Desk, day: dt.date, asked: DayWhatIf, typed: Mapping[str, str], shown: Shown, figure: str, add: str = "",
    said: Mapping[str, str] | None = None,
) -> Response:  # fmt: skip
    lack = ""
    names = [h.setting for h in asked.handles]
    try:
        for name in [*typed, *([add] if add else [])]:
            names += [] if name in names else [asked.asked.variable(name).name]
    except ValueError as unknown:
        lack = str(unknown)
        names += [n for n in typed if n not in names and n in asked.asked.settings]
    told, drawn, fault = _tornado(desk, asked, figure)
    refusal = shown.refusal or lack or fault or (said or {}).get("refusal", "")
    return desk.page(
        "what_if.html", REFUSED if refusal else 200, day=day, sliders=[_slider(asked, n, typed) for n in names],
        shown=shown, refusal=refusal, figures=asked.figures, figure=figure, bars=told, drawn=drawn,
        settings=sorted(asked.asked.settings), trials=desk.books.store.trials(day), said=said or {},
        stand=desk.stand(day),
        FIGURE=FIGURE, ADD=ADD,
    )  # fmt: skip


def what_if_json(desk: Desk, request: Request) -> Response:
    """An answer as data, with what the page shows of it; 422 with the sentence where there is none."""
    day = desk.day(request.path_params["day"])
    asked = desk.what_if_at(request.query_params.get("stand", ""), day) or _asked(desk, request)[1]
    shown = _shown(desk, asked, _typed(request))
    if shown.refusal:
        return JSONResponse({"state": "refused", "sentence": shown.refusal}, REFUSED)
    rows = [vars(r) for r in shown.rows]
    return JSONResponse(
        {"state": "worked", "money": shown.money, "rows": rows, "warnings": list(shown.warnings),
         "changes": dict(shown.changed)}
    )  # fmt: skip


async def what_if_post(desk: Desk, request: Request) -> Response:
    """Keep the trial that is on the page."""
    async with request.form() as form:
        sent = {k: v for k, v in form.items() if isinstance(v, str)}
    return await run_in_threadpool(_keep, desk, request, sent)


def _keep(desk: Desk, request: Request, sent: Mapping[str, str]) -> Response:
    day, asked = _asked(desk, request)
    typed = {k: v for k, v in sent.items() if "." in k}
    try:
        answer = desk.asked(lambda: asked.ask(_changes(asked, typed)))
        kept = desk.books.keep_trial(day, desk.person, sent.get("name", ""), answer, sent.get("note", ""))
    except (ValueError, RuntimeError, StoreError) as lack:
        said = {"refusal": str(lack), "name": sent.get("name", ""), "note": sent.get("note", "")}
        return _page(desk, day, asked, typed, _shown(desk, asked, typed), MONEY if MONEY in asked.figures else
                     asked.figures[0], said=said)  # fmt: skip
    return RedirectResponse(f"/trials/{kept.id}", 303)


# --- what is asked ----------------------------------------------------------------------------------------------------


def _asked(desk: Desk, request: Request) -> tuple[dt.date, DayWhatIf]:
    day = desk.day(request.path_params["day"])
    if day not in desk.books.store.days():
        raise NotHere(f"Nothing is stored for {day}.", desk.known_days())
    return day, desk.what_if(day)


def _typed(request: Request) -> dict[str, str]:
    return {k: v.strip() for k, v in request.query_params.items() if "." in k}


def _changes(asked: DayWhatIf, typed: Mapping[str, str]) -> dict[str, float]:
    """What differs from the day's value. Raises Unreadable, or AdviceRefused for a name that is no setting."""
    if len(typed) > MOST_TYPED:
        raise Unreadable(f"found {len(typed)} settings; accepted: up to {MOST_TYPED} at once")
    found = {}
    for name, text in typed.items():
        variable = asked.asked.variable(name)
        base = asked.asked.base.values[name]
        if not text or text == given_as(base):
            continue
        try:
            value = float(text.replace("−", "-"))
        except ValueError:
            raise Unreadable(f"{name}: found '{text[:40]}'; accepted: a number in {variable.unit}") from None
        found[name] = value
    return found


def _shown(desk: Desk, asked: DayWhatIf, typed: Mapping[str, str]) -> Shown:
    try:
        changes = _changes(asked, typed)
        answer = desk.asked(lambda: asked.ask(changes)) if changes else None
    except (ValueError, RuntimeError) as lack:
        return Shown(refusal=str(lack))
    if answer is None:
        return Shown()
    rows = tuple(_row(r) for r in answer.rows if r.shows)
    return Shown(rows, answer.warnings, _money(answer), changed=changes)


def _row(r: Difference) -> Row:
    unit = "" if r.unit == "1" else r.unit
    return Row(
        r.name, unit, number(r.base, r.decimals), number(r.then, r.decimals), _told(r), r.group
    )  # fmt: skip


def _told(r: Difference) -> str:
    return change(r.change, r.uncertainty, r.decimals)


def _money(answer: Answer) -> str:
    row = next((r for r in answer.rows if r.name == MONEY), None)
    return "" if row is None else f"{_told(row)} $ a day"


def given_as(value: float) -> str:
    """A setting's value as it stands in its field."""
    return f"{value:.6g}"


def _slider(asked: DayWhatIf, name: str, typed: Mapping[str, str]) -> Slider:
    variable, base = asked.asked.variable(name), asked.asked.base.values[name]
    handle = next((h for h in asked.handles if h.setting == name), None)
    reach = ABOUT * abs(base) or variable.nominal
    low, high = (handle.low, handle.high) if handle else (base - reach, base + reach)
    low, high = max(min(low, base), variable.low), min(max(high, base), variable.high)
    behind = f"known from {handle.seen}" if handle and handle.seen else ""
    step = float(f"{(high - low) / TICKS:.1g}") or 1.0
    return Slider(name, variable.says, variable.unit, base, typed.get(name) or given_as(base), low, high, step, behind)


# --- what matters -----------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class BarShown:
    """A bar of what matters, as the table shows it."""

    setting: str
    says: str
    why: str
    span: str
    at_low: str
    at_high: str
    swing: str


def _tornado(desk: Desk, asked: DayWhatIf, figure: str) -> tuple[list[BarShown], Markup, str]:
    """The bars as a table and as a chart, or why there are none."""
    try:
        found: Sequence[Bar] = desk.tornado(asked, figure)
    except (ValueError, RuntimeError) as lack:
        return [], Markup(""), str(lack)
    told = next(t for t in asked.asked.told if t.name == figure)
    shown = [
        BarShown(
            b.setting, b.says, "its step" if b.why == "step" else "its 95 % interval",
            f"{_few(b.low)} to {_few(b.high)} {'' if b.unit == '1' else b.unit}".strip(),
            number(b.at_low, told.decimals + 1), number(b.at_high, told.decimals + 1),
            number(b.swing, told.decimals + 1),
        )
        for b in found
    ]  # fmt: skip
    unit = "" if told.unit == "1" else f", {told.unit}"
    drawn = bars([(b.setting, b.at_low, b.at_high) for b in found], asked.asked.value(figure), f"{figure}{unit}")
    return shown, drawn, ""


def _few(value: float) -> str:
    return given(float(f"{value:.4g}"))
