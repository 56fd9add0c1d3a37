"""The day's files, declared once: templates, the data dictionary and the checks on reading all come from here."""

from __future__ import annotations

import csv
import datetime as dt
import difflib
import math
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

from canewright.quantity import UnknownUnit, convert, unit
from canewright.store.records import QUALITIES

Kind = Literal["text", "number", "duplicate", "time", "quality", "date", "choice"]
PointFile = Literal["laboratory", "meters", "stocks"]
LONGEST_TEXT = 120
ATMOSPHERE = 101.325
"""Standard atmosphere, kPa (by definition)."""
_NUMBER = re.compile(r"[+-]?([0-9]+\.?[0-9]*|\.[0-9]+)([eE][+-]?[0-9]{1,3})?")
_DECIMAL_COMMA = re.compile(r"[+-]?[0-9]+,[0-9]+")
_THOUSANDS = re.compile(r"[+-]?[0-9]{1,3}([,' \u00a0\u202f][0-9]{3})+(\.[0-9]+)?")
_TIME = re.compile(
    r"[0-9]{4}-[0-9]{2}-[0-9]{2}[ T][0-9]{2}:[0-9]{2}(:[0-9]{2}(\.[0-9]{1,6})?)?(Z|[+-][0-9]{2}:?[0-9]{2})?"
)
_DATE = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")


class TemplatesRefused(Exception):
    """Templates cannot be written; the message says which file stands in the way."""


@dataclass(frozen=True)
class Expected:
    """A reading the plant description expects: in which file, of what, in which unit, plausible from low to high.

    A value above ``alarm`` speaks when it arrives; ``act`` says what is to be done then.
    """

    file: PointFile
    place: str
    quantity: str
    unit: str
    low: float
    high: float
    hint: str = ""
    alarm: float = math.inf
    act: str = ""


@dataclass(frozen=True)
class Problem:
    """What is wrong with one cell: what was found, what is accepted, what to do."""

    found: str
    accepted: str
    do: str


@dataclass(frozen=True)
class Column:
    """One column: its header is the name and, where there is one, the unit. ``blank`` says when it may be empty."""

    name: str
    kind: Kind
    says: str
    unit: str = ""
    low: float = -math.inf
    high: float = math.inf
    blank: Literal["never", "when bad or missing", "when not known"] = "never"
    example: str = ""
    choices: tuple[str, ...] = ()

    @property
    def header(self) -> str:
        """The header in the file, such as ``gross, t``."""
        return f"{self.name}, {self.unit}" if self.unit else self.name

    @property
    def accepted(self) -> str:
        """What the column accepts, in words."""
        return {
            "text": f"a name of up to {LONGEST_TEXT} characters",
            "number": f"a number{limits_in_words(self.low, self.high, self.unit)}",
            "duplicate": "0 for a single determination, 1 or 2 for duplicates",
            "time": "a local date and time such as 2026-07-14 06:30",
            "quality": f"one of {', '.join(QUALITIES)}",
            "date": "a date such as 2026-07-14",
            "choice": f"one of {', '.join(self.choices)}",
        }[self.kind]

    def read(self, text: str) -> Any:
        """The value of a cell: text, number or None when blank; a Problem when it is not accepted."""
        if not text:
            if self.blank != "never":
                return None
            return Problem("nothing", self.accepted, "fill in the cell")
        return _READERS[self.kind](self, text)


def limits_in_words(low: float, high: float, unit_symbol: str) -> str:
    """`` from 5 to 30 %``, with what is known of it."""
    after = f" {unit_symbol}" if unit_symbol else ""
    if math.isinf(low) and math.isinf(high):
        return f" in{after}" if after else ""
    return f" from {low:g} to {high:g}{after}"


@dataclass(frozen=True)
class FileFormat:
    """One file of the day. ``grace_hours`` is how long after the cut a time may still belong to the day."""

    name: str
    says: str
    columns: tuple[Column, ...]
    required: bool = False
    at_the_cut: Literal["next day", "this day"] = "this day"
    grace_hours: int = 0

    @property
    def headers(self) -> tuple[str, ...]:
        """The header row."""
        return tuple(column.header for column in self.columns)


