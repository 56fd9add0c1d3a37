"""Imbibition: water to the last mill, in proportion to the fibre of the cane that passes."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from canewright.plant.balance import conserve
from canewright.plant.station import Equations, Station, inlet, outlet, setting, spread
from canewright.plant.streams import PERCENT, Juice, Water
from canewright.quantity import Num


class Imbibition(Station):
    """Imbibition water on fibre; usual 150-350 % (common practice, no source). The cane passes unchanged.

    Let it pass here before it is prepared where the first mill shall see its preparation index. Below 20 % is refused:
    2.15 for 215 % is a fraction typed by mistake, and so little water cannot be spread.
    """

    kind = "imbibition"
    hazards = ("Hot water at 60-85 °C scalds.",)
    handles = ("on_fibre",)
    measured = ("water mass flow", "water temperature")

    cane, source = inlet(Juice), inlet(Water)
    passed, water = outlet(Juice), outlet(Water)
    on_fibre = setting("%", 220.0, "imbibition water on fibre", limits=(20.0, 500.0), prior=4.0)
    most_water = setting("t/h", 400.0, "water that pumps and pipes give", limits=(0.0, 5000.0))

    def equations(self) -> Equations:
        """The water is its share of the fibre; both streams pass."""
        yield from conserve(self.cane, into=[self.passed])
        yield "cane passes as warm as it came", self.passed.temperature, self.cane.temperature
        yield "water in is water out", self.source.water, self.water.water
        yield "water passes as warm as it came", self.water.temperature, self.source.temperature
        yield "imbibition is its share of fibre", PERCENT * self.water.water, self.on_fibre * self.cane.fibre

    def capacities(self) -> Iterable[tuple[str, Num, Num]]:
        """What pumps and pipes give."""
        yield "imbibition within what the pumps give", self.water.water, self.most_water

    def estimate(self) -> Mapping[str, float]:
        """The water that the fibre asks for."""
        flow = float(self.on_fibre * self.cane.fibre) / 100.0
        guess = spread([self.cane], {self.passed: 1.0})
        warm = {f"{self.water.prefix}.temperature": float(self.source.temperature)}
        return {**guess, **warm, f"{self.water.prefix}.water": flow, f"{self.source.prefix}.water": flow}
