"""A heater with tubes: vapour condenses outside, juice or liquor is warmed inside."""

from __future__ import annotations

from collections.abc import Iterable

from canewright.plant.balance import conserve, conserve_energy
from canewright.plant.heat import heat_capacity_flow
from canewright.plant.liquor_station import STANDSTILL
from canewright.plant.station import Equations, Exchange, choice, inlet, outlet, published, result, setting, spread
from canewright.plant.streams import PERCENT, Liquor, Steam, Water
from canewright.plant.strength import guarded_purity, strength
from canewright.plant.surface import ScalingSurface
from canewright.properties.heat_transfer import (
    film_coefficient_dittus_boelter,
    film_coefficient_sieder_tate,
    overall_coefficient,
)
from canewright.properties.sucrose import sucrose_density
from canewright.properties.thermal import liquor_conductivity, liquor_specific_heat
from canewright.quantity import Num, constant
from canewright.quantity.maths import exp, sqrt

HALF = constant(0.5, "1")
KILOGRAMS = constant(1000.0, "kg/t")
SECONDS = constant(3600.0, "s/h")
SLOWEST_SQUARED = constant(0.0101, "m·m/s/s")
"""Below 0.1 m/s the laws of turbulent flow end; juice in the tubes then stirs itself. At 1.5 m/s it adds 0.2 %."""
FILMS = {"sieder-tate": film_coefficient_sieder_tate, "dittus-boelter": film_coefficient_dittus_boelter}


class TubeHeater(ScalingSurface):
    """What heaters share; each says in its own way what its coefficient or its temperature is.

    Exact law of a condensing heater of constant specific heat: ``Ts - T2 = (Ts - T1) exp(-NTU)``, NTU = U A / C.
    Coefficients 1.0-1.6 kW/m²K clean, 0.5-0.9 scaled (from memory); 1.2-1.4 in Kern, Process Heat Transfer (1950),
    example 14.4 (read). The clean coefficient is the plant's own, or by the film of juice in the tubes, wall and film
    of condensate in series. Superheat of the vapour counts as heat, not as driving temperature.
    """

    hazards = ("Hot juice and vapour scald; vent and isolate before opening, under local pressure codes.",)
    handles = ("in_service", "vapour")
    measured = ("liquor temperature", "heated temperature", "vapour pressure")

    liquor, vapour = inlet(Liquor), inlet(Steam)
    heated, condensate = outlet(Liquor), outlet(Water)
    heat_transfer = choice("own", *FILMS, says="law of the coefficient of the clean surface")
    viscosity = published("viscosity", says="law of the viscosity of the juice")

    area = setting("m²", 500.0, "heating surface", limits=(1.0, 10000.0))
    clean_coefficient = setting("kW/m²/K", 1.2, "the plant's own coefficient when clean", limits=(0.05, 5.0))
    flow_area = setting("m²", 0.2, "cross-section of the tubes of one pass", limits=(0.001, 5.0))
    tube_diameter = setting("m", 0.0381, "inner diameter of the tubes", limits=(0.01, 0.2))
    condensing_film = setting("kW/m²/K", 10.0, "film coefficient of the condensing vapour", limits=(1.0, 50.0))
    wall_resistance = setting("m²·K/kW", 0.05, "resistance of the clean wall", limits=(0.0, 1.0))
    greatest_velocity = setting("m/s", 2.5, "velocity in the tubes that the pump can give", limits=(0.1, 5.0))
    heat_loss = setting("%", 1.0, "heat lost, on the heat given off by the vapour", limits=(0.0, 10.0))
    duty = result("kW", 10000.0, "heat given off by the vapour", limits=(0.0, 1e6))
    transfer_units = result("1", 1.0, "number of transfer units", limits=(0.0, 12.0))
    tube_velocity = result("m/s", 1.5, "velocity in the tubes", limits=(0.0, 100.0))

    def _shared(self, coefficient: Num, capacity_flow: Num) -> Equations:
        """Balances, and the approach to the vapour by a coefficient and a heat capacity flow, MJ/h/K."""
        cold, hot, vapour, condensate = self.liquor, self.heated, self.vapour, self.condensate
        condensing = vapour.saturation_temperature
        yield from conserve(cold, into=[hot])
        yield "vapour in is condensate out", vapour.water, condensate.water
        yield "condensate leaves as it condenses", condensate.temperature, condensing
        yield (
            "duty is the heat that the vapour gives off",
            self.KILOWATT * self.duty,
            vapour.enthalpy_flow - condensate.enthalpy_flow,
        )
        yield from conserve_energy(self)
        yield (
            "juice approaches the condensing vapour",
            condensing - hot.temperature,
            (condensing - cold.temperature) * exp(-self.transfer_units),
        )
        yield (
            "the surface passes the heat by its coefficient",
            self.KILOWATT * coefficient * self._serving(self.area),
            self.transfer_units * capacity_flow,
        )
        flows = SECONDS * self.tube_velocity * self.flow_area * self._density()
        yield "juice fills the tubes", flows, KILOGRAMS * (cold.flow + STANDSTILL)
        yield from self._scaled(self._clean())

    def _capacity_flow(self) -> Num:
        """Heat capacity flow of the juice at its mean temperature, MJ/h/K."""
        return heat_capacity_flow(self.liquor, self._mean())

    def _mean(self) -> Num:
        """Mean temperature of the juice, °C."""
        return self.liquor.temperature + HALF * (self.heated.temperature - self.liquor.temperature)

    def _density(self) -> Num:
        return sucrose_density(strength(self.liquor), self._mean())

    def _clean(self) -> Num:
        """Coefficient of the clean surface, kW/m²K."""
        if self.heat_transfer == "own":
            return self.clean_coefficient
        dry_substance, mean = strength(self.liquor), self._mean()
        film = FILMS[self.heat_transfer](
            sqrt(self.tube_velocity * self.tube_velocity + SLOWEST_SQUARED),
            self.tube_diameter,
            self._density(),
            self.form("viscosity")(dry_substance=dry_substance, temperature=mean),
            liquor_specific_heat(dry_substance, guarded_purity(self.liquor), mean),
            liquor_conductivity(dry_substance, mean),
        )
        return overall_coefficient(film, self.condensing_film, self.wall_resistance)

    def exchanges(self) -> Iterable[Exchange]:
        """Heat lost to the surroundings."""
        yield Exchange(
            "heat lost to the surroundings", "energy", -(self.KILOWATT * self.heat_loss / PERCENT * self.duty)
        )

    def _warmed(self, temperature: float) -> dict[str, float]:
        """The heat of warming at 3.8 kJ/kg K, and vapour by the latent heat. Asks for its vapour."""
        rise = max(temperature - float(self.liquor.temperature), 0.0)
        duty = float(self.liquor.flow) * 3.8 * rise / 3.6
        flow = duty * 3.6 / 2200.0
        condensing = float(self.vapour.saturation_temperature)
        guess = spread([self.liquor], {self.heated: 1.0}, temperature)
        guess |= {f"{self.vapour.prefix}.water": flow, f"{self.condensate.prefix}.water": flow}
        guess |= {f"{self.condensate.prefix}.temperature": condensing}
        velocity = float(self.liquor.flow + STANDSTILL) / 3.6 / float(self.flow_area * self._density())
        guess |= {f"{self.name}.tube_velocity": velocity, f"{self.name}.working_coefficient": 1.0}
        return {**guess, f"{self.name}.duty": duty, f"{self.name}.transfer_units": 1.5}

    def _slow_enough(self) -> tuple[str, Num, Num]:
        return "juice within the velocity of its pump", self.tube_velocity, self.greatest_velocity
