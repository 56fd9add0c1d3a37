"""Condensate diversion: condensate goes to the boilers while it is free of sugar, else to the hot water."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from canewright.plant.splitting import Splitting
from canewright.plant.station import Equations, inlet, outlet, result, setting
from canewright.plant.streams import Water
from canewright.quantity import Num
from canewright.quantity.maths import tanh

SHARPNESS = 20.0
"""The valve turns over within about a tenth of the limit."""


class CondensateDiversion(Splitting):
    """A valve that turns over where the sugar in the condensate passes the limit, smoothly within a tenth of it.

    Its trace of sugar does not count in the balance of sucrose (20 mg/kg in 150 t/h is 3 kg/h). Boilers divert at
    20-50 mg/kg (common practice, no source; the boiler's own limit falls with its pressure).
    """

    kind = "condensate diversion"
    hazards = (
        (
            "Sugar in boiler water foams, carries over and corrodes: alarms and trips on sugar are the site's own, "
            "under licensed practice; this share is no protection."
        ),
        "Hot condensate scalds.",
    )
    handles = ("limit",)
    measured = ("sugar", "diverted mass flow")

    condensate = inlet(Water)
    diverted, to_boilers = outlet(Water), outlet(Water)
    sugar = setting("mg/kg", 2.0, "sugar found in the condensate", limits=(0.0, 5000.0), prior=1.0)
    limit = setting("mg/kg", 20.0, "sugar at which the valve turns over", limits=(1.0, 200.0))
    share = result("1", 0.01, "part of the condensate that is diverted", limits=(0.0, 1.0))

    def equations(self) -> Equations:
        """The share by the sugar; all of one warmth."""
        yield "the valve turns over at its limit", self.share, (1.0 + tanh(SHARPNESS * self._beyond())) / 2.0
        yield "water is diverted by the share", self.diverted.water, self.share * self.condensate.water
        yield from self._balances()

    def _beyond(self) -> Num:
        """How far the sugar is beyond its limit, on the limit."""
        return self.sugar / self.limit - 1.0

    def capacities(self) -> Iterable[tuple[str, Num, Num]]:
        """Sugar that the boilers would get without the valve."""
        yield "sugar in condensate within what boilers stand", self.sugar, self.limit

    def estimate(self) -> Mapping[str, float]:
        """The split itself."""
        share = float(1.0 + tanh(float(SHARPNESS * self._beyond()))) / 2.0
        return {**self._guess(share), f"{self.name}.share": share}
