"""What a station kind is, told from its declaration: ports, settings, equations in words, limits, cautions, sources."""

from __future__ import annotations

import inspect
import re
from collections.abc import Iterable
from dataclasses import asdict, dataclass, replace
from typing import Any

from canewright.plant.catalogue import STATIONS
from canewright.plant.metering import quantities_of
from canewright.plant.station import Choice, Port, Result, Setting, Station
from canewright.quantity import CATALOGUE, Formula, Word


@dataclass(frozen=True)
class PortTold:
    """A port: which way, what flows, and how many streams it takes."""

    name: str
    way: str
    stream: str
    takes: str


@dataclass(frozen=True)
class SettingTold:
    """A setting: unit, default, limits, standard uncertainty beforehand (nothing where it is held)."""

    name: str
    says: str
    unit: str
    default: float
    limits: tuple[float, float]
    uncertainty: float


@dataclass(frozen=True)
class EquationTold:
    """An equation: its sentence and its two sides in words."""

    sentence: str
    left: str
    right: str


@dataclass(frozen=True)
class StationTold:
    """Everything that a station kind declares, ready to be printed."""

    kind: str
    says: tuple[str, ...]
    ports: tuple[PortTold, ...]
    settings: tuple[SettingTold, ...]
    choices: tuple[tuple[str, tuple[str, ...], str], ...]
    results: tuple[tuple[str, str, str], ...]
    equations: tuple[EquationTold, ...]
    exchanges: tuple[tuple[str, str], ...]
    capacities: tuple[tuple[str, str, str], ...]
    handles: tuple[str, ...]
    measured: tuple[str, ...]
    hazards: tuple[str, ...]
    formulas: tuple[Formula, ...]
    boundary: bool

    @property
    def summary(self) -> str:
        """The first sentence of what it is."""
        return self.says[0].partition(". ")[0].rstrip(".") + "."

    def to_json(self) -> dict[str, Any]:
        """As plain data."""
        formulas = [{"name": f.name, "source": f.source, "status": f.status} for f in self.formulas]
        return asdict(replace(self, formulas=())) | {"formulas": formulas}


def told(kind: str) -> StationTold:
    """A station kind by name, with one stream at each port and the first option of each choice.

    Raises KeyError for an unknown kind.
    """
    made = STATIONS[kind]
    station = made("it", {p.name: 1 for p in made.ports().values() if p.many}).bound(Word)
    shorten = _Shortening(station)
    equations = tuple(
        EquationTold(said, shorten.words(left), shorten.words(right)) for said, left, right in station.equations()
    )
    capacities = tuple(
        (sentence, shorten.words(used), shorten.words(there)) for sentence, used, there in station.capacities()
    )
    exchanges = tuple((x.name, x.what) for x in station.exchanges())
    return StationTold(
        kind, _paragraphs(made), tuple(_port(p) for p in made.ports().values()),
        tuple(_setting(n, s) for n, s in made.settings().items()),
        tuple((_spoken(n), c.options, c.says) for n, c in made.options().items()),
        tuple((_spoken(n), r.says, r.unit) for n, r in made.results().items()),
        equations, tuple(dict.fromkeys(exchanges)), capacities, tuple(_handle(made, n) for n in made.handles),
        tuple(_measured(made, n) for n in made.measured), made.hazards, _formulas(equations), made.boundary,
    )  # fmt: skip


def _paragraphs(made: type[Station]) -> tuple[str, ...]:
    """The docstring's paragraphs, each on one line, without code marks."""
    text = inspect.cleandoc(made.__doc__ or made.kind).replace("``", "")
    return tuple(" ".join(part.split()) for part in text.split("\n\n"))


def _port(port: Port) -> PortTold:
    stream = re.sub(r"(?<!^)(?=[A-Z])", " ", port.stream.__name__).lower()
    takes = ("any number" if port.many else "one") + (", or none" if port.may_be_open else "")
    return PortTold(_spoken(port.name), "enters" if port.entering else "leaves", stream, takes)


def _setting(name: str, s: Setting) -> SettingTold:
    return SettingTold(_spoken(name), s.says, s.unit, s.default, s.limits, s.prior)


def _handle(made: type[Station], name: str) -> str:
    """What a handle moves, in words. Raises KeyError for a name that the kind does not declare."""
    if name in made.ports():
        return f"flow of {_spoken(name)}"
    declared: dict[str, Setting | Choice] = {**made.settings(), **made.options()}
    return declared[name].says


def _measured(made: type[Station], name: str) -> str:
    """What is measured, in words. Raises KeyError for what the kind does not declare or its stream cannot tell."""
    port, _, quantity = name.partition(" ")
    if quantity:
        if quantity not in quantities_of(made.ports()[port].stream):
            raise KeyError(f"{made.kind}: {port} cannot tell its {quantity}")
        return quantity if quantity == port else f"{quantity} of {_spoken(port)}"
    declared: dict[str, Setting | Result] = {**made.settings(), **made.results()}
    return declared[name].says


def _spoken(name: str) -> str:
    return name.replace("_", " ")


_NAME = re.compile(r"\bit\.([a-z0-9_.]+)")
_PLACE = re.compile(r"\.\d+(?=\.|$)")


DERIVED = {
    "enthalpy_flow": "enthalpy",
    "icumsa_colour": "ICUMSA colour",
    "dry_substance": "dry substance",
    "purity": "purity",
    "total_colour": "all colour",
    "flow": "flow",
    "solution": "solution",
    "solids": "solids",
    "dissolved": "dissolved solids",
    "non_sucrose": "non-sucrose",
    "humidity": "humidity",
}
"""What streams derive from what they hold, by attribute, in the order in which it is looked for."""