def read_number(text: str) -> float | Problem:
    """A finite number written with a decimal point and no thousands separators, or what is wrong with it."""
    if _NUMBER.fullmatch(text):
        value = float(text)
        if math.isfinite(value):
            return value
    return Problem(f"'{shown(text)}'", "a number such as 1234.5", _number_hint(text))


def _number_hint(text: str) -> str:
    plain = re.sub(r"[,' \u00a0\u202f]", "", text)
    if _THOUSANDS.fullmatch(text):
        if _DECIMAL_COMMA.fullmatch(text):
            comma = text.replace(",", ".")
            return f"write {plain} without a thousands separator, or {comma} with a decimal point if the comma is one"
        return f"write {plain} without thousands separators"
    if _DECIMAL_COMMA.fullmatch(text):
        return f"write {text.replace(',', '.')} with a decimal point instead of the comma"
    if text.lower().lstrip("+-") in {"nan", "inf", "infinity", "n/a", "na", "-", "none", "null"}:
        return "leave the cell empty and give the quality as missing"
    return "give the number alone, without unit or remark"


def _read_ranged(column: Column, text: str) -> float | Problem:
    value = read_number(text)
    if isinstance(value, Problem) or column.low <= value <= column.high:
        return value
    hint = range_hint(value, column.low, column.high, column.unit, "")
    return Problem(f"{text} {column.unit}".strip(), column.accepted, hint)


def _read_text(column: Column, text: str) -> str | Problem:
    if len(text) <= LONGEST_TEXT and text.isprintable():
        return text
    return Problem(f"'{shown(text)}'", column.accepted, "write it in plain characters on one line")


def _read_choice(column: Column, text: str) -> str | Problem:
    if text in QUALITIES:
        return text
    return Problem(f"'{shown(text)}'", column.accepted, "write one of these words, in small letters")


def _read_one_of(column: Column, text: str) -> str | Problem:
    if text in column.choices:
        return text
    near = difflib.get_close_matches(text, column.choices, 1)
    hint = f"did you mean {near[0]}" if near else "write one of these words as they stand"
    return Problem(f"'{shown(text)}'", column.accepted, hint)


def _read_date(column: Column, text: str) -> dt.date | Problem:
    if _DATE.fullmatch(text):
        try:
            return dt.date.fromisoformat(text)
        except ValueError:
            return Problem(f"'{text}'", column.accepted, "there is no such date; correct it")
    return Problem(f"'{shown(text)}'", column.accepted, "write year-month-day")


def _read_duplicate(column: Column, text: str) -> int | Problem:
    if text in {"0", "1", "2"}:
        return int(text)
    return Problem(f"'{shown(text)}'", column.accepted, "write 0, 1 or 2")


def _read_time(column: Column, text: str) -> dt.datetime | Problem:
    if _TIME.fullmatch(text):
        try:
            return dt.datetime.fromisoformat(text)
        except ValueError:
            return Problem(f"'{text}'", column.accepted, "there is no such date or time; correct it")
    return Problem(f"'{shown(text)}'", column.accepted, "write year-month-day hour:minute")


_READERS: dict[Kind, Callable[[Column, str], Any]] = {
    "text": _read_text,
    "number": _read_ranged,
    "duplicate": _read_duplicate,
    "time": _read_time,
    "quality": _read_choice,
    "date": _read_date,
    "choice": _read_one_of,
}


def shown(text: str) -> str:
    """A cell as it can be shown in a sentence: short and printable."""
    plain = "".join(c if c.isprintable() else "?" for c in text)
    return plain if len(plain) <= 60 else f"{plain[:57]}..."


