"""Inversion of sucrose, and its loss to dextran, as declared formation and removal.

One sucrose and one water become one glucose and one fructose: 342.296 + 18.015 g make 360.311 g (molar masses).
"""

from __future__ import annotations

from collections.abc import Iterator

from canewright.plant.station import Exchange
from canewright.quantity import Num

WATER_TAKEN_UP = 18.01528 / 342.296
"""Water bound per sucrose inverted, t/t."""


def inversion(inverted: Num) -> Iterator[Exchange]:
    """What a station gains and loses when ``inverted`` t/h of sucrose becomes reducing sugars."""
    yield Exchange("sucrose inverted", "sucrose", -inverted)
    yield Exchange("water taken up by inversion", "water", -WATER_TAKEN_UP * inverted)
    yield Exchange("reducing sugars formed by inversion", "reducing_sugars", (1.0 + WATER_TAKEN_UP) * inverted)


FRUCTOSE_OF_DEXTRAN = 180.156 / 342.296
"""Fructose set free when sucrose becomes dextran, t/t; the rest, 162.140 on 342.296, joins the dextran."""


def dextran_formation(consumed: Num) -> Iterator[Exchange]:
    """What a station gains and loses when bacteria turn ``consumed`` t/h of sucrose into dextran and fructose.

    One sucrose becomes one glucose unit of dextran and one fructose; no water takes part. Dextran counts as other.
    """
    yield Exchange("sucrose eaten by bacteria", "sucrose", -consumed)
    yield Exchange("fructose set free by bacteria", "reducing_sugars", FRUCTOSE_OF_DEXTRAN * consumed)
    yield Exchange("dextran formed by bacteria", "other", (1.0 - FRUCTOSE_OF_DEXTRAN) * consumed)
