"""The ranges in which the quantities of mill and refinery lie, each declared once for all formulas that share it.

A formula names the range of an argument (``percent("fibre % cane", *FIBRE_OF_CANE, "F")``) or where its result is
expected (``percent("extraction", *SHARE, "E")``). A range that belongs to one formula alone, by its source or by a pole
near it, stays in the formula's declaration, and the reason stands beside it.
"""

from __future__ import annotations

from math import inf

PHYSICAL = "physical"
"""Beyond it nothing can be, by what the quantity is."""
SOURCE = "source"
"""Beyond it a published instrument, table or standard ends; it is named."""
PLAUSIBLE = "plausible"
"""Beyond it a figure is taken for an error; common practice, no source."""


class Range(tuple[float, float]):  # noqa: SLOT001 - a subclass of tuple cannot have filled slots
    """The least and the most that a quantity may be, with what it is and on what the limits rest."""

    says: str
    basis: str

    def __new__(cls, low: float, high: float, says: str, basis: str) -> Range:
        """``basis`` begins with PHYSICAL, SOURCE or PLAUSIBLE."""
        made = super().__new__(cls, (low, high))
        made.says, made.basis = says, basis
        return made


# --- what a quantity can be at all: results and arguments -------------------------------------------------------------

SHARE = Range(0.0, 100.0, "part of a whole, %: purity, moisture, extraction, recovery, removal", PHYSICAL)
PART = Range(0.0, 1.0, "part of a whole, as a fraction", PHYSICAL)
AMOUNT = Range(0.0, inf, "mass, flow, time, price, size, viscosity, ratio: nothing or more", PHYSICAL)
SIGNED = Range(-inf, inf, "difference, rise or loss, which may have either sign", PHYSICAL)
POLARIMETER_SCALE = Range(-30.0, 110.0, "reading of a polarimeter, °Z: invert to above pure sucrose", PLAUSIBLE)
PH_SCALE = Range(0.0, 14.0, "pH of water solutions", PHYSICAL)

# --- amounts over a period, rates and times ---------------------------------------------------------------------------

MASS = Range(0.0, 1e7, "mass over a period, t: at most the season of a very large mill", PLAUSIBLE)
MASS_PRESENT = Range(0.01, MASS[1], "mass over a period that is divided by, t", PLAUSIBLE)
GAIN = Range(-MASS[1], MASS[1], "gain of mass over a period, t; a loss is below nothing", PLAUSIBLE)
FLOW = Range(0.0, 5000.0, "flow of any stream, t/h", PLAUSIBLE)
FLOW_PRESENT = Range(0.1, FLOW[1], "flow that is divided by, t/h", PLAUSIBLE)
CHEMICAL = Range(0.0, 1e5, "rate of a chemical, kg/h", PLAUSIBLE)
HOURS = Range(0.0, 8784.0, "hours of a year, a leap year included", PHYSICAL)
HOURS_PRESENT = Range(0.1, HOURS[1], "hours that are divided by", PLAUSIBLE)
PRICE = Range(0.0, 1e5, "price per tonne in any currency", PLAUSIBLE)
WEIGHED = Range(0.0, 5000.0, "weighed in the laboratory, g: what a bench balance carries", PLAUSIBLE)
SAMPLE = Range(1.0, WEIGHED[1], "sample that is divided by, g", PLAUSIBLE)
FLASK = Range(10.0, 2000.0, "volume of a flask, mL", PLAUSIBLE)
VESSELS = Range(1.0, 7.0, "vessels of an evaporator set", PLAUSIBLE)
SURFACE = Range(0.0, 50000.0, "surface that heats or filters, m²: at most all of a large house", PLAUSIBLE)
SATURATING_DOSE = Range(10.0, 1000.0, "dose that brings 63 % of all that a chemical can do, mg/kg", PLAUSIBLE)
WATER_RATIO = Range(1.0, 20.0, "water added per mass of cane or bagasse in the digester", PLAUSIBLE)
WASH_RATIO = Range(0.0, 100.0, "wash water per liquid held by a cake, bed or scum", PLAUSIBLE)
TUBE = Range(50.0, 400.0, "length of a polarimeter tube, mm; 200 is the standard", PLAUSIBLE)

# --- cane, juice and bagasse ------------------------------------------------------------------------------------------

