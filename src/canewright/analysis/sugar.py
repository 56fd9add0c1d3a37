"""Sugar in the laboratory: moisture, keeping quality, conductivity ash and reducing sugars.

Fehling's solution is a hot caustic copper liquor: it burns; wear eye protection and follow the site's rules.
"""

from __future__ import annotations

from canewright.analysis.declaring import degrees_celsius, percent, plain
from canewright.properties.ranges import AMOUNT, MOISTURE_OF_SUGAR, POL_OF_SUGAR, SAMPLE, SHARE, WEIGHED
from canewright.quantity.formula import Argument, argument, formula
from canewright.quantity.maths import Num


def _conductivity(says: str, low: float = 0.0, high: float = 5000.0, symbol: str = "κ") -> Argument:
    return argument("µS/cm", says, low, high, symbol=symbol)


WATER = _conductivity("conductivity of the water at 20 °C", 0.0, 20.0, "κ₂")


@formula(
    result=percent("moisture", *SHARE, "M"),
    equation="M = 100 (m₁ - m₂) / m₁",
    source="ICUMSA GS2/1/3/9-15, loss on drying at 105 °C for 3 h",
    status="from memory",
    caveat="surface moisture only; masses of the sugar without its dish",
    example=(20.0, 19.96),
    gives=0.20,
    before=argument("g", "sugar before drying", *SAMPLE, symbol="m₁"),
    after=argument("g", "sugar after drying", *WEIGHED, symbol="m₂"),
)
def moisture_by_drying(before: Num, after: Num) -> Num:
    """Moisture of sugar by loss on drying."""
    return 100.0 * (before - after) / before


@formula(
    result=plain("safety factor", *AMOUNT, "SF"),
    equation="SF = M / (100 - P)",
    source="SASTA Laboratory Manual, 5th ed. 2009, definitions",
    status="from memory",
    caveat="some pages call the dilution indicator by this name; usual guidance at most 0.25 (older rule 0.30)",
    example=(98.80, 0.20),
    gives=0.1666666667,
    # pure sugar has no non-pol to put the moisture on
    pol=percent("pol of sugar", POL_OF_SUGAR[0], 99.95, "P", "pol"),
    moisture=percent("moisture", *MOISTURE_OF_SUGAR, "M"),
)
def safety_factor(pol: Num, moisture: Num) -> Num:
    """Safety factor: moisture on non-pol including water."""
    return moisture / (100.0 - pol)


@formula(
    result=plain("dilution indicator", *AMOUNT, "DI"),
    equation="DI = 100 M / (100 - P - M)",
    source="SASTA Laboratory Manual, 5th ed. 2009, definitions",
    status="from memory",
    caveat="pol and moisture of one sample: P + M must stay below 100; usual guidance at most 35 to 50",
    example=(98.80, 0.20),
    gives=20.0,
    # pure sugar has no non-pol to put the water on
    pol=percent("pol of sugar", POL_OF_SUGAR[0], 99.90, "P", "pol"),
    moisture=percent("moisture", *MOISTURE_OF_SUGAR, "M"),
)
def dilution_indicator(pol: Num, moisture: Num) -> Num:
    """Dilution indicator: water on dry non-pol."""
    return 100.0 * moisture / (100.0 - pol - moisture)


@formula(
    result=_conductivity("conductivity at 20 °C", *AMOUNT, "κ₂₀"),
    equation="κ₂₀ = κ / [1 + a (t - 20)]",
    source="ICUMSA GS2/3-17 (a = 0.026 per K, 28 g/100 g) and GS1/3/4/7/8-13 (a = 0.023 per K, 5 g/100 mL)",
    status="from memory",
    caveat="within 5 K of 20 °C only; correct for the cell constant first",
    example=(33.664, 22.0, 0.026),
    gives=32.0,
    conductivity=_conductivity("conductivity at t"),
    # within 5 K of 20 °C by the method
    temperature=degrees_celsius("temperature of the solution", 15.0, 25.0),
    coefficient=argument("1/K", "rise per kelvin", 0.020, 0.030, symbol="a"),
)
def conductivity_at_20(conductivity: Num, temperature: Num, coefficient: Num) -> Num:
    """Conductivity of a sugar solution or water brought to 20 °C."""
    return conductivity / (1.0 + coefficient * (temperature - 20.0))


@formula(
    result=percent("conductivity ash", *SHARE, "C", "conductivity ash, 28 g/100 g"),
    equation="C = 6e-4 (κ₁ - 0.35 κ₂)",
    source="ICUMSA GS2/3-17, white and refined sugar, 28 g/100 g",
    status="from memory",
    example=(32.0, 1.5),
    gives=0.018885,
    solution=_conductivity("conductivity of the solution at 20 °C", symbol="κ₁"),
    water=WATER,
)
def conductivity_ash_white(solution: Num, water: Num) -> Num:
    """Conductivity ash of white sugar."""
    return 6e-4 * (solution - 0.35 * water)


@formula(
    result=percent("conductivity ash", *SHARE, "C", "conductivity ash, 5 g/100 mL"),
    equation="C = (16.2 + 0.036 D) · 1e-4 (κ₁ - κ₂) · 50/D, D in g/L",
    source="ICUMSA GS1/3/4/7/8-13, raw sugar, 5 g/100 mL",
    status="from memory",
    caveat="the factor 5/D away from 5 g/100 mL is less certain; not the sulphated ash of every product",
    example=(182.0, 2.0, 50.0),
    gives=0.3240,
    solution=_conductivity("conductivity of the solution at 20 °C", symbol="κ₁"),
    water=WATER,
    dry_substance=argument("g/L", "dry substance of the solution", 20.0, 80.0, symbol="D"),
)
def conductivity_ash_raw(solution: Num, water: Num, dry_substance: Num) -> Num:
    """Conductivity ash of raw sugar, juice or syrup."""
    return (16.2 + 0.036 * dry_substance) * 1e-4 * (solution - water) * 50.0 / dry_substance


@formula(
    result=percent("reducing sugars", *SHARE, "RS"),
    equation="RS = 100 F / (T c), F mg invert per 10 mL Fehling's solution, T mL, c g/L",
    source="Chen and Chou, Cane Sugar Handbook, 12th ed. 1993 (Lane and Eynon)",
    status="from memory",
    caveat="ash and lead interfere; other reducers are counted; test solution 250 to 400 mg per 100 mL",
    example=(51.3, 17.60, 20.0),
    gives=14.573864,
    factor=argument("mg", "invert equivalent of 10 mL Fehling's solution", 45.0, 55.0, symbol="F"),
    titre=argument("mL", "volume run in", 15.0, 50.0, symbol="T"),
    concentration=argument("g/L", "sample in the test solution", 1.0, 500.0, symbol="c"),
)
def lane_eynon_reducing_sugars(factor: Num, titre: Num, concentration: Num) -> Num:
    """Reducing sugars by Lane and Eynon titration."""
    return 100.0 * factor / titre / concentration
