"""Advice as text: what may mislead it first, then moves with their hazards, money, and what binds."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING

from rich import box
from rich.table import Table

from canewright.cli.desk import out
from canewright.cli.digits import rounded, value_text
from canewright.cli.printing import CAUTION

if TYPE_CHECKING:
    from canewright.accounts.books import Books
    from canewright.plant.advising import AdvisedMove, PlantAdvice
    from canewright.plant.station import Station

NO_GAIN = 0.5
"""Money a day below which a move is said to gain nothing alone, $."""
TARGET = "target."
"""How the settings that hold a target's value begin."""


def suspect_of(books: Books, day: dt.date) -> str | None:
    """The first suspect reading of a day, once it is closed."""
    if not books.store.is_closed(day):
        return None
    suspect = books.published(day).figures.get("suspect")
    return str(suspect) if suspect else None


def not_considered_in(books: Books) -> Sequence[str]:
    """What advice for these books leaves out."""
    from canewright.plant.advising import not_considered

    return not_considered(books.plant)


def hazards_of(stations: Mapping[str, Station], settings: Iterable[str]) -> dict[str, list[str]]:
    """Each hazard of the stations whose settings are moved, with those stations, in order of the moves."""
    found: dict[str, list[str]] = {}
    for name in dict.fromkeys(_station_of(setting) for setting in settings):
        for hazard in stations[name].hazards if name in stations else ():
            found.setdefault(hazard, []).append(name)
    return found


def _station_of(setting: str) -> str:
    """The station of a setting; what is wanted of a stream is moved at the station that gives the stream."""
    if setting.startswith(TARGET):
        return setting.removeprefix(TARGET).partition(".")[0]
    return setting.rpartition(".")[0]


def moves_anything(move: AdvisedMove) -> bool:
    """Whether the move shows in the four digits in which settings are told."""
    return f"{move.now:.4g}" != f"{move.then:.4g}"


def print_advice(
    advice: PlantAdvice, left_out: Sequence[str], suspect: str | None, stations: Mapping[str, Station]
) -> None:
    """A suspect reading, the gain, moves in order of gain, hazards, money, what binds, what was not considered."""
    if suspect:
        out.print(
            f"{suspect} is the first suspect among the day's readings: check it first; the advice leaves it out",
            markup=False,
        )
    gain = value_text(advice.gain_a_day, advice.gain_uncertainty, 0, ",")
    interval = "" if advice.gain_uncertainty is None else " (95 %)"
    out.print(f"[bold]Gain {gain} $/d[/bold]{interval}, {advice.gain_an_hour:,.1f} $/h")
    _print_moves(advice.moves)
    moved = [m.setting for m in advice.moves if moves_anything(m)]
    for hazard, names in hazards_of(stations, moved).items():
        out.print(f"Hazard at {', '.join(names)}: {hazard}", markup=False)
    out.print(_money(advice.money))
    _print_quality(advice)
    for sentence in advice.sentences:
        out.print(f"Binds: {sentence}", markup=False)
    for over in advice.already_over:
        out.print(f"Already over, not held to: {over}", markup=False)
    for left in left_out:
        out.print(f"Not considered: {left}", markup=False)
    out.print(CAUTION)


def _print_quality(advice: PlantAdvice) -> None:
    """The quality limits of the plant description: now, then, and the margin kept to them."""
    for sentence, unit, low, high, margin, now, then in advice.limits:
        if not unit:  # a capacity of a station
            continue
        ends = [f"{way} {end:g} {unit}" for way, end in (("at least", low), ("at most", high)) if math.isfinite(end)]
        kept = f", {margin:.3g} {unit} kept clear of it" if margin else ""
        out.print(f"Quality: {sentence} {now:.4g} to {then:.4g} {unit}; limit {', '.join(ends)}{kept}", markup=False)


def _print_moves(moves: Sequence[AdvisedMove]) -> None:
    changed = [m for m in moves if moves_anything(m)]
    for m in changed:
        unit = "" if m.unit == "1" else f" {m.unit}"
        what = f"wanted {m.says}" if m.setting.startswith(TARGET) else f"{m.setting} ({m.says})"
        out.print(f"  {what}: {m.now:.4g} to {m.then:.4g}{unit}; {_alone(m.gain_alone)}", markup=False)
    if not changed:
        out.print("  No move gains anything from here.")
    kept = [m.setting for m in moves if not moves_anything(m)]
    if kept and changed:
        out.print(f"  As they are: {', '.join(kept)}", markup=False)


def _alone(gain: float | None) -> str:
    if gain is None:
        return "NOT possible alone, only with the others"
    return (
        f"{rounded(gain, 0, ',')} $/d alone"
        if gain > NO_GAIN
        else f"NO gain alone ({rounded(gain, 0, ',')} $/d), only with the others"
    )


def _money(lines: Sequence[tuple[str, float, float]]) -> Table:
    table = Table(title="money, $/d", title_justify="left", box=box.SIMPLE_HEAD, pad_edge=False)
    for heading in ("what", "now", "then", "change"):
        table.add_column(heading, justify="left" if heading == "what" else "right")
    for what, now, then in lines:
        change = rounded(then - now, 0, ",")
        table.add_row(
            what, rounded(now, 0, ","), rounded(then, 0, ","), change if change.startswith(("-", "0")) else f"+{change}"
        )
    return table
