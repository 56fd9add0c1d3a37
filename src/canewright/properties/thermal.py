"""Heat in liquor, crystal, fibre and mud, on one scale: liquid water at 0 °C has none.

The liquor law is linear in the masses of water, sucrose and non-sucrose, so blending at one temperature conserves heat
exactly and an idle stream has none. The crystal differs from dissolved sucrose by the heat of crystallisation.
"""

from __future__ import annotations

from canewright.properties.ranges import AMOUNT, EVAPORATED, FLOW, LIQUOR_HEAT, LIQUOR_TEMPERATURE, SHARE, THICK
from canewright.quantity import Argument, Num, argument, formula
from canewright.quantity.maths import sqrt

WATER_HEAT = 4.1868
"""Specific heat of water in the liquor law, kJ/(kg·K)."""
DISSOLVED_HEAT = -2.97
"""What a unit of dissolved matter adds to the specific heat."""
SUCROSE_HEAT = 0.46
"""What sucrose adds above other dissolved matter."""
WARMING = 0.00375
"""Half the rise of the specific heat of dissolved matter with temperature, kJ/(kg·K²)."""

LIQUOR_SOURCE = "Bubnik, Kadlec, Urban and Bruhns (1995), Sugar Technologists Manual, specific heat of sugar solutions"


def _flow(says: str) -> Argument:
    return argument("t/h", says, *FLOW)


def _temperature() -> Argument:
    return argument("°C", "temperature", *LIQUOR_TEMPERATURE, symbol="t")


def _released(t: Num) -> Num:
    return 15.8 + 0.541 * (t - 25.0) + 0.0016 * (t * t - 625.0)


@formula(
    result=argument("MJ/h", "enthalpy carried by the liquor", symbol="H"),
    water=_flow("water"),
    sucrose=_flow("dissolved sucrose"),
    non_sucrose=_flow("dissolved non-sucrose"),
    temperature=_temperature(),
    equation="H = t (4.1868 (W + S + N) − 2.97 (S + N) + 0.46 S) + 0.00375 (S + N) t²",
    source=LIQUOR_SOURCE + ", integrated from 0 °C",
    status="from memory",
    example=(35.0, 55.25, 9.75, 60.0),
    gives=15940.2,
    caveat="Heat of dilution is neglected; water alone is 0.1 % below IAPWS at 100 °C.",
)
def liquor_enthalpy_flow(water: Num, sucrose: Num, non_sucrose: Num, temperature: Num) -> Num:
    """Enthalpy flow of juice, syrup, liquor or molasses; reference liquid water at 0 °C."""
    dissolved = sucrose + non_sucrose
    heat = WATER_HEAT * (water + dissolved) + DISSOLVED_HEAT * dissolved + SUCROSE_HEAT * sucrose
    return temperature * (heat + WARMING * dissolved * temperature)


@formula(
    result=argument("kJ/kg/K", "specific heat of the liquor", *AMOUNT, symbol="c"),
    dry_substance=argument("% m/m", "dry substance", *SHARE, symbol="B", kind="true"),
    purity=argument("%", "purity", *SHARE, symbol="P", kind="true"),
    temperature=_temperature(),
    equation="c = 4.1868 − 0.0297 B + 4.6e-5 B P + 7.5e-5 B t",
    source=LIQUOR_SOURCE,
    status="from memory",
    example=(65.0, 85.0, 60.0),
    gives=2.80295,
)
def liquor_specific_heat(dry_substance: Num, purity: Num, temperature: Num) -> Num:
    """Specific heat of juice, syrup, liquor or molasses at a temperature."""
    return WATER_HEAT + dry_substance * (-0.0297 + 4.6e-5 * purity + 7.5e-5 * temperature)


