"""A grower's statement as PDF, set by Typst with the fonts inside its library; nothing is fetched from anywhere."""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any, Literal

import typst

TEMPLATE = Path(__file__).with_name("statement.typ")
HEAD_WEIGHT = 0.6
"""Part of a head's length that its column must have: heads may break into two lines."""


class StatementPrinter:
    """Prints statements one after another; what is set once is kept for the next."""

    def __init__(self, site: str) -> None:
        """``site`` is the mill's name as it stands on the paper."""
        self._site = site
        self._template = TEMPLATE.read_bytes()
        self._compiler = typst.Compiler(self._template, font_paths=_fonts(), ignore_system_fonts=True)

    def pdf(self, statement: Mapping[str, Any], status: str, moment: dt.datetime) -> bytes:
        """The statement as PDF; ``moment`` is written into it as its time of making, so that it prints the same again.

        Raises RuntimeError when it cannot be set.
        """
        found = self._set(statement, status, moment, "pdf")
        return found if isinstance(found, bytes) else b"".join(found)

    def pictures(self, statement: Mapping[str, Any], status: str, moment: dt.datetime) -> list[bytes]:
        """The pages of the statement as PNG pictures."""
        found = self._set(statement, status, moment, "png")
        return [found] if isinstance(found, bytes) else found

    def _set(
        self, statement: Mapping[str, Any], status: str, moment: dt.datetime, kind: Literal["pdf", "png"]
    ) -> bytes | list[bytes]:
        given = {
            "statement": json.dumps(statement, ensure_ascii=False),
            "widths": json.dumps(_widths(statement)),
            "site": self._site,
            "status": status,
        }
        found = self._compiler.compile(
            self._template, sys_inputs=given, format=kind, timestamp=int(moment.timestamp()), ppi=110
        )
        if found is None:
            raise RuntimeError("the statement was set but nothing came back")
        return found


@cache
def _fonts() -> typst.Fonts:
    return typst.Fonts(include_system_fonts=False, include_embedded_fonts=True)


def _widths(statement: Mapping[str, Any]) -> list[float]:
    """Widths of the columns by their longest text, which spares the setter measuring every cell."""
    lines = statement["lines"]
    return [
        max(HEAD_WEIGHT * len(head), *(len(line[i]) for line in lines)) if lines else 1.0
        for i, head in enumerate(statement["heads"])
    ]