FIBRE_OF_CANE = Range(5.0, 30.0, "fibre % cane", PLAUSIBLE)
LOSS_PER_FIBRE = Range(0.0, 0.2, "sucrose lost per fibre, in payment formulas", PLAUSIBLE)
CANE_QUALITY = Range(0.0, 25.0, "CCS, RV or recoverable sugar % cane", PLAUSIBLE)
CANE_QUALITY_PRESENT = Range(1.0, CANE_QUALITY[1], "CCS or RV % cane that is divided by", PLAUSIBLE)
FIBRE_OF_SAMPLE = Range(0.0, 70.0, "fibre of cane or of bagasse at any mill", PLAUSIBLE)
NON_SUCROSE_OF_CANE = Range(0.0, 10.0, "non-sucrose % cane", PLAUSIBLE)
POL_OF_JUICE = Range(0.0, 28.0, "pol or sucrose of first expressed, press or normal juice", PLAUSIBLE)
BRIX_OF_JUICE = Range(0.0, 32.0, "brix of first expressed or normal juice", PLAUSIBLE)
POL_OF_CANE = Range(0.0, POL_OF_JUICE[1], "pol or sucrose % cane, which has less than its juice", PLAUSIBLE)
POL_PRESENT = Range(3.0, POL_OF_JUICE[1], "pol of cane worth milling or of its juice, divided by", PLAUSIBLE)
BRIX_OF_CANE = Range(0.0, BRIX_OF_JUICE[1], "brix % cane, which has less than its juice", PLAUSIBLE)
BRIX_OF_RAW_JUICE = Range(5.0, BRIX_OF_JUICE[1], "brix of undiluted juice, divided by", PLAUSIBLE)
PURITY_OF_JUICE = Range(50.0, 98.0, "purity of juice or syrup", PLAUSIBLE)
PURITY_OF_PRESS_JUICE = Range(30.0, 100.0, "purity of press juice for payment; the cane may be stale", PLAUSIBLE)
MOISTURE_OF_BAGASSE = Range(40.0, 60.0, "moisture of final bagasse", PLAUSIBLE)
FIBRE_OF_BAGASSE = Range(25.0, 60.0, "fibre of final bagasse", PLAUSIBLE)
POL_OF_BAGASSE = Range(0.0, 10.0, "pol of final bagasse or filter cake", PLAUSIBLE)
EXTRACTION = Range(50.0, 100.0, "extraction that is reduced to a standard fibre", PLAUSIBLE)
ROLL_LENGTH = Range(0.3, 4.0, "length of mill rolls, m: laboratory mill to the longest", PLAUSIBLE)
ROLL_DIAMETER = Range(0.3, 2.0, "mean diameter of mill rolls, m", PLAUSIBLE)
ROLL_TURNS = Range(0.1, 25.0, "turns of mill rolls, 1/min", PLAUSIBLE)
ESCRIBED_VOLUME = Range(1.2e-5, 4.0, "volume that mill rolls sweep, m³/s: by their size, opening and speed", PHYSICAL)
CAKE_RESISTANCE = Range(
    1e7, 1e14, "specific resistance of a cake, m/kg, and of a cloth as that of 1 kg/m² of it, 1/m", PLAUSIBLE
)
CAKE_ON_FILTRATE = Range(0.0, 1000.0, "dry cake for each volume of filtrate, kg/m³", PLAUSIBLE)
CAKE_ON_FILTRATE_PRESENT = Range(0.01, CAKE_ON_FILTRATE[1], "dry cake on filtrate that is divided by, kg/m³", PLAUSIBLE)
NET_HEAT_OF_BAGASSE = Range(3000.0, 18500.0, "net calorific value of bagasse, kJ/kg: wet to dry", PLAUSIBLE)

# --- liquor, massecuite, molasses, sugar ------------------------------------------------------------------------------

