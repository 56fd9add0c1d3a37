"""The temperature at which a liquor boils, by the form of the boiling-point elevation that the plant works with."""

from __future__ import annotations

from canewright.plant.ratios import SEEPAGE
from canewright.plant.station import Station, published
from canewright.plant.streams import PERCENT, Liquor
from canewright.properties.boiling import boiling_temperature
from canewright.properties.choices import Form
from canewright.properties.steam import saturation_temperature
from canewright.quantity import Num

WITHOUT = "none"
"""The option of a station whose liquor boils as water does."""


def boiling_point_choice() -> str:
    """Declare the choice of the law."""
    return published("boiling point elevation", WITHOUT, says="law of the boiling point elevation")


def boiling_law(station: Station) -> Form | None:
    """The law of a station whose choice is named ``boiling_point``; None where it boils as water does."""
    return None if station.picked("boiling_point") == WITHOUT else station.form("boiling_point")


def boils_at(law: Form | None, liquor: Liquor, dry_substance: Num, pressure: Num) -> Num:
    """Temperature, °C, at which the solution (the mother liquor, where there is crystal) boils at its surface.

    From its dry substance, % m/m, and the absolute pressure, kPa. Norrish's law takes the liquor's own reducing sugars,
    where its form for the handbook assumes their share.
    """
    if law is None:
        return saturation_temperature(pressure)
    if law.choice.name == "norrish":
        other = liquor.ash + liquor.other
        return boiling_temperature(liquor.water, liquor.sucrose, liquor.reducing_sugars, other, pressure)
    water_boils = saturation_temperature(pressure)
    # nothing dissolved counts as pure, so that water and an idle vessel have a purity
    purity = PERCENT * (liquor.sucrose + SEEPAGE) / (liquor.dissolved + SEEPAGE)
    return water_boils + law(dry_substance=dry_substance, purity=purity, temperature=water_boils)
