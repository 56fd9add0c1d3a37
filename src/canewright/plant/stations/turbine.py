"""Back-pressure turbine: steam expands to the exhaust range and drives a generator or a machine."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from canewright.plant.expansion import FollowsExhaust, TurboGenerator, generated, guessed_real
from canewright.plant.station import Equations, Exchange, outlet, result, setting
from canewright.plant.streams import Steam
from canewright.properties.steam import saturation_temperature, steam_enthalpy
from canewright.quantity import Num


class BackPressureTurbine(FollowsExhaust, TurboGenerator):
    """Expansion with an isentropic efficiency, shaft and generator losses, at a set flow or following the exhaust.

    It decides the flow of steam; the pressure of the exhaust is the exhaust range's. Following, its governor admits
    steam in proportion to what the exhaust lacks of the top of its droop, and its swallow at ``wide_open_pressure``.
    With an exhaust range that is governed the turbine meets the demand and the range lets down what is beyond its
    ``most_exhaust`` (proportional back-pressure governor, droop 2-5 %; common practice, no source). The ideal end
    point may be wet (by the quality of the mixture) or superheated; the real exhaust must be superheated, and a wet
    one is refused by name.
    Isentropic efficiency of alternators 72-85 %, of mechanical drives 45-65 % (common practice, no source).
    """

    kind = "back-pressure turbine"
    hazards = (
        "Overspeed and live steam: governors, trips and relief are for licensed persons under local codes.",
        "Rotating shafts and couplings: guards and lock-out.",
    )
    handles = ("steam_flow", "droop")
    measured = ("power power", "steam mass flow", "exhaust pressure", "exhaust temperature")

    exhaust = outlet(Steam)
    steam_flow = setting("t/h", 60.0, "steam to the turbine", limits=(0.0, 500.0), prior=1.5)
    exhaust_superheat = result("K", 20.0, "superheat of the real exhaust", limits=(0.0, 400.0))

    def equations(self) -> Equations:
        """The ideal end point by entropy, the real one by efficiency, the power by what the steam gives up."""
        steam, exhaust = self.steam, self.exhaust
        yield "steam comes at the flow that is wanted", steam.water, self.flow_wanted
        yield from self.ideal(exhaust.pressure)
        yield "water in is water out", steam.water, exhaust.water
        real = self.live_enthalpy - steam_enthalpy(exhaust.temperature, exhaust.pressure)
        yield "the fall of enthalpy is its share of the ideal", real, self.fall(exhaust.pressure)
        boiling = exhaust.saturation_temperature
        yield "superheat is above the boiling point", exhaust.temperature - boiling, self.exhaust_superheat
        given_up = steam.enthalpy_flow - exhaust.enthalpy_flow
        yield "power is what the steam gives up, less losses", self.power.enthalpy_flow, self.kept * given_up

    @property
    def flow_wanted(self) -> Num:
        """Steam that is admitted, t/h: as set, or as the governor gives at the pressure of the exhaust."""
        return self.admitted(self.steam_flow, self.swallow, self.exhaust.pressure)

    def exchanges(self) -> Iterable[Exchange]:
        """Losses of bearings, gear and generator."""
        given_up = self.steam.enthalpy_flow - self.exhaust.enthalpy_flow
        yield Exchange("lost in bearings, gear and generator", "energy", -(1.0 - self.kept) * given_up)

    def estimate(self) -> Mapping[str, float]:
        """The end points by hand."""
        exhaust, flow = self.exhaust, float(self.flow_wanted)
        pressure = float(exhaust.pressure)
        ends, fall = self.guessed_end(pressure)
        superheat = guessed_real(float(self.live_enthalpy), fall, pressure)
        return (
            ends
            | generated(self, flow * fall)
            | {
                f"{self.name}.exhaust_superheat": superheat,
                f"{self.steam.prefix}.water": flow,
                f"{exhaust.prefix}.water": flow,
                f"{exhaust.prefix}.temperature": float(saturation_temperature(pressure)) + superheat,
            }
        )
