"""Steam and air from beyond the described plant; their users set the flow."""

from __future__ import annotations

from collections.abc import Mapping

from canewright.plant.station import Equations, Station, choice, outlets, setting
from canewright.plant.streams import ATMOSPHERE, Air, Steam
from canewright.properties.air import humidity_at
from canewright.properties.steam import saturation_temperature
from canewright.quantity import Num, constant

PER_MILLE = constant(1000.0, "g/kg")


class SteamSupply(Station):
    """Steam from outside at a pressure, superheated by a difference or to a temperature; users set the flow."""

    kind = "steam supply"
    boundary = True
    hazards = ("Steam burns: pressure equipment is for licensed persons under local codes.",)

    steam = outlets(Steam)
    given = choice("superheat", "temperature", says="which of superheat and temperature counts")
    pressure = setting("kPa", 170.0, "absolute pressure", limits=(5.0, 9000.0), prior=3.0)
    superheat = setting("K", 3.0, "above the boiling point of water", limits=(0.0, 250.0))
    temperature = setting("°C", 130.0, "temperature, where that is given", limits=(40.0, 560.0))

    def _warm(self) -> Num:
        if self.given == "temperature":
            return self.temperature
        return saturation_temperature(self.pressure) + self.superheat

    def equations(self) -> Equations:
        """Every branch has the pressure and temperature of the supply."""
        for branch in self.steam:
            yield "steam has the pressure of the supply", branch.pressure, self.pressure
            yield "steam has the temperature of the supply", branch.temperature, self._warm()

    def estimate(self) -> Mapping[str, float]:
        """Pressure and temperature; flows are the users' guess."""
        state = {"pressure": float(self.pressure), "temperature": float(self._warm())}
        return {f"{b.prefix}.{name}": value for b in self.steam for name, value in state.items()}


class AirSupply(Station):
    """Outside or heated air at a temperature and a humidity; users set the flow.

    Relative humidity counts up to 90 °C; hotter air is given by its humidity ratio.
    """

    kind = "air supply"
    boundary = True

    air = outlets(Air)
    given = choice("relative humidity", "humidity ratio", says="which of the two humidities counts")
    temperature = setting("°C", 30.0, "dry-bulb temperature", limits=(1.0, 130.0), prior=1.0)
    relative_humidity = setting("%", 70.0, "relative humidity", limits=(1.0, 100.0), prior=5.0)
    humidity_ratio = setting("g/kg", 18.0, "water per dry air, where that is given", limits=(0.0, 400.0), prior=1.0)

    def _humidity(self) -> Num:
        if self.given == "humidity ratio":
            return self.humidity_ratio / PER_MILLE
        return humidity_at(self.temperature, self.relative_humidity, ATMOSPHERE)

    def equations(self) -> Equations:
        """Every branch has the temperature and humidity of outside air."""
        for branch in self.air:
            yield "air has the temperature of the supply", branch.temperature, self.temperature
            yield "water is the humidity of the air", branch.water, self._humidity() * branch.dry_air

    def estimate(self) -> Mapping[str, float]:
        """Temperature and humidity; flows are the users' guess."""
        guess = {f"{b.prefix}.temperature": float(self.temperature) for b in self.air}
        humid = float(self._humidity())
        return {**guess, **{f"{b.prefix}.water": humid * float(b.dry_air) for b in self.air}}
