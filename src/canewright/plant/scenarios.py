"""Thousands of scenarios of a plant: on all cores or a cluster, resumable, one frame out.

Scenarios are answered in lots. A lot needs the plant's description and the solved state from which it sets out, nothing
else, so that any process or machine can take it; each works out the plant's equations once. A lot that is done is
written to the folder under another name and then renamed, so that the folder holds whole lots only.
"""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor
from contextlib import AbstractContextManager, nullcontext
from dataclasses import dataclass, field
from functools import lru_cache
from multiprocessing import get_context
from pathlib import Path
from queue import SimpleQueue
from typing import TYPE_CHECKING, Any, Protocol

import numpy as np
from numpy.typing import NDArray

from canewright.engine import Solution, predict_many
from canewright.engine.solve import NOT_SOLVED
from canewright.plant.measures import MEASURABLE

if TYPE_CHECKING:
    import polars as pl

    from canewright.plant.plant import Plant, State

LOT = 250
"""Scenarios that are answered and kept together."""
WORTH_PROCESSES = 2000
"""Scenarios from which further processes win more than each takes to work out the plant's equations."""


class Future(Protocol):
    """A lot under way."""

    def result(self) -> Lot:
        """The lot when it is done; raises what stopped it."""

    def add_done_callback(self, told: Callable[[Any], None], /) -> None:
        """Call when it is done."""


class Executor(Protocol):
    """What takes work: an executor of the standard library, or a client of Dask distributed."""

    def submit(self, work: Callable[..., Any], /, *given: Any) -> Any:
        """Take a call and give its future."""


@dataclass(frozen=True)
class Means:
    """With what scenarios are answered: processes or an executor, a folder to resume from, who hears of progress."""

    processes: int | None = None
    executor: Executor | None = None
    folder: Path | None = None
    progress: Callable[[int, int], None] | None = None


@dataclass(frozen=True)
class Lot:
    """Answers to some scenarios: what is kept of each (by row), how it was solved, and why where it was not."""

    values: NDArray[np.float64]
    status: list[str]
    why: list[str]


@dataclass(frozen=True)
class Question:
    """Scenarios by row, from which state (and settings) they set out, and what is kept of each answer."""

    text: str
    base: NDArray[np.float64]
    held: NDArray[np.float64]
    names: tuple[str, ...]
    rows: NDArray[np.float64]
    keep: tuple[str, ...]

    @classmethod
    def of(
        cls, plant: Plant, table: Mapping[str, Any] | pl.DataFrame, base: State, keep: Sequence[str] | None
    ) -> Question:
        """The question put to a plant; by default every unknown is kept.

        Raises KeyError for a name that is no setting or no figure of the plant, ValueError for columns of unequal
        length or none.
        """
        names = tuple(getattr(table, "columns", table))
        for name in names:
            plant.settings({name: 0.0})
        columns = [np.asarray(table[name], dtype=float) for name in names]
        count = {len(c) for c in columns}
        if len(count) != 1 or 0 in count:
            raise ValueError(f"scenario columns must have one length, at least 1; they have {sorted(count)}")
        kept = tuple(v.name for v in plant.model.unknowns) if keep is None else tuple(keep)
        figures(plant, kept)
        held = base.scaled[plant.model.n :]
        return cls(plant.description.text, base.scaled, held, names, np.column_stack(columns), kept)

    def lots(self) -> list[slice]:
        """The rows of each lot."""
        return [slice(first, first + LOT) for first in range(0, len(self.rows), LOT)]

    def mark(self) -> str:
        """What makes this question the same as another: of the base its settings, from which the rest follows."""
        plain = json.dumps([self.text, self.names, self.keep, LOT]).encode()
        return hashlib.sha256(plain + self.held.tobytes() + self.rows.tobytes()).hexdigest()


def figures(plant: Plant, names: Sequence[str]) -> Any:
    """Expressions of these figures: a variable's name, or a stream's name and a measurable quantity of it.

    Raises KeyError naming what is neither.
    """
    pairs = [None if name in plant.model.index else _measured(plant, name) for name in names]
    return plant.model.expressions(
        lambda v: [
            v[name] if pair is None else plant.assembly.measured(*pair, v)
            for name, pair in zip(names, pairs, strict=True)
        ]
    )


def _measured(plant: Plant, name: str) -> tuple[str, str]:
    for quantity in MEASURABLE:
        stream = name.removesuffix(f" {quantity}")
        if stream != name and stream in plant.assembly.streams:
            return stream, quantity
    raise KeyError(f"'{name}' is neither a variable of this plant nor a stream with a quantity that can be measured")


