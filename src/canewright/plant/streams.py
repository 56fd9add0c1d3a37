"""Streams: what flows between stations, as component mass flows, temperature and colour carried as a flow.

Everything else (brix, purity, colour in ICUMSA units, enthalpy) is derived here and never stored beside it. A stream
carries only the components it can hold; asked for another one it gives zero, so that unlike streams can be mixed.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any, ClassVar, overload

from canewright.properties.air import moist_air_enthalpy
from canewright.properties.steam import saturation_temperature, steam_enthalpy, water_enthalpy
from canewright.properties.thermal import (
    crystal_enthalpy,
    fibre_enthalpy,
    liquor_enthalpy_flow,
    suspended_solids_enthalpy,
)
from canewright.quantity import Num, constant

PERCENT = constant(100.0, "%")
ATMOSPHERE = constant(101.325, "kPa")


@dataclass
class Held:
    """A variable that a stream carries: unit, meaning, nominal size for scaling, and the range that makes sense."""

    unit: str
    says: str
    nominal: float
    low: float
    high: float
    extensive: bool = True
    name: str = field(default="", init=False)

    def __set_name__(self, owner: type, name: str) -> None:
        """Learn the attribute's name."""
        self.name = name

    @overload
    def __get__(self, stream: None, owner: type) -> Held: ...
    @overload
    def __get__(self, stream: Stream, owner: type) -> Num: ...
    def __get__(self, stream: Stream | None, owner: type) -> Any:
        """The declaration on the class; the value on a bound stream (zero for what this stream cannot hold)."""
        return self if stream is None else stream.look_up(self)


def _flow(says: str, nominal: float = 10.0) -> Held:
    return Held("t/h", says, nominal, 0.0, 5e4)


class Stream:
    """A stream in some reading: numbers, symbols, dimensions or words, looked up by full variable name."""

    holds: ClassVar[tuple[str, ...]] = ()

    water = _flow("water", 50.0)
    sucrose = _flow("dissolved sucrose", 20.0)
    reducing_sugars = _flow("reducing sugars (glucose and fructose)", 1.0)
    ash = _flow("soluble ash", 1.0)
    other = _flow("other dissolved non-sucrose", 2.0)
    crystal = _flow("crystal sucrose", 20.0)
    fibre = _flow("fibre", 20.0)
    suspended = _flow("suspended solids (soil, precipitate, anything insoluble but fibre)", 1.0)
    dry_air = _flow("dry air", 20.0)
    colour = Held("IU·t/h", "colour in solution, carried as ICUMSA colour times dissolved solids", 1e5, 0.0, 1e9)
    crystal_colour = Held("IU·t/h", "colour inside the crystal", 1e4, 0.0, 1e9)
    temperature = Held("°C", "temperature", 50.0, 0.0, 600.0, extensive=False)
    pressure = Held("kPa", "absolute pressure", 100.0, 1.0, 2e4, extensive=False)
    power = Held("kW", "electrical or shaft power", 1000.0, 0.0, 1e6)
    preparation_index = Held("%", "preparation index: share of the cells opened", 85.0, 0.0, 100.0, extensive=False)

    COMPONENTS: ClassVar[tuple[str, ...]] = (
        "water", "sucrose", "reducing_sugars", "ash", "other", "crystal", "fibre", "suspended", "dry_air",
    )  # fmt: skip
    """Mass components, in the order in which balances are printed."""

    def __init__(self, look_up: Callable[[str], Num], prefix: str, ratio: Num = 1.0) -> None:
        """A stream whose variables are named ``prefix.variable``; extensive ones are taken times ``ratio``."""
        self._look_up = look_up
        self.prefix = prefix
        self._ratio = ratio

    def look_up(self, held: Held) -> Num:
        """The value of one declared variable in this reading."""
        if held.name not in self.holds:
            return 0.0
        value = self._look_up(f"{self.prefix}.{held.name}")
        if not held.extensive or (isinstance(self._ratio, float) and self._ratio == 1.0):
            return value
        return value * self._ratio

    @classmethod
    def variables(cls) -> dict[str, Held]:
        """The variables this kind of stream carries."""
        return {name: getattr(cls, name) for name in cls.holds}

    def component(self, name: str) -> Num:
        """The flow of a component, t/h; zero for one that this stream cannot hold."""
        return getattr(self, name)

    @property
    def flow(self) -> Num:
        """Total mass flow, t/h."""
        return sum(self.component(name) for name in self.COMPONENTS if name in self.holds)

    @property
    def non_sucrose(self) -> Num:
        """Dissolved non-sucrose, t/h."""
        return self.reducing_sugars + self.ash + self.other

    @property
    def dissolved(self) -> Num:
        """Dissolved solids, t/h."""
        return self.sucrose + self.non_sucrose

    @property
    def solids(self) -> Num:
        """Sugar and dissolved non-sucrose, dissolved or crystal, t/h: what brix counts."""
        return self.dissolved + self.crystal

    @property
    def solution(self) -> Num:
        """Water and all sugar solids, t/h: the stream without fibre and suspended solids."""
        return self.water + self.solids

    @property
    def enthalpy_flow(self) -> Num:
        """Enthalpy flow, MJ/h, above liquid water (and dry air, and dissolved sugar) at 0 °C."""
        return 0.0


