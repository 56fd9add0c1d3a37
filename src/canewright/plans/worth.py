"""What a tonne of a block is worth by the week in which it is cut."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from canewright.plans.harvest_tables import Flags, Floats


@dataclass(frozen=True)
class HarvestPrices:
    """Prices of a plan: ours, to be replaced by the season's.

    ``sugar`` $ a tonne of sugar; ``coefficient_of_work`` tonnes of sugar made for 100 t CCS; ``harvest`` $ a tonne for
    cutting; ``haul`` $ a tonne and km; ``next_crop`` $ a tonne lost by the next ratoon for each week that this crop is
    cut later (0: not counted); it does not fall on blocks that are ploughed out.
    """

    sugar: float = 420.0
    coefficient_of_work: float = 95.0
    harvest: float = 9.0
    haul: float = 0.12
    next_crop: float = 0.0

    def __post_init__(self) -> None:
        """Refuse what cannot be. Raises ValueError."""
        if not (self.sugar > 0.0 and 0.0 < self.coefficient_of_work <= 110.0):
            raise ValueError(
                f"sugar $ {self.sugar}/t, coefficient of work {self.coefficient_of_work}; accepted: a price above 0 "
                "and a coefficient above 0 and up to 110"
            )
        if not (self.harvest >= 0.0 and self.haul >= 0.0 and self.next_crop >= 0.0):
            raise ValueError(
                f"harvest {self.harvest}, haul {self.haul}, next crop {self.next_crop}; accepted: 0 or more"
            )


def worth_per_tonne(ccs: Floats, km: Floats, plough_out: Flags, prices: HarvestPrices) -> Floats:
    """Worth of a tonne of cane, $ by block and week: sugar made less cutting, haulage and the next crop's loss.

    sugar = CCS/100 · coefficient of work/100; the weeks are counted from the first one of ``ccs``.
    """
    sugar = ccs / 100.0 * prices.coefficient_of_work / 100.0 * prices.sugar
    costs = prices.harvest + prices.haul * km
    later = prices.next_crop * np.arange(ccs.shape[1]) * ~plough_out[:, None]
    worth: Floats = sugar - costs[:, None] - later
    return worth
