"""The templates: kinds of plant that a description can start from, what is asked about each, and what it is made of."""

from __future__ import annotations

import dataclasses
import difflib
from collections.abc import Callable, Mapping
from dataclasses import dataclass

from canewright.engine import NotSolved
from canewright.plant.drafting import juice, mills, power, raw_house, refining
from canewright.plant.drafting.draft import Draft
from canewright.plant.drafting.mills import ENERGY, MILL
from canewright.plant.drafting.questions import QUESTIONS, Answers, BadAnswer, Question, answered
from canewright.plant.drafting.refining import REFINERY
from canewright.plant.drafting.sizing import sized

_MILL = (
    "name", "crush", "hours", "fibre", "sucrose", "mills", "imbibition", "effects", "syrup", "massecuites",
    "boiler_pressure", "steam_temperature", "exhaust_pressure",
)  # fmt: skip
_REFINERY = ("melt", "refinery_hours", "strikes")


@dataclass(frozen=True)
class Template:
    """A kind of plant: what it is, what is asked (with its own usual answers), and how it is drawn up."""

    name: str
    says: str
    asks: tuple[str, ...]
    draw: Callable[[Draft, Answers], None]
    usual: Mapping[str, float] = dataclasses.field(default_factory=dict)

    @property
    def questions(self) -> dict[str, Question]:
        """The questions with this template's usual answers."""
        return {
            key: dataclasses.replace(QUESTIONS[key], default=self.usual.get(key, QUESTIONS[key].default))
            for key in self.asks
        }

    def describe(self, given: Mapping[str, str]) -> str:
        """The description for these answers in words, sized, as TOML.

        Raises BadAnswer, or NotSolved where no state fits the answers.
        """
        answers = answered(self.questions, given)
        draft = Draft(answers.word("name"), self.says, answers=tuple(answers.told()))
        self.draw(draft, answers)
        try:
            sized(draft)
        except NotSolved as lack:
            if "turbine.exhaust_superheat" not in str(lack):
                raise
            raise BadAnswer(_wet(answers)) from lack
        return draft.text()


def _wet(a: Answers) -> str:
    """Live steam that would leave the turbine wet."""
    state = f"{a.size('boiler_pressure'):g} kPa and {a.size('steam_temperature'):g} °C"
    return (
        f"steam_temperature: live steam of {state} would leave the turbine wet; accepted: a higher steam_temperature "
        "or a lower boiler_pressure"
    )


def _mill_sections(d: Draft, a: Answers, *, energy: bool) -> None:
    d.section(MILL, a.number("hours"), "cane to raw sugar")
    if energy:
        d.section(ENERGY, a.number("hours"), "boilers, turbines and exhaust range")


def _raw_mill(d: Draft, a: Answers, *, condensing: bool = False) -> None:
    mills.supplies(d, a)
    mills.tandem(d, a)
    _after_the_juice(d, a, condensing=condensing)


def _after_the_juice(d: Draft, a: Answers, *, condensing: bool = False) -> None:
    juice.clarification(d, a)
    juice.evaporation(d, a)
    raw_house.raw_house(d, a)
    power.power_house(d, a, condensing=condensing)


def _draw_diffuser_mill(d: Draft, a: Answers) -> None:
    _mill_sections(d, a, energy=True)
    mills.supplies(d, a)
    mills.diffusion(d, a)
    _after_the_juice(d, a)
    d.connect("outside.raw sugar", "raw dryer.dried")


def _draw_raw_mill(d: Draft, a: Answers) -> None:
    _mill_sections(d, a, energy=True)
    _raw_mill(d, a)
    d.connect("outside.raw sugar", "raw dryer.dried")


def _draw_cogeneration(d: Draft, a: Answers) -> None:
    _mill_sections(d, a, energy=True)
    _raw_mill(d, a, condensing=True)
    d.connect("outside.raw sugar", "raw dryer.dried")


def _draw_integrated(d: Draft, a: Answers) -> None:
    _mill_sections(d, a, energy=False)
    d.section(ENERGY, max((a.number("hours"), a.number("refinery_hours")), key=lambda n: n.value), "steam and power")
    d.section(REFINERY, a.number("refinery_hours"), "raw sugar to refined sugar")
    _raw_mill(d, a)
    refining.refinery(d, a, steam="exhaust range.branches", power="power board.branches")


def _draw_refinery(d: Draft, a: Answers) -> None:
    d.section(REFINERY, a.number("refinery_hours"), "raw sugar to refined sugar")
    d.station("steam bought", "steam supply", REFINERY, pressure=a.number("exhaust_pressure"), superheat=5)
    d.station("grid", "grid", REFINERY)
    d.station("power board", "power board", REFINERY)
    d.line("grid.power", "power board.imported", "power board.exported", "outside.exported power")
    d.roles["imported power"] = "grid.power"
    d.price("power imported", "grid.power", "cost", 140, "$/MWh")
    refining.refinery(d, a, steam="steam bought.steam", power="power board.branches")
    d.meter("steam meter", "steam bought.steam.1", "mass", "2 %")
    d.meter("imported power", "grid.power", "power", "1 %")
    d.price("steam", "steam bought.steam.1", "cost", 22)


_ALL = (
    Template("raw mill", "A mill: cane to raw sugar, with its own boilers and turbine", _MILL, _draw_raw_mill),
    Template(
        "mill with diffuser",
        "A mill with a diffuser and two dewatering mills: cane to raw sugar",
        tuple(key for key in _MILL if key != "mills"),
        _draw_diffuser_mill,
        {"imbibition": 300.0},
    ),
    Template(
        "refinery", "A refinery on its own: raw sugar by rail, steam and power bought",
        ("name", *_REFINERY, "exhaust_pressure"), _draw_refinery,
    ),
    Template(
        "integrated business", "A mill with a refinery attached: cane to refined sugar", (*_MILL, *_REFINERY),
        _draw_integrated, {"boiler_pressure": 4500.0, "steam_temperature": 440.0, "crush": 400.0, "effects": 5.0},
    ),
    Template(
        "cogeneration plant", "A mill that sells power: high pressure and a condensing-extraction set", _MILL,
        _draw_cogeneration, {"boiler_pressure": 6700.0, "steam_temperature": 510.0, "effects": 5.0},
    ),
)  # fmt: skip
TEMPLATES: dict[str, Template] = {t.name: t for t in _ALL}


def template(name: str) -> Template:
    """A template by name, written with spaces or hyphens.

    Raises BadAnswer with the nearest name.
    """
    word = " ".join(name.lower().replace("-", " ").replace("_", " ").split())
    if word in TEMPLATES:
        return TEMPLATES[word]
    near = difflib.get_close_matches(word, list(TEMPLATES), n=1, cutoff=0.0)
    raise BadAnswer(f"template: found '{name[:60]}'; did you mean '{near[0]}'? known: {', '.join(TEMPLATES)}")
