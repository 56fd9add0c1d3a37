"""Every figure that the worked reference case prints, with the solved one, and why those part that do.

Source: own case of a whole mill (invented figures), solved before this code by an independent program; its printed
tables and parameters were read. Its laws differ in places, and each row says which difference it carries.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from canewright.plant.plant import Plant, State

PLANT = Path(__file__).with_name("reference_mill.toml")

PRINTED = "to the digits printed, but for rounding and valve leaks of 0.05 t/h"
FLASH = "juice flashes from its own boiling point and by its own specific heat, which moves clear juice by 0.03 %"
WASH = "washing follows the wash on the liquor of the cake, 1.748 there for the 1.75 of the set efficiency"
HEAT = "specific heat: here that of Bubnik (1995), there 4.1868 (1 - 0.006 brix), 1-2 % lower for juice"
PANS = "heat of crystallisation counts here, and strikes leave at their boiling point, not at a temperature set"
CONDENSING = "superheat of the heating steam counts as heat here, there only its latent heat"
ALL_HEAT = "sum of the differences in heaters and pans, evaporation and condensation"
ELEVATION = "law of the boiling point elevation: here 1.78 x + 6.22 x², there 2 B/(100 - B); the head rise makes it up"
EXHAUST = "the exhaust stands half a kilopascal lower, since the process takes a little less"
REMAINDER = "it takes what the rest leaves of the steam: less exhaust to process, more to the condenser"
DEAERATION = "exhaust condensate is led through a hot well whose heat loss stands for the 3 K of cooling there"
REMELT = "the remelter here takes steam for its temperature, there only water"


@dataclass(frozen=True)
class Row:
    """A printed figure: name, unit, what was printed, how close the solved one must be, and why no closer."""

    name: str
    unit: str
    printed: float
    within: float
    why: str
    solved: Callable[[State], float]


PARTS = ("flow", "water", "sucrose", "reducing_sugars", "ash", "other", "fibre", "suspended", "crystal")
STREAMS: dict[str, tuple[str, float, str, tuple[float, ...]]] = {
    "mill 1 juice": ("mill 1.juice", 1e-4, PRINTED,
        (232.9085, 186.7706, 36.1404, 1.7531, 1.4834, 3.6410, 1.6800, 1.4400, 0)),
    "mill 1 bagasse": ("mill 1.bagasse", 1e-4, PRINTED,
        (167.0915, 90.2294, 17.4596, 0.8469, 0.7166, 1.7590, 54.3200, 1.7600, 0)),
    "mill 2 juice": ("mill 2.juice", 1e-4, PRINTED,
        (190.0816, 166.4282, 17.4446, 0.8234, 0.6967, 1.7101, 2.3899, 0.5888, 0)),
    "mill 3 juice": ("mill 3.juice", 1e-4, PRINTED,
        (167.4568, 153.4827, 10.0005, 0.4891, 0.4138, 1.0158, 1.7641, 0.2908, 0)),
    "mill 4 juice": ("mill 4.juice", 1e-4, PRINTED,
        (150.6601, 142.7816, 5.2246, 0.2636, 0.2231, 0.5475, 1.4472, 0.1726, 0)),
    "mill 5 juice": ("mill 5.juice", 1e-4, PRINTED,
        (138.1038, 134.6639, 2.0901, 0.1085, 0.0918, 0.2253, 0.8466, 0.0777, 0)),
    "mill 5 bagasse": ("mill 5.bagasse", 1e-4, PRINTED,
        (118.8286, 59.4143, 1.8982, 0.1141, 0.0965, 0.2369, 55.5930, 1.4755, 0)),
    "screenings return": ("juice screen.caught", 1e-4, PRINTED,
        (18.6188, 12.4131, 1.8832, 0.0905, 0.0766, 0.1881, 3.6629, 0.3043, 0)),
    "mixed juice": ("juice screen.screened", 1e-4, PRINTED,
        (404.3714, 340.7857, 51.7018, 2.4859, 2.1035, 5.1631, 0.4070, 1.7245, 0)),
    "bagacillo": ("bagacillo.part", 1e-4, PRINTED,
        (2.2, 1.1, 0.0351, 0.0021, 0.0018, 0.0044, 1.0293, 0.0273, 0)),
    "limed juice": ("liming.limed", 1e-4, PRINTED,
        (456.6369, 386.4586, 56.5014, 2.7443, 2.2211, 5.3073, 0.0, 3.4042, 0)),
    "filtrate": ("mud filter.filtrate", 5e-4, FLASH,
        (50.2655, 43.9141, 4.8222, 0.2346, 0.1899, 0.4540, 0.0, 0.6507, 0)),
    "clear juice": ("clarifier.clear", 5e-4, FLASH,
        (410.0783, 349.1804, 51.4251, 2.4978, 2.0216, 4.8304, 0.0, 0.1230, 0)),
    "clarifier mud": ("clarifier.mud", 5e-4, FLASH,
        (43.7488, 34.4684, 5.0763, 0.2466, 0.1996, 0.4768, 0.0, 3.2811, 0)),
    "filter cake": ("mud filter.cake", 4e-3, WASH,
        (14.3892, 10.3602, 0.2892, 0.0141, 0.0114, 0.0272, 0.0, 3.6870, 0)),
    "syrup": ("entrainment.passed", 2e-4, PRINTED,
        (93.6191, 32.7236, 51.3685, 2.5519, 2.0216, 4.8304, 0.0, 0.1230, 0)),
    "A massecuite": ("pan A.massecuite", 2e-4, PRINTED,
        (95.2608, 7.6110, 25.8192, 3.0028, 2.3788, 5.6839, 0.0, 0.1230, 50.6421)),
    "B massecuite": ("pan B.massecuite", 2e-4, PRINTED,
        (39.4367, 2.3596, 10.6809, 2.6755, 2.1195, 5.0644, 0.0, 0.1107, 16.4262)),
    "C massecuite": ("crystallisers.cooled", 2e-4, PRINTED,
        (25.6984, 1.0230, 5.1401, 2.8320, 2.2435, 5.3606, 0.0, 0.1230, 8.9762)),
    "remelt": ("remelter.liquor", 2e-4, PRINTED,
        (23.0141, 7.8248, 13.8910, 0.3523, 0.2791, 0.6669, 0.0, 0.0, 0.0)),
    "final molasses": ("final molasses.liquor", 2e-4, PRINTED,
        (18.0223, 3.5799, 5.0261, 2.5219, 1.9978, 4.7736, 0.0, 0.1230, 0.0)),
    "raw sugar": ("dryer.dried", 2e-4, PRINTED,
        (46.5088, 0.0558, 0.2581, 0.0300, 0.0238, 0.0568, 0.0, 0.0, 46.0843)),
    "bagasse to boilers": ("bagasse store.reclaimed", 1e-4, PRINTED,
        (106.6286, 53.3143, 1.7033, 0.1024, 0.0866, 0.2126, 49.8853, 1.3240, 0)),
}  # fmt: skip
"""Trade name: stream, closeness, reason, and the row as printed in t/h.