class Water(Stream):
    """Liquid water: imbibition, condensate, wash water. Enthalpy of IF97 region 1 at 0.5 MPa (liquid to 150 °C)."""

    holds: ClassVar[tuple[str, ...]] = ("water", "temperature")
    LINE_PRESSURE = constant(500.0, "kPa")

    @property
    def enthalpy_flow(self) -> Num:
        """Enthalpy flow, MJ/h."""
        return self.water * water_enthalpy(self.temperature, self.LINE_PRESSURE)


class BoilerWater(Stream):
    """Liquid water at a stated pressure, for feedwater pumps and boilers. Enthalpy of IF97 region 1."""

    holds: ClassVar[tuple[str, ...]] = ("water", "temperature", "pressure")

    @property
    def enthalpy_flow(self) -> Num:
        """Enthalpy flow, MJ/h."""
        return self.water * water_enthalpy(self.temperature, self.pressure)


class Steam(Stream):
    """Steam or vapour, saturated or superheated. Enthalpy of IF97 region 2."""

    holds: ClassVar[tuple[str, ...]] = ("water", "temperature", "pressure")

    @property
    def enthalpy_flow(self) -> Num:
        """Enthalpy flow, MJ/h."""
        return self.water * steam_enthalpy(self.temperature, self.pressure)

    @property
    def saturation_temperature(self) -> Num:
        """Temperature at which this steam condenses, °C."""
        return saturation_temperature(self.pressure)


class Liquor(Stream):
    """A sugar solution: clear juice, syrup, liquor, molasses, sweet water; may carry suspended solids."""

    holds: ClassVar[tuple[str, ...]] = (
        "water",
        "sucrose",
        "reducing_sugars",
        "ash",
        "other",
        "suspended",
        "colour",
        "temperature",
    )

    @property
    def dry_substance(self) -> Num:
        """True dry substance of the solution, % m/m."""
        return PERCENT * self.solids / self.solution

    @property
    def purity(self) -> Num:
        """True purity, %."""
        return PERCENT * (self.sucrose + self.crystal) / self.solids

    @property
    def total_colour(self) -> Num:
        """Colour in solution and in crystal, IU·t/h."""
        return self.colour + self.crystal_colour

    @property
    def icumsa_colour(self) -> Num:
        """Colour of the whole stream on its solids, IU."""
        return self.total_colour / self.solids

    @property
    def enthalpy_flow(self) -> Num:
        """Enthalpy flow, MJ/h."""
        t = self.temperature
        dissolved = liquor_enthalpy_flow(self.water, self.sucrose, self.non_sucrose, t)
        return dissolved + self.suspended * suspended_solids_enthalpy(t) + self._other_enthalpy(t)

    def _other_enthalpy(self, t: Num) -> Num:
        return 0.0


class Juice(Liquor):
    """Cane, bagasse, raw juice, mud, cake: a sugar solution with fibre and suspended solids."""

    holds: ClassVar[tuple[str, ...]] = (
        "water",
        "sucrose",
        "reducing_sugars",
        "ash",
        "other",
        "fibre",
        "suspended",
        "colour",
        "temperature",
    )

    def _other_enthalpy(self, t: Num) -> Num:
        return self.fibre * fibre_enthalpy(t)


class PreparedCane(Juice):
    """Cane after knives and shredder: juice in fibre, with the share of its cells that are opened."""

    holds: ClassVar[tuple[str, ...]] = (*Juice.holds, "preparation_index")


class Massecuite(Liquor):
    """Crystals in mother liquor: massecuite, magma, and sugar with its film of molasses."""

    holds: ClassVar[tuple[str, ...]] = (
        "water", "sucrose", "reducing_sugars", "ash", "other", "crystal", "suspended", "colour", "crystal_colour",
        "temperature",
    )  # fmt: skip

    def _other_enthalpy(self, t: Num) -> Num:
        return self.crystal * crystal_enthalpy(t)


class Air(Stream):
    """Moist air at atmospheric pressure."""

    holds: ClassVar[tuple[str, ...]] = ("dry_air", "water", "temperature")

    @property
    def humidity(self) -> Num:
        """Humidity ratio, t water per t dry air."""
        return self.water / self.dry_air

    @property
    def enthalpy_flow(self) -> Num:
        """Enthalpy flow, MJ/h; the moist-air enthalpy is linear in humidity, so mixing conserves it."""
        dry = moist_air_enthalpy(self.temperature, constant(0.0, "1"))
        wet = moist_air_enthalpy(self.temperature, constant(1.0, "1"))
        return self.dry_air * dry + self.water * (wet - dry)


class Power(Stream):
    """Electrical or shaft power."""

    holds: ClassVar[tuple[str, ...]] = ("power",)
    MEGAJOULES_AN_HOUR = constant(3.6, "MJ/h/kW")

    @property
    def enthalpy_flow(self) -> Num:
        """The power as an energy flow, MJ/h."""
        return self.MEGAJOULES_AN_HOUR * self.power
