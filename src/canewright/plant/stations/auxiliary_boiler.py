"""Auxiliary boiler: raises steam from oil, gas, coal or wood alone, as a refinery needs when no cane is crushed."""

from __future__ import annotations

from collections.abc import Mapping

from canewright.plant.station import inlets, setting
from canewright.plant.steam_raising import SteamRaising
from canewright.plant.streams import Fuel


class AuxiliaryBoiler(SteamRaising):
    """A boiler without bagasse; with several fuels each brings the same heat.

    On gross calorific value oil boilers reach 82-87 %, gas 78-83 %, coal 75-83 % with excess air of 10-20, 5-15 and
    25-50 % (common practice, no source).
    """

    kind = "auxiliary boiler"
    hazards = (
        (
            "Fire and steam under pressure: low water, furnace explosion, burns. Design, protection, operation and "
            "inspection are for licensed persons under local boiler codes; nothing here replaces a trip or interlock."
        ),
        "Oil, gas and coal dust burn and explode: purge, flame supervision and storage under local codes.",
        "Boiler chemicals and blowdown scald and burn.",
    )

    auxiliary = inlets(Fuel)
    pressure = setting("kPa", 1500.0, "absolute pressure of the steam", limits=(300.0, 10000.0))
    temperature = setting("°C", 220.0, "temperature of the steam", limits=(140.0, 560.0), prior=3.0)
    stack_temperature = setting("°C", 190.0, "temperature of the gas that leaves", limits=(110.0, 400.0), prior=3.0)
    excess_air = setting("%", 15.0, "air beyond what combustion needs", limits=(5.0, 240.0), prior=3.0)
    other_losses = setting("%", 0.5, "other losses, on calorific value", limits=(0.0, 10.0), prior=0.3)
    rating = setting("t/h", 60.0, "maximum continuous rating", limits=(0.0, 1000.0))

    def estimate(self) -> Mapping[str, float]:
        """The heat of the steam at 82 %."""
        return self._guessed(82.0) | self._guessed_auxiliary(2760.0 * float(self.steam.water) / 0.82 + 1.0)