SUGAR_SOLUTION = Range(0.0, 85.0, "dry substance of a sugar solution that flows, %", SOURCE)
SOLUTION_PRESENT = Range(0.5, SUGAR_SOLUTION[1], "brix of a solution that is divided by", PLAUSIBLE)
EVAPORATED = Range(0.0, 80.0, "dry substance of liquor in or from an evaporator, %", PLAUSIBLE)
THICK = Range(0.0, 95.0, "dry substance up to massecuite, %; with less than 5 % water the laws fail", PLAUSIBLE)
POL_OF_SOLUTION = Range(-10.0, 100.0, "pol of any solution; invert turns to the left", PLAUSIBLE)
REFRACTOMETER_SCALE = Range(0.0, 90.0, "brix read on a refractometer", PLAUSIBLE)
BRIX_PRESENT = Range(0.5, 100.0, "brix or dry substance that is divided by", PLAUSIBLE)
BRIX_OF_MASSECUITE = Range(80.0, 100.0, "brix of massecuite", PLAUSIBLE)
BRIX_OF_MOLASSES = Range(50.0, 100.0, "brix of molasses, also diluted for pumping or sale", PLAUSIBLE)
PURITY_OF_MASSECUITE = Range(40.0, 100.0, "purity of massecuite", PLAUSIBLE)
PURITY_OF_MOTHER_LIQUOR = Range(20.0, 95.0, "purity of mother liquor", PLAUSIBLE)
PURITY_OF_MOLASSES = Range(20.0, 65.0, "purity of final or refinery molasses", PLAUSIBLE)
PURITY_OF_SUGAR = Range(80.0, 100.0, "purity of sugar", PLAUSIBLE)
PURITY_OF_STOCK = Range(20.0, 100.0, "purity of anything in process, molasses to sugar", PLAUSIBLE)
POL_OF_SUGAR = Range(80.0, 100.0, "pol of sugar", PLAUSIBLE)
MOISTURE_OF_SUGAR = Range(0.0, 5.0, "moisture of sugar", PLAUSIBLE)
BRIX_OF_MOTHER_LIQUOR = Range(60.0, 92.0, "brix of mother liquor, thinned for reading or spun hot", PLAUSIBLE)
CRYSTAL_OF_MASSECUITE = Range(0.0, 70.0, "crystal % massecuite or its solids", PLAUSIBLE)
RECOVERY_FOUND = Range(0.0, 105.0, "recovery as found; above 100 by errors that must be seen", PLAUSIBLE)
RECOVERY_MADE = Range(50.0, 105.0, "recovery of a working factory, as found", PLAUSIBLE)
RECOVERY_TO_REDUCE = Range(60.0, 98.0, "boiling-house recovery that is reduced to juice of 85 purity", PLAUSIBLE)
MINOR_CONTENT = Range(0.0, 50.0, "ash, reducing sugars or the like, %: at most those of exhausted molasses", PLAUSIBLE)
SUGARS_TO_ASH = Range(0.2, 3.0, "reducing sugars per ash of molasses", PLAUSIBLE)
COLOUR = Range(0.0, 1e5, "ICUMSA colour, IU", PLAUSIBLE)
COLOUR_REMOVED = Range(-100.0, 100.0, "colour removed, %; below nothing where colour forms", PLAUSIBLE)
COLOUR_PRESENT = Range(1.0, COLOUR[1], "ICUMSA colour that is divided by, IU", PLAUSIBLE)
DOSE = Range(0.0, 5000.0, "dose or content of a chemical on solids, mg/kg", PLAUSIBLE)
TRACE = Range(0.0, 1e5, "small content or residue found, mg, mg/L or mg/kg", PLAUSIBLE)
STRENGTH = Range(10.0, 100.0, "strength of a chemical as bought, or of its use, %", PLAUSIBLE)
VOLUME = Range(0.0, 1e6, "volume in tanks or boiled over a period, m³, or of gas in an hour", PLAUSIBLE)
LIQUOR_DENSITY = Range(
    900.0, 1700.0, "density of juice, liquor or molasses, kg/m³; the least with air in it", PLAUSIBLE
)
SUPERSATURATION = Range(0.8, 1.4, "supersaturation in pans and crystallizers", PLAUSIBLE)
NON_SUCROSE_TO_WATER = Range(0.0, 5.0, "non-sucrose per water of a liquor", PLAUSIBLE)
SUCROSE_TO_WATER = Range(0.0, 10.0, "sucrose per water of a liquor", PLAUSIBLE)
SORPTION = Range(0.0, 0.1, "constants of the moisture of free-flowing sugar, %", PLAUSIBLE)
CRYSTAL_SIZE = Range(0.005, 5.0, "size of a crystal, mm: fondant to the coarsest", PLAUSIBLE)
CRYSTAL_MASS = Range(7.9e-8, 200.0, "mass of a crystal of such a size, mg", PHYSICAL)
CRYSTAL_SHAPE = Range(0.4, 1.0, "volume of a crystal over its sieve size cubed; 1 is the cube", PHYSICAL)
SIEVE_APERTURE = Range(0.02, 5.0, "aperture of a test sieve, mm; ISO 3310-1 begins at 0.02", SOURCE)

# --- temperatures, pressures, heat ------------------------------------------------------------------------------------

