"""Doses of lime, phosphate and carbon dioxide, and what precipitates.

Quicklime heats with water and both it and milk of lime burn skin and eyes; phosphoric acid burns; carbon dioxide
suffocates in pits and vessels. Eye protection, permits and the site's chemical rules apply.
"""

from __future__ import annotations

from canewright.analysis.declaring import percent, plain
from canewright.properties.ranges import AMOUNT, CHEMICAL, DOSE, FLOW, STRENGTH
from canewright.quantity.formula import Argument, argument, formula
from canewright.quantity.maths import Num

CAO, CAOH2, P2O5, H3PO4, CO2, CACO3 = 56.077, 74.093, 141.945, 97.994, 44.009, 100.087
"""Molar masses, g/mol."""
MOLAR = "molar masses"


def _rate(says: str) -> Argument:
    return argument("kg/h", says, *CHEMICAL)


@formula(
    result=argument("kg/h", "milk of lime as calcium hydroxide", *AMOUNT),
    equation="Ca(OH)₂ = 1.3213 CaO",
    source=MOLAR,
    status="derived",
    example=(330.0,),
    gives=436.019937,
    lime=_rate("calcium oxide"),
)
def hydroxide_of_lime(lime: Num) -> Num:
    """Calcium hydroxide that slaked lime holds."""
    return lime * CAOH2 / CAO


@formula(
    result=argument("kg/h", "burnt lime to slake", *AMOUNT),
    equation="lime = 100 CaO / available",
    source="definition of available calcium oxide",
    status="derived",
    example=(330.0, 85.0),
    gives=388.235294,
    lime=_rate("calcium oxide needed"),
    available=percent("available calcium oxide of the burnt lime", *STRENGTH),
)
def burnt_lime_needed(lime: Num, available: Num) -> Num:
    """Burnt lime of the store that holds the calcium oxide wanted."""
    return 100.0 * lime / available


@formula(
    result=argument("kg/h", "calcium oxide", *AMOUNT),
    equation="CaO = q · cane",
    source="0.4 to 0.9 kg per tonne of cane in simple defecation (from memory)",
    status="derived",
    example=(420.0, 0.60),
    gives=252.0,
    cane=argument("t/h", "cane", *FLOW),
    dose=argument("kg/t", "calcium oxide per cane", 0.0, 5.0, symbol="q"),
)
def lime_on_cane(cane: Num, dose: Num) -> Num:
    """Calcium oxide for a dose on cane."""
    return cane * dose


@formula(
    result=argument("g/L", "calcium oxide in milk of lime", *AMOUNT),
    equation="c = 1000 · 0.7569 (ρ - ρ_w) / (1 - ρ_w/ρ_s), ρ = 0.9982 s, ρ_w = 0.9982 kg/L",
    source="volumes of water and calcium hydroxide add",
    status="derived",
    caveat="a recalled table (94, 148 and 206 g/L at 10, 15 and 20 degrees Baumé) lies 6 to 7 % lower and does not "
    "close with hydroxide of 2.24 kg/L; grit and coarse lime read as lime, so titrate now and then",
    example=(1.1153846154, 2240.0),
    gives=157.242314,
    relative_density=plain("relative density of the milk", 1.0, 1.25, "s"),
    particle_density=argument("kg/m³", "density of the hydroxide", 2000.0, 2700.0, symbol="ρ_s"),
)
def milk_of_lime_strength(relative_density: Num, particle_density: Num) -> Num:
    """Calcium oxide per litre of milk of lime from its relative density."""
    return CAO / CAOH2 * 998.2 * (relative_density - 1.0) / (1.0 - 998.2 / particle_density)


@formula(
    result=argument("L/h", "milk of lime", *AMOUNT),
    equation="flow = 1000 CaO / c, CaO in kg/h, c in g/L",
    source="definition",
    status="derived",
    example=(252.0, 150.0),
    gives=1680.0,
    lime=_rate("calcium oxide needed"),
    strength=argument("g/L", "calcium oxide in milk of lime", 20.0, 350.0, symbol="c"),
)
def milk_of_lime_flow(lime: Num, strength: Num) -> Num:
    """Flow of milk of lime that carries the calcium oxide wanted."""
    return 1000.0 * lime / strength


@formula(
    result=argument("kg/h", "phosphorus pentoxide", *AMOUNT),
    equation="P₂O₅ = solids · dose / 1000",
    source="definition of a dose on solids",
    status="derived",
    example=(55.0, 300.0),
    gives=16.5,
    solids=argument("t/h", "solids of the liquor or juice", *FLOW),
    dose=argument("mg/kg", "phosphorus pentoxide on solids", *DOSE),
)
def phosphate_dose(solids: Num, dose: Num) -> Num:
    """Phosphorus pentoxide for a dose on solids."""
    return 1e-3 * solids * dose


