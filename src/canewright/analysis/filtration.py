"""Cake filtration at constant pressure: time, rate, resistance of a compressible cake, and washing of the cake.

Presses and leaf filters hold hot liquor under pressure: they are vented and drained before they are opened.
"""

from __future__ import annotations

from canewright.analysis.declaring import plain
from canewright.properties.ranges import AMOUNT, CAKE_ON_FILTRATE, CAKE_RESISTANCE, LIQUOR_VISCOSITY, PART, WASH_RATIO
from canewright.quantity.formula import Argument, argument, formula
from canewright.quantity.maths import Num, exp, log

SHEET = (
    "constant-pressure filtration worksheet (2.72 m², 3 bar, public document, read): 125.24655 kg/m³, 5.215e11 m/kg, "
    "2.861e12 1/m"
)
KILO, HOUR = 1e3, 3600.0


RESISTANCE = argument("m/kg", "specific resistance of the cake", *CAKE_RESISTANCE, symbol="α")
PRESSURE = argument("kPa", "pressure drop over cake and cloth", 5.0, 3000.0, symbol="Δp")


def _cake() -> dict[str, Argument]:
    return {
        "filtrate": argument("m³/m²", "filtrate on filter area", 0.0, 200.0, symbol="v"),
        "solids": argument("kg/m³", "dry cake for each volume of filtrate", *CAKE_ON_FILTRATE, symbol="c"),
        "resistance": RESISTANCE,
        "medium": argument("1/m", "resistance of the cloth with its precoat", *CAKE_RESISTANCE, symbol="R"),
        "viscosity": argument("Pa·s", "viscosity of the liquid", *LIQUOR_VISCOSITY, symbol="μ"),
        "pressure": PRESSURE,
    }


@formula(
    result=argument("s", "time of filtration", *AMOUNT, symbol="t"),
    equation="t = μ (α c v²/2 + R v) / Δp, so that t/v is a straight line in v",
    source=f"Ruth (1935), cake and cloth in series (from memory); {SHEET}",
    status="read",
    caveat="pressure held constant; while a pump fills the cake at a constant rate the time is longer",
    example=(0.0389705882, 125.24655, 5.215e11, 2.861e12, 0.001, 300.0),
    gives=536.976117,
    **_cake(),
)
def filtration_time(filtrate: Num, solids: Num, resistance: Num, medium: Num, viscosity: Num, pressure: Num) -> Num:
    """Time to collect a volume of filtrate on each square metre at constant pressure."""
    drag = 0.5 * resistance * solids * filtrate * filtrate + medium * filtrate
    return viscosity * drag / (KILO * pressure)


@formula(
    result=argument("m/h", "filtrate on area in an hour", *AMOUNT, symbol="u"),
    equation="u = 3600 Δp / (μ (α c v + R))",
    source=f"derivative of the time of filtration; {SHEET}",
    status="derived",
    caveat="wash water takes its own viscosity; in a plate press it passes two cakes through half the area",
    example=(0.0389705882, 125.24655, 5.215e11, 2.861e12, 0.001, 300.0),
    gives=0.199763026,
    **_cake(),
)
def filtration_rate(filtrate: Num, solids: Num, resistance: Num, medium: Num, viscosity: Num, pressure: Num) -> Num:
    """Flow through each square metre when so much filtrate has passed; also that of water washing the cake."""
    return HOUR * KILO * pressure / (viscosity * (resistance * solids * filtrate + medium))


@formula(
    result=argument("m/kg", "specific resistance of the cake", *AMOUNT, symbol="α"),
    equation="α = α₁ (Δp/100)ⁿ",
    source="power law of compressible cakes, Almy and Lewis (1912)",
    status="from memory",
    example=(2e11, 300.0, 0.3),
    gives=2.78077834e11,
    at_one_bar=argument("m/kg", "specific resistance at 100 kPa", *CAKE_RESISTANCE, symbol="α₁"),
    pressure=PRESSURE,
    compressibility=plain("compressibility: 0 rigid, near 1 soft", *PART, "n"),
)
def cake_resistance(at_one_bar: Num, pressure: Num, compressibility: Num) -> Num:
    """Specific resistance of a cake at the pressure at which it filters."""
    return at_one_bar * exp(compressibility * log(pressure / 100.0))


@formula(
    result=plain("dissolved matter left on that held before washing", *PART),
    equation="left = (1 - e)^w",
    source="Choudhury and Dahlstrom (1957), AIChE J. 3, 433",
    status="from memory",
    caveat="e from the plant: cracks and channels lower it",
    example=(1.5, 0.8),
    gives=0.0894427191,
    wash_ratio=plain("wash on liquid held, t/t", *WASH_RATIO, "w"),
    efficiency=plain("share displaced by as much wash as liquid held", 0.0, 0.99, "e"),
)
def left_by_washing(wash_ratio: Num, efficiency: Num) -> Num:
    """Share of what the liquid of a cake or bed holds dissolved that stays after washing."""
    return exp(wash_ratio * log(1.0 - efficiency))