def unit_problem(value: float | None, found: str, wanted: str) -> Problem:
    """What is wrong with a value in another unit than the wanted one, with the converted value where there is one."""
    what = f"'{shown(found)}'"
    if is_pressure(wanted) and re.search(r"vac|gauge|gage|\(g\)|\bg$|barg", found.lower()):
        return Problem(what, wanted, f"give absolute pressure in {wanted}: {absolute_in_words(wanted)}")
    try:
        factor = convert(1.0 if value is None else value, found, wanted)
    except (UnknownUnit, ValueError):
        return Problem(what, wanted, f"give the value in {wanted}")
    if value is None:
        return Problem(what, wanted, f"write the unit {wanted}")
    return Problem(f"{value:.12g} {found}", wanted, f"write {factor:.7g} and the unit {wanted}")


def is_pressure(symbol: str) -> bool:
    """Whether a unit measures pressure."""
    try:
        return unit(symbol).exponents == unit("kPa").exponents
    except UnknownUnit:
        return False


def absolute_in_words(symbol: str) -> str:
    """How absolute pressure follows from the gauge."""
    usual = convert(ATMOSPHERE, "kPa", symbol)
    return f"absolute pressure = barometer − vacuum (a usual barometer is {usual:.4g} {symbol})"


def range_hint(value: float, low: float, high: float, symbol: str, otherwise: str) -> str:
    """What a value outside its plausible range looks like, and what to do about it."""
    if symbol.startswith("%") and 0 < value <= 1 and low <= 100 * value <= high:
        return f"{value:g} looks like a fraction; write {100 * value:g}"
    if is_pressure(symbol):
        atmosphere = convert(ATMOSPHERE, "kPa", symbol)
        absolute = atmosphere - abs(value)
        about = f", which gives about {absolute:.3g} {symbol}" if low <= absolute <= high else ""
        if value < low or about:
            return f"this looks like vacuum or gauge pressure: {absolute_in_words(symbol)}{about}"
    if low <= value / 1000 <= high:
        return f"this is 1000 times too large; if it is in a smaller unit write {value / 1000:g}"
    if value and low <= value * 1000 <= high:
        return f"this is 1000 times too small; if it is in a larger unit write {value * 1000:g}"
    return otherwise or "look at the instrument or the slip again; a value known to be wrong has the quality bad"


def _text(name: str, says: str, example: str) -> Column:
    return Column(name, "text", says, example=example)


_QUALITY = Column("quality", "quality", "whether the value may be used", example="good")
_BY = _text("by", "who took the reading", "shift chemist")
_VALUE = Column("value", "number", "the value in the unit beside it", blank="when bad or missing")
_UNIT = _text("unit", "the unit of the value, as in the plant description", "%")
_WHEN_BLANK: Literal["when bad or missing"] = "when bad or missing"

