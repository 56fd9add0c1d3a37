"""The published checks with every formula declared that they work; the figures lie in ``src/canewright/published``."""

import canewright.analysis
import canewright.properties  # noqa: F401  (both declare their formulas)
from canewright.quantity.published import (
    FOLDER,
    MOST_DIGITS,
    OWN,
    STATUSES,
    Check,
    CheckUnreadable,
    read_file,
    read_folder,
    reading,
)

__all__ = [
    "FOLDER",
    "MOST_DIGITS",
    "OWN",
    "STATUSES",
    "Check",
    "CheckUnreadable",
    "read_file",
    "read_folder",
    "reading",
]
