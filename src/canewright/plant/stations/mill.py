"""A mill: cane or bagasse is mixed with imbibition and pressed to a moisture."""

from __future__ import annotations

from collections.abc import Mapping

from canewright.plant.pressing import PressingStation
from canewright.plant.station import Equations, setting
from canewright.plant.streams import PERCENT


class Mill(PressingStation):
    """One mill of a train, by the moisture that its bagasse leaves with and by its imbibition coefficient.

    Moisture 52-60 % after the first, 48-52 % after the last mill; coefficient 0.6-0.9 with imbibition; the whole
    train takes 60-90 kWh for each tonne of fibre (from memory). See ``PressingStation`` for the mixing.
    """

    kind = "mill"
    moisture = setting("%", 52.0, "moisture of the bagasse that leaves", limits=(40.0, 65.0), prior=1.0)

    def pressed(self) -> Equations:
        """The moisture says how much juice stays."""
        yield "bagasse leaves at its moisture", PERCENT * self.bagasse.water, self.moisture * self.bagasse.flow

    def estimate(self) -> Mapping[str, float]:
        """A split by fibre, moisture and a common dilution."""
        moisture = float(self.moisture)
        return self._guess(1.05 * float(self.feed.fibre) * moisture / (100.0 - moisture))
