"""What every command needs: the business folder, the clock, the plant, and refusals in plain sentences."""

from __future__ import annotations

import contextlib
import datetime as dt
import getpass
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, NoReturn

import typer
from rich.console import Console

if TYPE_CHECKING:
    from canewright.accounts.books import Books
    from canewright.plant.plant import Plant

out = Console(highlight=False, soft_wrap=False)
trouble = Console(stderr=True, highlight=False)
PLANT_FILE = "plant.toml"


def now() -> dt.datetime:
    """The clock of this machine, in UTC."""
    return dt.datetime.now(tz=dt.UTC)


def person(given: str | None) -> str:
    """Who acts: as given, else the account name of this machine."""
    return given or getpass.getuser()


def refuse(message: str) -> NoReturn:
    """Say why not, and stop with code 1."""
    trouble.print(message, style=None, markup=False, soft_wrap=True)
    raise typer.Exit(1)


def day_of(text: str) -> dt.date:
    """A factory day from its ISO date."""
    try:
        return dt.date.fromisoformat(text)
    except ValueError:
        refuse(f"day: found '{text}'; accepted: a date such as 2031-08-14")


def read_plant(path: Path) -> Plant:
    """The plant of a description file, or a refusal that lists every fault."""
    from canewright.plant.description import DescriptionFaults
    from canewright.plant.plant import NotSquare, Plant

    if not path.is_file():
        refuse(f"plant description: {path} is not a file; give one with --plant")
    try:
        return Plant.read(path)
    except DescriptionFaults as faults:
        listed = "\n".join(f"  {f}" for f in faults.faults[:100])
        more = f"\n  and {len(faults.faults) - 100} more" if len(faults.faults) > 100 else ""
        refuse(f"{path} has {len(faults.faults)} fault(s):\n{listed}{more}")
    except NotSquare as mismatch:
        refuse(f"{path}: equations and unknowns do not match: {mismatch}")
    except UnicodeDecodeError:
        refuse(f"{path} is not text in UTF-8; save it as UTF-8")


@contextlib.contextmanager
def plain_refusals() -> Iterator[None]:
    """Turn every foreseen refusal into its sentence and exit code 1, without a traceback."""
    from canewright.accounts.books import BooksRefused
    from canewright.accounts.formats import TemplatesRefused
    from canewright.accounts.intake import IntakeErrors
    from canewright.engine.solve import NotSolved
    from canewright.store import StoreError

    try:
        yield
    except IntakeErrors as errors:
        listed = "\n".join(f"  {row}" for row in errors.rows)
        refuse(f"nothing was stored; {errors.total} fault(s) in the day's files:\n{listed}")
    except (BooksRefused, StoreError, TemplatesRefused, NotSolved) as refused:
        refuse(str(refused))


@contextlib.contextmanager
def open_books(business: Path, plant: Path | None = None) -> Iterator[Books]:
    """The books of a business folder. A plant description given here becomes the folder's own.

    The folder and its store are made when absent.
    """
    from canewright.accounts.books import Books
    from canewright.store import Store

    own = business / PLANT_FILE
    if plant is None and not own.is_file():
        refuse(f"{business} holds no {PLANT_FILE}; give a plant description with --plant")
    described = read_plant(plant or own)
    with plain_refusals():
        business.mkdir(parents=True, exist_ok=True)
        if plant is not None and plant.resolve() != own.resolve():
            shutil.copyfile(plant, own)
        with Store.open(business, now=now) as store:
            yield Books(described, store)
