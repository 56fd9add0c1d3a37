"""The statement on paper: set without network or system fonts, the same bytes each time, every figure on it."""

from __future__ import annotations

import datetime as dt
import json
import os
import re
import subprocess
import sys
import zlib
from dataclasses import replace
from pathlib import Path

import pytest

from cane.agreements import agreement, three_weeks
from canewright.cane.deliveries import Deliveries
from canewright.cane.pay_run import History, compute
from canewright.cane.statements import Statement, statements
from canewright.reports.statement_pdf import StatementPrinter

MOMENT = dt.datetime(2031, 6, 9, 8, 0, tzinfo=dt.UTC)
STATUS = "closed by accountant; approved by cane supply officer and accountant"


@pytest.fixture(scope="module")
def statement() -> Statement:
    """A grower's statement with a fall-back on it."""
    rows = three_weeks()
    rows[0] = replace(rows[0], marks=("CCS is the mean of the same grower and block on the day (rung 2)",))
    return dict(statements(compute(agreement("additive"), Deliveries.of(rows), History())))["Heron Flats"]


def test_the_same_statement_prints_the_same(statement: Statement) -> None:
    one = StatementPrinter("Ostrimere Mill").pdf(statement, STATUS, MOMENT)
    again = StatementPrinter("Ostrimere Mill").pdf(statement, STATUS, MOMENT)
    assert one == again
    assert one.startswith(b"%PDF-1.")
    assert b"D:20310609" in one


def test_only_fonts_of_the_library_are_used_and_they_are_in_the_paper(statement: Statement) -> None:
    made = StatementPrinter("Ostrimere Mill").pdf(statement, STATUS, MOMENT)
    text = made + b"".join(_streams(made))
    names = set(re.findall(rb"/BaseFont\s*/([A-Z]{6}\+[A-Za-z0-9-]+)", text))
    assert names
    assert all(b"LibertinusSerif" in name for name in names), names


def _streams(made: bytes) -> list[bytes]:
    """The packed parts of a PDF, unpacked where they are packed."""
    found = []
    for packed in re.findall(rb"stream\r?\n(.*?)\r?\nendstream", made, re.DOTALL):
        try:
            found.append(zlib.decompress(packed))
        except zlib.error:
            continue
    return found


def test_the_pages_are_not_blank_and_follow_the_figures(statement: Statement) -> None:
    printer = StatementPrinter("Ostrimere Mill")
    pages = printer.pictures(statement, STATUS, MOMENT)
    assert pages
    assert all(page.startswith(b"\x89PNG") for page in pages)
    other = dict(statement) | {"payable": "1.00", "account": [["payable now", "1.00", "$"]]}
    assert printer.pictures(other, STATUS, MOMENT) != pages


def test_a_statement_without_consignments_and_odd_names(statement: Statement) -> None:
    odd = dict(statement) | {
        "grower": 'Ökologie "#let x" & Söhne $1 \\',
        "lines": [],
        "marks": [],
        "schemes": [],
        "means": [],
    }
    assert StatementPrinter("Ostrimere Mill").pdf(odd, STATUS, MOMENT).startswith(b"%PDF")


def test_nothing_is_fetched(statement: Statement, tmp_path: Path) -> None:
    """In a process that may not open a connection the statement prints all the same."""
    file = tmp_path / "statement.json"
    file.write_text(json.dumps(statement), encoding="utf-8")
    program = f"""
import datetime as dt, json, socket
def refuse(*_: object, **__: object) -> None:
    raise AssertionError("a connection was opened")
socket.socket.connect = refuse
from canewright.reports.statement_pdf import StatementPrinter
told = json.loads(open({str(file)!r}, encoding="utf-8").read())
made = StatementPrinter("mill").pdf(told, "preview", dt.datetime(2031, 6, 9, tzinfo=dt.UTC))
assert made.startswith(b"%PDF")
"""
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join(sys.path), "TYPST_PACKAGE_CACHE_PATH": str(tmp_path)}
    done = subprocess.run([sys.executable, "-c", program], env=environment, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    template = (Path(sys.modules["canewright"].__path__[0]) / "reports" / "statement.typ").read_text(encoding="utf-8")
    assert "#import" not in template
    assert "@preview" not in template
