"""A small line chart as SVG: drawn by the server, styled by the page's own style sheet, read as a table beside it."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from markupsafe import Markup, escape

from canewright.accounts.curve import Curve
from canewright.intervals import TIMES

WIDTH, HEIGHT = 640, 300
LEFT, RIGHT, TOP, BOTTOM = 78, 622, 16, 248
BARS_LEFT, ROW, LONGEST = 290, 30, 42
"""Left end of the bars, height of a row of them, and most characters of its name."""
_HATCH = (
    '<defs><pattern id="hatch" width="6" height="6" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">'
    '<rect class="paper" width="6" height="6"/><rect class="ink" width="3" height="6"/></pattern></defs>'
)
STEPS = (1.0, 2.0, 2.5, 5.0, 10.0)


def ticks(low: float, high: float, about: int = 5) -> list[float]:
    """Round numbers from low to high, about as many as asked."""
    rough = (high - low) / about
    size = 10.0 ** math.floor(math.log10(rough))
    step = next(size * each for each in STEPS if size * each >= rough * (1 - 1e-9))
    first = math.ceil(low / step - 1e-9)
    return [k * step for k in range(first, math.floor(high / step + 1e-9) + 1)]


def label(value: float, step: float) -> str:
    """A tick's number with the decimals its step needs."""
    if value == 0:
        return "0"
    if abs(value) >= 1e6 or abs(value) < 1e-4:
        return f"{value:.3g}".replace("-", "−")
    decimals = max(0, -math.floor(math.log10(step) + 1e-9))
    decimals += 0 if round(step, decimals) == step else 1
    return f"{value:.{decimals}f}".replace("-", "−")


def chart(curve: Curve, over: str, answer: str) -> Markup:
    """The curve with its axes, a mark at the given input, and words for who cannot see it; empty without values."""
    known = [float(y) for y in curve.y if math.isfinite(y)]
    if not curve.has_values:
        return Markup("")
    low, high = _room(min(known), max(known))
    along = _Axis(float(curve.x[0]), float(curve.x[-1]), LEFT, RIGHT)
    up = _Axis(low, high, BOTTOM, TOP)
    parts = [*_grid(along, up), *_lines(curve, along, up)]
    if along.low <= curve.at_x <= along.high and math.isfinite(curve.at_y):
        parts.append(f'<circle class="mark" cx="{along(curve.at_x):.1f}" cy="{up(curve.at_y):.1f}" r="5"/>')
    parts.append(
        f'<text class="name" x="{(LEFT + RIGHT) / 2}" y="{HEIGHT - 8}" text-anchor="middle">{escape(over)}</text>'
    )
    parts.append(f'<text class="name" x="{LEFT}" y="11">{escape(answer)}</text>')
    said = f"{answer} over {over}: from {known[0]:.4g} to {known[-1]:.4g}; the table below gives the figures."
    drawn = (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="chart" viewBox="0 0 {WIDTH} {HEIGHT}" role="img" '
        f'aria-label="{escape(said)}">{"".join(parts)}</svg>'
    )
    return Markup(drawn)  # noqa: S704 - every text in it is escaped


