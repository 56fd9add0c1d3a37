"""Undetermined loss: sucrose that is missing and that no station accounts for."""

from __future__ import annotations

from collections.abc import Mapping

from canewright.plant.balance import conserve_energy
from canewright.plant.splitting import as_it_came, brought, flowing
from canewright.plant.station import Equations, Station, inlet, outlet, setting
from canewright.plant.streams import PERCENT, Juice, Liquor, Stream
from canewright.quantity import Num, constant

NOTHING = {"IU·t/h": constant(0.0, "IU·t/h"), "t/h": constant(0.0, "t/h")}


class _UndeterminedLoss(Station):
    """Sucrose alone goes to ``lost``; spills, entrainment and unknown inversion hide here.

    So badly known beforehand that reconciliation decides it; it may come out negative, which says that readings
    disagree and is reported so.
    """

    loss = setting("%", 0.5, "sucrose lost without trace, on sucrose", limits=(-15.0, 30.0), prior=3.0)

    def _streams(self) -> tuple[Stream, Stream, Stream]:
        passed, lost = self.leaving
        return self.entering[0], passed, lost

    def _share(self, name: str) -> Num:
        """What of a variable is lost: its share of sucrose, nothing of the rest."""
        feed, passed, lost = self._streams()
        if name == "sucrose":
            return self.loss * brought(feed, name, passed) / PERCENT
        return NOTHING[lost.variables()[name].unit]

    def equations(self) -> Equations:
        """Sucrose is lost in its share; everything else passes."""
        feed, passed, lost = self._streams()
        for name in flowing(lost):
            yield f"{name.replace('_', ' ')} is lost as set", getattr(lost, name), self._share(name)
        for name in flowing(passed):
            gone = getattr(lost, name) if name in lost.holds else 0.0
            yield f"{name.replace('_', ' ')} in is out", brought(feed, name, passed), getattr(passed, name) + gone
        if as_it_came(feed, passed):
            yield "it passes as warm as it came", passed.temperature, feed.temperature
        else:
            yield from conserve_energy(self)
        yield "what is lost is as warm", lost.temperature, passed.temperature

    def estimate(self) -> Mapping[str, float]:
        """The loss itself."""
        feed, passed, lost = self._streams()
        gone = float(brought(feed, "sucrose", passed) * self.loss) / 100.0
        guess = {f"{s.prefix}.temperature": float(feed.temperature) for s in (passed, lost)}
        guess |= {f"{passed.prefix}.{n}": float(brought(feed, n, passed)) for n in flowing(passed)}
        guess |= {f"{lost.prefix}.{n}": 0.0 for n in flowing(lost)}
        guess[f"{passed.prefix}.sucrose"] -= gone
        return {**guess, f"{lost.prefix}.sucrose": gone}


class UndeterminedLoss(_UndeterminedLoss):
    """Sucrose missing from a liquor. Usual 0.3-2 % of sucrose in a mill (common practice, no source)."""

    kind = "undetermined loss"
    liquor = inlet(Liquor)
    passed, lost = outlet(Liquor), outlet(Liquor, signed=True)


class UndeterminedJuiceLoss(_UndeterminedLoss):
    """Sucrose missing from a juice that may carry fibre. Usual 0.1-0.5 % of sucrose (common practice, no source)."""

    kind = "undetermined juice loss"
    juice = inlet(Juice)
    passed, lost = outlet(Juice), outlet(Liquor, signed=True)
