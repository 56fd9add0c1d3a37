"""Where published sources disagree: the forms by author and year, one default each, for a plant to choose from.

A plant description names a property and one of its choices; whatever is not named takes the default.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from difflib import get_close_matches

from canewright.properties import (
    boiling,
    crystal,
    heat_transfer,
    kinetics,
    massecuite,
    saturation,
    sucrose,
    thermal,
)
from canewright.quantity import Argument, Formula, Num, constant


class ChoiceUnknown(ValueError):
    """A property, a choice or a constant of a choice that no published form answers to."""


ASKED: dict[str, tuple[str, ...]] = {
    "solubility": ("temperature",),
    "solubility coefficient": ("non_sucrose_to_water",),
    "boiling point elevation": ("dry_substance", "purity", "temperature"),
    "viscosity": ("dry_substance", "temperature"),
    "impure viscosity": ("dry_substance", "purity", "temperature"),
    "heat transfer": ("dry_substance", "heating_temperature", "boiling_temperature"),
    "film coefficient": (),
    "specific heat": (),
    "crystal specific heat": (),
}
"""By what a plant asks for a property; what a form needs besides are constants of the plant's own.

The last three stand side by side in the handbook only: enthalpies of the plant's streams rest on one set, or energy
would not balance from one station to the next.
"""


@dataclass(frozen=True)
class Choice:
    """One published form of a property: its short name, author and year, and the formula that works it."""

    name: str
    author: str
    year: str
    formula: Formula
    says: str = ""
    stands_for: Mapping[str, str] = field(default_factory=dict)
    """Arguments of the formula that a plant asks by another name."""
    usual: Mapping[str, float] = field(default_factory=dict)
    """Constants that may be taken while the plant's own are not known."""

    def constants(self, about: str) -> dict[str, Argument]:
        """What the form needs beyond what a plant asks by: constants of the plant's own."""
        asked = ASKED[about]
        return {n: a for n, a in self.formula.arguments.items() if self.stands_for.get(n, n) not in asked}

    def __str__(self) -> str:
        """Author, year and the name of the formula."""
        return f"{self.name}: {self.author}, {self.year} ({self.formula.name})"


CHOICES: dict[str, tuple[Choice, ...]] = {
    "solubility": (
        Choice("charles", "Vavrinecz, also quoted under Charles", "1960", sucrose.solubility, "0 to 90 °C"),
        Choice("bubnik", "Vavrinecz, in Bubnik and others", "1995", saturation.solubility_bubnik, "0 to 100 °C"),
        Choice("herzfeld", "Herzfeld", "1892", saturation.solubility_herzfeld, "older handbooks"),
    ),
    "solubility coefficient": (
        Choice("rozsa", "Wiklund and Vavrinecz, cane set of Rózsa", "2000", sucrose.solubility_coefficient),
        Choice("queensland", "Wright; Broadfoot and Steindl", "1980", saturation.solubility_coefficient_queensland),
        Choice("beet", "Wiklund and Vavrinecz, beet set", "1950s", saturation.solubility_coefficient_beet, "not cane"),
        Choice("fitted", "the plant's own constants", "own", saturation.solubility_coefficient_fitted),
    ),
    "boiling point elevation": (
        Choice("norrish", "Norrish", "1966", boiling.boiling_point_elevation_norrish, "purity enters; below 60 %"),
        Choice("handbook", "quoted with Peacock", "1995", boiling.boiling_point_elevation_handbook, "20 to 80 %"),
        Choice("textbook", "Geankoplis", "1993", boiling.boiling_point_elevation_textbook, "textbook cases"),
        Choice("hugot", "Hugot", "1986", boiling.boiling_point_elevation_hugot, "short form"),
    ),
    "viscosity": (
        Choice("genotelle", "Genotelle", "1978", sucrose.viscosity),
        Choice("genotelle-water", "Genotelle, drawn to water", "1978", massecuite.viscosity_with_water_limit),
    ),
    "impure viscosity": (
        Choice(
            "decades", "one plant constant on Genotelle", "own", massecuite.impure_viscosity,
            "1.6 powers of ten from pure to no sucrose while none is fitted (from memory)", usual={"decades": 1.6},
        ),
        Choice("kolarov", "Kolarov and Garcell", "before 1980", massecuite.molasses_viscosity_by_solids),
        Choice("pidoux", "Pidoux", "before 1980", massecuite.molasses_viscosity_by_temperature),
    ),
    "heat transfer": (
        Choice(
            "dessin", "Dessin, in Hugot", "1986", kinetics.heat_transfer_dessin,
            stands_for={"temperature": "heating_temperature"},
        ),
        Choice(
            "swedish", "Swedish formula, in Hugot", "1986", kinetics.heat_transfer_swedish,
            stands_for={"temperature": "boiling_temperature"},
        ),
        Choice("fitted", "the plant's own constants", "own", heat_transfer.heat_transfer_fitted),
    ),
    "film coefficient": (
        Choice("sieder-tate", "Sieder and Tate", "1936", heat_transfer.film_coefficient_sieder_tate),
        Choice("dittus-boelter", "Dittus and Boelter", "1930", heat_transfer.film_coefficient_dittus_boelter),
    ),
    "specific heat": (
        Choice("bubnik", "Bubnik and others", "1995", thermal.liquor_specific_heat, "purity and temperature enter"),
        Choice("hugot", "Hugot", "1986", thermal.specific_heat_hugot, "short form"),
        Choice("geankoplis", "Geankoplis", "1993", thermal.textbook_specific_heat, "textbook cases"),
    ),
    "crystal specific heat": (
        Choice("mohos", "Mohos", "2010", crystal.crystal_specific_heat),
        Choice("bubnik", "Bubnik and others", "1995", crystal.crystal_specific_heat_bubnik),
    ),
}  # fmt: skip
"""Published forms by property; the first of each is the default."""