class _Shortening:
    """Prints what a stream derives (its enthalpy, dry substance, purity) by name instead of written out."""

    def __init__(self, station: Station) -> None:
        self._known: list[tuple[re.Pattern[str], str]] = []
        for attribute, said in DERIVED.items():
            for stream in (*station.entering, *station.leaving):
                value = getattr(stream, attribute, None)
                if isinstance(value, Word) and (" " in value.text or "(" in value.text):
                    self._known.append((_standing_alone(value), f"[{said} of {_place(stream.prefix)}]"))

    def words(self, side: object) -> str:
        """A side of an equation for people; names stand in brackets without underscores."""
        text = side.text if isinstance(side, Word) else f"{side:g}" if isinstance(side, (int, float)) else str(side)
        for pattern, said in self._known:
            text = pattern.sub(said, text)
        return _NAME.sub(lambda m: _named(m[1]), text).replace(" * ", " · ").replace("+ -", "- ")


def _standing_alone(word: Word) -> re.Pattern[str]:
    """Finds a derived expression where it stands as a whole: no part of a product or a difference is taken for it."""
    whole = re.escape(word.text)
    if word.binding > Word.SUM:
        return re.compile(rf"(?<![\w.]){whole}(?![\w.(])(?! \*\*)")
    return re.compile(rf"\({whole}\)(?! \*\*)|(?:^|(?<=\+ )|(?<=\()|(?<=, )){whole}(?=$|\)|,| \+| -)")


def _place(prefix: str) -> str:
    return _spoken(_PLACE.sub("", prefix.removeprefix("it.")))


def _named(name: str) -> str:
    port, _, held = _PLACE.sub("", name).partition(".")
    return f"[{_spoken(held)} of {_spoken(port)}]" if held else f"[{_spoken(port)}]"


def _formulas(equations: Iterable[EquationTold]) -> tuple[Formula, ...]:
    """The declared formulas that the equations name, in order of appearance."""
    text = " ".join(f"{e.left} {e.right}" for e in equations)
    names = dict.fromkeys(re.findall(r"\b([a-z][a-z0-9_]*)\(", text))
    return tuple(CATALOGUE[n] for n in names if n in CATALOGUE)


# --- as text ----------------------------------------------------------------------------------------------------------


def markdown_of(one: StationTold) -> str:
    """A station kind as a section of the handbook."""
    lines = [f"## {one.kind}", "", *(line for part in one.says for line in (part, ""))]
    lines += _table(("port", "", "stream", "takes"), [(p.name, p.way, p.stream, p.takes) for p in one.ports], "Ports")
    lines += _table(
        ("setting", "meaning", "unit", "default", "limits", "standard uncertainty"),
        [
            (s.name, s.says, _unit(s.unit), f"{s.default:g}", f"{s.limits[0]:g} to {s.limits[1]:g}", _spread(s))
            for s in one.settings
        ],
        "Settings",
    )
    lines += _table(
        ("choice", "options, the default first", "meaning"),
        [(n, ", ".join(o), says) for n, o, says in one.choices],
        "Choices",
    )
    lines += _table(("result", "meaning", "unit"), [(n, says, _unit(u)) for n, says, u in one.results], "Results")
    lines += _table(
        ("equation", "in words"), [(e.sentence, f"{e.left} = {e.right}") for e in one.equations],
        "Equations (one stream at each port, first option of each choice)",
    )  # fmt: skip
    lines += _table(("formed, removed or lost", "of"), list(one.exchanges), "Declared exchanges")
    lines += _table(("capacity", "used", "there is"), list(one.capacities), "Capacities")
    lines += [f"**Operator's handles**: {'; '.join(one.handles)}.", ""] if one.handles else []
    lines += [f"**Usually measured**: {'; '.join(one.measured)}.", ""] if one.measured else []
    lines += _table(
        ("formula", "source"),
        [(f.name.replace("_", " "), f"{f.source} ({f.status})") for f in one.formulas],
        "Formulas used",
    )
    lines += ["**Cautions**", "", *(f"- {h}" for h in one.hazards), ""] if one.hazards else []
    return "\n".join(lines)


def _unit(symbol: str) -> str:
    return "" if symbol == "1" else symbol


def _spread(s: SettingTold) -> str:
    return f"{s.uncertainty:g}" if s.uncertainty else "held"


def _table(head: tuple[str, ...], rows: list[tuple[str, ...]], title: str) -> list[str]:
    if not rows:
        return []
    cells = [[cell.replace("|", "\\|") for cell in row] for row in rows]
    told_rows = [f"| {' | '.join(row)} |" for row in (list(head), ["---"] * len(head), *cells)]
    return [f"**{title}**", "", *told_rows, ""]


def markdown() -> str:
    """The whole handbook of stations."""
    kinds = [told(kind) for kind in sorted(STATIONS)]
    head = [
        "# Stations", "",
        "Every kind of station that a plant description may name, told from its declaration by",
        "`canewright stations --markdown`. A setting without a standard uncertainty is held as it is;",
        "reconciliation may move the others.", "",
        *(f"- [{one.kind}](#{one.kind.replace(' ', '-')}): {one.summary}" for one in kinds), "",
    ]  # fmt: skip
    return "\n".join([*head, *(markdown_of(one) for one in kinds)]).rstrip() + "\n"
