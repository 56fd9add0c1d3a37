"""Filter cake and the direct-analysis factors: retention, cake, its pol loss, and shares of a mill balance."""

from __future__ import annotations

from canewright.analysis.declaring import percent, plain, tonnes
from canewright.properties.ranges import (
    AIR_PRESSURE,
    AMOUNT,
    BRIX_OF_CANE,
    CAKE_ON_FILTRATE_PRESENT,
    CAKE_RESISTANCE,
    JUICE_VISCOSITY,
    MASS,
    MASS_PRESENT,
    POL_OF_BAGASSE,
    SHARE,
    SURFACE,
)
from canewright.quantity.formula import argument, formula
from canewright.quantity.maths import Num, sqrt

BALANCE = "insolubles balance over the filter"


CAKE = percent("insolubles of the cake", 10.0, 60.0, "c")


@formula(
    result=percent("retention of mud solids", *SHARE, "R"),
    equation="R = 100 c (m - f) / (m (c - f))",
    source=BALANCE,
    status="derived",
    caveat="bagacillo added counts in the feed; wash water must be left out of all three",
    example=(8.0, 25.0, 1.2),
    gives=89.2857143,
    mud=percent("insolubles of the filter feed", 1.0, 20.0, "m"),
    cake=CAKE,
    # thinner than any cake, where the quotient has its pole
    filtrate=percent("insolubles of the filtrate", 0.0, 8.0, "f"),
)
def filter_retention(mud: Num, cake: Num, filtrate: Num) -> Num:
    """Share of the mud solids that the filter holds back."""
    return 100.0 * cake * (mud - filtrate) / (mud * (cake - filtrate))


@formula(
    result=tonnes("wet cake", *AMOUNT),
    equation="cake = 100 · solids held / c",
    source=BALANCE,
    status="derived",
    example=(87.5, 25.0),
    gives=350.0,
    solids=tonnes("insolubles held by the filter", *MASS),
    cake_insolubles=CAKE,
)
def cake_from_solids(solids: Num, cake_insolubles: Num) -> Num:
    """Mass of cake from the solids it holds, where the cake is not weighed."""
    return 100.0 * solids / cake_insolubles


@formula(
    result=percent("pol lost in cake % pol in cane", *SHARE),
    equation="loss = cake · pol of cake / pol in cane",
    source="definition; common practice, no source",
    status="derived",
    caveat="the cake is usually the worst-weighed stream",
    example=(350.0, 1.50, 1350.0),
    gives=0.388888889,
    cake=tonnes("wet cake", *MASS),
    cake_pol=percent("pol of cake", *POL_OF_BAGASSE, "P", "pol"),
    cane_pol=tonnes("pol in cane", *MASS_PRESENT),
)
def pol_lost_in_cake(cake: Num, cake_pol: Num, cane_pol: Num) -> Num:
    """Pol lost in filter cake."""
    return cake * cake_pol / cane_pol


@formula(
    result=percent("direct analysis factor", *AMOUNT),
    equation="factor = 100 · (in mixed juice + in bagasse) / by direct analysis",
    source="SASTA Laboratory Manual, chapter 3, section 3.2",
    status="read",
    caveat="pol, brix or fibre, one at a time; look for a cause outside about 98 to 102 (from memory)",
    example=(1296.9474, 53.0526, 1338.0),
    gives=100.896861,
    in_juice=tonnes("in mixed juice", *MASS),
    in_bagasse=tonnes("in bagasse", *MASS),
    by_analysis=tonnes("in cane by direct analysis", *MASS_PRESENT),
)
def direct_analysis_factor(in_juice: Num, in_bagasse: Num, by_analysis: Num) -> Num:
    """What the mill balance finds of what direct analysis said came in."""
    return 100.0 * (in_juice + in_bagasse) / by_analysis


@formula(
    result=percent("content of the consignment for payment", *SHARE),
    equation="content = content by direct analysis · factor / 100",
    source="SASTA Laboratory Manual, chapter 3, section 3.2: mill tonnages shared pro rata to direct-analysis tonnes",
    status="read",
    example=(13.2, 99.229389),
    gives=13.0982793,
    content=percent("pol, brix or fibre by direct analysis", *BRIX_OF_CANE),
    factor=percent("direct analysis factor of the week", 80.0, 120.0),
)
def shared_content(content: Num, factor: Num) -> Num:
    """A consignment's share of the mill balance."""
    return content * factor / 100.0


@formula(
    result=plain("water per insolubles of the cake", *AMOUNT),
    equation="wash ratio = wash water / insolubles in cake",
    source="definition; common practice, no source",
    status="derived",
    example=(120.0, 87.5),
    gives=1.37142857,
    wash_water=tonnes("wash water", *MASS),
    solids=tonnes("insolubles in cake", *MASS_PRESENT),
)
def cake_wash_ratio(wash_water: Num, solids: Num) -> Num:
    """Wash water per solids of the cake."""
    return wash_water / solids


@formula(
    result=argument("m³/h", "filtrate that the drum passes while cake forms", *AMOUNT, symbol="Q"),
    equation="Q = 60 n A √(2 Δp t / (η α c)), t = 60 ψ / (100 n) s",
    source="Ruth (1935), Ind. Eng. Chem. 27, 708, filtration at constant pressure; cloth left out; read as a "
    "rotary drum's formula on a public engineering page",
    status="from memory",
    caveat="fit the resistance of the cake to the plant's own mud; it follows bagacillo, flocculant and temperature",
    example=(200.0, 30.0, 25.0, 0.25, 0.0004, 1e10, 80.0),
    gives=318.198052,
    area=argument("m²", "filter area of the drums", *SURFACE, symbol="A"),
    vacuum=argument("kPa", "pressure difference while cake forms", 1.0, AIR_PRESSURE[1], symbol="Δp"),
    submergence=percent("circumference that dips into the mud", 5.0, 60.0, "ψ"),
    speed=argument("1/min", "speed of the drum", 0.02, 5.0, symbol="n"),
    viscosity=argument("Pa·s", "viscosity of the filtrate", *JUICE_VISCOSITY, symbol="η"),
    resistance=argument("m/kg", "specific resistance of the cake", *CAKE_RESISTANCE, symbol="α"),
    concentration=argument("kg/m³", "insolubles on filtrate", *CAKE_ON_FILTRATE_PRESENT, symbol="c"),
)
def drum_filtrate(
    area: Num, vacuum: Num, submergence: Num, speed: Num, viscosity: Num, resistance: Num, concentration: Num
) -> Num:
    """Filtrate of rotary vacuum filters by the resistance of their cake."""
    seconds = 60.0 * submergence / (100.0 * speed)
    depth = sqrt(2e3 * vacuum * seconds / (viscosity * resistance * concentration))
    return 60.0 * speed * area * depth
