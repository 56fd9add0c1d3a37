"""Pages that explain: the columns of the day's files, the formulas, and each formula worked on what is typed."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Any

from markupsafe import Markup
from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from canewright.accounts.cane_formats import CANE_FORMATS
from canewright.accounts.curve import Curve, curve
from canewright.accounts.formats import FORMATS, data_dictionary
from canewright.accounts.measuring import expected_points
from canewright.accounts.working import CannotWork, Worked, work
from canewright.quantity import CATALOGUE, Formula
from canewright.quantity.published import MOST_DIGITS, Check, published_checks
from canewright.quantity.searching import nearest, search
from canewright.quantity.synonyms import countries_of
from canewright.web.chart import chart
from canewright.web.desk import Desk, NotHere
from canewright.web.typeset import typeset
from canewright.web.words import upper_first

FILES = ("laboratory", "meters", "stocks")
OVER, ANSWER_UNIT = "chart-over", "answer-unit"
"""Fields of a formula's form that are not inputs; no input has a hyphen in its name."""
REFUSED = 422
LONGEST = 80
CAPITALS = {
    **{word.lower(): word for word in ("CCS", "SJM", "RRSB", "EU", "ICUMSA", "pH")},
    **{word: word.capitalize() for word in (
        "australian", "african", "boelter", "bubnik", "carp", "clerget", "deerr", "dessin", "dittus", "eynon",
        "florida", "gillis", "gundu", "herzfeld", "hugot", "india", "jackson", "jamaica", "java", "lane", "louisiana",
        "mittal",
        "norrish", "pearson", "prandtl", "queensland", "rao", "rein", "reynolds", "sieder", "south", "swedish", "tate",
        "thailand", "winter",
    )},
    "baume": "Baumé",
}  # fmt: skip
"""Words of names that are not written small."""
SUBJECTS = {"properties": "Properties of matter", "analysis": "Laboratory and factory control"}
"""What the parts of the program that declare formulas are about."""


def dictionary_page(desk: Desk, request: Request) -> Response:
    """Every file of a day, column by column, and the readings this plant expects."""
    points = expected_points(desk.books.description)
    expected = {file: [p for p in points if p.file == file] for file in FILES}
    return desk.page("dictionary.html", files=data_dictionary((*FORMATS, *CANE_FORMATS)), expected=expected)


def formulas_page(desk: Desk, request: Request) -> Response:
    """Every declared formula by subject, or those that a search by any word of the trade finds."""
    asked = " ".join(request.query_params.get("q", "").split())[:LONGEST]
    found = [each.formula for each in search(asked, CATALOGUE)] if asked else []
    listed = found if asked else [CATALOGUE[name] for name in sorted(CATALOGUE)]
    return desk.page(
        "formulas.html",
        asked=asked,
        subjects=_by_subject(listed),
        best=found[:1],
        count=len(listed),
        countries=countries_of(asked),
        nearby=nearest(asked, CATALOGUE) if asked and not found else [],
    )


def _by_subject(listed: list[Formula]) -> dict[str, dict[str, list[Formula]]]:
    """Formulas by part of the program and module, both in words."""
    subjects: dict[str, dict[str, list[Formula]]] = {}
    for formula in listed:
        part, _, module = formula.module.removeprefix("canewright.").partition(".")
        parts = subjects.setdefault(SUBJECTS.get(part, part), {})
        parts.setdefault(module.rpartition(".")[2].replace("_", " "), []).append(formula)
    return {subject: dict(sorted(parts.items())) for subject, parts in sorted(subjects.items())}


# --- one formula ------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Shown:
    """An answer as the page tells it; ``refused`` is the sentence instead of an answer."""

    amounts: tuple[str, ...] = ()
    unit: str = ""
    told: str = ""
    notes: tuple[str, ...] = ()
    svg: Markup = field(default_factory=Markup)
    over: str = ""
    span: str = ""
    rows: tuple[tuple[str, str], ...] = ()
    refused: str = ""

    def to_json(self) -> dict[str, Any]:
        """As plain data for the page's script."""
        return {
            "amounts": list(self.amounts), "unit": self.unit, "told": self.told, "notes": list(self.notes),
            "svg": str(self.svg), "over": self.over, "span": self.span, "rows": [list(row) for row in self.rows],
        }  # fmt: skip


def formula_page(desk: Desk, request: Request) -> Response:
    """One formula: equation, inputs that calculate, chart, source, caveat and example; works without a script."""
    formula = _formula(request)
    typed = _typed(request) or _example(formula)
    shown = _shown(formula, typed, request)[1]
    over = request.query_params.get(OVER, next(iter(formula.arguments)))
    return desk.page(
        "formula.html",
        REFUSED if shown.refused else 200,
        f=formula,
        title=titled(formula.name),
        equation=typeset(formula.equation),
        typed=dict(typed),
        shown=shown,
        over=over,
        answer_unit=request.query_params.get(ANSWER_UNIT, "")[:LONGEST],
        example=_example(formula),
        checks=[_checked(each) for each in published_checks(formula.name)],
        OVER=OVER,
        ANSWER_UNIT=ANSWER_UNIT,
    )


