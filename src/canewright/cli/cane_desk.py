"""What the commands of the cane office share: the books, days, changes typed as field=value, tables and files."""

from __future__ import annotations

import contextlib
import csv
import datetime as dt
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer
from rich.table import Table

from canewright.cli.desk import open_books, out
from canewright.cli.handbook import refuse_input

if TYPE_CHECKING:
    import polars as pl

    from canewright.accounts.books import Books

Business = Annotated[Path, typer.Option("--business", help="folder of the business")]
By = Annotated[str | None, typer.Option("--by", help="who does this; else this machine's account name")]
First = Annotated[str | None, typer.Option("--from", help="first factory day; else the first stored")]
Last = Annotated[str | None, typer.Option("--to", help="last factory day; else the last stored")]
Reason = Annotated[str, typer.Option("--reason", help="why")]
Ticket = Annotated[str, typer.Argument(help="number of the consignment note")]
ToFile = Annotated[Path | None, typer.Option("--csv", help="write to this file instead of the screen")]
DEMO = Path("demo-business")
SHOWN = 60
"""Rows printed before the rest is only counted; --csv writes all."""


@contextlib.contextmanager
def office(business: Path) -> Iterator[Books]:
    """The books; every refusal about cane in its sentence, with exit code 2 and nothing changed."""
    from canewright.accounts.cane_registers import RegisterRefused
    from canewright.accounts.cane_season import CaneRefused
    from canewright.accounts.faults import IntakeErrors
    from canewright.cane.fall_back import NoSampleAtAll
    from canewright.store import StoreError

    with open_books(business) as books:
        try:
            yield books
        except IntakeErrors as errors:
            listed = "\n".join(f"  {row}" for row in errors.rows)
            more = f"\n  ... and {errors.total - len(errors.rows)} more" if errors.total > len(errors.rows) else ""
            refuse_input(f"nothing was stored; {errors.total} bad row(s):\n{listed}{more}")
        except (CaneRefused, RegisterRefused, NoSampleAtAll, StoreError) as refused:
            refuse_input(str(refused))
        except OSError as trouble:
            refuse_input(f"{trouble.filename}: {trouble.strerror}; check the path")


def day_typed(text: str | None, otherwise: dt.date) -> dt.date:
    """A day as typed; ``otherwise`` where nothing was."""
    if text is None:
        return otherwise
    try:
        return dt.date.fromisoformat(text)
    except ValueError:
        refuse_input(f"day: found '{text[:40]}'; accepted: a date such as 2031-08-14")


def days_typed(books: Books, first: str | None, last: str | None) -> tuple[dt.date, dt.date]:
    """First and last day as typed; else the first and last of which consignments are stored."""
    from canewright.accounts.cane_office import delivered_days

    if first is not None and last is not None:
        return day_typed(first, dt.date.min), day_typed(last, dt.date.max)
    stored = delivered_days(books.store)
    if stored is None:
        refuse_input("no consignments are stored; import them with: canewright cane import FILE")
    return day_typed(first, stored[0]), day_typed(last, stored[1])


def frame_of(books: Books, first: str | None, last: str | None) -> pl.DataFrame:
    """The deliveries of these days, analysed."""
    from canewright.accounts.cane_office import season_frame

    with out.status("analysing deliveries"):
        return season_frame(books, *days_typed(books, first, last))


def changes_typed(words: list[str] | None) -> dict[str, str]:
    """Changes typed as field=value."""
    made = {}
    for word in words or []:
        name, equals, value = word.partition("=")
        if not equals or not name.strip():
            refuse_input(f"--set: found '{word[:60]}'; accepted: field=value, such as area=12.5")
        made[name.strip()] = value
    return made


def print_table(title: str, columns: list[str], rows: list[list[str]]) -> None:
    """Print rows as a table; beyond a screenful they are only counted."""
    table = Table(title=title, title_justify="left", box=None, pad_edge=False)
    for name in columns:
        table.add_column(name, overflow="fold")
    for row in rows[:SHOWN]:
        table.add_row(*row)
    out.print(table)
    if len(rows) > SHOWN:
        out.print(f"... and {len(rows) - SHOWN} more; --csv FILE writes all")


def write_rows(path: Path, columns: list[str], rows: list[list[str]]) -> None:
    """Write rows to a CSV file that spreadsheets read as UTF-8."""
    with path.open("w", encoding="utf-8-sig", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(columns)
        writer.writerows(rows)
    out.print(f"wrote {path}, {len(rows)} rows", markup=False)


def shown(value: Any) -> str:
    """A value in a cell: up to three decimals, nothing where there is none."""
    if value is None:
        return ""
    return f"{value:.3f}".rstrip("0").rstrip(".") if isinstance(value, float) else str(value)
