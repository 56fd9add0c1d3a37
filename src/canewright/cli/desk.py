"""What every command needs: the business folder, the clock, the plant, and refusals in plain sentences."""

from __future__ import annotations

import contextlib
import datetime as dt
import difflib
import getpass
import shutil
import socket
import tempfile
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, NoReturn

import typer
from rich.console import Console

from canewright.cli.incidents import write_incidents_to

if TYPE_CHECKING:
    from canewright.accounts.books import Books
    from canewright.plant.description import Fault
    from canewright.plant.plant import Plant

out = Console(highlight=False, soft_wrap=False)
trouble = Console(stderr=True, highlight=False)
PLANT_FILE = "plant.toml"


def now() -> dt.datetime:
    """The clock of this machine, in UTC."""
    return dt.datetime.now(tz=dt.UTC)


def person(given: str | None) -> str:
    """Who acts: as given, else the account name of this machine."""
    if given is not None and given.strip():
        return given.strip()
    try:
        return getpass.getuser()
    except (OSError, LookupError, ImportError):
        refuse("this machine has no account name to sign with; say who does this with --by")


def refuse(message: str) -> NoReturn:
    """Say why not, and stop with code 1."""
    trouble.print(message, style=None, markup=False, soft_wrap=True)
    raise typer.Exit(1)


def refuse_taken(port: int) -> None:
    """Stop when another program holds this port of the machine, or it may not be held."""
    with socket.socket() as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind(("127.0.0.1", port))
        except OSError as problem:
            refuse(f"port {port} cannot be used: {problem.strerror}; give another with --port")


def day_of(text: str) -> dt.date:
    """A factory day from its ISO date."""
    try:
        return dt.date.fromisoformat(text)
    except ValueError:
        refuse(f"day: found '{text}'; accepted: a date such as 2031-08-14")


def nearest_three(word: str, known: Iterable[str]) -> str:
    """The three names nearest to a word that is not known, for the end of its message."""
    close = difflib.get_close_matches(word, sorted(known), n=3, cutoff=0.0)
    return f"; nearest: {', '.join(close)}" if close else ""


MOST = 100
"""How many faults are listed before the rest is only counted."""


def read_plant(path: Path) -> Plant:
    """The plant of a description file, or a refusal that lists every fault."""
    from canewright.accounts.described import trade_faults
    from canewright.plant.description import DescriptionFaults
    from canewright.plant.plant import NotSquare, Plant

    if not path.is_file():
        refuse(f"plant description: {path} is not a file; give the path of one")
    try:
        plant = Plant.read(path)
    except DescriptionFaults as faults:
        _refuse_faults(path, faults.faults)
    except NotSquare as mismatch:
        refuse(f"{path}: equations and unknowns do not match: {mismatch}")
    except OSError as problem:
        refuse(f"plant description: {path} cannot be read: {problem.strerror}")
    faults_of_trade = trade_faults(plant.description)
    if faults_of_trade:
        _refuse_faults(path, faults_of_trade)
    return plant


def _refuse_faults(path: Path, faults: Sequence[Fault]) -> NoReturn:
    listed = "\n".join(f"  {f}" for f in faults[:MOST])
    more = f"\n  and {len(faults) - MOST} more" if len(faults) > MOST else ""
    refuse(f"{path} has {len(faults)} fault{'s' if len(faults) > 1 else ''}:\n{listed}{more}")


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
def open_books(business: Path, plant: Path | None = None, *, keep: bool = True) -> Iterator[Books]:
    """The books of a business folder. A plant description given here becomes the folder's own when all went well.

    The folder and its store are made when absent; of a new business in which nothing could be stored nothing remains.
    With ``keep`` false nothing of a new business remains in any case and the folder's own description stays as it is.
    """
    from canewright.accounts.books import Books
    from canewright.store import Store

    own = business / PLANT_FILE
    if plant is None and not own.is_file():
        lacking = "copy a plant description there, or give one with --plant where the command takes it"
        refuse(f"{business} holds no {PLANT_FILE}; {lacking}")
    described = read_plant(plant or own)
    with plain_refusals(), contextlib.ExitStack() as stack:
        folder, fresh = business, not business.exists()
        if not keep and fresh:
            folder = Path(stack.enter_context(tempfile.TemporaryDirectory()))
        _make_folder(folder)
        if keep or not fresh:
            write_incidents_to(folder)
        if keep and fresh:
            stack.callback(_remove_if_empty, folder)
        store = stack.enter_context(Store.open(folder, now=now))
        yield Books(described, store)
        if keep and plant is not None and plant.resolve() != own.resolve():
            shutil.copyfile(plant, own)


def _remove_if_empty(folder: Path) -> None:
    """Remove a folder made just now that holds no plant description and no day: the act that made it was refused."""
    from canewright.store import Store, StoreError

    if (folder / PLANT_FILE).exists():
        return
    with contextlib.suppress(StoreError, OSError):  # what cannot be told to be empty stays
        with Store.open(folder, now=now) as store:
            used = bool(store.days())
        if not used:
            shutil.rmtree(folder)


def _make_folder(folder: Path) -> None:
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as problem:
        refuse(f"business folder: {folder} cannot be used: {problem.strerror}; give another with --business")