def lot_answered(plant: Plant, base: NDArray[np.float64], names: Sequence[str], rows: Any, keep: Sequence[str]) -> Lot:
    """Some scenarios solved and proved one by one, none of them outside the range of a formula."""
    table = {name: rows[:, k] for k, name in enumerate(names)}
    batch = predict_many(plant.model, Solution(plant.model, base, "", 0.0, 0.0), table)
    status, why = list(batch.status), list(batch.why)
    kept = figures(plant, keep)
    values = np.full((len(rows), len(keep)), np.nan)
    for j in range(len(rows)):
        state = np.ascontiguousarray(batch.scaled[:, j])
        beyond = [] if status[j] == NOT_SOLVED else plant.breaches_at(state)
        if beyond:
            status[j], why[j] = NOT_SOLVED, f"only outside the range of a formula: {beyond[0]}"
        if status[j] != NOT_SOLVED:
            values[j] = kept.at(state)
    return Lot(values, status, why)


@lru_cache(maxsize=2)
def _plant(text: str) -> Plant:
    from canewright.plant.plant import Plant

    return Plant.from_text(text)


def lot_elsewhere(text: str, *given: Any) -> Lot:
    """A lot answered by a process that has only the description; it remembers the plant for the next lot."""
    return lot_answered(_plant(text), *given)


def answered(plant: Plant, asked: Question, means: Means) -> pl.DataFrame:
    """One row for each scenario: number, settings, how it was solved or why it was not, and what is kept of it.

    What is kept is null where a scenario was not solved. Without an executor, ``processes`` (all cores; few scenarios
    stay in this process) take the lots. With a folder, what is done there is not done again. ``progress`` hears how
    many of how many are done. Raises ValueError where the folder holds the answers to another question.
    """
    kept = _Kept(asked, means.folder)
    done: dict[int, pl.DataFrame] = kept.found()
    left = [k for k in range(len(asked.lots())) if k not in done]
    tell = means.progress or (lambda done, asked: None)
    tell(sum(map(len, done.values())), len(asked.rows))
    for k, lot in _answers(plant, asked, left, means):
        done[k] = kept.put(k, lot)
        tell(sum(map(len, done.values())), len(asked.rows))
    import polars as pl

    return pl.concat([done[k] for k in sorted(done)])


def _answers(plant: Plant, asked: Question, left: list[int], means: Means) -> Iterator[tuple[int, Lot]]:
    """The lots that are left, as they come."""
    processes = means.processes or (1 if len(left) * LOT < WORTH_PROCESSES else os.cpu_count() or 1)
    rows = {k: asked.rows[asked.lots()[k]] for k in left}
    if means.executor is None and processes == 1:
        for k in left:
            yield k, lot_answered(plant, asked.base, asked.names, rows[k], asked.keep)
        return
    with _open(means.executor, min(processes, max(len(left), 1))) as executor:
        ready: SimpleQueue[tuple[int, Future]] = SimpleQueue()
        for k in left:
            future = executor.submit(lot_elsewhere, asked.text, asked.base, asked.names, rows[k], asked.keep)
            future.add_done_callback(lambda f, k=k: ready.put((k, f)))
        for _ in left:
            k, future = ready.get()
            yield k, future.result()


def _open(given: Executor | None, processes: int) -> AbstractContextManager[Executor]:
    """The executor given, left as it is; else processes of our own, started afresh so that they share nothing."""
    if given is not None:
        return nullcontext(given)
    return ProcessPoolExecutor(processes, mp_context=get_context("spawn"))


@dataclass
class _Kept:
    """Lots in a folder, or nowhere."""

    asked: Question
    folder: Path | None
    found_lots: dict[int, Any] = field(default_factory=dict)

    def found(self) -> dict[int, pl.DataFrame]:
        """The lots that are done, after making sure that they answer this question."""
        if self.folder is None:
            return {}
        import polars as pl

        self.folder.mkdir(parents=True, exist_ok=True)
        written, mark = self.folder / "question.txt", self.asked.mark()
        if written.exists() and written.read_text(encoding="utf-8") != mark:
            raise ValueError(f"{self.folder} holds the answers to another question; give an empty folder")
        self._replace(written, lambda to: to.write_text(mark, encoding="utf-8"))
        return {int(p.stem.removeprefix("lot-")): pl.read_parquet(p) for p in self.folder.glob("lot-*.parquet")}

    def put(self, k: int, lot: Lot) -> pl.DataFrame:
        """The lot as a frame, kept in the folder."""
        frame = _frame(self.asked, k, lot)
        if self.folder is not None:
            self._replace(self.folder / f"lot-{k:06d}.parquet", frame.write_parquet)
        return frame

    @staticmethod
    def _replace(target: Path, write: Callable[[Path], Any]) -> None:
        """Written whole or not at all."""
        part = target.with_name(f"{target.name}.part")
        write(part)
        part.replace(target)


def _frame(asked: Question, k: int, lot: Lot) -> pl.DataFrame:
    import polars as pl

    rows, first = asked.rows[asked.lots()[k]], asked.lots()[k].start
    columns: dict[str, Any] = {"scenario": np.arange(first, first + len(rows))}
    columns |= {name: rows[:, j] for j, name in enumerate(asked.names)}
    columns |= {"status": lot.status, "why": lot.why}
    columns |= {name: lot.values[:, j] for j, name in enumerate(asked.keep) if name not in columns}
    return pl.DataFrame(columns, nan_to_null=True)
