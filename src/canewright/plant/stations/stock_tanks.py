"""Stock tanks: juice, liquor, massecuite and molasses in process and in store, with their change over the period."""

from __future__ import annotations

from collections.abc import Iterable

from canewright.plant.station import inlet, outlet, setting
from canewright.plant.stocking import StockTank
from canewright.plant.streams import Juice, Liquor, Massecuite
from canewright.quantity import Num

ENTRY = "Tanks are confined spaces with gas of ferment or hot liquor: entry only by permit under local rules."


class JuiceStockTank(StockTank):
    """Juice or mud held over: mixed juice before a stop, clarifiers filled or drawn empty.

    Cold or lukewarm juice spoils within hours: 60 °C or more, or not at all (common practice, no source).
    """

    kind = "juice stock tank"
    hazards = (ENTRY, "Hot juice scalds: drain and vent a tank before it is opened.")
    measured = ("stock", "given refractometer brix", "given temperature")
    came, given = inlet(Juice), outlet(Juice)
    stock = setting("t", 100.0, "juice in the tank", limits=(0.0, 1e5))
    capacity = setting("t", 300.0, "what the tank holds", limits=(1.0, 1e5))


class LiquorStockTank(StockTank):
    """Clear juice, syrup, liquor, run-off or sweet water in process.

    A few hours of syrup and run-offs keep pans and evaporator from stopping one another (common practice, no source).
    """

    kind = "liquor stock tank"
    hazards = (ENTRY, "Hot liquor scalds: drain and vent a tank before it is opened.")
    measured = ("stock", "given refractometer brix", "given apparent purity", "given temperature")
    came, given = inlet(Liquor), outlet(Liquor)
    stock = setting("t", 150.0, "liquor in the tank", limits=(0.0, 1e5))
    capacity = setting("t", 400.0, "what the tank holds", limits=(1.0, 1e5))


class MassecuiteReceiver(StockTank):
    """Massecuite, magma or footing in receivers and seed vessels; crystals stay crystals, none grows here."""

    kind = "massecuite receiver"
    hazards = (ENTRY, "Hot massecuite scalds, and stirrers draw people in: guards and lock-out.")
    measured = ("stock", "given refractometer brix", "given apparent purity", "given temperature")
    came, given = inlet(Massecuite), outlet(Massecuite)
    stock = setting("t", 100.0, "massecuite in the receivers", limits=(0.0, 1e5))
    capacity = setting("t", 250.0, "what the receivers hold", limits=(1.0, 1e5))


class MolassesStore(StockTank):
    """Final molasses in store, cooled on its way in; its weight is the anchor of the boiling house's balance.

    Stored below 45 °C; above some 60 °C it decomposes by itself, foams and may char and burst a tank (from memory). It
    is diluted before, never in the tank. 78-85 % refractometer brix, 3.5-5.5 % on cane (from memory).
    """

    kind = "molasses store"
    hazards = (
        ENTRY,
        "Hot molasses decomposes by itself, foams and gives off gas: cool it, watch it, never seal a tank.",
        "Molasses spilt in water takes all oxygen out of it: bunds, and no drain to a river.",
    )
    handles = ("drawn", "cooling")
    measured = (
        "stock", "came mass", "given refractometer brix", "given apparent purity", "given reducing sugars",
        "given ash", "given temperature",
    )  # fmt: skip
    came, given = inlet(Liquor), outlet(Liquor)
    stock = setting("t", 5000.0, "molasses in store", limits=(0.0, 1e6))
    capacity = setting("t", 20000.0, "what the store holds", limits=(1.0, 1e6))
    drawn = setting("%", 0.0, "drawn on what came", limits=(0.0, 300.0), prior=1.0)
    cooling = setting("K", 10.0, "how much cooler it is stored", limits=(-5.0, 60.0))
    warmest = setting("°C", 45.0, "temperature above which it should not be stored", limits=(20.0, 60.0))

    def capacities(self) -> Iterable[tuple[str, Num, Num]]:
        """The stock fits the store; molasses cool enough to keep."""
        yield from super().capacities()
        yield "molasses cool enough to keep", self.given.temperature, self.warmest