DELIVERIES = FileFormat(
    "deliveries.csv",
    "every consignment of cane tipped in the factory day, as weighed",
    (
        _text("ticket", "number of the consignment note; once a season", "1042"),
        _text("grower", "farm or grower's number", "farm 17"),
        _text("block", "block the cane was cut from", "17-3"),
        _text("fibre class", "class by which fibre is measured", "green late"),
        Column("tip time", "time", "when the consignment was tipped", example="2026-07-14 06:40"),
        Column("gross", "number", "weight with the vehicle or bins", "t", 0.5, 500.0, example="47.52"),
        Column("tare", "number", "weight of the vehicle or bins empty", "t", 0.0, 400.0, example="11.52"),
    ),
    at_the_cut="next day",
)
JUICE = FileFormat(
    "first-expressed-juice.csv",
    "first-expressed juice of each consignment; a load tipped before the cut may be sampled up to two hours after it",
    (
        _text("ticket", "number of the consignment note, as in deliveries.csv", "1042"),
        Column("sample time", "time", "when the juice was sampled", example="2026-07-14 06:55"),
        Column("refractometer brix", "number", "as read, before correction", "%", 5.0, 30.0, _WHEN_BLANK, "20.41"),
        Column("temperature", "number", "juice at the refractometer", "°C", 5.0, 60.0, _WHEN_BLANK, "27.5"),
        Column("polarimeter reading", "number", "undiluted, 200 mm", "°Z", 0.0, 130.0, _WHEN_BLANK, "75.20"),
        _QUALITY,
    ),
    grace_hours=2,
)
LABORATORY = FileFormat(
    "laboratory.csv",
    "the laboratory's determinations, one a row; a composite carries the end of its period as its time",
    (
        Column("time", "time", "when the sample was taken", example="2026-07-14 14:00"),
        _text("sample", "sample point, as in the plant description", "mixed juice"),
        _text("determination", "what was determined, as in the plant description", "pol"),
        Column("duplicate", "duplicate", "which of two determinations of one sample", example="0"),
        _VALUE,
        _UNIT,
        _QUALITY,
        _BY,
    ),
    required=True,
)
METERS = FileFormat(
    "meters.csv",
    "the day's meter readings, one a row",
    (
        Column("time", "time", "when the meter was read; a day's total carries the cut that ends it"),
        _text("meter", "tag, as in the plant description", "W2"),
        _VALUE,
        _UNIT,
        _QUALITY,
        _BY,
    ),
    required=True,
)
STOCKS = FileFormat(
    "stocks.csv",
    "closing stock of the day in every store and tank, one a row",
    (
        Column("time", "time", "when the stock was taken; the cut that ends the day is accepted"),
        _text("store", "store or tank, as in the plant description", "raw sugar store A"),
        _VALUE,
        _UNIT,
        _QUALITY,
        _BY,
    ),
)
HOURS = FileFormat(
    "hours.csv",
    "running hours and stops of each section, one period a row",
    (
        _text("section", "section of the plant", "mill"),
        Column("from", "time", "beginning of the period", example="2026-07-14 06:00"),
        Column("to", "time", "end of the period", example="2026-07-14 11:20"),
        _text("what", "'running', or the cause of the stop", "running"),
    ),
)
FORMATS: tuple[FileFormat, ...] = (DELIVERIES, JUICE, LABORATORY, METERS, STOCKS, HOURS)
PLACE_COLUMN: dict[str, str] = {LABORATORY.name: "sample", METERS.name: "meter", STOCKS.name: "store"}
"""The column that names the place, in the files with one determination a row."""


def write_templates(folder: Path, expected: Sequence[Expected]) -> tuple[Path, ...]:
    """Write an empty file of each format, with a row for every reading the plant description expects.

    Rows left untouched are passed over on reading. Raises TemplatesRefused rather than overwrite a file.
    """
    paths = [folder / each.name for each in FORMATS]
    there = [path.name for path in paths if path.exists()]
    if there:
        raise TemplatesRefused(
            f"{', '.join(there)} exist already in {folder}; nothing was written. Choose a new folder."
        )
    folder.mkdir(parents=True, exist_ok=True)
    for path, each in zip(paths, FORMATS, strict=True):
        with path.open("w", encoding="utf-8-sig", newline="") as file:  # the mark tells spreadsheets it is UTF-8
            rows = csv.writer(file)
            rows.writerow(each.headers)
            rows.writerows(_template_row(each, point) for point in expected if f"{point.file}.csv" == each.name)
    return tuple(paths)


def _template_row(form: FileFormat, point: Expected) -> list[str]:
    known = {
        PLACE_COLUMN[form.name]: point.place,
        "determination": point.quantity,
        "unit": point.unit,
        "duplicate": "0",
    }
    return [known.get(column.name, "") for column in form.columns]


def data_dictionary(forms: Sequence[FileFormat] = FORMATS) -> list[dict[str, Any]]:
    """Every file and column as plain data: header, unit, type, accepted range, meaning, example."""
    return [
        {
            "file": form.name,
            "says": form.says,
            "required": form.required,
            "columns": [
                {
                    "header": column.header,
                    "name": column.name,
                    "unit": column.unit,
                    "type": column.kind,
                    "low": None if math.isinf(column.low) else column.low,
                    "high": None if math.isinf(column.high) else column.high,
                    "accepted": column.accepted,
                    "may be empty": column.blank,
                    "says": column.says,
                    "example": column.example,
                }
                for column in form.columns
            ],
        }
        for form in forms
    ]
