"""Where published sources disagree: the forms by author and year, one default each, for a plant to choose from.

A plant description names a property and one of its choices; whatever is not named takes the default.
"""

from __future__ import annotations

from dataclasses import dataclass
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
from canewright.quantity import Formula


class ChoiceUnknown(ValueError):
    """A property or a choice that no published form answers to."""


@dataclass(frozen=True)
class Choice:
    """One published form of a property: its short name, author and year, and the formula that works it."""

    name: str
    author: str
    year: str
    formula: Formula
    says: str = ""

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
        Choice("decades", "one plant constant on Genotelle", "own", massecuite.impure_viscosity),
        Choice("kolarov", "Kolarov and Garcell", "before 1980", massecuite.molasses_viscosity_by_solids),
        Choice("pidoux", "Pidoux", "before 1980", massecuite.molasses_viscosity_by_temperature),
    ),
    "heat transfer": (
        Choice("dessin", "Dessin, in Hugot", "1986", kinetics.heat_transfer_dessin),
        Choice("swedish", "Swedish formula, in Hugot", "1986", kinetics.heat_transfer_swedish),
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
}
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


def _nearest(word: str, known: dict[str, tuple[Choice, ...]] | dict[str, Choice]) -> str:
    found = get_close_matches(word, list(known), n=1)
    return f" (did you mean '{found[0]}'?)" if found else ""


def _all(known: dict[str, tuple[Choice, ...]] | dict[str, Choice]) -> str:
    return ", ".join(known)
