"""Bagasse store: takes what the mills give and gives what the boilers ask."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from canewright.plant.ratios import share
from canewright.plant.station import Equations, Exchange, Station, inlet, outlet, result, setting
from canewright.plant.streams import PERCENT, Juice
from canewright.quantity import Num

_DRY = ("sucrose", "reducing_sugars", "ash", "other", "suspended", "colour")


class BagasseStore(Station):
    """Bagasse house or yard. What is reclaimed has the dry composition of today's bagasse; its rate is the boilers'.

    It decides no flow upstream and leaves the flow of ``reclaimed`` to whoever burns it. Loss of dry matter in the
    stack, 0.5-1.5 % a month (from memory), is counted at stock-take, not here.
    """

    kind = "bagasse store"
    hazards = (
        "Stored bagasse heats itself and burns; dust explodes: piles, sprays and conveyors follow local fire codes.",
        "Moving conveyors and reclaimers: guards and lock-out; mouldy dust harms the lungs.",
    )

    bagasse = inlet(Juice)
    reclaimed = outlet(Juice)
    rain = setting("%", 0.0, "water picked up, on what is reclaimed", limits=(0.0, 15.0), prior=0.0)
    cooling = setting("K", 10.0, "cooling of the bagasse on its way", limits=(0.0, 60.0))
    reclaimed_share = result("1", 1.0, "dry matter reclaimed on dry matter that came", limits=(0.0, 1e6))
    stock_change = result("t/h", 10.0, "growth of the stock; negative while it shrinks")

    def equations(self) -> Equations:
        """One share of every dry part is reclaimed, with its water and the rain; the rest changes the stock."""
        came, gone, part = self.bagasse, self.reclaimed, self.reclaimed_share
        yield from share("fibre reclaimed is its share", part, gone.fibre, came.fibre)
        for name in _DRY:
            yield f"{name.replace('_', ' ')} goes with the fibre", getattr(gone, name), part * getattr(came, name)
        yield "water goes with the fibre and with the rain", gone.water, part * came.water + self._rain()
        yield "bagasse cools on its way", gone.temperature, came.temperature - self.cooling
        yield "the rest stays in the stock", self.stock_change, (1.0 - part) * came.flow

    def _rain(self) -> Num:
        return self.rain / PERCENT * self.reclaimed.flow

    def exchanges(self) -> Iterable[Exchange]:
        """What the stock takes up of each part, the rain, and the warmth that stays or is lost."""
        came, gone = self.bagasse, self.reclaimed
        kept = 1.0 - self.reclaimed_share
        yield Exchange("taken into the stock", "fibre", gone.fibre - came.fibre)
        for name in ("water", *_DRY):
            yield Exchange("taken into the stock", name, -kept * getattr(came, name))
        yield Exchange("rain on the stack", "water", self._rain())
        yield Exchange("warmth of the stock and lost by it", "energy", gone.enthalpy_flow - came.enthalpy_flow)

    def estimate(self) -> Mapping[str, float]:
        """What the boilers were last thought to burn; before that, all that came."""
        came, gone = self.bagasse, self.reclaimed
        brought, asked = float(came.fibre), float(gone.fibre)
        part = asked / brought if brought > 0 and asked > 0 else 1.0
        guess = {f"{gone.prefix}.{n}": part * float(getattr(came, n)) for n in ("water", "fibre", *_DRY)}
        guess[f"{gone.prefix}.temperature"] = float(came.temperature - self.cooling)
        own = {"reclaimed_share": part, "stock_change": (1.0 - part) * float(came.flow)}
        return guess | {f"{self.name}.{key}": value for key, value in own.items()}
