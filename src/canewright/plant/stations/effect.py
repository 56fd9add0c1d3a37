"""Evaporator effect: vapour condensing in the calandria boils water out of juice or liquor."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from canewright.plant.balance import conserve, conserve_energy
from canewright.plant.boiling import boiling_law, boiling_point_choice, boils_at
from canewright.plant.ratios import SEEPAGE
from canewright.plant.retention import Retaining
from canewright.plant.station import Equations, Exchange, choice, inlet, outlet, published, result, setting, spread
from canewright.plant.streams import PERCENT, Liquor, Steam, Water
from canewright.plant.strength import density, strength
from canewright.plant.surface import ONE, ScalingSurface
from canewright.properties.boiling import hydrostatic_boiling_rise
from canewright.properties.steam import saturation_pressure
from canewright.quantity import Num, constant

TONNES = constant(1e-3, "t/kg")


class EvaporatorEffect(ScalingSurface, Retaining):
    """One vessel: heat through the surface by ``U A (condensing - boiling)``, vapour superheated by the elevation.

    It decides neither its steam flow nor the pressure of its vapour: what follows it does (the next calandria, in the
    end a condenser), so a row of effects takes as much steam as its surfaces pass. It needs liquor enough to stay wet;
    a vessel out of service stands beside another that holds the pressure of its vapour.
    The coefficient of the clean surface is the vessel's own figure, or that of a published law times
    ``law_multiplier``; the liquor boils at its surface, or by convention at half the height of the juice.
    Ranges: coefficient 2.3-3.0 kW/m²K in the first to 0.5-0.8 in the last vessel, head 0.5-6 K, juice about a third of
    the tube height, heat loss 1 %, vents 0.5-1.5 % of the steam, evaporation 20-30 kg/m²h (from memory, common
    practice). Balances as in any handbook of evaporation; own statement.
    """

    kind = "evaporator effect"
    hazards = (
        "Boiling juice, vapour and condensate scald; vessels are pressure and vacuum vessels under local codes.",
        "Chemical cleaning uses hot caustic and acid: site procedure, and empty and vent before entry.",
        "A leaking tube brings sugar into condensate: test it before any goes to a boiler.",
    )
    handles = ("liquor", "vented", "in_service")
    measured = (
        "steam pressure",
        "vapour pressure",
        "concentrated refractometer brix",
        "concentrated temperature",
        "condensate temperature",
    )

    liquor, steam = inlet(Liquor), inlet(Steam)
    concentrated, vapour, condensate = outlet(Liquor), outlet(Steam), outlet(Water)

    boiling_point = boiling_point_choice()
    heat_transfer = choice("own", "law", says="whether the coefficient is the vessel's own figure or by a law")
    coefficient_law = published("heat transfer", says="law of the coefficient of the clean surface")
    head = choice("set", "half height", says="how the depth of the juice raises its boiling temperature")

    area = setting("m²", 2000.0, "heating surface", limits=(1.0, 20000.0))
    heat_transfer_coefficient = setting(
        "kW/m²/K", 2.0, "coefficient of the clean surface, where it is the vessel's own", limits=(0.01, 8.0), prior=0.2
    )
    law_multiplier = setting("1", 1.0, "the vessel's coefficient on that of the law", limits=(0.1, 3.0))
    head_rise = setting("K", 0.0, "rise of the boiling temperature by the depth of liquor", limits=(0.0, 12.0))
    juice_height = setting("m", 0.6, "height of the juice, without froth, where half counts", limits=(0.0, 4.0))
    heat_loss = setting("%", 1.0, "heat lost, on the heat given off by the steam", limits=(0.0, 10.0))
    vented = setting("%", 0.0, "steam let out with the gas that it brings", limits=(0.0, 10.0))
    colour_formed = setting("%", 0.0, "colour formed, on colour that enters", limits=(0.0, 50.0), prior=1.0)
    greatest_rate = setting("kg/m²/h", 60.0, "evaporation that the vapour space passes", limits=(5.0, 200.0))
    duty = result("kW", 20000.0, "heat given off by the steam", limits=(0.0, 1e6))
    boiling_rise = result("K", 2.0, "rise of the boiling temperature by the depth of liquor", limits=(0.0, 40.0))

    def equations(self) -> Equations:
        """Balances, boiling at the pressure of the vapour, and heat through the surface."""
        out, vapour, condensate = self.concentrated, self.vapour, self.condensate
        yield from conserve(self.liquor, into=[out, vapour], exchanges=self._reactions())
        yield "liquor boils at the pressure of the vapour", out.temperature, self._boils_at()
        yield "vapour leaves as warm as the liquor", vapour.temperature, out.temperature
        yield "steam in is condensate and vent", self._condensing() * self.steam.water, condensate.water
        yield "condensate leaves as it condenses", condensate.temperature, self.steam.saturation_temperature
        yield (
            "duty is the heat that the steam gives off",
            self.KILOWATT * self.duty,
            self._condensing() * self.steam.enthalpy_flow - condensate.enthalpy_flow,
        )
        yield from self._scaled(self._clean())
        yield "liquor boils hotter by its depth", self.boiling_rise, self._depth()
        yield "heat passes the surface", self.duty, self._passes()
        yield from conserve_energy(self)
        yield from self._retained(out)

    def _condensing(self) -> Num:
        """Share of the steam that is not vented."""
        return ONE - self.vented / PERCENT

    def _boils_at(self) -> Num:
        out = self.concentrated
        dry_substance = PERCENT * out.solids / (out.solution + SEEPAGE)
        return boils_at(boiling_law(self), out, dry_substance, self.vapour.pressure)

    def _clean(self) -> Num:
        """Coefficient of the clean surface."""
        if self.heat_transfer == "own":
            return self.heat_transfer_coefficient
        out = self.concentrated
        return self.law_multiplier * self.form("coefficient_law")(
            dry_substance=strength(out),
            heating_temperature=self.steam.saturation_temperature,
            boiling_temperature=out.temperature,
        )

    def _depth(self) -> Num:
        if self.head == "set":
            return self.head_rise
        return hydrostatic_boiling_rise(self.vapour.pressure, density(self.concentrated), self.juice_height)

    def _passes(self) -> Num:
        driving = self.steam.saturation_temperature - self.concentrated.temperature - self.boiling_rise
        return self.working_coefficient * self._serving(self.area) * driving

    def exchanges(self) -> Iterable[Exchange]:
        """Heat lost, steam vented, sucrose inverted and colour formed."""
        vented = self.vented / PERCENT
        yield Exchange("steam vented", "water", -(vented * self.steam.water))
        yield Exchange("heat of the steam vented", "energy", -(vented * self.steam.enthalpy_flow))
        yield Exchange("heat lost", "energy", -(self.KILOWATT * self.heat_loss / PERCENT * self.duty))
        yield from self._reactions()

    def _reactions(self) -> Iterable[Exchange]:
        """What changes in the juice."""
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
