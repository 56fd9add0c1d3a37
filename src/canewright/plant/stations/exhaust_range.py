"""Exhaust range: one pressure for all exhaust; let-down makes up what is short, blow-off gives off what is over."""

from __future__ import annotations

from collections.abc import Mapping

from canewright.plant.balance import conserve_energy
from canewright.plant.either import either
from canewright.plant.station import Equations, Station, inlet, inlets, outlet, outlets, setting
from canewright.plant.streams import Steam
from canewright.quantity import constant

PASSING = constant(0.05**2, "t²/h²")
"""Square of what passes let-down and blow-off together where neither is needed: valves leak a little."""


class ExhaustRange(Station):
    """The exhaust main at a held pressure, 200-250 kPa (common practice, no source); everything in it mixes.

    It decides the pressure of every stream that enters and the flow of the let-down; the flow of each branch is its
    user's. Of let-down and blow-off one is nothing (their product is 0.000625 t²/h²).
    """

    kind = "exhaust range"
    hazards = ("Steam blown off burns and deafens; relief of the range is for licensed persons under local codes.",)

    exhausts, let_down = inlets(Steam), inlet(Steam)
    branches, blow_off = outlets(Steam), outlet(Steam)
    pressure = setting("kPa", 231.0, "absolute pressure of the range", limits=(110.0, 600.0), prior=3.0)

    def equations(self) -> Equations:
        """One pressure, one mixture, what is short let down and what is over blown off."""
        for entering in (*self.exhausts, self.let_down):
            yield "steam enters at the pressure of the range", entering.pressure, self.pressure
        leaving = (*self.branches, self.blow_off)
        for stream in leaving:
            yield "steam leaves at the pressure of the range", stream.pressure, self.pressure
        for branch in self.branches:
            yield "all steam leaves as one mixture", branch.temperature, self.blow_off.temperature
        yield (
            "steam in is steam out",
            sum(s.water for s in (*self.exhausts, self.let_down)),
            sum(s.water for s in leaving),
        )
        yield from conserve_energy(self)
        yield from either("steam is let down or blown off", self.let_down.water, self.blow_off.water, PASSING)

    def estimate(self) -> Mapping[str, float]:
        """The pressure everywhere; what is short or over from the users' guesses."""
        entering, leaving = (*self.exhausts, self.let_down), (*self.branches, self.blow_off)
        over = sum(float(s.water) for s in self.exhausts) - sum(float(s.water) for s in self.branches)
        warm = float(self.blow_off.saturation_temperature) + 15.0
        guess = {f"{s.prefix}.pressure": float(self.pressure) for s in (*entering, *leaving)}
        guess |= {f"{s.prefix}.temperature": warm for s in leaving}
        guess[f"{self.blow_off.prefix}.water"] = max(over, 0.025)
        guess[f"{self.let_down.prefix}.water"] = max(-over, 0.025)
        return guess
