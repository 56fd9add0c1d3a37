"""Bagasse to steam and power in a draft: store, boiler, turbines, let-down, exhaust range, deaerator, drives."""

from __future__ import annotations

from canewright.plant.drafting.draft import Draft, Number, assumed
from canewright.plant.drafting.mills import ENERGY, FROM_MEMORY, MILL
from canewright.plant.drafting.questions import Answers
from canewright.plant.drafting.raw_house import SIZED
from canewright.properties.steam import saturation_temperature

HIGH_PRESSURE = 6000.0
"""Absolute pressure of live steam, kPa, from which turbines are taken to be modern multi-stage sets."""


def power_house(d: Draft, a: Answers, *, condensing: bool = False) -> None:
    """Everything between the bagasse and the exhaust range; with a condensing set where power is made for sale."""
    pressure, crush = a.number("boiler_pressure"), a.number("crush")
    efficient = assumed(82 if pressure.value >= HIGH_PRESSURE else 76, 3, FROM_MEMORY)
    margin = a.size("exhaust_pressure")
    d.station("bagasse store", "bagasse store", ENERGY)
    d.station(
        "boiler", "boiler", ENERGY, pressure=pressure, temperature=a.number("steam_temperature"),
        stack_temperature=assumed(165, 10), excess_air=assumed(30, 8), rating=crush.times(0.55, SIZED),
    )  # fmt: skip
    d.station("steam main", "vapour main", ENERGY)
    d.station(
        "turbine", "back-pressure turbine", ENERGY, admission="follows exhaust", isentropic_efficiency=efficient,
        swallow=crush.times(0.55, SIZED), wide_open_pressure=a.number("exhaust_pressure"), droop=8,
    )  # fmt: skip
    d.station("let-down", "let-down", ENERGY)
    d.station(
        "exhaust range", "exhaust range", ENERGY, pressure_is="governed", pressure=a.number("exhaust_pressure"),
        most_exhaust=crush.times(0.55, SIZED), blow_off_margin=round(0.05 * margin),
    )  # fmt: skip
    d.station("deaerator", "deaerator", ENERGY, temperature=_feedwater(a), pressure=pressure.times(1.3, "pumped"))
    d.station(
        "mill house power", "power use", MILL, demand=crush.times(13.0, "13 kW for each t/h of cane; common practice")
    )
    d.line("bagacillo.rest", "bagasse store.bagasse", "bagasse store.reclaimed", "boiler.fuel")
    d.line("deaerator.feedwater", "boiler.feedwater", "boiler.blowdown", "outside.blowdown")
    d.line("boiler.steam", "steam main.supply", "steam main.branches", "turbine.steam")
    d.line("steam main.branches", "let-down.steam", "make-up water.water", "let-down.water")
    d.line("turbine.exhaust", "exhaust range.exhausts", "let-down.reduced", "exhaust range.let_down")
    d.line("exhaust range.blow_off", "outside.blown off steam", "exhaust range.branches", "deaerator.steam")
    d.connect("deaerator.condensates", "effect 1.condensate", "raw air heater.condensate")
    d.line("make-up water.water", "deaerator.make_up", "turbine.power", "power board.supplies")
    d.line("power board.branches", "mill house power.power")
    d.roles |= {"boiler steam": "boiler.steam", "generated power": "turbine.power"}
    d.meter("boiler steam meter", "boiler.steam", "mass", "1.5 %")
    d.meter("turbine power", "turbine.power", "power", "1 %")
    if condensing:
        _condensing(d, a)


def _feedwater(a: Answers) -> Number:
    """Feedwater just below the exhaust's boiling point: condensate returns hot, so that little steam is needed."""
    boiling = float(saturation_temperature(a.size("exhaust_pressure")))
    return assumed(round(boiling - 1.0), 1.0, "condensate of the exhaust returns hot")


def _condensing(d: Draft, a: Answers) -> None:
    """The condensing part of a condensing-extraction set: a turbine of its own beside the exhausting part."""
    d.station("turbine cooling water", "water supply", ENERGY, temperature=30)
    d.station(
        "condensing turbine", "condensing turbine", ENERGY, steam_flow=assumed(0.05 * a.size("crush"), because=SIZED),
        isentropic_efficiency=assumed(82, 3, FROM_MEMORY), swallow=a.number("crush").times(0.3, SIZED),
    )  # fmt: skip
    d.line("steam main.branches", "condensing turbine.steam", "condensing turbine.power", "power board.supplies")
    d.line("turbine cooling water.water", "condensing turbine.water")
    d.line("condensing turbine.condensate", "deaerator.condensates")
    d.line("condensing turbine.warm", "outside.turbine cooling water")
    del d.roles["generated power"]  # two turbines generate; no one stream is all of it
    d.meter("condensing turbine power", "condensing turbine.power", "power", "1 %")
