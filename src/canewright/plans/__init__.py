"""Plans from plain tables: when each block of cane is cut, and what each limit of the season costs."""

from canewright.plans.conflicts import Conflict, conflicts
from canewright.plans.harvest_tables import HarvestRefused, HarvestTables
from canewright.plans.harvesting import HarvestPlan, NoPlan, plan_harvest, pro_rata_value
from canewright.plans.worth import HarvestPrices, worth_per_tonne

__all__ = [
    "Conflict",
    "HarvestPlan",
    "HarvestPrices",
    "HarvestRefused",
    "HarvestTables",
    "NoPlan",
    "conflicts",
    "plan_harvest",
    "pro_rata_value",
    "worth_per_tonne",
]
