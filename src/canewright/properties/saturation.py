"""Sucrose at saturation: other published solubilities, supersaturation, and the temperature and purity of saturation.

Published solubilities part by up to 3 % of the sucrose per water: every supersaturation carries the name of its set
(``canewright.properties.choices``). The default is ``solubility`` with ``solubility_coefficient``.
"""

from __future__ import annotations

from canewright.properties.ranges import (
    AMOUNT,
    BRIX_OF_MOTHER_LIQUOR,
    COLD_LIQUOR_TEMPERATURE,
    NON_SUCROSE_TO_WATER,
    PURITY_OF_STOCK,
    SHARE,
    SOLUBILITY_TEMPERATURE,
    SUCROSE_TO_WATER,
    SUPERSATURATION,
)
from canewright.properties.sucrose import solubility, solubility_coefficient
from canewright.quantity import Argument, Num, argument, formula
from canewright.quantity.maths import exp, horner

DEFAULT_SET = "solubility of Vavrinecz (quoted under Charles, 1960) with the cane coefficient of Rózsa (2000)"
NEAR = "Published solubilities part by up to 3 % of the sucrose per water: report the set with the figure."
CUBIC = (64.397, 0.07251, 0.0020569, -9.035e-6)
"""The default solubility, also inverted here."""


def _temperature(low: float, high: float) -> Argument:
    return argument("°C", "temperature", low, high, symbol="t")


def _non_sucrose() -> Argument:
    return argument("kg/kg", "non-sucrose per water", *NON_SUCROSE_TO_WATER, symbol="x")


def _per_water(percent: Num) -> Num:
    return percent / (100.0 - percent)


@formula(
    result=argument("% m/m", "sucrose in a saturated pure solution", *SHARE, symbol="w_s"),
    temperature=_temperature(*COLD_LIQUOR_TEMPERATURE),
    equation="w_s = 64.447 + 0.08222 t + 1.6169e-3 t² − 1.558e-6 t³ − 4.63e-8 t⁴",
    source="Vavrinecz, as printed by Bubnik, Kadlec, Urban and Bruhns (1995), Sugar Technologists Manual",
    status="from memory",
    example=(70.0,),
    gives=76.479153,
    caveat=NEAR,
)
def solubility_bubnik(temperature: Num) -> Num:
    """Sucrose, % of solution, that saturates pure water: the fourth-degree form of a beet and cane handbook."""
    return horner(temperature, (64.447, 0.08222, 1.6169e-3, -1.558e-6, -4.63e-8))


@formula(
    result=argument("% m/m", "sucrose in a saturated pure solution", *SHARE, symbol="w_s"),
    temperature=_temperature(*COLD_LIQUOR_TEMPERATURE),
    equation="w_s = 64.1835 + 0.13477 t + 5.307e-4 t²",
    source="Herzfeld (1892), Z. Ver. Dtsch. Zuckerind. 42, 181; coefficients from memory, confirmed by the table "
    "printed in Mohos (2010), appendix 2, and the CRC Handbook",
    status="from memory",
    example=(60.0,),
    gives=74.18022,
    caveat="The older set, still behind many handbooks: reproduces its printed table to 0.01. " + NEAR,
)
def solubility_herzfeld(temperature: Num) -> Num:
    """Sucrose, % of solution, that saturates pure water: Herzfeld's quadratic."""
    return horner(temperature, (64.1835, 0.13477, 5.307e-4))


@formula(
    result=argument("1", "solubility coefficient", *AMOUNT, symbol="SC"),
    non_sucrose_to_water=_non_sucrose(),
    equation="SC = 1 − 0.088 x",
    source="attributed to Queensland work of Wright, and of Broadfoot and Steindl (1980)",
    status="from memory",
    example=(3.0,),
    gives=0.736,
    caveat="Within 0.01 of the default cane set to x = 1 and 0.06 at x = 3; both may rest on the same data.",
)
def solubility_coefficient_queensland(non_sucrose_to_water: Num) -> Num:
    """Solubility coefficient of cane liquors, the straight line."""
    return 1.0 - 0.088 * non_sucrose_to_water


