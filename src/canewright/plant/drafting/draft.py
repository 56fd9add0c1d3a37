"""A plant description in the making: stations, connections, targets, meters and prices, and how they are written."""

from __future__ import annotations

import copy
import json
import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

PRACTICE = "common practice, no source"
"""The reason of an assumption beside which no other stands."""


@dataclass(frozen=True)
class Number:
    """A number of a description: given by the site (``own``) or assumed for it, and why; perhaps how well known."""

    value: float
    own: bool = False
    because: str = PRACTICE
    uncertainty: float | None = None

    def times(self, factor: float, because: str) -> Number:
        """An assumption in proportion to this number."""
        return Number(rounded(self.value * factor), because=because)

    def toml(self, own: str = "value") -> str:
        """As it stands in the file: a bare number where it is the site's own and nothing more is said."""
        if self.own and self.uncertainty is None:
            return written(self.value)
        parts = [f"{own if self.own else 'assumed'} = {written(self.value)}"]
        if self.uncertainty is not None:
            parts.append(f"uncertainty = {written(self.uncertainty)}")
        if not self.own and self.because != PRACTICE:
            parts.append(f"because = {json.dumps(self.because, ensure_ascii=False)}")
        return f"{{ {', '.join(parts)} }}"


Entry = Number | float | str
"""A setting in a draft; a bare number is assumed, a text is a choice."""


def assumed(value: float, uncertainty: float | None = None, because: str = PRACTICE) -> Number:
    """An assumption with its standard uncertainty."""
    return Number(value, because=because, uncertainty=uncertainty)


def rounded(value: float, digits: int = 3) -> float:
    """To significant digits, as sizes are told."""
    if value == 0.0 or not math.isfinite(value):
        return value
    return round(value, digits - 1 - math.floor(math.log10(abs(value))))


def written(value: float) -> str:
    """A number as TOML reads it, without a useless decimal point."""
    return str(int(value)) if float(value).is_integer() and abs(value) < 1e15 else repr(float(value))


@dataclass
class DraftStation:
    """A station of a draft."""

    kind: str
    section: str
    entries: dict[str, Number | str]


@dataclass(frozen=True)
class DraftTarget:
    """A target of a draft."""

    stream: str
    quantity: str
    value: Number
    moves: str


