"""Electric drive: motors and gears that turn mills, knives, a shredder or a pump."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from canewright.plant.station import Equations, Exchange, Station, inlet, outlets, setting
from canewright.plant.streams import PERCENT, Power
from canewright.quantity import Num


class ElectricDrive(Station):
    """Power from the board as the shafts ask, with what motor, converter and gear lose.

    Motor with converter 92-95 %, gear 92-98 % (common practice, no source). It decides the power taken.
    """

    kind = "electric drive"
    hazards = (
        "Electricity: work only by licensed persons under local codes.",
        "Shafts, gears and couplings: guards and lock-out.",
    )
    measured = ("power power",)

    power = inlet(Power)
    shafts = outlets(Power)
    motor_efficiency = setting("%", 94.0, "motor and converter", limits=(50.0, 100.0), prior=1.0)
    gear_efficiency = setting("%", 96.0, "gear and couplings", limits=(50.0, 100.0), prior=1.0)
    rating = setting("kW", 5000.0, "continuous rating of the motors", limits=(0.0, 100000.0))

    def equations(self) -> Equations:
        """The shafts take what motor and gear leave."""
        yield "the shafts take what is left of the power", self._taken(), self._kept() * self.power.power

    def _taken(self) -> Num:
        return sum(shaft.power for shaft in self.shafts)

    def _kept(self) -> Num:
        return self.motor_efficiency / PERCENT * self.gear_efficiency / PERCENT

    def exchanges(self) -> Iterable[Exchange]:
        """Losses of motor and gear."""
        lost = (1.0 - self._kept()) * (self.KILOWATT * self.power.power)
        yield Exchange("lost in motor and gear", "energy", -lost)

    def capacities(self) -> Iterable[tuple[str, Num, Num]]:
        """What the motors stand."""
        yield "power within the rating of the motors", self.power.power, self.rating

    def estimate(self) -> Mapping[str, float]:
        """The power that the shafts last asked."""
        return {f"{self.power.prefix}.power": float(self._taken()) / float(self._kept())}
