"""Reads a workbook by its standard (ECMA-376): sheets by name, cells as text or number."""

from __future__ import annotations

import io
import zipfile
from xml.etree import ElementTree as ET

MAIN = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"


def sheets(made: bytes) -> dict[str, list[list[str | float]]]:
    """Every sheet of a workbook, row by row."""
    with zipfile.ZipFile(io.BytesIO(made)) as parts:
        shared = [
            "".join(t.text or "" for t in item.iter(f"{MAIN}t"))
            for item in ET.fromstring(parts.read("xl/sharedStrings.xml"))
        ]
        names = [s.attrib["name"] for s in ET.fromstring(parts.read("xl/workbook.xml")).iter(f"{MAIN}sheet")]
        return {
            name: _rows(parts.read(f"xl/worksheets/sheet{number}.xml"), shared)
            for number, name in enumerate(names, start=1)
        }


def _rows(text: bytes, shared: list[str]) -> list[list[str | float]]:
    rows = []
    for row in ET.fromstring(text).iter(f"{MAIN}row"):
        cells: list[str | float] = []
        for cell in row.iter(f"{MAIN}c"):
            value = cell.findtext(f"{MAIN}v") or ""
            cells.append(shared[int(value)] if cell.attrib.get("t") == "s" else float(value))
        rows.append(cells)
    return rows
