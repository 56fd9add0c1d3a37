"""A station: a kind of equipment that declares ports, settings and results, and says its equations.

The same ``equations`` are run on symbols (the model), numbers (why a balance closes), dimensions (are the units right?)
and words (how is it printed?). Declared names read as ordinary attributes of the station.
"""

from __future__ import annotations

import copy
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any, ClassVar, TypeAlias, TypeVar, cast

from canewright.plant.streams import Stream
from canewright.properties.choices import DEFAULTS, Form, choices, form
from canewright.quantity import Num, constant

Equations: TypeAlias = Iterator[tuple[str, Num, Num]]
"""Sentences with their left and right sides."""

S = TypeVar("S", bound=Stream)


@dataclass
class Named:
    """A declaration that learns the attribute's name and reads as its value on a station."""

    name: str = field(default="", init=False, kw_only=True)

    def __set_name__(self, owner: type, name: str) -> None:
        """Learn the attribute's name."""
        self.name = name

    def __get__(self, station: Station | None, owner: type) -> Any:
        """The declaration on the class; the value in this reading on a station."""
        return self if station is None else self.read(station)

    def read(self, station: Station) -> Any:
        """The value on a station: what is bound under this name in the present reading."""
        return station.look_up(self.name)


@dataclass
class Port(Named):
    """A place where a stream enters or leaves; ``many`` takes any number of streams, ``may_be_open`` also none.

    A ``signed`` outlet's flows may be negative: an apparent loss that comes out as a gain says so.
    """

    stream: type[Stream]
    entering: bool
    many: bool = False
    may_be_open: bool = False
    signed: bool = False

    def read(self, station: Station) -> Any:
        """The bound stream, or streams."""
        return station.streams_at(self)


def inlet(stream: type[S]) -> S:
    """A port where one stream of this kind (or one that it can stand for) enters."""
    return cast(S, Port(stream, entering=True))


def outlet(stream: type[S], *, signed: bool = False) -> S:
    """A port where one stream of this kind leaves; ``signed`` where its flows may be negative."""
    return cast(S, Port(stream, entering=False, signed=signed))


def inlets(stream: type[S], *, may_be_open: bool = False) -> tuple[S, ...]:
    """A port where any number of streams enter."""
    return cast("tuple[S, ...]", Port(stream, entering=True, many=True, may_be_open=may_be_open))


def outlets(stream: type[S], *, may_be_open: bool = False) -> tuple[S, ...]:
    """A port where any number of streams leave."""
    return cast("tuple[S, ...]", Port(stream, entering=False, many=True, may_be_open=may_be_open))


@dataclass
class Setting(Named):
    """A number that a person can set: unit, default, meaning, limits, and how well it is known beforehand."""

    unit: str
    default: float
    says: str
    limits: tuple[float, float]
    prior: float = 0.0
    nominal: float = 1.0


def setting(unit: str, default: float, says: str, *, limits: tuple[float, float], prior: float = 0.0) -> Num:
    """Declare a setting. ``prior`` is its standard uncertainty in reconciliation (0: held as it is)."""
    nominal = max(abs(default), 1e-3 * max(abs(limits[0]), abs(limits[1])), 1e-6)
    return Setting(unit, default, says, limits, prior, nominal)


@dataclass
class Result(Named):
    """A number that the station's equations determine besides its outlet streams."""

    unit: str
    says: str
    nominal: float
    limits: tuple[float, float]


def result(unit: str, nominal: float, says: str, *, limits: tuple[float, float] = (-1e9, 1e9)) -> Num:
    """Declare a further unknown of the station with a nominal size."""
    return Result(unit, says, nominal, limits)


@dataclass
class Choice(Named):
    """A named alternative that the plant description may pick; ``about`` names the property it is a form of, if any."""

    options: tuple[str, ...]
    says: str
    about: str = ""

    def read(self, station: Station) -> str:
        """The picked option; of a property's form, the plant's own where the station picks none."""
        own = station.forms[self.about].choice.name if self.about else self.options[0]
        return station.choices.get(self.name, own)


