"""A small line chart as SVG: drawn by the server, styled by the page's own style sheet, read as a table beside it."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from markupsafe import Markup, escape

from canewright.accounts.curve import Curve

WIDTH, HEIGHT = 640, 300
LEFT, RIGHT, TOP, BOTTOM = 78, 622, 16, 248
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


def bars(names: Sequence[str], values: Sequence[float], over: str, answer: str) -> Markup:
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


def _grid(along: _Axis, up: _Axis) -> Iterator[str]:
    for value, text in up.ticks():
        y = up(value)
        yield f'<line class="grid" x1="{LEFT}" x2="{RIGHT}" y1="{y:.1f}" y2="{y:.1f}"/>'
        yield f'<text x="{LEFT - 6}" y="{y + 4:.1f}" text-anchor="end">{text}</text>'
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
