"""Power use: consumers that are not described one by one, set outright or in proportion to what passes."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from canewright.plant.station import Equations, Exchange, Station, inlet, outlet, setting
from canewright.plant.streams import Juice, Power, Steam, Stream, Water
from canewright.quantity import Num


class PowerUse(Station):
    """Pumps, fans, lighting and other drives taken together. Decides the power it takes; all of it becomes warmth."""

    kind = "power use"
    hazards = ("Electricity: work only by licensed persons under local codes.",)
    handles = ("demand",)
    measured = ("power power",)

    power = inlet(Power)
    demand = setting("kW", 1000.0, "power taken", limits=(0.0, 100000.0), prior=50.0)
    rating = setting("kW", 100000.0, "power that its feeder carries", limits=(0.0, 1e6))

    def equations(self) -> Equations:
        """Takes what it is set to take."""
        yield "power taken is the demand", self.power.power, self.demand

    def exchanges(self) -> tuple[Exchange, ...]:
        """All power ends as warmth in the surroundings."""
        return (Exchange("warmth to the surroundings", "energy", -self.KILOWATT * self.power.power),)

    def capacities(self) -> Iterable[tuple[str, Num, Num]]:
        """Power within what the feeder carries."""
        yield "power within what the feeder carries", self.power.power, self.rating

    def estimate(self) -> Mapping[str, float]:
        """The demand."""
        return {f"{self.power.prefix}.power": float(self.demand)}


class _InProportion(Station):
    """Drives that take power in proportion to a stream, which passes as it came; the power becomes warmth outside it.

    Its flow, and in steam its pressure, are decided up or down the line as if the station were not there.
    """

    measured = ("power power",)

    power = inlet(Power)
    specific_power = setting("kWh/t", 10.0, "power for each tonne that passes", limits=(0.0, 500.0), prior=1.0)
    rating = setting("kW", 100000.0, "power that its feeder carries", limits=(0.0, 1e6))

    def _passing(self) -> tuple[Stream, Stream]:
        came = next(s for s in self.entering if not isinstance(s, Power))
        return came, self.leaving[0]

    def equations(self) -> Equations:
        """The stream passes; the power is its share."""
        came, left = self._passing()
        for name in left.holds:
            yield f"{name.replace('_', ' ')} passes", getattr(came, name), getattr(left, name)
        yield "power is the share of what passes", self.power.power, self.specific_power * came.flow

    def exchanges(self) -> tuple[Exchange, ...]:
        """All power ends as warmth in the surroundings."""
        return (Exchange("warmth to the surroundings", "energy", -self.KILOWATT * self.power.power),)

    def capacities(self) -> Iterable[tuple[str, Num, Num]]:
        """Power within what the feeder carries."""
        yield "power within what the feeder carries", self.power.power, self.rating

    def estimate(self) -> Mapping[str, float]:
        """The stream as it came, or as it is asked for where it has not come yet."""
        came, left = self._passing()
        known, asked = (came, left) if float(came.flow) > 0 else (left, came)
        guess = {f"{asked.prefix}.{n}": float(getattr(known, n)) for n in asked.holds}
        return guess | {f"{self.power.prefix}.power": float(self.specific_power * known.flow)}


class PowerUseByCane(_InProportion):
    """Power in proportion to cane or bagasse: carriers, house load; 10-20 kWh/t cane (common practice, no source)."""

    kind = "power use by cane"
    hazards = ("Electricity and driven machines: guards, lock-out and work only by licensed persons.",)
    cane, passed = inlet(Juice), outlet(Juice)


class PowerUseBySteam(_InProportion):
    """Power in proportion to steam: fans and pumps of a boiler house, 5-12 kWh/t (common practice, no source)."""

    kind = "power use by steam"
    hazards = ("Electricity and live steam: work only by licensed persons under local codes.",)
    steam, passed = inlet(Steam), outlet(Steam)
    specific_power = setting("kWh/t", 7.0, "power for each tonne that passes", limits=(0.0, 500.0), prior=0.7)


class PowerUseByWater(_InProportion):
    """Power in proportion to water: injection and cooling pumps, 0.04-0.10 kWh/t (common practice, no source)."""

    kind = "power use by water"
    hazards = ("Electricity and pumps: guards, lock-out and work only by licensed persons.",)
    water, passed = inlet(Water), outlet(Water)
    specific_power = setting("kWh/t", 0.06, "power for each tonne that passes", limits=(0.0, 20.0), prior=0.01)
