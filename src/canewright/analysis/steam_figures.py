"""Steam, evaporation and fuel in factory control: per cane, per water evaporated, per bagasse.

For balances and comparison only: boilers, pressure vessels and turbines follow local codes and licensed practice.
"""

from __future__ import annotations

from canewright.analysis.declaring import brix, degrees_celsius, percent, plain
from canewright.properties.ranges import (
    AMOUNT,
    BRIX_PRESENT,
    CONDENSATE_TEMPERATURE,
    FEED_WATER_ENTHALPY,
    FLOW,
    FLOW_PRESENT,
    LATENT_HEAT,
    LIQUOR_HEAT,
    LIQUOR_TEMPERATURE,
    NET_HEAT_OF_BAGASSE,
    SHARE,
    STEAM_ENTHALPY,
    SUGAR_SOLUTION,
    SURFACE,
    TRACE,
    VESSELS,
)
from canewright.properties.steam import latent_heat, saturated_water_enthalpy
from canewright.quantity.formula import Argument, argument, formula
from canewright.quantity.maths import Num

DEFINITION = "definition; common practice, no source"


def _flow(says: str, low: float = FLOW[0], high: float = FLOW[1], symbol: str = "") -> Argument:
    return argument("t/h", says, low, high, symbol=symbol)


@formula(
    result=percent("steam % cane", *AMOUNT),
    equation="steam % cane = 100 · steam / cane",
    source=DEFINITION,
    status="derived",
    caveat="process steam and steam of prime movers are different figures: name which",
    example=(180.0, 420.0),
    gives=42.8571429,
    steam=_flow("steam"),
    cane=_flow("cane", *FLOW_PRESENT),
)
def steam_on_cane(steam: Num, cane: Num) -> Num:
    """Steam per 100 of cane."""
    return 100.0 * steam / cane


@formula(
    result=_flow("water evaporated", *AMOUNT, "E"),
    equation="E = F (1 - B₁/B₂)",
    source="solids balance of the evaporator",
    status="derived",
    caveat="both brixes by one kind; loss by entrainment left out",
    example=(450.0, 14.5, 65.0),
    gives=349.615385,
    feed=_flow("juice or liquor in", *FLOW, "F"),
    brix_in=brix("brix in", *SUGAR_SOLUTION),
    brix_out=brix("brix out", *BRIX_PRESENT),
)
def evaporation_by_brix(feed: Num, brix_in: Num, brix_out: Num) -> Num:
    """Water evaporated between two brixes."""
    return feed * (1.0 - brix_in / brix_out)


@formula(
    result=plain("water evaporated per steam", *AMOUNT),
    equation="economy = evaporated / steam",
    source=DEFINITION,
    status="derived",
    example=(349.6, 105.0),
    gives=3.32952381,
    evaporated=_flow("water evaporated"),
    steam=_flow("steam to the first vessel", *FLOW_PRESENT),
)
def steam_economy(evaporated: Num, steam: Num) -> Num:
    """Steam economy of an evaporator set."""
    return evaporated / steam


@formula(
    result=argument("kg/h/m²", "evaporation per surface", *AMOUNT),
    equation="rate = 1000 · evaporated / surface",
    source=DEFINITION,
    status="derived",
    example=(349.6, 12000.0),
    gives=29.1333333,
    evaporated=_flow("water evaporated"),
    surface=argument("m²", "heating surface", 1.0, SURFACE[1]),
)
def evaporation_rate(evaporated: Num, surface: Num) -> Num:
    """Evaporation per heating surface."""
    return 1000.0 * evaporated / surface


@formula(
    result=percent("vapour flashed % liquid", *SHARE),
    equation="flash = 100 (h′(t₁) - h′(t₂)) / r(t₂)",
    source="heat balance with IAPWS R7-97(2012) enthalpies",
    status="derived",
    caveat="for condensate; juice flashes less, by its specific heat over that of water",
    example=(115.0, 100.0),
    gives=2.81207257,
    hot=degrees_celsius("temperature of the condensate under pressure", *CONDENSATE_TEMPERATURE, "t₁"),
    cold=degrees_celsius("boiling temperature at the lower pressure", *CONDENSATE_TEMPERATURE, "t₂"),
)
def flash_share(hot: Num, cold: Num) -> Num:
    """Share of condensate that flashes to vapour on entering a lower pressure."""
    return 100.0 * (saturated_water_enthalpy(hot) - saturated_water_enthalpy(cold)) / latent_heat(cold)


@formula(
    result=_flow("steam saved", *AMOUNT),
    equation="saving = V i / n",
    source="Rillieux's second principle; from memory",
    status="from memory",
    caveat="vapour of vessel i of n used in place of live steam; equal latent heats, no losses",
    example=(40.0, 2.0, 5.0),
    gives=16.0,
    bleed=_flow("vapour bled", *FLOW, "V"),
    vessel=plain("number of the vessel bled", *VESSELS, "i"),
    vessels=plain("vessels in the set", *VESSELS, "n"),
)
def bleeding_saving(bleed: Num, vessel: Num, vessels: Num) -> Num:
    """Steam saved by heating with vapour bled from an evaporator."""
    return bleed * vessel / vessels


