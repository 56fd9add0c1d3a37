"""What stations for hot liquor share: heat lost, dry substance and volume flow, and drawing off in proportion."""

from __future__ import annotations

from collections.abc import Iterable

from canewright.plant.balance import amount
from canewright.plant.station import Equations, Exchange, Station, setting
from canewright.plant.streams import PERCENT, Liquor, Stream
from canewright.properties.sucrose import sucrose_density
from canewright.quantity import Num, constant
from canewright.quantity.maths import sqrt

KILOGRAMS = constant(1000.0, "kg/t")
TONNES = constant(1e-3, "t/kg")
STANDSTILL = constant(1e-4, "t/h")
"""0.1 kg/h, added to a flow that divides: shares, concentrations and times of passage then have a value at rest.

A smaller trickle would be exact to more digits but leave the unknown share determined by rounding alone."""
SEEPAGE_SQUARED = constant(1e-14, "t·t/h/h")
IDLE_SOLIDS = constant(65e-4, "%·t/h")
LIQUID = ("water", "sucrose", "reducing_sugars", "ash", "other", "colour")
"""What a liquor consists of without its suspended solids."""


class LiquorStation(Station):
    """A vessel that loses heat to its surroundings in proportion to its excess temperature; idle, it is as warm."""

    heat_loss = setting("kW/K", 0.5, "heat lost for each kelvin above the surroundings", limits=(0.01, 50.0))
    surroundings = setting("°C", 30.0, "temperature of the surroundings", limits=(-10.0, 50.0))

    def _lost(self, warm: Num) -> Exchange:
        lost = self.KILOWATT * self.heat_loss * (warm - self.surroundings)
        return Exchange("heat lost to the surroundings", "energy", -lost)


def equally_warm(first: Stream, *others: Stream) -> Equations:
    """Streams that leave one vessel have one temperature."""
    for other in others:
        yield "streams leave equally warm", other.temperature, first.temperature


def in_proportion(part: Liquor, ratio: Num, brought: Stream, names: Iterable[str] = LIQUID) -> Equations:
    """Each named component of ``part`` is the same ratio of what is brought; crystal counts as sucrose."""
    for name in names:
        yield f"{name.replace('_', ' ')} goes in proportion", getattr(part, name), ratio * amount(brought, name)


def held_share(sentence: str, ratio: Num, part: Num, whole: Num) -> Equations:
    """``ratio`` is a small ``part`` of a ``whole`` (t/h); nothing of nothing is zero."""
    yield sentence, ratio * (whole + STANDSTILL), part


def draw_ratio(sentence: str, ratio: Num, drawn: Num, flow: Num) -> Equations:
    """``ratio`` is ``drawn`` on ``flow`` (t/h) while far below one; it never passes one, even where nothing flows."""
    yield sentence, ratio * sqrt(flow * flow + drawn * drawn + SEEPAGE_SQUARED), drawn


def dry_substance_of(value: Num, liquor: Liquor) -> Equations:
    """``value`` is the dry substance of a liquor, % m/m; 65 where nothing flows, so that its density has a value."""
    whole = liquor.solution + STANDSTILL
    yield "dry substance is solids on solution", value * whole, PERCENT * liquor.solids + IDLE_SOLIDS


def liquor_density(dry_substance: Num, liquor: Liquor) -> Num:
    """Density of a liquor, t/m³, by the law of pure sucrose at its dry substance and temperature."""
    return TONNES * sucrose_density(dry_substance, liquor.temperature)
