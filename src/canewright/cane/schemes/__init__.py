"""The published schemes of payment that an agreement can name, each with its constants, source and steps.

Each works the formula declared in ``canewright.analysis`` on exact decimals: one home for each formula. A scheme knows
no constant by itself: what was published is told beside it, and the agreement gives the number. Money is written $
whatever the currency.
"""

from canewright.cane.schemes import (  # noqa: F401 - each declares its schemes
    price_by_ccs,
    price_by_factor,
    price_by_press_juice,
    price_by_recoverable_value,
    price_by_sugar,
)
from canewright.cane.schemes.declaring import (
    SCHEMES,
    Constant,
    Kind,
    Readings,
    Scheme,
    Terms,
    scheme_names,
    versions_of,
)
from canewright.cane.schemes.pools import pool_of
from canewright.cane.schemes.readings import NOTHING_WHERE_ABSENT, READABLE, WORKED_OUT

__all__ = [
    "NOTHING_WHERE_ABSENT",
    "READABLE",
    "SCHEMES",
    "WORKED_OUT",
    "Constant",
    "Kind",
    "Readings",
    "Scheme",
    "Terms",
    "pool_of",
    "scheme_names",
    "versions_of",
]
