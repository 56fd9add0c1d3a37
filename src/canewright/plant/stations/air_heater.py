"""Air heater: air for a sugar dryer is warmed with condensing steam."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from canewright.plant.balance import conserve_energy
from canewright.plant.station import Equations, Exchange, Station, inlet, outlet, result, setting
from canewright.plant.streams import PERCENT, Air, Steam, Water
from canewright.quantity import Num


class AirHeater(Station):
    """Finned steam coil; air to 60-95 °C (common practice, no source). Steam condenses, condensate leaves boiling.

    It decides the flow of air drawn and of steam; the flow of warm air is its user's. Air warmer than the steam
    condenses is refused by the name of the approach.
    """

    kind = "air heater"
    hazards = ("Steam and hot surfaces burn; coils are pressure parts under local codes.",)
    handles = ("temperature",)
    measured = ("heated temperature", "steam pressure")

    air, steam = inlet(Air), inlet(Steam)
    heated, condensate = outlet(Air), outlet(Water)
    temperature = setting("°C", 85.0, "temperature of the warm air", limits=(20.0, 150.0), prior=1.0)
    rating = setting("kW", 5000.0, "heat that the coils give to the air", limits=(0.0, 1e5))
    heat_loss = setting("%", 2.0, "heat lost, on the heat to the air", limits=(0.0, 20.0))
    approach = result("K", 30.0, "condensing temperature above the warm air", limits=(0.0, 300.0))

    def equations(self) -> Equations:
        """Air and its water pass; steam gives the heat and leaves as condensate."""
        air, heated, condensate = self.air, self.heated, self.condensate
        yield "dry air in is dry air out", air.dry_air, heated.dry_air
        yield "humidity passes", air.water, heated.water
        yield "air leaves at the temperature", heated.temperature, self.temperature
        yield "steam in is condensate out", self.steam.water, condensate.water
        yield "condensate leaves boiling", condensate.temperature, self.steam.saturation_temperature
        yield from conserve_energy(self)
        yield "steam condenses above the warm air", condensate.temperature - heated.temperature, self.approach

    def _gained(self) -> Num:
        """Heat that the air takes up, MJ/h."""
        return self.heated.enthalpy_flow - self.air.enthalpy_flow

    def exchanges(self) -> Iterable[Exchange]:
        """Heat lost."""
        yield Exchange("heat lost to the surroundings", "energy", -self.heat_loss / PERCENT * self._gained())

    def capacities(self) -> Iterable[tuple[str, Num, Num]]:
        """Heat within what the coils give, kW."""
        yield "heat within what the coils give", self._gained() / self.KILOWATT, self.rating

    def estimate(self) -> Mapping[str, float]:
        """The heat of dry air over the latent heat of steam."""
        flow, warm = float(self.heated.dry_air), float(self.temperature)
        boiling = float(self.steam.saturation_temperature)
        steam = max(1.02 * flow * (warm - float(self.air.temperature)) / 2200.0, 0.0)
        guess = {f"{s.prefix}.water": steam for s in (self.steam, self.condensate)}
        guess |= {f"{self.air.prefix}.dry_air": flow, f"{self.heated.prefix}.temperature": warm}
        guess |= {
            f"{self.heated.prefix}.water": float(self.air.water),
            f"{self.condensate.prefix}.temperature": boiling,
        }
        return {**guess, f"{self.name}.approach": boiling - warm}
