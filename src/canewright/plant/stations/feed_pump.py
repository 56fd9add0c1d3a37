"""Feed pump: lifts feedwater to the pressure of the boilers."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from canewright.plant.station import Equations, Exchange, Station, inlet, outlets, setting
from canewright.plant.streams import PERCENT, BoilerWater, Power
from canewright.properties.steam import water_enthalpy, water_volume
from canewright.quantity import Num


class FeedPump(Station):
    """Work of lifting the volume of the water over the rise of pressure, on the efficiency of the pump.

    What the pump loses warms the water, which goes to boilers and to sprays; what motor or turbine and gear lose does
    not. It decides the power and, from what the branches take, the flow. Pump 65-80 %, motor 92-95 % (common practice,
    no source).
    """

    kind = "feed pump"
    hazards = (
        "Hot water at boiler pressure: minimum flow, relief and low-level protection are for licensed persons.",
        "Rotating shafts and couplings: guards and lock-out.",
    )
    handles = ("pressure",)
    measured = ("delivered pressure", "power power")

    water, power = inlet(BoilerWater), inlet(Power)
    delivered = outlets(BoilerWater)
    pressure = setting("kPa", 6000.0, "absolute pressure of the delivery", limits=(150.0, 20000.0))
    pump_efficiency = setting("%", 72.0, "work of lifting on work of the shaft", limits=(20.0, 90.0), prior=3.0)
    motor_efficiency = setting("%", 94.0, "motor or gear", limits=(50.0, 100.0), prior=1.0)
    rating = setting("t/h", 400.0, "most that the pumps deliver", limits=(0.0, 2000.0))

    def equations(self) -> Equations:
        """The water passes, lifted to the pressure; power and warmth by its volume."""
        first, *others = self.delivered
        yield "water in is water out", self.water.water, self._given()
        for branch in self.delivered:
            yield "water leaves at the pressure of delivery", branch.pressure, self.pressure
        for branch in others:
            yield "all water leaves equally warm", branch.temperature, first.temperature
        kept = self.motor_efficiency / PERCENT * self.pump_efficiency / PERCENT
        yield "power is the work of lifting, with losses", kept * self.power.enthalpy_flow, self._given() * self._lift()
        warmed = water_enthalpy(first.temperature, first.pressure) - self._enthalpy()
        yield "water is warmed by the work of the pump", self.pump_efficiency / PERCENT * warmed, self._lift()

    def _given(self) -> Num:
        return sum(branch.water for branch in self.delivered)

    def _enthalpy(self) -> Num:
        return water_enthalpy(self.water.temperature, self.water.pressure)

    def _lift(self) -> Num:
        """Work of lifting a kilogram: volume times rise of pressure, kJ/kg."""
        return water_volume(self.water.temperature, self.water.pressure) * (self.pressure - self.water.pressure)

    def exchanges(self) -> Iterable[Exchange]:
        """Losses of the motor."""
        lost = (PERCENT - self.motor_efficiency) / PERCENT * self.power.enthalpy_flow
        yield Exchange("lost in the motor", "energy", -lost)

    def capacities(self) -> Iterable[tuple[str, Num, Num]]:
        """What the pumps deliver."""
        yield "feedwater within what the pumps deliver", self._given(), self.rating

    def estimate(self) -> Mapping[str, float]:
        """The flow that the boilers last took, hardly warmer."""
        flow, rise = float(self._given()), float(self.pressure - self.water.pressure)
        work = flow * 1.05e-3 * rise / (float(self.motor_efficiency) * float(self.pump_efficiency) * 1e-4)
        guess = {f"{b.prefix}.pressure": float(self.pressure) for b in self.delivered}
        guess |= {f"{b.prefix}.temperature": float(self.water.temperature) + 1.0 for b in self.delivered}
        return guess | {f"{self.water.prefix}.water": flow, f"{self.power.prefix}.power": work / 3.6}
