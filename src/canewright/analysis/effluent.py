"""Effluent: the oxygen that sugar and other dissolved matter take from the water they are lost to.

Discharge is bound by the licence of the place; what is computed here stands for no measurement of effluent.
"""

from __future__ import annotations

from canewright.properties.ranges import AMOUNT, FLOW
from canewright.quantity.formula import Argument, argument, formula
from canewright.quantity.maths import Num

SUCROSE, HEXOSE, OXYGEN = 342.297, 180.156, 31.998
"""Molar masses, g/mol."""
PER_SUCROSE, PER_HEXOSE = 12.0 * OXYGEN / SUCROSE, 6.0 * OXYGEN / HEXOSE


def _lost(says: str) -> Argument:
    return argument("t/h", says, *FLOW)


@formula(
    result=argument("t/h", "chemical oxygen demand", *AMOUNT),
    equation="COD = 1.1218 sucrose + 1.0657 reducing sugars + d · other",
    source="C12H22O11 + 12 O2 and C6H12O6 + 6 O2 with molar masses; 1.12 t/t of sugar is what effluent texts count",
    status="derived",
    example=(1.0, 0.0, 0.0, 1.0),
    gives=1.12176268,
    sucrose=_lost("sucrose lost"),
    reducing_sugars=_lost("reducing sugars lost"),
    other=_lost("other dissolved non-sucrose lost"),
    demand=argument("1", "oxygen that this other matter takes, t/t", 0.0, 3.0, symbol="d"),
)
def oxygen_demand(sucrose: Num, reducing_sugars: Num, other: Num, demand: Num) -> Num:
    """Oxygen that burns what is dissolved to carbon dioxide and water."""
    return PER_SUCROSE * sucrose + PER_HEXOSE * reducing_sugars + demand * other