@dataclass
class Draft:
    """A description in the making. Parts of the plant add to it; ``text`` writes it."""

    name: str
    says: str
    sections: dict[str, tuple[Number, str]] = field(default_factory=dict)
    stations: dict[str, DraftStation] = field(default_factory=dict)
    connections: dict[str, list[str]] = field(default_factory=dict)
    targets: list[DraftTarget] = field(default_factory=list)
    sizing: list[DraftTarget] = field(default_factory=list)
    roles: dict[str, str] = field(default_factory=dict)
    meters: list[dict[str, str | float]] = field(default_factory=list)
    products: dict[str, dict[str, str | tuple[float, float]]] = field(default_factory=dict)
    prices: list[tuple[str, str, str, float, str]] = field(default_factory=list)
    answers: tuple[str, ...] = ()

    # --- adding -----------------------------------------------------------------------------------------------------

    def section(self, name: str, hours: Number, says: str) -> None:
        """A section with its running hours a day."""
        self.sections[name] = (hours, says)

    def station(self, name: str, kind: str, section: str, **entries: Entry) -> None:
        """A station; a setting given as a bare number is assumed."""
        made = {k: e if isinstance(e, (str, Number)) else Number(float(e)) for k, e in entries.items()}
        self.stations[name] = DraftStation(kind, section, made)

    def connect(self, target: str, *sources: str) -> None:
        """Lead streams to an inlet, beside those that are there already."""
        self.connections.setdefault(target, []).extend(sources)

    def line(self, *places: str) -> None:
        """Connect outlet to inlet, one after the other: places come in pairs."""
        for source, target in zip(places[::2], places[1::2], strict=True):
            self.connect(target, source)

    def branch(self, port: str) -> str:
        """The next stream of an outlet that takes many, as the whole plant names it: ``main.branches.3``."""
        number = sum(1 for sources in self.connections.values() for s in sources if s == port)
        return f"{port}.{number + 1}"

    def target(self, stream: str, quantity: str, value: Entry, moves: str) -> None:
        """Hold a quantity at a value by moving a setting."""
        number = value if isinstance(value, Number) else assumed(float(value))
        self.targets.append(DraftTarget(stream, quantity, number, moves))

    def meter(self, tag: str, stream: str, quantity: str, uncertainty: str | float, sample: str = "") -> None:
        """A meter, or with a sample a determination of the laboratory."""
        found: dict[str, str | float] = {"tag": tag, "stream": stream, "quantity": quantity, "uncertainty": uncertainty}
        self.meters.append(found | ({"file": "laboratory", "sample": sample} if sample else {"file": "meters"}))

    def price(self, what: str, stream: str, kind: str, price: float, unit: str = "$/t") -> None:
        """A price, assumed."""
        self.prices.append((what, stream, kind, price, unit))

    def set(self, station: str, key: str, number: Number) -> None:
        """Put a number in the place of an assumption; what the site gave stays."""
        now = self.stations[station].entries.get(key)
        if not (isinstance(now, Number) and now.own):
            self.stations[station].entries[key] = number

    def for_sizing(self) -> Draft:
        """The same plant at its design point: sizes are moved until the pressures wanted are there."""
        other = copy.deepcopy(self)
        moved = {(t.stream, t.quantity) for t in self.sizing}
        other.targets = [t for t in self.targets if (t.stream, t.quantity) not in moved] + list(self.sizing)
        return other

    # --- writing ----------------------------------------------------------------------------------------------------

    def text(self) -> str:
        """The description as TOML, by parts, in the order in which things were added."""
        parts = [self._head(), self._stations(), self._connections(), self._targets(), self._roles()]
        parts += [self._meters(), self._products(), self._prices()]
        return "\n".join(part for part in parts if part)

    def _head(self) -> str:
        lines = [
            f"# {self.says}.",
            *(f"# {line}" for line in self.answers),
            "#",
            "# A number written { assumed = ... } is not the site's own; nor is any setting left out of this file.",
            f"# Its reason stands beside it; where none does, it is {PRACTICE}.",
            "# Write a value of your own in its place, such as moisture = 50, or { value = 50, uncertainty = 0.5 }.",
            "# `canewright plant check` lists the assumptions that matter most; `plant fit` estimates them from days.",
            "",
            "[plant]",
            f"name = {_quoted(self.name)}",
            f"says = {_quoted(self.says)}",
            "cut_hour = 6",
            'zone = "UTC"',
            "",
        ]
        for name, (hours, says) in self.sections.items():
            lines += [f"[sections.{_key(name)}]", f"says = {_quoted(says)}", f"hours = {hours.toml()}", ""]
        return "\n".join(lines)

    def _stations(self) -> str:
        lines: list[str] = []
        section = ""
        for name, one in self.stations.items():
            if one.section != section:
                section = one.section
                lines += [_rule(section)]
            lines += [f"[stations.{_quoted(name)}]", f"kind = {_quoted(one.kind)}", f"section = {_quoted(section)}"]
            lines += [f"{k} = {_quoted(e) if isinstance(e, str) else e.toml()}" for k, e in one.entries.items()]
            lines.append("")
        return "\n".join(lines)

    def _connections(self) -> str:
        lines = [_rule("connections"), "[connections]"]
        for target, sources in self.connections.items():
            listed = ", ".join(_quoted(s) for s in sources)
            lines.append(f"{_quoted(target)} = {listed}" if len(sources) == 1 else f"{_quoted(target)} = [{listed}]")
        return "\n".join([*lines, ""])

    def _targets(self) -> str:
        lines = [_rule("targets")] if self.targets else []
        for t in self.targets:
            lines += _table("targets", {"stream": t.stream, "quantity": t.quantity, "moves": t.moves})[:-1]
            lines += [*_number_lines(t.value), ""]
        return "\n".join(lines)

    def _roles(self) -> str:
        listed = [f"{_quoted(role)} = {_quoted(stream)}" for role, stream in self.roles.items()]
        return "\n".join([_rule("roles"), "[roles]", *listed, ""])

    def _meters(self) -> str:
        """The meters; their uncertainties are usual ones, which a file cannot mark."""
        note = "# Usual meters and usual standard uncertainties: keep those you have, and write what yours are."
        lines = [_rule("meters"), note, ""]
        for meter in self.meters:
            lines += _table("meters", meter)
        return "\n".join(lines)

    def _products(self) -> str:
        lines: list[str] = []
        for name, table in self.products.items():
            lines.append(f"[products.{_quoted(name)}]")
            for key, value in table.items():
                shown = _quoted(value) if isinstance(value, str) else f"[{written(value[0])}, {written(value[1])}]"
                lines.append(f"{key} = {shown}")
            lines.append("")
        return "\n".join(lines)

    def _prices(self) -> str:
        lines = [_rule("prices")] if self.prices else []
        for what, stream, kind, price, unit in self.prices:
            lines += _table("prices", {"what": what, "stream": stream, "kind": kind, "assumed": price, "unit": unit})
        return "\n".join(lines)


def _number_lines(number: Number) -> Iterable[str]:
    yield f"{'value' if number.own else 'assumed'} = {written(number.value)}"
    if number.uncertainty is not None:
        yield f"uncertainty = {written(number.uncertainty)}"
    if not number.own and number.because != PRACTICE:
        yield f"because = {_quoted(number.because)}"


def _table(name: str, entries: Mapping[str, str | float]) -> list[str]:
    """One member of an array of tables."""
    told = [f"{k} = {_quoted(v) if isinstance(v, str) else written(v)}" for k, v in entries.items()]
    return [f"[[{name}]]", *told, ""]


def _quoted(text: str) -> str:
    return json.dumps(text, ensure_ascii=False)


def _key(name: str) -> str:
    return name if name.replace("_", "").replace("-", "").isalnum() and name.isascii() else _quoted(name)


def _rule(title: str) -> str:
    return f"# {'-' * max(10, 100 - len(title))} {title}"