def formula_work(desk: Desk, request: Request) -> Response:
    """A formula's answer as data, with what the page shows of it; 422 with the sentence where it cannot be worked."""
    name = request.path_params["name"]
    formula = CATALOGUE.get(name)
    answer, shown = _shown(formula or name, _typed(request), request)
    if answer is None:
        return JSONResponse({"state": "refused", "sentence": shown.refused}, REFUSED)
    return JSONResponse({"state": "worked", **answer.to_json(), "shown": shown.to_json()})


def _checked(check: Check) -> dict[str, str]:
    """A published check as the cells of its row; what does not close says why."""
    found = check.digits()
    closes = "" if check.should_close else f"does not close: {check.reason}"
    return {
        "inputs": ", ".join(f"{_words(name)} {each}" for name, each in check.inputs.items()),
        "expected": str(check.expected),
        "ours": f"{check.ours():.6g}",
        "digits": "9 or more" if found >= MOST_DIGITS else f"{found:.1f}",
        "source": f"{check.source} ({check.status})",
        "note": "; ".join(each for each in (closes, check.note) if each),
    }


def _formula(request: Request) -> Formula:
    name = request.path_params["name"]
    if name not in CATALOGUE:
        near = nearest(name, CATALOGUE, 5)
        known = [(each.replace("_", " "), f"/formulas/{each}") for each in near]
        raise NotHere(f"No formula is called '{name[:LONGEST]}'.", [*known, ("every formula", "/formulas")])
    return CATALOGUE[name]


def _typed(request: Request) -> list[tuple[str, str]]:
    return [(k, v) for k, v in request.query_params.multi_items() if k not in {OVER, ANSWER_UNIT}]


def _example(formula: Formula) -> list[tuple[str, str]]:
    """The worked example as it would be typed."""
    return [(name, f"{value:.12g}") for name, value in formula.example.items()]


def _shown(formula: Formula | str, typed: list[tuple[str, str]], request: Request) -> tuple[Worked | None, Shown]:
    """The answer, None where it is refused, and what is shown."""
    name = formula if isinstance(formula, str) else formula.name
    wanted = request.query_params.get(ANSWER_UNIT, "").strip() or None
    try:
        answer = work(name, typed, wanted)
        drawn = curve(answer, request.query_params.get(OVER, answer.inputs[0].name))
    except CannotWork as refused:
        return None, Shown(refused=str(refused))
    return answer, _told(answer, drawn)


def _told(answer: Worked, drawn: Curve) -> Shown:
    half = answer.half_width
    amounts = tuple(amount(float(v), None if half is None else float(half[i])) for i, v in enumerate(answer.values))
    unit = "" if answer.unit == "1" else answer.unit
    own = answer.formula.result.unit
    over = f"{_words(drawn.over)}{_comma(drawn.declared.unit)}"
    rows = tuple((f"{x:.6g}", "no value" if y is None else f"{y:.6g}") for x, y in drawn.rows())
    return Shown(
        amounts, unit, _spread_told(answer, unit), answer.notes,
        chart(drawn, over, f"{_words(answer.formula.name)}{_comma(own)}"), over,
        "" if drawn.whole else f"Shown up to {drawn.x[-1]:.4g}; the formula holds from {drawn.declared.low:g} to "
        f"{drawn.declared.high:g}.", rows,
    )  # fmt: skip


def _spread_told(answer: Worked, unit: str) -> str:
    """The standard uncertainty and what it is owed to, in a sentence; nothing where no input has one."""
    if answer.standard is None or answer.shares is None:
        return ""
    said = f"± is half of a 95 % interval; standard uncertainty {answer.standard[0]:.3g} {unit}".rstrip()
    if len(answer.values) > 1:
        return f"{said} for the first."
    ranked = sorted(((float(v[0]), k) for k, v in answer.shares.items()), reverse=True)
    shares = ", ".join(f"{_words(name)} {100 * share:.1f} %" for share, name in ranked if abs(share) > 0.0005)
    return f"{said}; of the variance: {shares}." if shares else f"{said}."


def _words(name: str) -> str:
    return name.replace("_", " ")


def _comma(symbol: str) -> str:
    return "" if symbol == "1" else f", {symbol}"


def titled(name: str) -> str:
    """A formula's name as a heading: capitals for abbreviations and for names of people and countries."""
    words = [CAPITALS.get(word, word) for word in name.split("_")]
    return " ".join([upper_first(words[0]), *words[1:]]) if words[0] != "pH" else " ".join(words)


def amount(value: float, half: float | None) -> str:
    """A value to six figures, or to two figures of its half-width."""
    if half is None or not math.isfinite(half) or half <= 0:
        return f"{value:.6g}".replace("-", "−")
    decimals = 1 - math.floor(math.log10(half))
    shown, wide = (f"{round(each, decimals) + 0.0:.{max(decimals, 0)}f}" for each in (value, half))
    return f"{shown} ± {wide}".replace("-", "−")