@formula(
    result=argument("1", "solubility coefficient", *AMOUNT, symbol="SC"),
    non_sucrose_to_water=_non_sucrose(),
    equation="SC = 0.820 + 0.178 x + 0.180 exp(−2.1 x)",
    source="Wiklund and Vavrinecz, beet set",
    status="from memory",
    example=(3.0,),
    gives=1.35433053,
    caveat="Beet molasses holds more sucrose than water does: never for cane.",
)
def solubility_coefficient_beet(non_sucrose_to_water: Num) -> Num:
    """Solubility coefficient of beet liquors, for a refinery that also melts beet raw sugar."""
    return 0.820 + 0.178 * non_sucrose_to_water + 0.180 * exp(-2.1 * non_sucrose_to_water)


@formula(
    result=argument("1", "solubility coefficient", *AMOUNT, symbol="SC"),
    non_sucrose_to_water=_non_sucrose(),
    slope=argument("1", "slope at high non-sucrose", -0.2, 0.3, symbol="m"),
    intercept=argument("1", "intercept of that slope", 0.7, 1.1, symbol="b"),
    decay=argument("1", "rate at which the start dies away", 0.5, 5.0, symbol="c"),
    equation="SC = m x + b + (1 − b) exp(−c x)",
    source="form of Wiklund and Vavrinecz, quoted at second hand",
    status="from memory",
    example=(3.0, -0.06265, 0.982, 2.1),
    gives=0.794083053,
    caveat="For constants fitted to the plant's own molasses; reducing sugars salt out and salts salt in.",
)
def solubility_coefficient_fitted(non_sucrose_to_water: Num, slope: Num, intercept: Num, decay: Num) -> Num:
    """Solubility coefficient with the plant's own constants."""
    start = (1.0 - intercept) * exp(-decay * non_sucrose_to_water)
    return slope * non_sucrose_to_water + intercept + start


@formula(
    result=argument("kg/kg", "sucrose per water at saturation", *AMOUNT, symbol="q_s"),
    temperature=_temperature(*SOLUBILITY_TEMPERATURE),
    non_sucrose_to_water=_non_sucrose(),
    equation="q_s = w_s(t) / (100 − w_s(t)) · SC(x)",
    source=DEFAULT_SET,
    status="from memory",
    example=(70.0, 0.0),
    gives=3.24673622,
    caveat=NEAR,
)
def saturated_sucrose_to_water(temperature: Num, non_sucrose_to_water: Num) -> Num:
    """Sucrose per water in a saturated cane liquor."""
    return _per_water(solubility(temperature)) * solubility_coefficient(non_sucrose_to_water)


@formula(
    result=argument("1", "supersaturation", *AMOUNT, symbol="y"),
    sucrose_to_water=argument("kg/kg", "sucrose per water", *SUCROSE_TO_WATER, symbol="q"),
    non_sucrose_to_water=_non_sucrose(),
    temperature=_temperature(*SOLUBILITY_TEMPERATURE),
    equation="y = q / q_s(t, x)",
    source=DEFAULT_SET,
    status="from memory",
    example=(3.75, 0.4, 70.0),
    gives=1.19725628,
    caveat=NEAR + " Between 60 and 75 °C about 1.0 to 1.2 grows crystal without new grain, above 1.3 new grain forms "
    "by itself (from memory).",
)
def supersaturation(sucrose_to_water: Num, non_sucrose_to_water: Num, temperature: Num) -> Num:
    """Supersaturation: sucrose per water over that of the saturated liquor of the same non-sucrose per water."""
    return sucrose_to_water / saturated_sucrose_to_water(temperature, non_sucrose_to_water)


@formula(
    result=argument("1", "oversaturation", symbol="y − 1"),
    sucrose_to_water=argument("kg/kg", "sucrose per water", *SUCROSE_TO_WATER, symbol="q"),
    non_sucrose_to_water=_non_sucrose(),
    temperature=_temperature(*SOLUBILITY_TEMPERATURE),
    equation="y − 1 = q / q_s(t, x) − 1",
    source=DEFAULT_SET,
    status="from memory",
    example=(3.75, 0.4, 70.0),
    gives=0.197256285,
    caveat="Negative where the liquor still dissolves crystal. " + NEAR,
)
def oversaturation(sucrose_to_water: Num, non_sucrose_to_water: Num, temperature: Num) -> Num:
    """Oversaturation: the supersaturation above one, which drives crystal growth."""
    return supersaturation(sucrose_to_water, non_sucrose_to_water, temperature) - 1.0


