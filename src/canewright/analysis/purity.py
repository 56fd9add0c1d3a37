"""The purities, kept apart by kind: apparent from pol and brix, gravity from sucrose and brix, true from both true."""

from __future__ import annotations

from canewright.analysis.declaring import REFRACTOMETER, TRUE, TRUE_SOLIDS, brix, percent, purity
from canewright.properties.ranges import BRIX_PRESENT, POL_OF_SOLUTION, SHARE
from canewright.quantity.formula import formula
from canewright.quantity.maths import Num

DEFINITIONS = "Wong Sak Hoi, PhD thesis (Mauritius), p. 42, definitions"


@formula(
    result=purity("apparent purity", *SHARE),
    equation="Q = 100 P / B",
    source=DEFINITIONS,
    status="read",
    caveat="pol and brix must be of the same sample at the same dilution",
    example=(12.2856, 15.0),
    gives=81.904,
    pol=percent("pol", *POL_OF_SOLUTION, "P", "pol"),
    brix=brix("brix", *BRIX_PRESENT),
)
def apparent_purity(pol: Num, brix: Num) -> Num:
    """Apparent purity: pol on refractometer brix."""
    return 100.0 * pol / brix


@formula(
    result=purity("gravity purity", *SHARE, kind="gravity"),
    equation="Q = 100 S / B",
    source=DEFINITIONS,
    status="read",
    example=(12.40, 15.0),
    gives=82.6666667,
    sucrose=percent("sucrose", *SHARE, "S"),
    brix=brix("brix", *BRIX_PRESENT),
)
def gravity_purity(sucrose: Num, brix: Num) -> Num:
    """Gravity purity: sucrose on brix."""
    return 100.0 * sucrose / brix


@formula(
    result=purity("true purity", *SHARE, kind=TRUE),
    equation="Q = 100 S / DS",
    source=DEFINITIONS,
    status="read",
    example=(34.0, 80.0),
    gives=42.5,
    sucrose=percent("sucrose", *SHARE, "S"),
    dry_substance=percent("dry substance by drying", *BRIX_PRESENT, "DS", TRUE_SOLIDS),
)
def true_purity(sucrose: Num, dry_substance: Num) -> Num:
    """True purity: sucrose on true dry substance."""
    return 100.0 * sucrose / dry_substance


@formula(
    result=percent("brix less pol", *SHARE, "N", "apparent non-pol"),
    equation="N = B - P",
    source="definition of apparent non-pol; common practice, no source",
    status="derived",
    caveat="not the true non-sucrose, which is dry substance less sucrose",
    example=(15.0, 12.5),
    gives=2.5,
    brix=percent("brix", *SHARE, "B", REFRACTOMETER),
    pol=percent("pol", *POL_OF_SOLUTION, "P", "pol"),
)
def apparent_non_pol(brix: Num, pol: Num) -> Num:
    """Apparent non-pol of a solution."""
    return brix - pol
