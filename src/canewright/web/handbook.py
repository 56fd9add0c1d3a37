"""Pages that explain: the columns of the day's files, and the formulas with their sources."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from canewright.accounts.formats import data_dictionary
from canewright.accounts.measuring import expected_points
from canewright.quantity import CATALOGUE
from canewright.web.desk import Desk

FILES = ("laboratory", "meters", "stocks")


def dictionary_page(desk: Desk, request: Request) -> Response:
    """Every file of a day, column by column, and the readings this plant expects."""
    points = expected_points(desk.books.description)
    expected = {file: [p for p in points if p.file == file] for file in FILES}
    return desk.page("dictionary.html", files=data_dictionary(), expected=expected)


def formulas_page(desk: Desk, request: Request) -> Response:
    """Every declared formula with units, source, status and caveat, by part of the program."""
    parts: dict[str, list[object]] = {}
    for name in sorted(CATALOGUE):
        formula = CATALOGUE[name]
        parts.setdefault(formula.module.rpartition(".")[2].replace("_", " "), []).append(formula)
    return desk.page("formulas.html", parts=dict(sorted(parts.items())))
