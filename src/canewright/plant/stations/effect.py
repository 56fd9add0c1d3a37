"""Evaporator effect: vapour condensing in the calandria boils water out of juice or liquor."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from canewright.plant.balance import conserve, conserve_energy
from canewright.plant.ratios import SEEPAGE
from canewright.plant.retention import Retaining
from canewright.plant.station import Equations, Exchange, choice, inlet, outlet, result, setting, spread
from canewright.plant.streams import PERCENT, Liquor, Steam, Water
from canewright.plant.strength import density, strength
from canewright.plant.surface import ScalingSurface
from canewright.properties.boiling import (
    boiling_point_elevation_handbook,
    boiling_point_elevation_textbook,
    boiling_temperature,
    hydrostatic_boiling_rise,
)
from canewright.properties.heat_transfer import heat_transfer_fitted
from canewright.properties.kinetics import heat_transfer_dessin, heat_transfer_swedish
from canewright.properties.steam import saturation_pressure, saturation_temperature
from canewright.quantity import Num, constant

TONNES = constant(1e-3, "t/kg")


class EvaporatorEffect(ScalingSurface, Retaining):
    """One vessel: heat through the surface by ``U A (condensing - boiling)``, vapour superheated by the elevation.

    It decides neither its steam flow nor the pressure of its vapour: what follows it does (the next calandria, in the
    end a condenser), so a row of effects takes as much steam as its surfaces pass. It needs liquor enough to stay wet;
    a vessel out of service stands beside another that holds the pressure of its vapour.
    The coefficient of the clean surface is the plant's own figure, or that of a handbook law times ``law_multiplier``;
    the liquor boils at its surface, or by convention at half the height of the juice.
    Ranges: coefficient 2.3-3.0 kW/m²K in the first to 0.5-0.8 in the last vessel, head 0.5-6 K, juice about a third of
    the tube height, heat loss with vents 1-2 %, evaporation 20-30 kg/m²h (from memory, common practice). Balances as in
    any handbook of evaporation; own statement.
    """

    kind = "evaporator effect"
    hazards = (
        "Boiling juice, vapour and condensate scald; vessels are pressure and vacuum vessels under local codes.",
        "Chemical cleaning uses hot caustic and acid: site procedure, and empty and vent before entry.",
        "A leaking tube brings sugar into condensate: test it before any goes to a boiler.",
    )

    liquor, steam = inlet(Liquor), inlet(Steam)
    concentrated, vapour, condensate = outlet(Liquor), outlet(Steam), outlet(Water)

    boiling_point = choice("activity", "handbook", "textbook", "none", says="law of the boiling point elevation")
    heat_transfer = choice("own", "fitted", "dessin", "swedish", says="law of the coefficient of the clean surface")
    head = choice("set", "half height", says="how the depth of the juice raises its boiling temperature")

    area = setting("m²", 2000.0, "heating surface", limits=(1.0, 20000.0))
    heat_transfer_coefficient = setting(
        "kW/m²/K", 2.0, "the plant's own coefficient, or of water where it is fitted", limits=(0.01, 8.0), prior=0.2
    )
    law_multiplier = setting("1", 1.0, "the plant's coefficient on that of a handbook law", limits=(0.1, 3.0))
    most_strength = setting("%", 100.0, "dry substance at which the fitted law vanishes", limits=(85.0, 120.0))
    strength_exponent = setting("1", 1.0, "exponent of the fitted law", limits=(0.2, 3.0))
    head_rise = setting("K", 0.0, "rise of the boiling temperature by the depth of liquor", limits=(0.0, 12.0))
    juice_height = setting("m", 0.6, "height of the juice, without froth, where half counts", limits=(0.0, 4.0))
    heat_loss = setting("%", 1.0, "heat lost and vented, on the heat given off by the steam", limits=(0.0, 10.0))
    colour_formed = setting("%", 0.0, "colour formed, on colour that enters", limits=(0.0, 50.0), prior=1.0)
    greatest_rate = setting("kg/m²/h", 60.0, "evaporation that the vapour space passes", limits=(5.0, 200.0))
    duty = result("kW", 20000.0, "heat given off by the steam", limits=(0.0, 1e6))
    boiling_rise = result("K", 2.0, "rise of the boiling temperature by the depth of liquor", limits=(0.0, 40.0))

    def equations(self) -> Equations:
        """Balances, boiling at the pressure of the vapour, and heat through the surface."""
        out, vapour, condensate = self.concentrated, self.vapour, self.condensate
        yield from conserve(self.liquor, into=[out, vapour], exchanges=self.exchanges())
        yield "liquor boils at the pressure of the vapour", out.temperature, self._boils_at()
        yield "vapour leaves as warm as the liquor", vapour.temperature, out.temperature
        yield "steam in is condensate out", self.steam.water, condensate.water
        yield "condensate leaves as it condenses", condensate.temperature, self.steam.saturation_temperature
        yield (
            "duty is the heat that the steam gives off",
            self.KILOWATT * self.duty,
            self.steam.enthalpy_flow - condensate.enthalpy_flow,
        )
        yield from self._scaled(self._clean())
        yield "liquor boils hotter by its depth", self.boiling_rise, self._depth()
        yield "heat passes the surface", self.duty, self._passes()
        yield from conserve_energy(self)
        yield from self._retained(out)

    def _boils_at(self) -> Num:
        out, pressure = self.concentrated, self.vapour.pressure
        if self.boiling_point == "activity":
            return boiling_temperature(out.water, out.sucrose, out.reducing_sugars, out.ash + out.other, pressure)
        water = saturation_temperature(pressure)
        dry_substance = PERCENT * out.solids / (out.solution + SEEPAGE)
        if self.boiling_point == "handbook":
            return water + boiling_point_elevation_handbook(dry_substance, water)
        if self.boiling_point == "textbook":
            return water + boiling_point_elevation_textbook(dry_substance)
        return water

    def _clean(self) -> Num:
        """Coefficient of the clean surface."""
        own, dry_substance = self.heat_transfer_coefficient, strength(self.concentrated)
        if self.heat_transfer == "fitted":
            return heat_transfer_fitted(own, dry_substance, self.most_strength, self.strength_exponent)
        if self.heat_transfer == "dessin":
            return self.law_multiplier * heat_transfer_dessin(dry_substance, self.steam.saturation_temperature)
        if self.heat_transfer == "swedish":
            return self.law_multiplier * heat_transfer_swedish(dry_substance, self.concentrated.temperature)
        return own

    def _depth(self) -> Num:
        if self.head == "set":
            return self.head_rise
        return hydrostatic_boiling_rise(self.vapour.pressure, density(self.concentrated), self.juice_height)

    def _passes(self) -> Num:
        driving = self.steam.saturation_temperature - self.concentrated.temperature - self.boiling_rise
        return self.working_coefficient * self._serving(self.area) * driving

    def exchanges(self) -> Iterable[Exchange]:
        """Heat lost, sucrose inverted and colour formed."""
        yield Exchange("heat lost and vented", "energy", -(self.KILOWATT * self.heat_loss / PERCENT * self.duty))
        yield from self._inversion(self.liquor)
        yield Exchange("colour formed", "colour", self.colour_formed / PERCENT * self.liquor.total_colour)

    def capacities(self) -> Iterable[tuple[str, Num, Num]]:
        """Vapour within what the vapour space passes without carrying juice over, t/h."""
        there = TONNES * self.greatest_rate * self._serving(self.area)
        yield "vapour leaves without carrying juice over", self.vapour.water, there

    def estimate(self) -> Mapping[str, float]:
        """A third of the water boils off; the surface says how much cooler than the steam. Asks for its steam.

        The drop is taken wide: Newton reaches a boiling pressure safely from below, not from above.
        """
        boiled = float(self.liquor.water) / 3.0
        duty = boiled * 2250.0 / 3.6
        passing = float(self.heat_transfer_coefficient) * float(self._serving(self.area)) + 1e-6
        driving = 1.3 * duty / passing + float(self.head_rise)
        boiling = max(float(self.steam.saturation_temperature) - min(max(driving, 4.0), 25.0), 45.0)
        guess = spread([self.liquor], {self.concentrated: 1.0}, boiling)
        guess[f"{self.concentrated.prefix}.water"] = 2.0 * boiled
        guess |= {f"{self.vapour.prefix}.water": boiled, f"{self.vapour.prefix}.temperature": boiling}
        guess |= {f"{self.vapour.prefix}.pressure": float(saturation_pressure(boiling - 1.0))}
        guess |= {f"{self.steam.prefix}.water": boiled, f"{self.condensate.prefix}.water": boiled}
        guess |= self._stay(self.liquor) | {f"{self.name}.boiling_rise": float(self.head_rise)}
        guess |= {f"{self.name}.working_coefficient": float(self.heat_transfer_coefficient)}
        condensing = float(self.steam.saturation_temperature)
        return {**guess, f"{self.condensate.prefix}.temperature": condensing, f"{self.name}.duty": duty}
