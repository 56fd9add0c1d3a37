"""Feed pump: lifts feedwater to the pressure of the boilers."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from canewright.plant.balance import conserve_energy
from canewright.plant.station import Equations, Exchange, Station, inlet, outlet, setting
from canewright.plant.streams import PERCENT, BoilerWater, Power
from canewright.properties.steam import water_volume
from canewright.quantity import Num


class FeedPump(Station):
    """Work of lifting the volume of the water over the rise of pressure, on the efficiency of the pump.

    What the pump loses warms the water; what motor or turbine and gear lose does not. It decides the power and, from
    what the boilers take, the flow. Pump 65-80 %, motor 92-95 % (common practice, no source).
    """

    kind = "feed pump"
    hazards = (
        "Hot water at boiler pressure: minimum flow, relief and low-level protection are for licensed persons.",
        "Rotating shafts and couplings: guards and lock-out.",
    )

    water, power = inlet(BoilerWater), inlet(Power)
    delivered = outlet(BoilerWater)
    pressure = setting("kPa", 6000.0, "absolute pressure of the delivery", limits=(150.0, 20000.0))
    pump_efficiency = setting("%", 72.0, "work of lifting on work of the shaft", limits=(20.0, 90.0), prior=3.0)
    motor_efficiency = setting("%", 94.0, "motor or gear", limits=(50.0, 100.0), prior=1.0)
    rating = setting("t/h", 400.0, "most that the pumps deliver", limits=(0.0, 2000.0))

    def equations(self) -> Equations:
        """The water passes, lifted to the pressure; power by its volume; warmth by the balance."""
        water, delivered = self.water, self.delivered
        yield "water in is water out", water.water, delivered.water
        yield "water leaves at the pressure of delivery", delivered.pressure, self.pressure
        kept = self.motor_efficiency / PERCENT * self.pump_efficiency / PERCENT
        yield "power is the work of lifting, with losses", kept * self.power.enthalpy_flow, self._lifting()
        yield from conserve_energy(self)

    def _lifting(self) -> Num:
        """Volume times rise of pressure, MJ/h: t/h times m³/kg times kPa."""
        rise = self.pressure - self.water.pressure
        return self.water.water * water_volume(self.water.temperature, self.water.pressure) * rise

    def exchanges(self) -> Iterable[Exchange]:
        """Losses of the motor."""
        lost = (PERCENT - self.motor_efficiency) / PERCENT * self.power.enthalpy_flow
        yield Exchange("lost in the motor", "energy", -lost)

    def capacities(self) -> Iterable[tuple[str, Num, Num]]:
        """What the pumps deliver."""
        yield "feedwater within what the pumps deliver", self.delivered.water, self.rating

    def estimate(self) -> Mapping[str, float]:
        """The flow that the boilers last took, hardly warmer."""
        flow, rise = float(self.delivered.water), float(self.pressure - self.water.pressure)
        work = flow * 1.05e-3 * rise / (float(self.motor_efficiency) * float(self.pump_efficiency) * 1e-4)
        return {
            f"{self.water.prefix}.water": flow,
            f"{self.delivered.prefix}.pressure": float(self.pressure),
            f"{self.delivered.prefix}.temperature": float(self.water.temperature) + 1.0,
            f"{self.power.prefix}.power": work / 3.6,
        }