@formula(
    result=_flow("heating steam", *AMOUNT),
    equation="steam = m c (t₂ - t₁) / r",
    source="heat balance of a heater",
    status="derived",
    caveat="losses of a few per cent left out",
    example=(450.0, 3.85, 60.0, 103.0, 2230.0),
    gives=33.4069507,
    flow=_flow("juice or liquor heated", *FLOW, "m"),
    specific_heat=argument("kJ/kg/K", "its specific heat", *LIQUOR_HEAT, symbol="c"),
    temperature_in=degrees_celsius("temperature in", *LIQUOR_TEMPERATURE, "t₁"),
    temperature_out=degrees_celsius("temperature out", *LIQUOR_TEMPERATURE, "t₂"),
    latent=argument("kJ/kg", "latent heat of the vapour", *LATENT_HEAT, symbol="r"),
)
def heating_steam(flow: Num, specific_heat: Num, temperature_in: Num, temperature_out: Num, latent: Num) -> Num:
    """Steam or vapour that a heater takes."""
    return flow * specific_heat * (temperature_out - temperature_in) / latent


@formula(
    result=plain("steam per bagasse", *AMOUNT),
    equation="steam per bagasse = η NCV / (100 (h_s - h_w))",
    source="heat balance of the boiler on net calorific value",
    status="derived",
    example=(84.0, 7451.0, 3229.9, 440.0),
    gives=2.24339224,
    efficiency=percent("boiler efficiency on net calorific value", 30.0, 95.0, "η"),
    calorific_value=argument("kJ/kg", "net calorific value of bagasse", *NET_HEAT_OF_BAGASSE, symbol="NCV"),
    steam_enthalpy=argument("kJ/kg", "enthalpy of the steam", *STEAM_ENTHALPY, symbol="h_s"),
    water_enthalpy=argument("kJ/kg", "enthalpy of the feed water", *FEED_WATER_ENTHALPY, symbol="h_w"),
)
def steam_per_bagasse(efficiency: Num, calorific_value: Num, steam_enthalpy: Num, water_enthalpy: Num) -> Num:
    """Steam raised per bagasse burnt."""
    return efficiency * calorific_value / (100.0 * (steam_enthalpy - water_enthalpy))


@formula(
    result=percent("boiler efficiency", *SHARE, "η"),
    equation="η = 100 · steam (h_s - h_w) / (bagasse · NCV)",
    source="heat balance of the boiler on net calorific value",
    status="derived",
    caveat="name the calorific value: on gross the same boiler shows about a fifth less",
    example=(220.0, 3229.9, 440.0, 98.1, 7451.0),
    gives=83.9706948,
    steam=_flow("steam", *FLOW),
    steam_enthalpy=argument("kJ/kg", "enthalpy of the steam", *STEAM_ENTHALPY, symbol="h_s"),
    water_enthalpy=argument("kJ/kg", "enthalpy of the feed water", *FEED_WATER_ENTHALPY, symbol="h_w"),
    bagasse=_flow("bagasse burnt", *FLOW_PRESENT),
    calorific_value=argument("kJ/kg", "net calorific value of bagasse", *NET_HEAT_OF_BAGASSE, symbol="NCV"),
)
def boiler_efficiency(steam: Num, steam_enthalpy: Num, water_enthalpy: Num, bagasse: Num, calorific_value: Num) -> Num:
    """Boiler efficiency by the direct method."""
    return 100.0 * steam * (steam_enthalpy - water_enthalpy) / (bagasse * calorific_value)


@formula(
    result=argument("kWh/t", "power per cane", *AMOUNT),
    equation="power per cane = 1000 · power / cane",
    source=DEFINITION,
    status="derived",
    example=(14.0, 420.0),
    gives=33.3333333,
    power=argument("MW", "electric power", 0.0, 500.0),
    cane=_flow("cane", *FLOW_PRESENT),
)
def power_on_cane(power: Num, cane: Num) -> Num:
    """Power used or exported per tonne of cane."""
    return 1000.0 * power / cane


@formula(
    result=percent("sucrose lost % sucrose in", *SHARE),
    equation="loss = 1e-4 · vapour · content / sucrose, content in mg/kg",
    source="balance of the condensate",
    status="derived",
    caveat="sugar in condensate of the last vessel or the condenser",
    example=(90.0, 50.0, 58.0),
    gives=0.00775862069,
    vapour=_flow("vapour condensed"),
    content=argument("mg/kg", "sucrose in the condensate", *TRACE),
    sucrose=_flow("sucrose in the juice", *FLOW_PRESENT),
)
def entrainment_loss(vapour: Num, content: Num, sucrose: Num) -> Num:
    """Sucrose carried over with the vapour."""
    return 1e-4 * vapour * content / sucrose