@formula(
    result=argument("kJ/kg", "heat released", symbol="Δh_c"),
    temperature=_temperature(),
    equation="Δh_c = 15.8 + 0.541 (t − 25) + 0.0016 (t² − 625)",
    source="heat of solution of sucrose about 5.4 kJ/mol at 25 °C (second hand); its change with temperature follows "
    "from the specific heats of dissolved and crystal sucrose",
    status="derived",
    example=(60.0,),
    gives=39.495,
    caveat="The anchor at 25 °C is weak; the sum is small beside the heat of evaporation.",
)
def heat_of_crystallisation(temperature: Num) -> Num:
    """Heat released when a kilogram of dissolved sucrose crystallises."""
    return _released(temperature)


@formula(
    result=argument("kJ/kg", "enthalpy of crystal sucrose", symbol="h_c"),
    temperature=_temperature(),
    equation="h_c = 1.6768 t + 0.00375 t² − Δh_c(t)",
    source="partial enthalpy of sucrose in the liquor law less the heat of crystallisation; slope as the crystal "
    "specific heat 1.1355 + 0.0043 t in Mohos (2010), Confectionery and Chocolate Engineering, appendix 2",
    status="derived",
    example=(60.0,),
    gives=74.613,
)
def crystal_enthalpy(temperature: Num) -> Num:
    """Enthalpy of crystal sucrose on the scale of the liquors, so that crystallising conserves heat."""
    dissolved = WATER_HEAT + DISSOLVED_HEAT + SUCROSE_HEAT
    return temperature * (dissolved + WARMING * temperature) - _released(temperature)


def massecuite_temperature(water: Num, sucrose: Num, non_sucrose: Num, crystal: Num, enthalpy: Num) -> Num:
    """Temperature of a massecuite, °C, from what it consists of, t (sucrose with the crystal), and the heat in it, MJ.

    Inverse of the liquor law and the heat of crystallisation above; there must be something. Ranges unchecked.
    """
    dissolved = sucrose + non_sucrose
    # the heat released by crystallising is again quadratic in the temperature: 1.275 + 0.541 t + 0.0016 t²
    steady = 15.8 - 0.541 * 25.0 - 0.0016 * 625.0
    linear = WATER_HEAT * (water + dissolved) + DISSOLVED_HEAT * dissolved + SUCROSE_HEAT * sucrose - 0.541 * crystal
    square = WARMING * dissolved - 0.0016 * crystal
    given = enthalpy + steady * crystal
    return 2.0 * given / (linear + sqrt(linear * linear + 4.0 * square * given))


@formula(
    result=argument("kJ/kg", "enthalpy of dry fibre", symbol="h_f"),
    temperature=_temperature(),
    equation="h_f = 1.34 t",
    source="specific heat of dry plant fibre 1.3 to 1.4 kJ/(kg·K) (common practice, no source)",
    status="from memory",
    example=(60.0,),
    gives=80.4,
    caveat="Good to about 10 %.",
)
def fibre_enthalpy(temperature: Num) -> Num:
    """Enthalpy of dry cane fibre from 0 °C."""
    return 1.34 * temperature


@formula(
    result=argument("kJ/kg", "enthalpy of suspended mineral solids", symbol="h_m"),
    temperature=_temperature(),
    equation="h_m = 0.9 t",
    source="specific heat of soil, lime salts and filter aid 0.8 to 1.0 kJ/(kg·K) (common practice, no source)",
    status="from memory",
    example=(60.0,),
    gives=54.0,
    caveat="Good to about 10 %.",
)
def suspended_solids_enthalpy(temperature: Num) -> Num:
    """Enthalpy of soil, lime precipitate and mud solids from 0 °C, dry."""
    return 0.9 * temperature


@formula(
    result=argument("kJ/kg/K", "specific heat of the sugar solution", *AMOUNT, symbol="c"),
    dry_substance=argument("% m/m", "dry substance", *SHARE, symbol="x", kind="true"),
    equation="c = 4.19 − 2.35 w, w = x/100",
    source="Geankoplis, Transport Processes and Unit Operations, example 8.5-1 (sugar evaporator)",
    status="read",
    example=(10.0,),
    gives=3.955,
    caveat="For reproducing textbook cases; parts by up to 15 % from the liquor law at syrup strength.",
)
def textbook_specific_heat(dry_substance: Num) -> Num:
    """Specific heat of a sugar solution, textbook form."""
    return 4.19 - 0.0235 * dry_substance


