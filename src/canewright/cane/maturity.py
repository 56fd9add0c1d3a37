"""Maturity curves of CCS through the season: district, variety, crop class, farm and block, each with its doubt.

CCS(w) = q0 + q1 z + q2 z², z the week counted from mid-season; peak where the slope is nothing. Every level adds its
own deviation, drawn towards nothing as far as its data are few (method after Jiao, Higgins and Prestwidge 2005, from
memory). Block effects are in the fit, so that blocks cut at their best do not bend the district's curve.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from canewright.cane.mixed_model import Family, Fitted, Floats, Whole, fit, of_levels

MIDDLE, HALF = 13.5, 12.5
"""Middle and half length of a season of 26 weeks; they only keep the figures of the fit of one size."""
DELIVERED, SAMPLED, EARLIER = 0, 1, 2
"""Source of a reading: CCS of delivered cane, of ripeness samples (fibre assumed), of samples of earlier seasons."""
FIELD_FIRST = (SAMPLED, EARLIER, DELIVERED)
"""The first of these that there is stands for the field; the others may lie above or below it by a figure each."""
TWO_SIDED_90 = 1.645
FEWEST = 12


class TooFewReadings(ValueError):
    """Too few readings of CCS, or too few different weeks, for a curve."""


@dataclass(frozen=True)
class Standing:
    """Which variety, crop class and farm each block has, by place in the lists of their names."""

    blocks: tuple[str, ...]
    varieties: tuple[str, ...]
    classes: tuple[str, ...]
    farms: tuple[str, ...]
    variety: Whole
    crop_class: Whole
    farm: Whole


@dataclass(frozen=True)
class CcsReadings:
    """Readings of CCS: block by place, week of the season (may be broken), CCS, and source (delivered or sampled)."""

    block: Whole
    week: Floats
    ccs: Floats
    source: Whole


@dataclass(frozen=True)
class Curve:
    """A fitted curve: three figures and the covariance of their errors."""

    name: str
    figures: Floats
    covariance: Floats

    def ccs(self, week: Floats | float) -> Floats:
        """CCS in the field in weeks of the season."""
        found: Floats = _basis(np.atleast_1d(week)) @ self.figures
        return found

    def uncertainty(self, week: Floats | float) -> Floats:
        """Standard uncertainty of that CCS."""
        basis = _basis(np.atleast_1d(week))
        found: Floats = np.sqrt(np.einsum("wi,ij,wj->w", basis, self.covariance, basis))
        return found

    @property
    def peak(self) -> float | None:
        """The week of highest CCS; None where the curve has no top."""
        _, q1, q2 = self.figures
        return float(MIDDLE - HALF * q1 / (2.0 * q2)) if q2 < 0.0 else None

    @property
    def peak_uncertainty(self) -> float | None:
        """Standard uncertainty of the peak, weeks, to first order; None where there is no top."""
        _, q1, q2 = self.figures
        if q2 >= 0.0:
            return None
        slope = np.array([0.0, -1.0 / (2.0 * q2), q1 / (2.0 * q2**2)])
        return float(HALF * np.sqrt(slope @ self.covariance @ slope))

    @property
    def top(self) -> float | None:
        """Highest CCS; None where the curve has no top."""
        return None if self.peak is None else float(self.ccs(self.peak)[0])


def _basis(week: Floats) -> Floats:
    z = (np.asarray(week, dtype=np.float64) - MIDDLE) / HALF
    return np.stack([np.ones_like(z), z, z * z], axis=-1)


def plain_curve(week: Floats, ccs: Floats, name: str = "one block") -> Curve:
    """One curve by plain least squares, as for one block alone. Raises TooFewReadings below four readings."""
    if week.size < 4 or np.unique(week).size < 3:
        raise TooFewReadings(f"{week.size} readings in {np.unique(week).size} weeks; accepted: 4 in at least 3 weeks")
    basis = _basis(week)
    inverse = np.linalg.inv(basis.T @ basis)
    figures = inverse @ basis.T @ ccs
    left = ccs - basis @ figures
    return Curve(name, figures, inverse * float(left @ left) / (week.size - 3))


@dataclass(frozen=True)
class Maturity:
    """The fitted model; asks for curves of any level."""

    standing: Standing
    fitted: Fitted
    readings: int
    sources: tuple[int, ...]

    @property
    def lost_by_delivery(self) -> float:
        """CCS by which delivered cane is below the field: trash, delay and sampling together; 0 where not known."""
        if DELIVERED not in self.sources[1:]:
            return 0.0
        return float(-self.fitted.effects[2 + self.sources.index(DELIVERED)])

    def district(self) -> Curve:
        """The curve of the whole district."""
        return self._curve("district", {})

    def of_variety(self, place: int) -> Curve:
        """The curve of a variety, other things as the district."""
        return self._curve(self.standing.varieties[place], {"variety": place})

    def of_class(self, place: int) -> Curve:
        """The curve of a crop class, other things as the district."""
        return self._curve(self.standing.classes[place], {"class": place})

    def of_farm(self, place: int) -> Curve:
        """The curve of a farm, other things as the district."""
        return self._curve(self.standing.farms[place], {"farm": place})

    def of_block(self, place: int) -> Curve:
        """The curve of a block with its own variety, class and farm."""
        s = self.standing
        levels = {
            "variety": int(s.variety[place]), "class": int(s.crop_class[place]), "farm": int(s.farm[place]),
            "block": place,
        }  # fmt: skip
        return self._curve(s.blocks[place], levels)

    @cached_property
    def block_curves(self) -> tuple[Curve, ...]:
        """The curves of all blocks."""
        return tuple(self.of_block(place) for place in range(len(self.standing.blocks)))

    def _curve(self, name: str, levels: dict[str, int]) -> Curve:
        columns, powers = [0, 1, 2], [0, 1, 2]
        for family, power in FAMILIES:
            if family in levels:
                columns.append(self.fitted.places[f"{family} {power}"].start + levels[family])
                powers.append(power)
        into = np.zeros((3, len(columns)))
        into[powers, np.arange(len(columns))] = 1.0
        covariance = self.fitted.covariance[np.ix_(columns, columns)]
        return Curve(name, into @ self.fitted.effects[columns], into @ covariance @ into.T)


FAMILIES = (
    ("variety", 0), ("variety", 1), ("variety", 2), ("class", 0), ("class", 1), ("farm", 0), ("block", 0),
    ("block", 1),
)  # fmt: skip
"""Which level deviates in which power of z: level, slope, bend."""


def fit_maturity(
    standing: Standing, readings: CcsReadings, progress: Callable[[int], None] = lambda _: None
) -> Maturity:
    """Fit all levels at once. Raises TooFewReadings below a dozen readings or within fewer than three weeks."""
    weeks = np.unique(np.floor(readings.week)).size
    if readings.ccs.size < FEWEST or weeks < 3:
        raise TooFewReadings(
            f"found {readings.ccs.size} readings of CCS in {weeks} weeks; accepted: {FEWEST} in at least 3 weeks; "
            "sample the blocks for ripeness, or wait for deliveries"
        )
    basis = _basis(readings.week)
    present = tuple(each for each in FIELD_FIRST if np.any(readings.source == each))
    fixed = [basis, *((readings.source == each).astype(np.float64)[:, None] for each in present[1:])]
    level = {
        "variety": (standing.variety[readings.block], len(standing.varieties)),
        "class": (standing.crop_class[readings.block], len(standing.classes)),
        "farm": (standing.farm[readings.block], len(standing.farms)),
        "block": (readings.block, len(standing.blocks)),
    }
    families = [Family(f"{f} {p}", of_levels(*level[f], basis[:, p])) for f, p in FAMILIES]
    source = np.array([present.index(each) for each in readings.source.tolist()], dtype=np.int64)
    fitted = fit(readings.ccs, np.hstack(fixed), families, source, len(present), progress)
    return Maturity(standing, fitted, readings.ccs.size, present)


def curves_table(curves: Sequence[Curve]) -> list[list[str]]:
    """Rows for print and export: name, peak week ±, highest CCS ± (90 %)."""
    return [_row(each) for each in curves]


CURVE_HEADERS = ("curve", "peak week", "± weeks (90 %)", "highest CCS", "± (90 %)")


def _row(curve: Curve) -> list[str]:
    peak, doubt, top = curve.peak, curve.peak_uncertainty, curve.top
    if peak is None or doubt is None or top is None:
        return [curve.name, "no top", "", "", ""]
    height = float(curve.uncertainty(peak)[0])
    return [curve.name, f"{peak:.1f}", f"{TWO_SIDED_90 * doubt:.1f}", f"{top:.2f}", f"{TWO_SIDED_90 * height:.2f}"]
