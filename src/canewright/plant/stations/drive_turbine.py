"""Drive turbine: a back-pressure turbine that turns mills, knives, a shredder, a pump or a fan."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from canewright.plant.expansion import Expansion, guessed_real
from canewright.plant.station import Equations, Exchange, outlet, outlets, result, setting
from canewright.plant.streams import Power, Steam
from canewright.properties.steam import saturation_temperature, steam_enthalpy
from canewright.quantity import Num


class DriveTurbine(Expansion):
    """Steam as the driven machines ask; the governor holds their speed.

    It decides the flow of steam from the power of its shafts; the pressure of the exhaust is the exhaust range's.
    Single-stage turbines 40-55 %, multi-stage 60-75 %, gear 92-97 % each step (common practice, no source).
    """

    kind = "drive turbine"
    hazards = (
        "Overspeed and live steam: governors, trips and relief are for licensed persons under local codes.",
        "Shafts, gears and couplings: guards and lock-out.",
    )
    measured = ("steam mass flow", "exhaust pressure", "exhaust temperature")

    shafts, exhaust = outlets(Power), outlet(Steam)
    isentropic_efficiency = setting(
        "%", 55.0, "real on ideal fall of enthalpy, at its swallow", limits=(20.0, 92.0), prior=3.0
    )
    swallow = setting("t/h", 40.0, "most steam that the turbine swallows", limits=(0.0, 600.0))
    exhaust_superheat = result("K", 80.0, "superheat of the real exhaust", limits=(0.0, 400.0))

    def equations(self) -> Equations:
        """The expansion, and the steam by the power of the shafts."""
        steam, exhaust = self.steam, self.exhaust
        yield from self.ideal(exhaust.pressure)
        yield "water in is water out", steam.water, exhaust.water
        real = self.live_enthalpy - steam_enthalpy(exhaust.temperature, exhaust.pressure)
        fall = self.fall(exhaust.pressure)
        yield "the fall of enthalpy is its share of the ideal", real, fall
        boiling = exhaust.saturation_temperature
        yield "superheat is above the boiling point", exhaust.temperature - boiling, self.exhaust_superheat
        yield "the shafts take what the steam gives up, less losses", self._taken(), self.kept * self._given_up()

    def _taken(self) -> Num:
        return sum(shaft.enthalpy_flow for shaft in self.shafts)

    def _given_up(self) -> Num:
        return self.steam.enthalpy_flow - self.exhaust.enthalpy_flow

    def exchanges(self) -> Iterable[Exchange]:
        """Losses of bearings and gear."""
        yield Exchange("lost in bearings and gear", "energy", -(1.0 - self.kept) * self._given_up())

    def estimate(self) -> Mapping[str, float]:
        """The steam by the power that the shafts last asked."""
        exhaust, pressure = self.exhaust, float(self.exhaust.pressure)
        ends, fall = self.guessed_end(pressure)
        superheat = guessed_real(float(self.live_enthalpy), fall, pressure)
        flow = float(self._taken()) / (float(self.kept) * fall)
        return ends | {
            f"{self.name}.exhaust_superheat": superheat,
            f"{self.steam.prefix}.water": flow,
            f"{exhaust.prefix}.water": flow,
            f"{exhaust.prefix}.temperature": float(saturation_temperature(pressure)) + superheat,
        }