def choice(*options: str, says: str) -> str:
    """Declare a choice between named options; the first is the default."""
    return cast(str, Choice(options, says))


def published(about: str, *besides: str, says: str) -> str:
    """Declare a choice between the published forms of a property, and ``besides``; the plant's form is the default."""
    return cast(str, Choice((*(each.name for each in choices(about)), *besides), says, about))


@dataclass(frozen=True)
class Exchange:
    """A declared formation or removal: ``amount`` of a component, of colour or of energy that the station gains."""

    name: str
    what: str
    amount: Num


@dataclass(frozen=True)
class Feed:
    """Where an inlet's stream comes from: its type, the prefix of its variables, and the ratio of running hours."""

    stream: type[Stream]
    prefix: str
    ratio: Callable[[Callable[[str], Num]], Num] | None = None


_DECLARED = (Port, Setting, Result, Choice)


class Station:
    """A kind of equipment. Subclasses declare ports, settings and results and say their equations."""

    kind: ClassVar[str] = ""
    hazards: ClassVar[tuple[str, ...]] = ()
    handles: ClassVar[tuple[str, ...]] = ()
    """What operators move here: settings, choices, and ports whose flow they govern, by name."""
    measured: ClassVar[tuple[str, ...]] = ()
    """What is usually measured here: ``port quantity`` by what a stream can tell, or a setting or result by name."""
    boundary: ClassVar[bool] = False
    """Whether the station stands at the site's fence: what it gives comes from outside the described plant."""
    KILOWATT: ClassVar[Num] = constant(3.6, "MJ/h/kW")

    def __init_subclass__(cls) -> None:
        """Refuse a declaration whose name the station itself needs.

        Raises TypeError naming it.
        """
        taken = {"name", "counts", "choices", "forms", "wiring"} & {
            k for k, v in vars(cls).items() if isinstance(v, _DECLARED)
        }
        if taken:
            raise TypeError(f"{cls.__name__}: '{taken.pop()}' cannot be the name of a port, setting or result")

    def __init__(
        self,
        name: str,
        counts: Mapping[str, int] | None = None,
        choices: Mapping[str, str] | None = None,
        forms: Mapping[str, Form] | None = None,
    ) -> None:
        """A station of this name.

        ``counts`` gives the number of streams at each port that takes many; ``choices`` the options picked for this
        station; ``forms`` the plant's forms of properties.
        """
        self.name = name
        self.counts = dict(counts or {})
        self.choices = dict(choices or {})
        self.forms = {**DEFAULTS, **(forms or {})}
        self.wiring: dict[str, list[Feed]] = {}
        self._look_up: Callable[[str], Num] | None = None

    # --- what is declared ---------------------------------------------------------------------------------------

    @classmethod
    def _declared(cls, kind: type[Any]) -> dict[str, Any]:
        found: dict[str, Any] = {}
        for base in reversed(cls.__mro__):
            found.update({k: v for k, v in vars(base).items() if isinstance(v, kind)})
        return found

    @classmethod
    def ports(cls) -> dict[str, Port]:
        """Declared ports by name."""
        return cls._declared(Port)

    @classmethod
    def settings(cls) -> dict[str, Setting]:
        """Declared settings by name."""
        return cls._declared(Setting)

    @classmethod
    def results(cls) -> dict[str, Result]:
        """Declared results by name."""
        return cls._declared(Result)

    @classmethod
    def options(cls) -> dict[str, Choice]:
        """Declared choices by name."""
        return cls._declared(Choice)

    def picked(self, option: str) -> str:
        """The option that stands for a declared choice by its name."""
        return self.options()[option].read(self)

    def form(self, option: str) -> Form:
        """The form of a property that stands for a declared choice by its name, with the plant's constants."""
        declared, picked = self.options()[option], self.picked(option)
        plants = self.forms[declared.about]
        return plants if picked == plants.choice.name else form(declared.about, picked)

    # --- readings -----------------------------------------------------------------------------------------------

    def bound(self, look_up: Callable[[str], Num]) -> Station:
        """This station read on whatever ``look_up`` gives for a full variable name."""
        view = copy.copy(self)
        view.__dict__["_look_up"] = look_up
        return view

    def look_up(self, name: str) -> Num:
        """The value of a setting or result of this station in the present reading."""
        if self._look_up is None:
            raise RuntimeError(f"station '{self.name}' is not bound to a reading")
        return self._look_up(f"{self.name}.{name}")

    def prefixes(self, port: Port) -> list[str]:
        """Prefixes of the variables of the streams at one of this station's own ports."""
        if not port.many:
            return [f"{self.name}.{port.name}"]
        return [f"{self.name}.{port.name}.{i + 1}" for i in range(self.counts.get(port.name, 0))]

    def streams_at(self, port: Port) -> Any:
        """The stream, or tuple of streams, at a port in the present reading."""
        look_up = self._look_up
        if look_up is None:
            raise RuntimeError(f"station '{self.name}' is not bound to a reading")
        if port.entering and port.name in self.wiring:
            streams = [
                feed.stream(look_up, feed.prefix, feed.ratio(look_up) if feed.ratio else 1.0)
                for feed in self.wiring[port.name]
            ]
        else:
            streams = [port.stream(look_up, prefix) for prefix in self.prefixes(port)]
        return tuple(streams) if port.many else streams[0]

    def _all_streams(self, *, entering: bool) -> list[Stream]:
        streams: list[Stream] = []
        for port in self.ports().values():
            if port.entering == entering:
                at = self.streams_at(port)
                streams.extend(at if port.many else [at])
        return streams

    @property
    def entering(self) -> list[Stream]:
        """Every stream that enters."""
        return self._all_streams(entering=True)

    @property
    def leaving(self) -> list[Stream]:
        """Every stream that leaves."""
        return self._all_streams(entering=False)

    def own(self, values: Mapping[str, float]) -> dict[str, float]:
        """Values of the station's results under their full names; for first estimates."""
        return {f"{self.name}.{key}": value for key, value in values.items()}

    # --- what subclasses say --------------------------------------------------------------------------------------

    def equations(self) -> Equations:
        """The station's equations as sentences with two sides."""
        raise TypeError(f"station kind '{self.kind}' says no equations")

    def exchanges(self) -> Iterable[Exchange]:
        """Declared formation and removal: reactions, heat lost, colour formed, fuel burnt."""
        return ()

    def capacities(self) -> Iterable[tuple[str, Num, Num]]:
        """Capacity limits: the sentence, what is used and what there is, in the same unit."""
        return ()

    def estimate(self) -> Mapping[str, float]:
        """A first estimate of the outlet streams and results from the streams that enter, in plain numbers.

        By default every outlet port gets an equal share of what enters.
        """
        leaving = [s for s in self.leaving if s.COMPONENTS]
        return {} if not leaving else spread(self.entering, {s: 1.0 / len(leaving) for s in leaving})


def spread(
    entering: Iterable[Stream], shares: Mapping[Stream, float], temperature: float | None = None
) -> dict[str, float]:
    """Share out what enters, component by component, over outlets that can hold it; for first estimates."""
    entering = list(entering)
    guess: dict[str, float] = {}
    total = {name: sum(float(s.component(name)) for s in entering) for name in (*Stream.COMPONENTS, "colour")}
    warm = [float(s.temperature) for s in entering if "temperature" in s.holds]
    mean = temperature if temperature is not None else (sum(warm) / len(warm) if warm else 30.0)
    for stream, share in shares.items():
        for name in stream.holds:
            if name in total:
                guess[f"{stream.prefix}.{name}"] = total[name] * share
            elif name == "temperature":
                guess[f"{stream.prefix}.{name}"] = mean
    return guess
