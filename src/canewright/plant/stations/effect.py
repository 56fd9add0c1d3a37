"""Evaporator effect: vapour condensing in the calandria boils water out of juice or liquor."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from canewright.plant.balance import conserve, conserve_energy
from canewright.plant.boiling import boiling_law, boiling_point_choice, boils_at
from canewright.plant.ratios import SEEPAGE
from canewright.plant.reactions import inversion
from canewright.plant.station import Equations, Exchange, Station, inlet, outlet, result, setting, spread
from canewright.plant.streams import PERCENT, Liquor, Steam, Water
from canewright.properties.steam import saturation_pressure
from canewright.quantity import Num


class EvaporatorEffect(Station):
    """One vessel: heat through the surface by ``U A (condensing - boiling)``, vapour superheated by the elevation.

    It decides neither its steam flow nor the pressure of its vapour: what follows it does (the next calandria, in the
    end a condenser), so a row of effects takes as much steam as its surfaces pass. It needs liquor enough to stay wet.
    Ranges: coefficient 2.3-3.0 kW/m²K in the first to 0.5-0.8 in the last vessel, head 0.5-6 K, heat loss with vents
    1-2 % (from memory, common practice). Balances as in any handbook of evaporation; own statement.
    """

    kind = "evaporator effect"
    hazards = (
        "Boiling juice, vapour and condensate scald; vessels are pressure and vacuum vessels under local codes.",
        "Chemical cleaning uses hot caustic and acid: site procedure, and empty and vent before entry.",
    )

    liquor, steam = inlet(Liquor), inlet(Steam)
    concentrated, vapour, condensate = outlet(Liquor), outlet(Steam), outlet(Water)

    area = setting("m²", 2000.0, "heating surface", limits=(1.0, 20000.0))
    heat_transfer_coefficient = setting(
        "kW/m²/K", 2.0, "overall heat transfer coefficient", limits=(0.01, 8.0), prior=0.2
    )
    head_rise = setting("K", 0.0, "rise of the boiling temperature by the depth of liquor", limits=(0.0, 12.0))
    heat_loss = setting("%", 1.0, "heat lost and vented, on the heat given off by the steam", limits=(0.0, 10.0))
    inversion = setting("%", 0.0, "sucrose inverted, on sucrose that enters", limits=(0.0, 5.0))
    colour_formed = setting("%", 0.0, "colour formed, on colour that enters", limits=(0.0, 50.0), prior=1.0)
    boiling_point = boiling_point_choice()
    duty = result("kW", 20000.0, "heat given off by the steam", limits=(0.0, 1e6))

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
        yield "heat passes the surface", self.duty, self._passes()
        yield from conserve_energy(self)

    def _boils_at(self) -> Num:
        out = self.concentrated
        dry_substance = PERCENT * out.solids / (out.solution + SEEPAGE)
        return boils_at(boiling_law(self), out, dry_substance, self.vapour.pressure)

    def _passes(self) -> Num:
        driving = self.steam.saturation_temperature - self.concentrated.temperature - self.head_rise
        return self.heat_transfer_coefficient * self.area * driving

    def exchanges(self) -> Iterable[Exchange]:
        """Heat lost, sucrose inverted and colour formed."""
        yield Exchange("heat lost and vented", "energy", -(self.KILOWATT * self.heat_loss / PERCENT * self.duty))
        yield from inversion(self.inversion / PERCENT * self.liquor.sucrose)
        yield Exchange("colour formed", "colour", self.colour_formed / PERCENT * self.liquor.total_colour)

    def estimate(self) -> Mapping[str, float]:
        """A third of the water boils off; the surface says how much cooler than the steam. Asks for its steam.

        The drop is taken wide: Newton reaches a boiling pressure safely from below, not from above.
        """
        boiled = float(self.liquor.water) / 3.0
        duty = boiled * 2250.0 / 3.6
        driving = 1.3 * duty / (float(self.area) * float(self.heat_transfer_coefficient)) + float(self.head_rise)
        boiling = max(float(self.steam.saturation_temperature) - min(max(driving, 4.0), 25.0), 45.0)
        guess = spread([self.liquor], {self.concentrated: 1.0}, boiling)
        guess[f"{self.concentrated.prefix}.water"] = 2.0 * boiled
        guess |= {f"{self.vapour.prefix}.water": boiled, f"{self.vapour.prefix}.temperature": boiling}
        guess |= {f"{self.vapour.prefix}.pressure": float(saturation_pressure(boiling - 1.0))}
        guess |= {f"{self.steam.prefix}.water": boiled, f"{self.condensate.prefix}.water": boiled}
        condensing = float(self.steam.saturation_temperature)
        return {**guess, f"{self.condensate.prefix}.temperature": condensing, f"{self.name}.duty": duty}