Clear juice carries fibre over there and none here, where the mud and the loop of the filtrate have it: from liming on
the row gives fibre and suspended solids as one sum, in the place of the suspended solids.
"""


@cache
def reference() -> State:
    """The reference case, solved once."""
    return Plant.read(PLANT).predict()


def _value(name: str) -> Callable[[State], float]:
    return lambda state: float(state.values[name])


def _part(stream: str, name: str) -> Callable[[State], float]:
    return lambda state: float(getattr(state.stream(stream), name))


def _insoluble(stream: str) -> Callable[[State], float]:
    return lambda state: float(state.stream(stream).fibre + state.stream(stream).suspended)


def _sum(*names: str) -> Callable[[State], float]:
    return lambda state: sum(float(state.values[n]) for n in names)


def _entering(state: State, station: str, port: str) -> float:
    """Flow of the stream that enters at a port, t/h; its power where it is power, kW."""
    stream = getattr(state.assembly.stations[station].bound(state.values.__getitem__), port)
    return float(stream.power if "power" in stream.holds else stream.flow)


def _takes(*ports: tuple[str, str]) -> Callable[[State], float]:
    return lambda state: sum(_entering(state, *port) for port in ports)


def _per_cane(of: Callable[[State], float], times: float) -> Callable[[State], float]:
    return lambda state: times * of(state) / float(state.stream("cane.cane").flow)


def _over(part: Callable[[State], float], whole: Callable[[State], float]) -> Callable[[State], float]:
    return lambda state: part(state) / whole(state)


to_process = _takes(("effect 1", "steam"), ("clear juice heater", "vapour"))
"""Exhaust to the evaporator and the clear juice heater, t/h."""
boiled = _sum(*(f"effect {i}.vapour.water" for i in range(1, 6)))
generated = _sum("back-pressure set.power.power", "condensing set.power.power")
exported = _sum("board.exported.power")
own_use = _takes(
    *((f"mill {i}", "power") for i in range(1, 6)),
    *((n, "power") for n in ("house load", "boiler house", "evaporator pumps", "pan pumps", "turbine pumps")),
)
gathered = _sum(
    *(f"{n}.condensate.water" for n in ("secondary heater", "primary heater", "pan A", "pan B", "pan C")),
    "flash pot 5.condensate.water", "effect 5.condensate.water",
)  # fmt: skip
"""Condensates of vapour, t/h."""
hot_water = _takes(
    ("imbibition", "source"), ("liming", "water"), ("mud filter", "wash"), ("centrifugals A", "wash"),
    ("centrifugals B", "wash"), ("centrifugals C", "wash"), ("A molasses", "water"), ("B molasses", "water"),
    ("final molasses", "water"), ("magma", "liquor"), ("remelter", "water"),
)  # fmt: skip
"""Hot water that the process uses, t/h."""
injected = _takes(*((f"{n} pumps", "water") for n in ("evaporator", "pan")))


def figures() -> Iterator[Row]:
    """Every row, in the order of the source."""
    for name, (stream, within, why, row) in STREAMS.items():
        for part, value in zip(PARTS, row, strict=True):
            if value:
                both = part == "suspended" and not row[PARTS.index("fibre")]
                said, solved = ("insolubles", _insoluble(stream)) if both else (part, _part(stream, part))
                yield Row(f"{name}, {said.replace('_', ' ')}", "t/h", value, within, why, solved)
    for name, unit, printed, within, why, solved in (*KEY, *HEAT_AND_POWER):
        yield Row(name, unit, printed, within, why, solved)


def _share(part: tuple[str, str], whole: tuple[str, str]) -> Callable[[State], float]:
    return lambda state: 100.0 * _part(*part)(state) / _part(*whole)(state)


def _lost(stream: str) -> Callable[[State], float]:
    """Sucrose that a stream carries, crystal included, on that of the cane, %."""
    sugar = _part(stream, "sucrose"), _part(stream, "crystal")
    return lambda state: 100.0 * sum(part(state) for part in sugar) / _part("cane.cane", "sucrose")(state)


_CANE, _JUICE, _RAW = "cane.cane", "juice screen.screened", "dryer.dried"
_BAGASSE, _CAKE = "mill 5.bagasse", "mud filter.cake"
KEY: tuple[tuple[str, str, float, float, str, Callable[[State], float]], ...] = (
    ("sucrose extraction", "%", 96.4585, 1e-6, PRINTED, _share((_JUICE, "sucrose"), (_CANE, "sucrose"))),
    ("sucrose extraction of mill 1", "%", 67.4262, 1e-6, PRINTED, _lost("mill 1.juice")),
    ("bagasse on cane", "%", 29.7072, 1e-5, PRINTED, _share((_BAGASSE, "flow"), (_CANE, "flow"))),
    ("sucrose in bagasse", "%", 1.5974, 5e-5, PRINTED, _share((_BAGASSE, "sucrose"), (_BAGASSE, "flow"))),
    ("mixed juice on cane", "%", 101.0928, 1e-5, PRINTED, _share((_JUICE, "flow"), (_CANE, "flow"))),
    ("purity of mixed juice", "%", 84.1305, 1e-5, PRINTED, _part(_JUICE, "purity")),
    ("purity of clear juice", "%", 84.6157, 1e-5, PRINTED, _part("clarifier.clear", "purity")),
    ("filter cake on cane", "%", 3.5973, 5e-4, PRINTED, _share((_CAKE, "flow"), (_CANE, "flow"))),
    ("sucrose in filter cake", "%", 2.0100, 4e-3, WASH, _share((_CAKE, "sucrose"), (_CAKE, "flow"))),
    ("purity of syrup", "%", 84.5260, 1e-5, PRINTED, _part("entrainment.passed", "purity")),
    ("purity of A massecuite", "%", 87.3577, 2e-5, PRINTED, _part("pan A.massecuite", "purity")),
    ("purity of A molasses", "%", 73.3290, 2e-5, PRINTED, _part("A molasses.liquor", "purity")),
    ("purity of B molasses", "%", 54.3139, 2e-5, PRINTED, _part("B molasses.liquor", "purity")),
    ("purity of C massecuite", "%", 57.4949, 2e-5, PRINTED, _part("pan C.massecuite", "purity")),
    ("purity of final molasses", "%", 35.1000, 2e-5, PRINTED, _part("final molasses.liquor", "purity")),
    ("final molasses on cane", "%", 4.5056, 1e-4, PRINTED, _share(("final molasses.liquor", "flow"), (_CANE, "flow"))),
    ("overall recovery", "%", 86.4597, 1e-4, PRINTED, _lost(_RAW)),
    ("sucrose lost in filter cake", "%", 0.5396, 4e-3, WASH, _lost(_CAKE)),
    ("sucrose lost in final molasses", "%", 9.3771, 1e-4, PRINTED, _lost("final molasses.liquor")),
)  # fmt: skip


def _effect(i: int, name: str) -> Callable[[State], float]:
    return _value(f"effect {i}.{name}")


def _evaporator() -> Iterator[tuple[str, str, float, float, str, Callable[[State], float]]]:
    """Heat, vapour, pressure and temperatures of the five vessels, as printed."""
    rows = (
        (89444.7425, 140.8713, 173.8817, 124.8802, 116.4264),
        (35366.7520, 59.4117, 138.1817, 115.4433, 109.7207),
        (19582.1036, 33.6919, 102.1134, 108.5050, 101.2456),
        (22026.0684, 37.7623, 60.4030, 99.7916, 87.6647),
        (26069.4693, 44.7168, 15.0000, 85.6976, 57.6705),
    )
    for i, (duty, vapour, pressure, condensing, boiling) in enumerate(rows, start=1):
        yield f"effect {i}, heat", "kW", duty, 0.012, ALL_HEAT, _effect(i, "duty")
        yield f"effect {i}, vapour", "t/h", vapour, 0.015, ALL_HEAT, _effect(i, "vapour.water")
        yield f"effect {i}, pressure of the vapour", "kPa", pressure, 4e-3, ALL_HEAT, _effect(i, "vapour.pressure")
        at = _effect(i, "condensate.temperature")
        yield f"effect {i}, steam condenses at", "°C", condensing, 1.2e-3, ALL_HEAT, at
        yield f"effect {i}, juice boils at", "°C", boiling, 6e-3, ELEVATION, _effect(i, "concentrated.temperature")


HEAT_AND_POWER: tuple[tuple[str, str, float, float, str, Callable[[State], float]], ...] = (
    ("flash vapour of limed juice", "t/h", 2.8098, 0.05, FLASH, _value("flash tank.vapour.water")),
    *_evaporator(),
    ("evaporation", "t/h", 316.4541, 5e-4, FLASH, boiled),
    ("primary heater", "kW", 17742.9, 0.015, HEAT, _value("primary heater.duty")),
    ("secondary heater", "kW", 14203.9, 0.018, HEAT, _value("secondary heater.duty")),
    ("clear juice heater", "kW", 6581.4, 0.035, HEAT, _value("clear juice heater.duty")),
    ("A pans", "kW", 23350.9, 0.025, PANS, _value("pan A.duty")),
    ("B pans", "kW", 8046.8, 0.035, PANS, _value("pan B.duty")),
    ("C pans", "kW", 5673.6, 0.015, PANS, _value("pan C.duty")),
    ("vapour 1 to the secondary heater", "t/h", 23.0988, 0.02, HEAT, _takes(("secondary heater", "vapour"))),
    ("vapour 1 to the A pans", "t/h", 37.9741, 0.025, PANS, _takes(("pan A", "steam"))),
    ("vapour 1 to the B pans", "t/h", 13.0860, 0.035, PANS, _takes(("pan B", "steam"))),
    ("vapour 1 to the C pans", "t/h", 9.2266, 0.015, PANS, _takes(("pan C", "steam"))),
    ("vapour 2 to the primary heater", "t/h", 28.6090, 0.015, HEAT, _takes(("primary heater", "vapour"))),
    ("water boiled off in A pans", "t/h", 34.2224, 2e-4, PRINTED, _value("pan A.vapour.water")),
    ("water boiled off in B pans", "t/h", 12.0163, 2e-4, PRINTED, _value("pan B.vapour.water")),
    ("water boiled off in C pans", "t/h", 8.5251, 2e-4, PRINTED, _value("pan C.vapour.water")),
    ("exhaust to the evaporator", "t/h", 147.1410, 0.012, ALL_HEAT, _takes(("effect 1", "steam"))),
    ("exhaust to the clear juice heater", "t/h", 10.8267, 0.03, HEAT, _takes(("clear juice heater", "vapour"))),
    ("exhaust to process", "t/h", 157.9677, 0.01, ALL_HEAT, to_process),
    ("exhaust to process on cane", "%", 39.4919, 0.01, ALL_HEAT, _per_cane(to_process, 100.0)),
    ("evaporation on exhaust", "1", 2.1507, 0.01, ALL_HEAT, _over(boiled, _takes(("effect 1", "steam")))),
    ("pressure of the exhaust", "kPa", 239.3691, 4e-3, ALL_HEAT, _value("exhaust range.actual_pressure")),
    ("efficiency of the boilers, gross", "%", 67.67, 1e-4, PRINTED, _value("boilers.efficiency")),
    ("steam raised", "t/h", 240.1145, 1e-5, PRINTED, _value("boilers.steam.water")),
    ("steam raised on cane", "%", 60.0286, 1e-5, PRINTED, _per_cane(_value("boilers.steam.water"), 100.0)),
    ("feedwater", "t/h", 243.7162, 1e-5, PRINTED, _takes(("boilers", "feedwater"))),
    ("blowdown", "t/h", 3.6017, 1e-4, PRINTED, _value("boilers.blowdown.water")),
    ("make-up of the boilers", "t/h", 3.6017, 1e-3, PRINTED, _takes(("boiler hot well", "make_up"))),
    ("bagasse to store", "t/h", 10.0, 1e-4, PRINTED, _value("bagasse store.stock_change")),
    ("power of the shredder", "kW", 2800.0, 1e-5, PRINTED, _takes(("preparation", "power"))),
    ("steam of the shredder turbine", "t/h", 24.5758, 1e-3, EXHAUST, _takes(("shredder turbine", "steam"))),
    ("steam of the back-pressure set", "t/h", 135.0415, 0.01, ALL_HEAT, _takes(("back-pressure set", "steam"))),
    ("steam of the condensing set", "t/h", 80.4971, 0.012, REMAINDER, _takes(("condensing set", "steam"))),
    ("desuperheating water", "t/h", 4.6692, 0.025, ALL_HEAT, _takes(("desuperheater", "water"))),
    ("steam to the deaerator", "t/h", 6.3189, 0.02, DEAERATION, _takes(("deaerator", "steam"))),
    ("power of the back-pressure set", "kW", 18581.9386, 0.008, ALL_HEAT, _value("back-pressure set.power.power")),
    ("power of the condensing set", "kW", 19065.9166, 0.012, REMAINDER, _value("condensing set.power.power")),
    ("generation", "kW", 37647.8552, 4e-3, REMAINDER, generated),
    ("own use", "kW", 11621.9912, 1e-3, ALL_HEAT, own_use),
    ("own use for each tonne of cane", "kWh/t", 29.0550, 1e-3, ALL_HEAT, _per_cane(own_use, 1.0)),
    ("export", "kW", 26025.8640, 6e-3, REMAINDER, exported),
    ("export for each tonne of cane", "kWh/t", 65.0647, 6e-3, REMAINDER, _per_cane(exported, 1.0)),
    ("injection water, evaporator and pans", "t/h", 4788.49, 0.012, ALL_HEAT, injected),
    ("cooling water of the turbine", "t/h", 4231.33, 0.015, REMAINDER, _takes(("turbine pumps", "water"))),
    ("condensate of vapours", "t/h", 271.7372, 5e-3, ALL_HEAT, gathered),
    ("hot water used", "t/h", 169.5664, 3e-3, REMELT, hot_water),
    ("surplus of condensate", "t/h", 98.5691, 0.01, ALL_HEAT, _value("hot water.surplus.water")),
)