LIQUOR_TEMPERATURE = Range(0.0, 130.0, "juice, liquor and what it carries, °C: up to the first vessel", PLAUSIBLE)
HEATED_TEMPERATURE = Range(20.0, LIQUOR_TEMPERATURE[1], "liquor in which reactions run, °C", PLAUSIBLE)
ROOM_TEMPERATURE = Range(0.0, 40.0, "plate, tube or solution in a laboratory, °C", PLAUSIBLE)
AMBIENT_TEMPERATURE = Range(0.0, 60.0, "cane, sugar, cooled water or wet bulb, °C: up to the hottest sun", PLAUSIBLE)
COLD_LIQUOR_TEMPERATURE = Range(0.0, 100.0, "liquor or crystal not under pressure, °C", PHYSICAL)
VISCOSITY_TEMPERATURE = Range(0.0, 120.0, "liquor whose viscosity is asked, °C", PLAUSIBLE)
WATER_VISCOSITY_TEMPERATURE = Range(0.0, 110.0, "liquid water to the 383.15 K of the source, °C", SOURCE)
EVAPORATOR_TEMPERATURE = Range(40.0, LIQUOR_TEMPERATURE[1], "liquor or condensate in evaporators, °C", PLAUSIBLE)
CONDENSATE_TEMPERATURE = Range(20.0, 200.0, "condensate before and after flashing, °C", PLAUSIBLE)
SOLUBILITY_TEMPERATURE = Range(0.0, 90.0, "solubility by the default set, °C", SOURCE)
PAN_TEMPERATURE = Range(20.0, SOLUBILITY_TEMPERATURE[1], "massecuite and molasses, crystallizer to pan, °C", PLAUSIBLE)
EVAPORATING_TEMPERATURE = Range(5.0, 150.0, "water boiling in evaporators and pans, °C", PLAUSIBLE)
BOILING_PRESSURE = Range(2.0, 1000.0, "absolute pressure over boiling liquor, kPa", PLAUSIBLE)
BOILING_DENSITY = Range(0.0, 1600.0, "density of boiling liquor or massecuite with its vapour, kg/m³", PLAUSIBLE)
BOILING_DEPTH = Range(0.0, 6.0, "depth of boiling liquor, m", PLAUSIBLE)
LIQUOR_HEAT = Range(1.0, 4.5, "specific heat of liquor or juice, kJ/(kg·K)", PLAUSIBLE)
JUICE_VISCOSITY = Range(2.12e-4, 8.5e-3, "juice or filtrate, Pa·s: water at 130 °C to 32 brix at freezing", PHYSICAL)
LIQUOR_VISCOSITY = Range(JUICE_VISCOSITY[0], 1.0, "liquor that is filtered or runs through tubes, Pa·s", PLAUSIBLE)
FILM_COEFFICIENT = Range(0.05, 50.0, "heat transfer coefficient of a film, kW/(m²·K)", PLAUSIBLE)
TEMPERATURE_DIFFERENCE = Range(0.0, 150.0, "difference over a surface, K: hottest vapour on freezing liquor", PHYSICAL)
DIFFERENCE_PRESENT = Range(0.5, TEMPERATURE_DIFFERENCE[1], "temperature difference that is divided by, K", PLAUSIBLE)
DECLINE = Range(0.0, 0.5, "constant of the decline of a coefficient by scale, 1/h", PLAUSIBLE)
DECLINE_PRESENT = Range(1e-5, DECLINE[1], "constant of the decline that is divided by, 1/h", PLAUSIBLE)
HEAT_COEFFICIENT = Range(0.1, 10.0, "overall heat transfer coefficient of a clean vessel, kW/(m²·K)", PLAUSIBLE)
STEAM_ENTHALPY = Range(2600.0, 3600.0, "enthalpy of live steam, kJ/kg", PLAUSIBLE)
FEED_WATER_ENTHALPY = Range(83.7, 853.0, "enthalpy of boiler feed water, kJ/kg: 20 to 200 °C", PHYSICAL)
LATENT_HEAT = Range(1939.0, 2454.0, "latent heat of heating vapour, kJ/kg: condensing at 200 to 20 °C", PHYSICAL)
AIR_PRESSURE = Range(75.0, 120.0, "absolute pressure of air, kPa: to the highest mills, and before fans", PLAUSIBLE)
VACUUM = Range(0.0, AIR_PRESSURE[1], "absolute pressure in a condenser, kPa: nothing to that of the air", PHYSICAL)
ALTITUDE = Range(-200.0, 2450.0, "height of a mill above the sea, m", PLAUSIBLE)
