"""Mixed juice to syrup in a draft: liming, heating, clarification, mud filters and a multiple-effect evaporator."""

from __future__ import annotations

import numpy as np

from canewright.plant.drafting.draft import Draft, DraftTarget, Number, assumed
from canewright.plant.drafting.mills import FROM_MEMORY, MILL
from canewright.plant.drafting.questions import Answers
from canewright.properties.steam import saturation_pressure, saturation_temperature

USUAL = ((0.0, 0.25, 0.5, 0.75, 1.0), (2.5, 2.3, 2.0, 1.5, 0.7))
"""Heat transfer coefficient, kW/m²K, along Robert vessels: within the usual 2.3-3.0 of a first and 0.5-0.8 of
a last effect (from memory, Rein 2007; Kern 1950, example 14.4, read: 2.7 to 0.78)."""
LAST_PRESSURE = 15.0
"""Absolute pressure of the last vessel, kPa: usual 13-18 (common practice, no source)."""
DESIGN_DROP = 35.0
"""Pressure drop of the exhaust valve at the design point, kPa: what is left for fouling and for rich days, a third
of the fall of a first effect (common practice, no source)."""
WARM = 109.0
"""Least condensing temperature of the first vapour, °C, where sizes are chosen: limed juice is heated with it."""
WIDENING = 2.4
"""How much larger the temperature fall of the last effect is made than that of the first, where sizes are chosen."""


def clarification(d: Draft, a: Answers) -> None:
    """Raw juice tank to hot clear juice, with mud filters whose filtrate returns."""
    crush = a.number("crush")
    early = "vapour 2" if a.count("effects") > 3 else "vapour 1"
    d.station("raw juice tank", "juice tank", MILL)
    warm = assumed(88 if "diffuser" in d.stations else 75, 1.0)  # juice of a diffuser comes hot
    d.station("primary heater", "juice heater", MILL, temperature=warm, area=crush.times(2.2, SIZED))
    d.station("liming", "liming", MILL, lime_dose=assumed(0.55, 0.1))
    d.station("secondary heater", "juice heater", MILL, temperature=assumed(103, 1.0), area=crush.times(2.6, SIZED))
    d.station("flash tank", "flash tank", MILL)
    d.station(
        "clarifier", "clarifier", MILL, mud_solids=assumed(7.5, 0.75), carry_over=assumed(0.03, 0.01),
        inversion=assumed(0.04, 0.015), colour_removed=assumed(4, 2), area=crush.times(0.15, SIZED),
    )  # fmt: skip
    d.station(
        "mud filter", "mud filter", MILL, retention=assumed(85, 4), cake_moisture=assumed(72, 1),
        wash_on_cake=assumed(130, 15),
    )  # fmt: skip
    d.station("boiling house loss", "undetermined loss", MILL, loss=assumed(0.8, 3.0))
    d.station("clear juice heater", "liquor heater", MILL, temperature=assumed(112, 1.0), area=crush.times(1.2, SIZED))
    d.connect("raw juice tank.feeds", "mill loss.passed", "mud filter.filtrate")
    d.line("raw juice tank.mixed", "primary heater.liquor", f"{early}.branches", "primary heater.vapour")
    d.line("primary heater.heated", "liming.juice", "hot water.water", "liming.water")
    d.line("liming.limed", "secondary heater.liquor", "vapour 1.branches", "secondary heater.vapour")
    d.line("secondary heater.heated", "flash tank.juice", "flash tank.vapour", "outside.flash vapour")
    d.line("flash tank.flashed", "clarifier.juice", "clarifier.mud", "mud filter.mud")
    d.line("bagacillo.part", "mud filter.bagacillo", "hot water.water", "mud filter.wash")
    d.line("mud filter.cake", "outside.filter cake", "clarifier.clear", "boiling house loss.liquor")
    d.line("boiling house loss.lost", "outside.boiling house loss")
    d.line("boiling house loss.passed", "clear juice heater.liquor")
    d.line("exhaust range.branches", "clear juice heater.vapour")
    d.line("clear juice heater.condensate", "outside.clear juice heater condensate")
    d.roles |= {
        "filter cake": "mud filter.cake", "clear juice": "clarifier.clear",
        "boiling house loss": "boiling house loss.lost",
    }  # fmt: skip
    d.meter("filter cake weight", "mud filter.cake", "mass", "8 %")
    d.meter("filter cake pol", "mud filter.cake", "pol", 0.2, "filter cake")
    d.meter("filter cake moisture", "mud filter.cake", "moisture", 1.0, "filter cake")
    d.meter("clear juice brix", "clarifier.clear", "refractometer brix", 0.06, "clear juice")
    d.meter("clear juice polarimeter", "clarifier.clear", "polarimeter reading", 0.2, "clear juice")
    d.meter("limed juice temperature", "secondary heater.heated", "temperature", 0.5)


SIZED = "in proportion to the cane crushed, then sized to what the described plant needs"