@formula(
    result=argument("1", "supersaturation", *AMOUNT, symbol="y"),
    dry_substance=argument("% m/m", "dry substance", 0.0, BRIX_OF_MOTHER_LIQUOR[1], symbol="B", kind="true"),
    purity=argument("%", "purity", *PURITY_OF_STOCK, symbol="P", kind="true"),
    temperature=_temperature(*SOLUBILITY_TEMPERATURE),
    equation="y = q / q_s(t, x), q = B P / (100 (100 − B)), x = B (100 − P) / (100 (100 − B))",
    source=DEFAULT_SET,
    status="from memory",
    example=(78.0, 85.0, 65.0),
    gives=1.03450448,
    caveat="Of the mother liquor, not of the massecuite. " + NEAR,
)
def supersaturation_of_liquor(dry_substance: Num, purity: Num, temperature: Num) -> Num:
    """Supersaturation of a crystal-free liquor from its dry substance and purity."""
    solids = _per_water(dry_substance)
    sucrose = solids * purity / 100.0
    coefficient = 0.982 - 0.06265 * (solids - sucrose) + 0.018 * exp(-2.1 * (solids - sucrose))
    return sucrose / (_per_water(solubility(temperature)) * coefficient)


@formula(
    result=argument("°C", "temperature at which the liquor is saturated", symbol="t_s"),
    # saturated between 0 and 90 °C, the range of the solubility set
    sucrose_to_water=argument("kg/kg", "sucrose per water", 1.81, 4.26, symbol="q"),
    non_sucrose_to_water=_non_sucrose(),
    equation="w_s(t) = 100 q / (q + SC(x)), solved for t: seven Newton steps from 60 °C",
    source=DEFAULT_SET + "; inverse of the solubility formula",
    status="from memory",
    example=(3.2466, 0.0),
    gives=69.9966821,
    caveat="Holds between 0 and 90 °C; a result outside is an extrapolation. " + NEAR,
)
def liquor_saturation_temperature(sucrose_to_water: Num, non_sucrose_to_water: Num) -> Num:
    """Temperature at which a liquor is just saturated: its crystal begins to dissolve above it."""
    wanted = 100.0 * sucrose_to_water / (sucrose_to_water + solubility_coefficient(non_sucrose_to_water))
    return _temperature_of_solubility(wanted)


def _temperature_of_solubility(percent: Num) -> Num:
    # the curve rises throughout from -15 °C on, so Newton from its middle needs no better start
    t: Num = 60.0
    slopes = (CUBIC[1], 2.0 * CUBIC[2], 3.0 * CUBIC[3])
    for _ in range(7):
        t = t - (horner(t, CUBIC) - percent) / horner(t, slopes)
    return t


@formula(
    result=argument("%", "purity at which the liquor is saturated", *SHARE, symbol="P_s", kind="true"),
    dry_substance=argument("% m/m", "dry substance of the liquor", *BRIX_OF_MOTHER_LIQUOR, symbol="B", kind="true"),
    temperature=_temperature(*SOLUBILITY_TEMPERATURE),
    supersaturation=argument("1", "supersaturation left in the liquor", *SUPERSATURATION, symbol="y"),
    slope=argument("1", "fall of the solubility coefficient per non-sucrose per water", 0.0, 0.1, symbol="s"),
    equation="q = y q_s (1 − s D) / (1 − s y q_s), D = B / (100 − B), P_s = 100 q / D",
    source="solubility of Vavrinecz (quoted under Charles, 1960) with a straight solubility coefficient SC = 1 − s x",
    status="from memory",
    example=(84.0, 60.0, 1.05, 0.088),
    gives=42.1476646,
    caveat="Above 100 the liquor is not saturated at any purity. Use s = 0.088 (Queensland) or the plant's own. "
    + NEAR,
)
def saturation_purity(dry_substance: Num, temperature: Num, supersaturation: Num, slope: Num) -> Num:
    """Purity of a mother liquor of this dry substance that stands at a given supersaturation."""
    solids = _per_water(dry_substance)
    driven = supersaturation * _per_water(solubility(temperature))
    return 100.0 * driven * (1.0 - slope * solids) / (1.0 - slope * driven) / solids
