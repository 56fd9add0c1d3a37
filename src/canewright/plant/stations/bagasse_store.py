"""Bagasse store: takes what the mills give and gives what the boilers ask."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from canewright.plant.station import Equations, Exchange, Station, inlet, outlet, result, setting
from canewright.plant.stocking import CHANGE
from canewright.plant.streams import PERCENT, Juice
from canewright.quantity import Num, constant

STANDING = {
    "water": constant(5.00e-5, "t/h"),
    "fibre": constant(4.65e-5, "t/h"),
    "sucrose": constant(1.6e-6, "t/h"),
    "reducing_sugars": constant(1e-7, "t/h"),
    "ash": constant(1e-7, "t/h"),
    "other": constant(2e-7, "t/h"),
    "suspended": constant(1.5e-6, "t/h"),
    "colour": constant(2.8e-2, "IU·t/h"),
}
"""A tenth of a kilogram an hour of ordinary bagasse (50 % moisture), so that a stock has a composition when the mills
stand and the boilers burn on. Beside bagasse that comes it is one part in a million. Common practice, no source."""
HOURS = constant(24.0, "h/d")


class BagasseStore(Station):
    """Bagasse house or yard. What is reclaimed has the dry composition of today's bagasse; its rate is the boilers'.

    It decides no flow upstream and leaves the flow of ``reclaimed`` to whoever burns it. When no bagasse comes, what is
    reclaimed is ordinary bagasse. The stack rots and blows away: 0.5-1.5 % a month (from memory), that is 0.02-0.05 %
    a day, comes off the stock beside what is reclaimed. Stacked bagasse weighs about 200 kg/m³ at 48 % moisture (Hugot
    1986, page 915, second hand).
    """

    kind = "bagasse store"
    hazards = (
        "Stored bagasse heats itself and burns; dust explodes: piles, sprays and conveyors follow local fire codes.",
        "Moving conveyors and reclaimers: guards and lock-out; mouldy dust harms the lungs.",
    )
    handles = ("reclaim_rate",)
    measured = ("stock", "reclaimed moisture")

    bagasse = inlet(Juice)
    reclaimed = outlet(Juice)
    rain = setting("%", 0.0, "water picked up, on what is reclaimed", limits=(0.0, 15.0))
    cooling = setting("K", 10.0, "cooling of the bagasse on its way", limits=(0.0, 60.0))
    stock = setting("t", 0.0, "bagasse in the store, as it lies", limits=(0.0, 1e6))
    loss = setting("%/d", 0.03, "bagasse lost from the stock", limits=(0.0, 1.0), prior=0.01)
    capacity = setting("t", 60000.0, "what the store holds", limits=(1.0, 1e6))
    reclaim_rate = setting("t/h", 400.0, "most that the reclaimers and conveyors give", limits=(0.0, 1000.0))
    reclaimed_share = result("1", 1.0, "dry matter reclaimed on dry matter that came", limits=(0.0, 1e8))
    lost = result("t/h", 1.0, "bagasse that rots, burns or blows away in the stack", limits=(0.0, 500.0))
    stock_change = result("t/h", 10.0, "growth of the stock without rain; negative while it shrinks")

    def equations(self) -> Equations:
        """One share of every part is reclaimed, and the rain on it; the rest changes the stock."""
        came, gone = self.bagasse, self.reclaimed
        for name in STANDING:
            fallen = self._rain() if name == "water" else 0.0
            yield f"{name.replace('_', ' ')} is reclaimed by the share", getattr(gone, name), self._taken(name) + fallen
        yield "bagasse cools on its way", gone.temperature, came.temperature - self.cooling
        yield "the stack loses its share", PERCENT * (HOURS * self.lost), self.loss * self.stock
        yield "the rest stays in the stock", self.stock_change, came.flow - (gone.flow - self._rain()) - self.lost

    def _taken(self, name: str) -> Num:
        return self.reclaimed_share * (getattr(self.bagasse, name) + STANDING[name])

    def _rain(self) -> Num:
        return self.rain / PERCENT * self.reclaimed.flow

    def capacities(self) -> Iterable[tuple[str, Num, Num]]:
        """Room in the store, and what can be reclaimed."""
        yield "stock against what the store holds", self.stock, self.capacity
        yield "bagasse reclaimed within what the conveyors give", self.reclaimed.flow, self.reclaim_rate

    def exchanges(self) -> Iterable[Exchange]:
        """What the stock (and its loss) takes up of each part, the rain, and the warmth that stays or is lost."""
        came, gone = self.bagasse, self.reclaimed
        for name in STANDING:
            yield Exchange(CHANGE, name, self._taken(name) - getattr(came, name))
        yield Exchange("rain on the stack", "water", self._rain())
        yield Exchange("warmth of the stock and lost by it", "energy", gone.enthalpy_flow - came.enthalpy_flow)

    def estimate(self) -> Mapping[str, float]:
        """What the boilers were last thought to burn; before that, all that came."""
        came, gone = self.bagasse, self.reclaimed
        asked = float(gone.fibre)
        part = asked / float(came.fibre + STANDING["fibre"]) if asked > 0 else 1.0
        guess = {f"{gone.prefix}.{n}": part * float(getattr(came, n) + STANDING[n]) for n in STANDING}
        guess[f"{gone.prefix}.temperature"] = float(came.temperature - self.cooling)
        lost = float(self.loss * self.stock) / 2400.0
        own = {"reclaimed_share": part, "lost": lost, "stock_change": (1.0 - part) * float(came.flow) - lost}
        return guess | {f"{self.name}.{key}": value for key, value in own.items()}
