"""Combustion of bagasse and other fuels: air, oxygen in the gas, heat by elements; and part load of a turbine.

For balances only: firing, boilers and turbines follow local codes and licensed practice.
"""

from __future__ import annotations

from canewright.analysis.declaring import percent, plain
from canewright.properties.ranges import AMOUNT, SHARE
from canewright.quantity.formula import Argument, argument, formula
from canewright.quantity.maths import Num, sqrt

FOOT = 1e-3
"""Roundness of the foot of a steam line: at 0.001 the line is straight to 0.1 % from a quarter of full steam up."""


def _element(says: str, symbol: str) -> Argument:
    return percent(f"{says}, on the fuel", *SHARE, symbol)


@formula(
    result=plain("air that combustion needs, t dry air per t fuel", *AMOUNT, "A"),
    equation="A = (11.5 C + 34.5 (H − O/8)) / 100",
    source="oxygen to carbon dioxide and water, air of 23.2 % oxygen by mass; common in boiler handbooks",
    status="from memory",
    caveat="sulphur, which asks for 4.3 t per t, is left out",
    example=(48.0, 6.5, 45.5),
    gives=5.80031250,
    carbon=_element("carbon", "C"),
    hydrogen=_element("hydrogen", "H"),
    oxygen=_element("oxygen", "O"),
)
def theoretical_air(carbon: Num, hydrogen: Num, oxygen: Num) -> Num:
    """Dry air that burns a fuel completely."""
    return (11.5 * carbon + 34.5 * (hydrogen - oxygen / 8.0)) / 100.0


@formula(
    result=percent("oxygen in the dry gas, by volume", *SHARE, "O₂"),
    equation="O₂ = 21 e / (100 + e)",
    source="dilution of gas by air of 21 % oxygen by volume",
    status="derived",
    caveat="the volume of dry gas counts as that of its air, good to 0.1 percentage points for bagasse and coal",
    example=(30.0,),
    gives=4.84615385,
    excess=percent("air beyond what combustion needs", 0.0, 400.0, "e"),
)
def oxygen_in_gas(excess: Num) -> Num:
    """Oxygen that excess air leaves in the dry gas."""
    return 21.0 * excess / (100.0 + excess)


@formula(
    result=argument("kJ/kg", "gross calorific value", *AMOUNT, symbol="GCV"),
    equation="GCV = 338.2 C + 1442.8 (H − O/8) + 94.2 S",
    source="Dulong; coefficients in metric units, from memory",
    status="from memory",
    caveat="good to 2-3 % for coal and oil, too low for wood and bagasse, whose oxygen is not all bound to hydrogen",
    example=(84.0, 12.0, 1.0, 3.0),
    gives=45824.65,
    carbon=_element("carbon", "C"),
    hydrogen=_element("hydrogen", "H"),
    oxygen=_element("oxygen", "O"),
    sulphur=_element("sulphur", "S"),
)
def calorific_value_by_elements(carbon: Num, hydrogen: Num, oxygen: Num, sulphur: Num) -> Num:
    """Heat of combustion of coal or oil from its elements."""
    return 338.2 * carbon + 1442.8 * (hydrogen - oxygen / 8.0) + 94.2 * sulphur


@formula(
    result=plain("efficiency on that at full steam", *AMOUNT),
    equation="f = g(x) / g(1), g(x) = 2 r n / (√((x − n)² + 4 r n x) − x + n), r = 0.001",
    source="straight steam line of a throttled turbine (Willans), no power at the steam n; own round foot",
    status="derived",
    caveat="isentropic efficiency on that at full steam; the same ends of expansion at every load",
    example=(0.5, 0.1),
    gives=0.889056833,
    load=plain("steam on full steam", 0.0, 1.5, "x"),
    no_load=plain("steam that turns the set without load, on full steam", 0.01, 0.5, "n"),
)
def part_load_efficiency(load: Num, no_load: Num) -> Num:
    """What a turbine keeps of its efficiency at part load."""
    return _power_on_steam(load, no_load) / _power_on_steam(1.0, no_load)


def _power_on_steam(load: Num, no_load: Num) -> Num:
    """The rounded line through the origin, divided by the load; its value at rest is the roundness of the foot."""
    above = load - no_load
    return 2.0 * FOOT * no_load / (sqrt(above * above + 4.0 * FOOT * no_load * load) - above)