def band_chart(quantity: Mapping[str, Any], days: Sequence[str]) -> Markup:
    """The course of a slow quantity over the days of a season, with its 95 % interval as a band."""
    values = [float(v) for v in quantity["values"]]
    half = [TIMES * float(u) for u in quantity["uncertainties"]]
    low, high = [v - h for v, h in zip(values, half, strict=True)], [v + h for v, h in zip(values, half, strict=True)]
    along, up = _Axis(0.0, max(len(days) - 1.0, 1.0), LEFT, RIGHT), _Axis(*_room(min(low), max(high)), BOTTOM, TOP)
    places = [along(float(t)) for t in range(len(days))]
    edge = [*zip(places, high, strict=True), *reversed(list(zip(places, low, strict=True)))]
    band = " ".join(f"{x:.1f},{up(y):.1f}" for x, y in edge)
    line = " ".join(f"{x:.1f},{up(y):.1f}" for x, y in zip(places, values, strict=True))
    parts = [f'<polygon class="band" points="{band}"/>', *_levels(up), f'<polyline class="line" points="{line}"/>']
    for t in sorted({0, len(days) // 2, len(days) - 1}):
        anchor = "start" if t == 0 else "end" if t == len(days) - 1 else "middle"
        parts.append(f'<text x="{places[t]:.1f}" y="{BOTTOM + 18}" text-anchor="{anchor}">{escape(days[t])}</text>')
    unit = "" if quantity["unit"] == "1" else f" {quantity['unit']}"
    said = f"{quantity['name']}: {values[0]:.3g}{unit} on {days[0]}, {values[-1]:.3g}{unit} on {days[-1]}"
    drawn = (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="chart" viewBox="0 0 {WIDTH} {HEIGHT}" role="img" '
        f'aria-label="{escape(said)}">{"".join(parts)}</svg>'
    )
    return Markup(drawn)  # noqa: S704 - every text in it is escaped


def columns(names: Sequence[str], values: Sequence[float], over: str, answer: str) -> Markup:
    """Bars from nothing up, one a name, the first and last named; the table beside it gives the figures."""
    if not values or max(values) <= 0.0:
        return Markup("")
    up = _Axis(0.0, 1.06 * max(values), BOTTOM, TOP)
    wide = (RIGHT - LEFT) / len(values)
    parts = []
    for value, text in up.ticks():
        parts.append(f'<line class="grid" x1="{LEFT}" x2="{RIGHT}" y1="{up(value):.1f}" y2="{up(value):.1f}"/>')
        parts.append(f'<text x="{LEFT - 6}" y="{up(value) + 4:.1f}" text-anchor="end">{text}</text>')
    for k, value in enumerate(values):
        x, y = LEFT + (k + 0.1) * wide, up(value)
        parts.append(f'<rect class="bar" x="{x:.1f}" y="{y:.1f}" width="{0.8 * wide:.1f}" height="{BOTTOM - y:.1f}"/>')
    parts.append(f'<text x="{LEFT}" y="{BOTTOM + 18}">{escape(names[0])}</text>')
    parts.append(f'<text x="{RIGHT}" y="{BOTTOM + 18}" text-anchor="end">{escape(names[-1])}</text>')
    middle = (LEFT + RIGHT) / 2
    parts.append(f'<text class="name" x="{middle}" y="{HEIGHT - 8}" text-anchor="middle">{escape(over)}</text>')
    parts.append(f'<text class="name" x="{LEFT}" y="11">{escape(answer)}</text>')
    said = f"{answer} by {over}, {names[0]} to {names[-1]}; the table gives the figures."
    drawn = (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="chart" viewBox="0 0 {WIDTH} {HEIGHT}" role="img" '
        f'aria-label="{escape(said)}">{"".join(parts)}</svg>'
    )
    return Markup(drawn)  # noqa: S704 - every text in it is escaped


def bars(rows: Sequence[tuple[str, float, float]], base: float, answer: str) -> Markup:
    """One bar for each name, from the answer at its lower end to that at its higher one; empty without rows.

    The part towards the lower end is hatched, the part towards the higher end is full, and both ends say so.
    """
    if not rows:
        return Markup("")
    ends = [base, *(end for _, low, high in rows for end in (low, high))]
    along = _Axis(*_room(min(ends), max(ends)), BARS_LEFT, RIGHT)
    height = TOP + ROW * len(rows) + 44
    parts = [_HATCH, *_upright(along, TOP, height - 44)]
    for k, (name, low, high) in enumerate(rows):
        y = TOP + ROW * k
        parts.append(f'<text x="{BARS_LEFT - 8}" y="{y + 19}" text-anchor="end">{escape(_short(name))}</text>')
        for end, kind in ((low, "low"), (high, "high")):
            left, wide = min(along(base), along(end)), abs(along(end) - along(base))
            parts.append(f'<rect class="{kind}" x="{left:.1f}" y="{y + 5}" width="{wide:.1f}" height="{ROW - 10}"/>')
    parts.append(f'<line class="base" x1="{along(base):.1f}" x2="{along(base):.1f}" y1="{TOP}" y2="{height - 44}"/>')
    parts.append(
        f'<text class="name" x="{(BARS_LEFT + RIGHT) / 2}" y="{height - 6}" text-anchor="middle">'
        f"{escape(answer)}</text>"
    )
    most = rows[0][0]
    said = (
        f"What moves {answer}: most of all {most}; hatched at the lower end, full at the higher; "
        "the table gives the figures."
    )
    drawn = (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="chart bars" viewBox="0 0 {WIDTH} {height}" role="img" '
        f'aria-label="{escape(said)}">{"".join(parts)}</svg>'
    )
    return Markup(drawn)  # noqa: S704 - every text in it is escaped


def _short(name: str) -> str:
    return name if len(name) <= LONGEST else f"{name[: LONGEST - 1]}…"


def _upright(along: _Axis, top: float, bottom: float) -> Iterator[str]:
    for value, text in along.ticks():
        x = along(value)
        yield f'<line class="grid" x1="{x:.1f}" x2="{x:.1f}" y1="{top}" y2="{bottom}"/>'
        yield f'<text x="{x:.1f}" y="{bottom + 18}" text-anchor="middle">{text}</text>'


class _Axis:
    """From values to places along one side of the drawing."""

    def __init__(self, low: float, high: float, start: float, end: float) -> None:
        self.low, self.high, self._start, self._end = low, high, start, end

    def __call__(self, value: float) -> float:
        return self._start + (value - self.low) / (self.high - self.low) * (self._end - self._start)

    def ticks(self) -> list[tuple[float, str]]:
        found = ticks(self.low, self.high)
        step = found[1] - found[0] if len(found) > 1 else self.high - self.low
        return [(each, label(each, step)) for each in found]


def _room(low: float, high: float) -> tuple[float, float]:
    """A little room above and below, also round a line that is level."""
    spare = 0.06 * (high - low) if high - low > 1e-9 * max(abs(low), abs(high)) else 0.05 * abs(high) or 1.0
    return low - spare, high + spare


def _levels(up: _Axis) -> Iterator[str]:
    for value, text in up.ticks():
        y = up(value)
        yield f'<line class="grid" x1="{LEFT}" x2="{RIGHT}" y1="{y:.1f}" y2="{y:.1f}"/>'
        yield f'<text x="{LEFT - 6}" y="{y + 4:.1f}" text-anchor="end">{text}</text>'


def _grid(along: _Axis, up: _Axis) -> Iterator[str]:
    yield from _levels(up)
    for value, text in along.ticks():
        x = along(value)
        yield f'<line class="grid" x1="{x:.1f}" x2="{x:.1f}" y1="{TOP}" y2="{BOTTOM}"/>'
        yield f'<text x="{x:.1f}" y="{BOTTOM + 18}" text-anchor="middle">{text}</text>'


def _lines(curve: Curve, along: _Axis, up: _Axis) -> Iterator[str]:
    """One line for each stretch without a gap."""
    stretch: list[str] = []
    for x, y in zip(curve.x, curve.y, strict=True):
        if math.isfinite(y):
            stretch.append(f"{along(float(x)):.1f},{up(float(y)):.1f}")
            continue
        yield from _line(stretch)
        stretch = []
    yield from _line(stretch)


def _line(places: Sequence[str]) -> Iterator[str]:
    if len(places) > 1:
        yield f'<polyline class="line" points="{" ".join(places)}"/>'
