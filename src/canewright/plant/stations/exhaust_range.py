"""Exhaust range: one pressure for all exhaust; let-down makes up what is short, blow-off gives off what is over."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from canewright.plant.balance import conserve_energy
from canewright.plant.either import either, surplus
from canewright.plant.station import Equations, Station, choice, inlet, inlets, outlet, outlets, result, setting
from canewright.plant.streams import Steam
from canewright.quantity import Num, constant

PASSING = constant(0.05**2, "t²/h²")
"""Square of what passes let-down and blow-off together where neither is needed: valves leak a little."""


SEEPING = constant(0.5**2, "t²/h²")
"""The same for governed valves, wider: neither is so nearly shut that a search for a likely day loses it."""


class ExhaustRange(Station):
    """The exhaust main at 200-250 kPa, or a middle range for a refinery (common practice, no source); all in it mixes.

    It decides the pressure of every stream that enters and the flow of the let-down; the flow of each branch is its
    user's. Held: the pressure is the one set, and of let-down and blow-off one is nothing (their product is
    0.000625 t²/h²). Governed, for a turbine that follows the exhaust: the pressure floats where the turbine's governor
    puts it; the let-down is shut while the turbines give less than ``most_exhaust``; the blow-off opens in proportion
    above the pressure set and its margin (common practice, no source). A turbine at a set flow wants a range that is
    held.
    """

    kind = "exhaust range"
    hazards = ("Steam blown off burns and deafens; relief of the range is for licensed persons under local codes.",)
    handles = ("pressure",)
    measured = ("actual_pressure", "let_down mass flow", "blow_off mass flow", "blow_off temperature")

    exhausts, let_down = inlets(Steam), inlet(Steam)
    branches, blow_off = outlets(Steam), outlet(Steam)
    pressure_is = choice("held", "governed", says="whether the pressure is held or floats between its valves")
    pressure = setting("kPa", 231.0, "absolute pressure of the range", limits=(110.0, 2500.0), prior=3.0)
    most_exhaust = setting(
        "t/h", 150.0, "governed: exhaust of the turbines at their swallow, beyond which steam is let down",
        limits=(0.0, 1000.0),
    )  # fmt: skip
    blow_off_margin = setting("kPa", 12.0, "governed: blow-off opens this much above", limits=(1.0, 100.0))
    valve_gain = setting("t/h/kPa", 20.0, "governed: blow-off per pressure beyond", limits=(1.0, 500.0))
    relief_margin = setting("kPa", 60.0, "the relief valves lift this much above the pressure set", limits=(5.0, 500.0))
    blow_off_rating = setting("t/h", 300.0, "steam that blow-off and silencer pass", limits=(0.0, 2000.0))
    actual_pressure = result("kPa", 231.0, "absolute pressure of the range as it stands", limits=(105.0, 2700.0))

    def equations(self) -> Equations:
        """One pressure, one mixture, what is short let down and what is over blown off."""
        for entering in (*self.exhausts, self.let_down):
            yield "steam enters at the pressure of the range", entering.pressure, self.actual_pressure
        leaving = (*self.branches, self.blow_off)
        for stream in leaving:
            yield "steam leaves at the pressure of the range", stream.pressure, self.actual_pressure
        for branch in self.branches:
            yield "all steam leaves as one mixture", branch.temperature, self.blow_off.temperature
        yield (
            "steam in is steam out",
            sum(s.water for s in (*self.exhausts, self.let_down)),
            sum(s.water for s in leaving),
        )
        yield from conserve_energy(self)
        yield from self._governed() if self.pressure_is == "governed" else self._held()

    def _held(self) -> Equations:
        """The pressure set; one of the two valves is shut."""
        yield "the range keeps its pressure", self.actual_pressure, self.pressure
        yield from either("steam is let down or blown off", self.let_down.water, self.blow_off.water, PASSING)

    def _governed(self) -> Equations:
        """Let-down only beyond what the turbines can give; blow-off in proportion to the pressure beyond its own."""
        spare = self.most_exhaust - sum(s.water for s in self.exhausts)
        yield from either("turbines have some to spare or steam is let down", spare, self.let_down.water, SEEPING)
        high = self.valve_gain * (self.actual_pressure - self.pressure - self.blow_off_margin)
        yield "blow-off opens above its pressure", self.blow_off.water, surplus(high, SEEPING)

    def capacities(self) -> Iterable[tuple[str, Num, Num]]:
        """Pressure below that at which relief lifts, kPa; steam within what the blow-off passes, t/h."""
        yield "range below the pressure of its relief", self.actual_pressure, self.pressure + self.relief_margin
        yield "steam over within what the blow-off passes", self.blow_off.water, self.blow_off_rating

    def estimate(self) -> Mapping[str, float]:
        """The pressure everywhere; what is short or over from the users' guesses."""
        entering, leaving = (*self.exhausts, self.let_down), (*self.branches, self.blow_off)
        over = sum(float(s.water) for s in self.exhausts) - sum(float(s.water) for s in self.branches)
        warm = float(self.blow_off.saturation_temperature) + 15.0
        governed = self.pressure_is == "governed"
        there = float(self.pressure) + (0.1 * float(self.blow_off_margin) if governed else 0.0)
        guess = {f"{s.prefix}.pressure": there for s in (*entering, *leaving)} | {f"{self.name}.actual_pressure": there}
        guess |= {f"{s.prefix}.temperature": warm for s in leaving}
        guess[f"{self.blow_off.prefix}.water"] = 0.025 if governed else max(over, 0.025)
        guess[f"{self.let_down.prefix}.water"] = 0.025 if governed else max(-over, 0.025)
        return guess