def choices(about: str) -> tuple[Choice, ...]:
    """The published forms of a property, the default first.

    Raises ChoiceUnknown naming the properties when there is no choice about this one.
    """
    if about not in CHOICES:
        raise ChoiceUnknown(f"no choice about '{about}'{_nearest(about, CHOICES)}; there is one about {_all(CHOICES)}")
    return CHOICES[about]


def default(about: str) -> Choice:
    """The default form of a property. Raises ChoiceUnknown as ``choices``."""
    return choices(about)[0]


def choose(about: str, name: str) -> Choice:
    """The form of a property by its short name.

    Raises ChoiceUnknown naming the known forms when there is none of this name.
    """
    known = {each.name: each for each in choices(about)}
    if name not in known:
        raise ChoiceUnknown(f"{about}: no form is called '{name}'{_nearest(name, known)}; known are {_all(known)}")
    return known[name]


def _nearest(word: str, known: Mapping[str, object]) -> str:
    found = get_close_matches(word, list(known), n=1)
    return f" (did you mean '{found[0]}'?)" if found else ""


def _all(known: Mapping[str, object]) -> str:
    return ", ".join(known)


@dataclass(frozen=True)
class Form:
    """A form that a plant works with: the choice, and its constants with their units."""

    about: str
    choice: Choice
    constants: Mapping[str, Num]

    def __call__(self, **known: Num) -> Num:
        """The property where a plant asks; ``known`` holds at least what this form needs of ``ASKED``.

        Raises OutOfRange as the formula does.
        """
        asked = {
            n: known[self.choice.stands_for.get(n, n)] for n in self.choice.formula.arguments if n not in self.constants
        }
        return self.choice.formula(**asked, **self.constants)


def form(about: str, name: str = "", constants: Mapping[str, float] | None = None) -> Form:
    """The form of a property by its short name (the default where none is named) with a plant's constants.

    Raises ChoiceUnknown naming an unknown property, form or constant, a wanting constant, or one outside its range.
    """
    chosen = choose(about, name) if name else default(about)
    wanted = chosen.constants(about)
    given = {**chosen.usual, **(constants or {})}
    for key in given:
        if key not in wanted:
            raise ChoiceUnknown(
                f"{about}, {chosen.name}: '{key}' is not a constant of this form; it has {_all(wanted) or 'none'}"
            )
    for key, declared in wanted.items():
        if key not in given:
            raise ChoiceUnknown(
                f"{about}, {chosen.name}: the constant '{key}' ({declared.says}, {declared.low:g} to {declared.high:g} "
                f"{declared.unit}) is wanting: fit it to the plant's own measurements"
            )
        if declared.outside(given[key]) is not None:
            raise ChoiceUnknown(
                f"{about}, {chosen.name}: {key} is {given[key]:g} {declared.unit}, "
                f"outside {declared.low:g} to {declared.high:g} {declared.unit}"
            )
    return Form(about, chosen, {key: constant(given[key], declared.unit) for key, declared in wanted.items()})


DEFAULTS: dict[str, Form] = {about: form(about) for about, asked in ASKED.items() if asked}
"""The form of each property that a plant can ask for, where the plant says nothing."""