@formula(
    result=argument("W/m/K", "thermal conductivity", *AMOUNT, symbol="λ"),
    dry_substance=argument("% m/m", "dry substance", *EVAPORATED, symbol="B", kind="true"),
    temperature=_temperature(),
    equation="λ = 1e-3 (326.8 + 1.0412 t − 0.00337 t²) (0.796 + 0.009346 (100 − B))",
    source="Riedel (1949), Chem. Ing. Tech. 21, 340",
    status="from memory",
    example=(65.0, 60.0),
    gives=0.4236,
    caveat="Claimed for 0 to 80 °C and 0 to 60 %; 1.5 % above IAPWS for water at 100 °C.",
)
def liquor_conductivity(dry_substance: Num, temperature: Num) -> Num:
    """Thermal conductivity of juice and syrup."""
    warm = 326.8 + temperature * (1.0412 - 0.00337 * temperature)
    return 1e-3 * warm * (0.796 + 0.009346 * (100.0 - dry_substance))


@formula(
    result=argument("kJ/kg/K", "specific heat of the liquor", *AMOUNT, symbol="c"),
    dry_substance=argument("% m/m", "dry substance", *THICK, symbol="B", kind="true"),
    equation="c = 4.1868 (1 − 0.006 B)",
    source="Hugot, Handbook of Cane Sugar Engineering, 3rd ed. 1986, short form",
    status="from memory",
    example=(65.0,),
    gives=2.553948,
    caveat="Neither temperature nor purity enters; 9 % below the liquor law for a syrup of 65 % at 60 °C.",
)
def specific_heat_hugot(dry_substance: Num) -> Num:
    """Specific heat of juice and syrup, Hugot's short form."""
    return WATER_HEAT * (1.0 - 0.006 * dry_substance)


@formula(
    result=argument("kJ/kg", "enthalpy of the liquor", symbol="h"),
    dry_substance=argument("% m/m", "dry substance", *SHARE, symbol="B", kind="true"),
    purity=argument("%", "purity", *SHARE, symbol="P", kind="true"),
    temperature=_temperature(),
    equation="h = t (4.1868 − 0.0297 B + 4.6e-5 B P) + 3.75e-5 B t²",
    source=LIQUOR_SOURCE + ", integrated from 0 °C",
    status="from memory",
    example=(65.0, 85.0, 60.0),
    gives=159.402,
)
def liquor_enthalpy(dry_substance: Num, purity: Num, temperature: Num) -> Num:
    """Enthalpy of juice, syrup, liquor or molasses; reference liquid water at 0 °C."""
    return temperature * (WATER_HEAT + dry_substance * (-0.0297 + 4.6e-5 * purity + 3.75e-5 * temperature))


@formula(
    result=argument("kJ/kg/K", "specific heat of massecuite", *AMOUNT, symbol="c_m"),
    crystal=argument("%", "crystal % massecuite", *SHARE, symbol="X"),
    crystal_heat=argument("kJ/kg/K", "specific heat of the crystal", 1.0, 1.8, symbol="c_c"),
    liquor_heat=argument("kJ/kg/K", "specific heat of the mother liquor", *LIQUOR_HEAT, symbol="c_l"),
    equation="c_m = X c_c + (1 − X) c_l",
    source="heat of a mixture without crystallising",
    status="derived",
    example=(50.0, 1.394, 2.20),
    gives=1.797,
)
def massecuite_specific_heat(crystal: Num, crystal_heat: Num, liquor_heat: Num) -> Num:
    """Specific heat of massecuite from its parts."""
    return liquor_heat + crystal / 100.0 * (crystal_heat - liquor_heat)
