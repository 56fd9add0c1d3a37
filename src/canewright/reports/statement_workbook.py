"""A grower's statement as a workbook: the payment, every consignment and every correction, numbers as numbers."""

from __future__ import annotations

import datetime as dt
import io
from collections.abc import Mapping, Sequence
from typing import Any

import xlsxwriter

WIDEST = 40


def statement_workbook(statement: Mapping[str, Any], site: str, status: str, moment: dt.datetime) -> bytes:
    """The statement as XLSX; ``moment`` is written into it as its time of making, so that it is made the same again."""
    kept = io.BytesIO()
    book = xlsxwriter.Workbook(kept, {"in_memory": True})
    book.set_properties({"title": _title(statement), "company": site, "created": moment.replace(tzinfo=None)})
    strong = book.add_format({"bold": True, "text_wrap": True, "valign": "top"})
    about = [
        ["Grower", statement["grower"], ""],
        ["Mill", site, ""],
        ["Season", statement["season"], ""],
        ["Run", "final settlement" if statement["final"] else str(statement["run"]), ""],
        ["Days", f"{statement['first']} to {statement['last']}", ""],
        ["Status", status, ""],
    ]
    uncertainty = statement["uncertainty"] or "no estimate of uncertainty"
    spread = ["standard uncertainty of the value, from CCS", uncertainty, statement["currency"]]
    _sheet(book, strong, "Payment", ["What", "Amount", "Unit"], [*about, *statement["account"], spread])
    totals = ["all", *(statement["totals"].get(head, "") for head in statement["heads"][1:])]
    _sheet(
        book, strong, "Consignments", statement["heads"], [*statement["lines"], totals] if statement["lines"] else []
    )
    _sheet(book, strong, "Remarks", ["Ticket", "Remark"], statement["marks"])
    money = f"Amount, {statement['currency']}"
    _sheet(book, strong, "Corrections", ["Period", "Ticket", "Day", money, "Reason"], statement["corrections"])
    _sheet(book, strong, "How it is made", ["Scheme", "What", "Value", "Unit"], _made(statement))
    book.close()
    return kept.getvalue()


def _title(statement: Mapping[str, Any]) -> str:
    return f"Statement {statement['season']}/{statement['run']}, {statement['grower']}"


def _made(statement: Mapping[str, Any]) -> list[list[str]]:
    rows = []
    for scheme in statement["schemes"]:
        rows += [[scheme["title"], step, "", ""] for step in scheme["steps"]]
        rows += [[scheme["title"], says, value, unit] for says, value, unit in scheme["constants"]]
        rows.append([scheme["title"], "relative payment", scheme["relative"], ""])
        rows.append([scheme["title"], "least price", scheme["least_price"], "$/t"])
        rows.append([scheme["title"], "source", scheme["source"], ""])
    for name, week, tonnes, mean, season, unit in statement["means"]:
        rows.append([name, f"cane of all in week {week}", tonnes, "t"])
        rows.append([name, f"mean of week {week}", mean, unit])
        rows.append([name, f"mean of the season against week {week}", season, unit])
    rows += [[name, "pool", money, "$"] for name, money, _, _ in statement["pools"]]
    rows += [["", rule, "", ""] for rule in statement["rules"]]
    return [*rows, ["", "rounding", statement["rounding"], ""]]


def _sheet(
    book: xlsxwriter.Workbook, strong: Any, name: str, heads: Sequence[str], rows: Sequence[Sequence[str]]
) -> None:
    """A sheet with its heads fixed; a text that is a number becomes one, with its own decimals."""
    sheet = book.add_worksheet(name)
    sheet.freeze_panes(1, 0)
    sheet.set_landscape()
    sheet.fit_to_pages(1, 0)
    sheet.repeat_rows(0)
    formats: dict[int, Any] = {}
    for column, head in enumerate(heads):
        sheet.write_string(0, column, head, strong)
        longest = max([len(head) // 2 + 2, *(len(row[column]) for row in rows)], default=10)
        sheet.set_column(column, column, min(longest + 2, WIDEST))
    for place, row in enumerate(rows, start=1):
        for column, text in enumerate(row):
            value = _number(text) if heads[column] not in {"Ticket", "Block", "Farm", "Day", "Period"} else None
            if value is None:
                sheet.write_string(place, column, text)
                continue
            decimals = len(text.partition(".")[2])
            if decimals not in formats:
                formats[decimals] = book.add_format({"num_format": "0." + "0" * decimals if decimals else "0"})
            sheet.write_number(place, column, value, formats[decimals])


def _number(text: str) -> float | None:
    if not text or not (text[0].isdigit() or text[0] == "-") or not text[-1].isdigit():
        return None
    try:
        return float(text)
    except ValueError:
        return None