def evaporation(d: Draft, a: Answers) -> None:
    """Effects in series, vapour mains that bleed the first two, flash pots, the condenser of the last."""
    effects = a.count("effects")
    last = f"effect {effects}"
    d.station("exhaust valve", "vapour main", MILL, pressure_drop=assumed(DESIGN_DROP))
    d.line("exhaust range.branches", "exhaust valve.supply", "exhaust valve.branches", "effect 1.steam")
    d.roles["exhaust to evaporator"] = "exhaust valve.branches.1"
    bled = _bled(effects)
    for k in range(1, effects + 1):
        _effect(d, a, k, effects)
        if k in bled:
            d.station(f"vapour {k}", "vapour main", MILL)
            d.connect(f"vapour {k}.supply", f"effect {k}.vapour")
        if k > 1:
            _steam_of(d, k, effects, bled)
    d.line("clear juice heater.heated", "effect 1.liquor")
    d.station("evaporator condenser", "condenser", MILL, pressure=assumed(LAST_PRESSURE, 0.5), approach=assumed(8, 1))
    d.line(f"{last}.vapour", "evaporator condenser.vapours", "cooling water.water", "evaporator condenser.water")
    d.line("evaporator condenser.warm", "outside.evaporator condenser water")
    d.connect("outside.condensate", f"flash pot {effects}.condensate")
    d.connect("outside.last condensate", f"{last}.condensate")
    d.target(f"{last}.concentrated", "dry substance", a.number("syrup"), "exhaust valve.pressure_drop")
    d.roles["syrup"] = f"{last}.concentrated"
    d.meter("syrup brix", f"{last}.concentrated", "refractometer brix", 0.25, "syrup")
    d.meter("syrup purity", f"{last}.concentrated", "apparent purity", 0.3, "syrup")
    d.meter("exhaust steam meter", "exhaust valve.branches.1", "mass flow", "2 %")
    for k in range(1, effects + 1):
        d.meter(f"vapour {k} pressure", f"effect {k}.vapour", "pressure", 2.0 if k < effects else 0.5)
    _sizing(d, a)


def _bled(effects: int) -> tuple[int, ...]:
    """Effects whose vapour is bled: the first, and the second where enough follow."""
    return (1, 2) if effects > 3 else (1,)


def _effect(d: Draft, a: Answers, k: int, effects: int) -> None:
    along = (k - 1) / (effects - 1)
    d.station(
        f"effect {k}", "evaporator effect", MILL, area=a.number("crush").times(10.0, SIZED),
        heat_transfer_coefficient=assumed(round(float(np.interp(along, *USUAL)), 2), 0.2 - 0.1 * along, FROM_MEMORY),
        head_rise=round(1.0 + 3.0 * along**2, 1), inversion=assumed(round(0.04 * (1 - along), 3), 0.01 * (1 - along)),
        colour_formed=assumed(1.0, 0.4),
    )  # fmt: skip
    if k > 1:
        d.connect(f"effect {k}.liquor", f"effect {k - 1}.concentrated")


def _steam_of(d: Draft, k: int, effects: int, bled: tuple[int, ...]) -> None:
    """Vapour of the effect before, from the third on with the flash of the condensates before it."""
    vapour = f"vapour {k - 1}.branches" if k - 1 in bled else f"effect {k - 1}.vapour"
    if k == 2:
        d.connect("effect 2.steam", vapour)
        return
    d.station(f"flash pot {k}", "flash pot", MILL)
    d.connect(f"flash pot {k}.vapour", vapour)
    d.connect(f"effect {k}.steam", f"flash pot {k}.joined")
    d.connect(f"flash pot {k}.condensates", f"effect {k - 1}.condensate")
    if k == 3:
        d.connect("flash pot 3.condensates", "secondary heater.condensate")
    else:
        d.connect(f"flash pot {k}.condensates", f"flash pot {k - 1}.condensate")
    if k == min(4, effects):
        d.connect(f"flash pot {k}.condensates", "primary heater.condensate")


def _sizing(d: Draft, a: Answers) -> None:
    """The pressures that choose the areas: the saturation temperature falls a little more in each effect."""
    effects = a.count("effects")
    top = float(saturation_temperature(a.size("exhaust_pressure") - DESIGN_DROP))
    bottom = float(saturation_temperature(LAST_PRESSURE))
    falls = np.linspace(1.0, WIDENING, effects)
    after = top - (top - bottom) * np.cumsum(falls) / falls.sum()
    after += max(WARM - after[0], 0.0) * np.linspace(1.0, 0.0, effects)
    because = "design of the sizes"
    for k in range(1, effects):
        pressure = Number(round(float(saturation_pressure(after[k - 1])), 1), because=because)
        d.sizing.append(DraftTarget(f"effect {k}.vapour", "pressure", pressure, f"effect {k}.area"))
    d.sizing.append(
        DraftTarget(f"effect {effects}.concentrated", "dry substance", a.number("syrup"), f"effect {effects}.area")
    )