@formula(
    result=argument("kg/h", "phosphoric acid as bought", *AMOUNT),
    equation="acid = 1.3807 P₂O₅ · 100 / strength",
    source=MOLAR,
    status="derived",
    caveat="food grade only",
    example=(16.5, 75.0),
    gives=30.3761034,
    phosphate=_rate("phosphorus pentoxide"),
    strength=percent("phosphoric acid in the acid as bought", *STRENGTH),
)
def phosphoric_acid_needed(phosphate: Num, strength: Num) -> Num:
    """Phosphoric acid of a strength that carries the phosphorus pentoxide wanted."""
    return phosphate * 2.0 * H3PO4 / P2O5 * 100.0 / strength


@formula(
    result=argument("kg/h", "calcium oxide", *AMOUNT),
    equation="CaO = n · 56.077/141.945 · P₂O₅",
    source=MOLAR,
    status="derived",
    caveat="2 for dicalcium, 3 for tricalcium phosphate, 10/3 for hydroxyapatite; the liquor's own acid needs more",
    example=(16.5, 3.0),
    gives=19.5555426,
    phosphate=_rate("phosphorus pentoxide"),
    molar_ratio=plain("calcium oxide per phosphorus pentoxide, molar", 2.0, 4.0, "n"),
)
def lime_for_phosphate(phosphate: Num, molar_ratio: Num) -> Num:
    """Calcium oxide that precipitates a phosphate dose."""
    return molar_ratio * CAO / P2O5 * phosphate


@formula(
    result=argument("kg/h", "dry precipitate", *AMOUNT),
    equation="precipitate = P₂O₅ (1 + 3 · 56.077/141.945)",
    source=f"{MOLAR}; Ca₃(PO₄)₂ is P₂O₅ and three CaO",
    status="derived",
    caveat="as hydroxyapatite 8 % more",
    example=(16.5,),
    gives=36.0555426,
    phosphate=_rate("phosphorus pentoxide"),
)
def phosphate_precipitate(phosphate: Num) -> Num:
    """Dry tricalcium phosphate from a phosphate dose."""
    return phosphate * (1.0 + 3.0 * CAO / P2O5)


@formula(
    result=argument("kg/h", "carbon dioxide", *AMOUNT),
    equation="CO₂ = 44.009/56.077 · CaO · 100 / absorbed",
    source=MOLAR,
    status="derived",
    caveat="40 to 80 % is absorbed in one vessel (from memory)",
    example=(330.0, 100.0),
    gives=258.982649,
    lime=_rate("calcium oxide"),
    absorbed=percent("carbon dioxide absorbed", *STRENGTH),
)
def carbon_dioxide_needed(lime: Num, absorbed: Num) -> Num:
    """Carbon dioxide blown in to carbonate a lime dose."""
    return lime * CO2 / CAO * 100.0 / absorbed


@formula(
    result=argument("m³/h", "dry gas at 0 °C and 101.325 kPa", *AMOUNT),
    equation="gas = 22.414/44.009 · CO₂ · 100 / c",
    source=f"{MOLAR}; molar volume of an ideal gas 22.414 m³/kmol",
    status="derived",
    caveat="cleaned boiler flue gas holds 8 to 12 % by volume (from memory)",
    example=(258.982649, 10.0),
    gives=1319.01136,
    carbon_dioxide=_rate("carbon dioxide blown in"),
    strength=argument("% v/v", "carbon dioxide in the dry gas", 1.0, 100.0, symbol="c"),
)
def gas_for_carbon_dioxide(carbon_dioxide: Num, strength: Num) -> Num:
    """Gas, in normal cubic metres, that brings the carbon dioxide wanted."""
    return 22.414 / CO2 * carbon_dioxide * 100.0 / strength


@formula(
    result=argument("kg/h", "dry calcium carbonate", *AMOUNT),
    equation="CaCO₃ = 1.7848 CaO",
    source=MOLAR,
    status="derived",
    example=(330.0,),
    gives=588.988534,
    lime=_rate("calcium oxide"),
)
def carbonate_precipitate(lime: Num) -> Num:
    """Dry calcium carbonate from a lime dose."""
    return lime * CACO3 / CAO


@formula(
    result=argument("L/h", "solution to dose", *AMOUNT),
    equation="flow = t/h · dose / (10 c), dose in g/t, c in %",
    source="definition; solution of about 1 kg/L",
    status="derived",
    caveat="flocculant, biocide and the like made up in water",
    example=(420.0, 3.0, 0.1),
    gives=1260.0,
    stream=argument("t/h", "cane, juice or solids", *FLOW),
    dose=argument("mg/kg", "dose on it, g/t", *DOSE),
    strength=percent("chemical in the solution made up", 0.01, 50.0, "c"),
)
def dosing_flow(stream: Num, dose: Num, strength: Num) -> Num:
    """Flow of a made-up chemical solution for a dose."""
    return stream * dose / (10.0 * strength)
