"""A bed of prepared cane under hot juice, whole or stage by stage: its juice draws nearer to the free juice."""

from __future__ import annotations

from canewright.plant.station import Station, setting
from canewright.plant.streams import PERCENT, Juice
from canewright.quantity import Num, constant

HOT = constant(80.0, "°C")


class Diffusing(Station):
    """Stage efficiency: the share of the approach of the bed's juice to the free juice, of opened and closed cells.

    Of opened cells, and the slower of closed ones, weighed by the preparation index of the cane that comes (or, for
    what does not carry one, as set); it rises with temperature.
    """

    hazards = (
        "Juice and vapour at 85 °C scald; the vessel is a confined space: entry only by permit under local rules.",
        "Chains, screws and drums draw people in: guards and lock-out.",
    )

    efficiency_opened = setting("1", 0.5, "stage efficiency of opened cells at 80 °C", limits=(0.01, 1.0), prior=0.04)
    efficiency_closed = setting("1", 0.1, "stage efficiency of closed cells at 80 °C", limits=(0.0, 1.0))
    efficiency_rise = setting("1/K", 0.01, "rise of the efficiency with temperature", limits=(0.0, 0.05))
    index_as_set = setting("%", 90.0, "opened cells where the feed does not carry its index", limits=(40.0, 98.0))
    non_sucrose_ratio = setting(
        "1", 0.97, "efficiency of non-sucrose on that of sucrose", limits=(0.5, 1.0), prior=0.02
    )
    juice_held = setting("1", 5.0, "juice that the bed holds on fibre, t/t", limits=(1.5, 10.0), prior=0.3)
    surroundings = setting("°C", 30.0, "temperature of the surroundings", limits=(-10.0, 50.0))
    percolation = setting("m/min", 0.2, "juice that still percolates before the bed floods", limits=(0.01, 1.0))

    def _percent_efficiency(self, fed: Juice, temperature: Num) -> Num:
        """Efficiency, %, for the cane or bed that comes, at a temperature."""
        opened = fed.preparation_index if "preparation_index" in fed.holds else self.index_as_set
        both = self.efficiency_opened * opened + self.efficiency_closed * (PERCENT - opened)
        return both * (1.0 + self.efficiency_rise * (temperature - HOT))

    def _reached(self, name: str, efficiency: Num) -> Num:
        """Efficiency of one dissolved part."""
        return efficiency if name == "sucrose" else efficiency * self.non_sucrose_ratio
