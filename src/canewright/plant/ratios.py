"""Shares and concentrations as unknowns, written so that a stream that does not flow still solves."""

from __future__ import annotations

from canewright.plant.station import Equations
from canewright.quantity import Num, constant

SEEPAGE = constant(1e-7, "t/h")
"""A flow too small to weigh, added to both sides so that a share of nothing has a value (one)."""


def share(sentence: str, ratio: Num, part: Num, whole: Num) -> Equations:
    """``ratio`` is ``part`` of ``whole`` (flows in t/h); it tends to one where nothing flows."""
    yield sentence, ratio * (whole + SEEPAGE), part + SEEPAGE


TRICKLE_SQUARED = constant(1e-5, "t·t/h/h")
"""The square of 3 kg/h: what a flow divides by at rest."""


def proportion(sentence: str, ratio: Num, part: Num, whole: Num) -> Equations:
    """``ratio`` is ``part`` of ``whole`` (flows in t/h), to a part in 1e9 from 100 t/h up; nothing of nothing is zero.

    ``ratio (whole² + trickle²) = part · whole``: exact to second order, and firmly determined at rest.
    """
    yield sentence, ratio * (whole * whole + TRICKLE_SQUARED), part * whole
