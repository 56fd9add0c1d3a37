"""Bagacillo screen: fine bagasse is drawn off for the mud filters, where it makes the cake filter."""

from __future__ import annotations

from collections.abc import Iterable

from canewright.plant.splitting import ShareSplitter
from canewright.plant.station import inlet, outlet, setting
from canewright.plant.streams import PERCENT, Juice
from canewright.quantity import Num


class BagacilloScreen(ShareSplitter):
    """A share of the bagasse, of its composition, blown or dropped through a screen; the rest goes to the boilers.

    Wanted 5-8 kg moist bagacillo for each tonne of cane, fibre 0.3-0.5 of the mud solids; fines below about 3 mm are
    20-30 % of the fibre after a heavy-duty shredder (common practice, no source).
    """

    kind = "bagacillo screen"
    hazards = (
        "Bagacillo dust explodes and inflames lungs: closed ducts, earthing, venting and masks under local codes.",
        "Dry bagacillo in ducts and cyclones smoulders: no hot work without a permit and a fire watch.",
    )
    handles = ("share",)
    measured = ("bagacillo mass flow", "bagacillo moisture")

    bagasse = inlet(Juice)
    bagacillo, rest = outlet(Juice), outlet(Juice)
    share = setting("%", 1.8, "share of the bagasse drawn off", limits=(0.0, 30.0), prior=0.2)
    fines = setting("%", 25.0, "fines on fibre of the bagasse", limits=(1.0, 80.0), prior=3.0)
    screen_efficiency = setting("%", 50.0, "fines that pass the screen", limits=(1.0, 100.0), prior=5.0)

    def capacities(self) -> Iterable[tuple[str, Num, Num]]:
        """No more fine fibre can be drawn than passes the screen."""
        passes = self.fines / PERCENT * self.screen_efficiency / PERCENT * self.bagasse.fibre
        yield "bagacillo within the fines that pass the screen", self.bagacillo.fibre, passes
