"""What the trade calls the same thing in different countries, so that a formula is found by any of the words.

Common practice, no source: every group was put down from general knowledge of the trade's language. A word may stand in
several groups; a search then looks for all of them.
"""

from __future__ import annotations

import unicodedata
from dataclasses import dataclass

EVERYWHERE = "everywhere"
US = "United States"
AUSTRALIA = "Australia"
SOUTH_AFRICA = "South Africa"
MAURITIUS = "Mauritius"
FRENCH = "French-speaking countries"
SPANISH = "Spanish-speaking countries"
BRAZIL = "Brazil"
INDIA = "India"
BRITAIN = "Britain"
HAWAII = "Hawaii"
CARIBBEAN = "Caribbean"
JAVA = "Java"


@dataclass(frozen=True)
class Synonyms:
    """One thing of the trade: its name here, and its other names with the countries where they are usual."""

    name: str
    others: tuple[tuple[str, str], ...]

    @property
    def words(self) -> tuple[str, ...]:
        """Every name."""
        return (self.name, *(word for word, _ in self.others))


SYNONYMS: tuple[Synonyms, ...] = (
    Synonyms("bagasse", (
        ("megasse", f"{CARIBBEAN}, {BRITAIN}"), ("megass", CARIBBEAN), ("bagazo", SPANISH), ("bagaço", BRAZIL),
    )),
    Synonyms("filter cake", (
        ("mud", f"{AUSTRALIA}, {US}"), ("press cake", INDIA), ("cachaza", SPANISH), ("torta de filtro", BRAZIL),
        ("press mud", INDIA), ("scums", CARIBBEAN), ("cake", EVERYWHERE),
    )),
    Synonyms("final molasses", (
        ("blackstrap", US), ("C molasses", f"{SOUTH_AFRICA}, {AUSTRALIA}"), ("waste molasses", HAWAII),
        ("exhausted molasses", BRITAIN), ("melaza", SPANISH), ("mélasse", FRENCH), ("melaço", BRAZIL),
        ("molasses", EVERYWHERE),
    )),
    Synonyms("run-off", (
        ("jet", f"{BRITAIN} and {SOUTH_AFRICA}, refineries"), ("green syrup", BRITAIN), ("miel", SPANISH),
        ("égout", FRENCH), ("centrifugal syrup", US), ("mother liquor", EVERYWHERE),
    )),
    Synonyms("massecuite", (
        ("strike", EVERYWHERE), ("fillmass", US), ("masa cocida", SPANISH), ("templa", SPANISH),
        ("massa cozida", BRAZIL),
    )),
    Synonyms("footing", (
        ("seed", EVERYWHERE), ("pied de cuite", FRENCH), ("magma", EVERYWHERE), ("semilla", SPANISH),
        ("slurry", EVERYWHERE),
    )),
    Synonyms("vessel", (
        ("effet", FRENCH), ("effect", US), ("body", HAWAII), ("evaporator", EVERYWHERE), ("evaporador", SPANISH),
        ("cuerpo", SPANISH), ("pre-evaporator", INDIA),
    )),
    Synonyms("pol", (
        ("polarisation", BRITAIN), ("polarization", US), ("sucrose", EVERYWHERE), ("polarización", SPANISH),
        ("saccharose", FRENCH), ("polarimeter", EVERYWHERE),
    )),
    Synonyms("brix", (
        ("RDS", f"{SOUTH_AFRICA}, {MAURITIUS}"), ("refractometric dry solids", MAURITIUS),
        ("refractometer", EVERYWHERE), ("dry substance", BRITAIN), ("dry solids", SOUTH_AFRICA), ("solids", US),
        ("°Bx", EVERYWHERE),
    )),
    Synonyms("purity", (
        ("quotient", BRITAIN), ("pureza", SPANISH), ("pureté", FRENCH),
    )),
    Synonyms("non-pol", (
        ("non-sucrose", EVERYWHERE), ("impurities", EVERYWHERE), ("non-sugars", BRITAIN), ("no azúcares", SPANISH),
    )),
    Synonyms("reducing sugars", (
        ("glucose", f"{JAVA}, {CARIBBEAN}"), ("invert", US), ("monosaccharides", SOUTH_AFRICA),
        ("reductores", SPANISH),
    )),
    Synonyms("imbibition", (
        ("maceration", f"{AUSTRALIA}, {US}"), ("imbibición", SPANISH), ("added water", INDIA),
    )),
    Synonyms("first expressed juice", (
        ("crusher juice", US), ("primary juice", INDIA), ("first mill juice", AUSTRALIA),
        ("undiluted juice", EVERYWHERE), ("jugo de desmenuzadora", SPANISH),
    )),
    Synonyms("mixed juice", (
        ("diluted juice", US), ("raw juice", SOUTH_AFRICA), ("draft juice", SOUTH_AFRICA), ("mélangé", FRENCH),
        ("jugo mixto", SPANISH), ("caldo misto", BRAZIL),
    )),
    Synonyms("clear juice", (
        ("clarified juice", US), ("ESJ", AUSTRALIA), ("effet supply juice", AUSTRALIA), ("jugo claro", SPANISH),
        ("caldo clarificado", BRAZIL),
    )),
    Synonyms("syrup", (
        ("meladura", SPANISH), ("liquor", AUSTRALIA), ("sirop", FRENCH), ("xarope", BRAZIL),
    )),
    Synonyms("remelt", (
        ("refundido", SPANISH), ("refonte", FRENCH),
    )),
    Synonyms("melt", (
        ("raw melt", BRITAIN), ("meltings", BRITAIN), ("melter", EVERYWHERE), ("fundido", SPANISH),
    )),
    Synonyms("extraction", (
        ("mill extraction", INDIA), ("milling", EVERYWHERE), ("extracción", SPANISH), ("Deerr", EVERYWHERE),
        ("Mittal", INDIA),
    )),
    Synonyms("boiling house", (
        ("boiling-house", EVERYWHERE), ("sugar end", US), ("raw house", SOUTH_AFRICA), ("back end", SOUTH_AFRICA),
        ("casa de calderas", SPANISH),
    )),
    Synonyms("boiling-house recovery", (
        ("BHR", EVERYWHERE), ("retention", f"{HAWAII}, {US}"), ("recuperación", SPANISH), ("SJM", EVERYWHERE),
        ("coefficient of work", AUSTRALIA),
    )),
    Synonyms("crystalliser", (
        ("crystallizer", US), ("receiver", SOUTH_AFRICA), ("cristalizador", SPANISH),
    )),
    Synonyms("centrifugal", (
        ("fugal", AUSTRALIA), ("basket", EVERYWHERE), ("centrifuge", US), ("purging", US), ("curing", INDIA),
        ("spinning", SOUTH_AFRICA),
    )),
    Synonyms("clarifier", (
        ("subsider", AUSTRALIA), ("settler", INDIA), ("defecator", CARIBBEAN), ("clarificador", SPANISH),
    )),
    Synonyms("lime", (
        ("milk of lime", EVERYWHERE), ("defecation", EVERYWHERE), ("liming", EVERYWHERE), ("cal", SPANISH),
        ("CaO", EVERYWHERE),
    )),
    Synonyms("colour", (
        ("color", US), ("ICUMSA", EVERYWHERE), ("absorbance", EVERYWHERE), ("IU", EVERYWHERE),
    )),
    Synonyms("grain size", (
        ("aperture", EVERYWHERE), ("MA", EVERYWHERE), ("crystal size", EVERYWHERE), ("sieve", EVERYWHERE),
        ("CV", EVERYWHERE),
    )),
    Synonyms("crystal content", (
        ("exhaustion", SOUTH_AFRICA), ("pan yield", US), ("crystal yield", AUSTRALIA),
    )),
    Synonyms("dilution indicator", (
        ("DI", AUSTRALIA), ("safety factor", EVERYWHERE),
    )),
    Synonyms("moisture", (
        ("water", EVERYWHERE), ("humedad", SPANISH), ("loss on drying", US),
    )),
    Synonyms("ash", (
        ("conductivity ash", EVERYWHERE), ("sulphated ash", EVERYWHERE), ("sulfated ash", US), ("ceniza", SPANISH),
        ("cendres", FRENCH),
    )),
    Synonyms("fibre", (
        ("fiber", US), ("lignocellulose", EVERYWHERE), ("fibra", SPANISH),
    )),
    Synonyms("CCS", (
        ("commercial cane sugar", AUSTRALIA), ("cane payment", EVERYWHERE), ("POCS", AUSTRALIA),
    )),
    Synonyms("recoverable", (
        ("ERC", SOUTH_AFRICA), ("RV", SOUTH_AFRICA), ("ATR", BRAZIL), ("TRS", US), ("available sugar", US),
        ("rendement", f"{FRENCH}, {JAVA}"), ("rendimiento", SPANISH), ("JRCS", CARIBBEAN),
    )),
    Synonyms("stops", (
        ("lost time", EVERYWHERE), ("downtime", US), ("time efficiency", SOUTH_AFRICA), ("stoppage", INDIA),
    )),
    Synonyms("boiling point elevation", (
        ("BPE", EVERYWHERE), ("boiling point rise", US), ("BPR", US), ("elevación", SPANISH),
    )),
    Synonyms("exhaust steam", (
        ("back-pressure steam", EVERYWHERE), ("low-pressure steam", INDIA), ("bleed", EVERYWHERE),
        ("vapour", EVERYWHERE), ("vapor", US),
    )),
    Synonyms("calorific value", (
        ("heating value", US), ("GCV", EVERYWHERE), ("NCV", EVERYWHERE), ("LHV", US), ("HHV", US),
    )),
    Synonyms("rapid spindle", (
        ("hydrometer", EVERYWHERE), ("spindle", EVERYWHERE), ("saccharometer", BRITAIN), ("Baumé", EVERYWHERE),
    )),
    Synonyms("undetermined loss", (
        ("unknown loss", INDIA), ("unaccounted", US), ("undetermined", EVERYWHERE),
        ("pérdidas indeterminadas", SPANISH),
    )),
    Synonyms("preparation index", (
        ("PI", EVERYWHERE), ("POC", AUSTRALIA), ("open cells", BRAZIL), ("pol in open cells", AUSTRALIA),
    )),
)  # fmt: skip
"""The table: one row for each thing of the trade."""


def plain(text: str) -> str:
    """Small letters without accents, with underscores and hyphens as spaces."""
    parted = unicodedata.normalize("NFD", text.replace("_", " ").replace("-", " "))
    return "".join(c for c in parted if not unicodedata.combining(c)).casefold().strip()


def same_things(word: str) -> tuple[str, ...]:
    """Every name of what this word may mean, the word itself first; case and accents do not matter."""
    small = plain(word)
    found = [word]
    for group in SYNONYMS:
        if any(small == plain(each) for each in group.words):
            found += [each for each in group.words if each not in found and plain(each) != small]
    return tuple(found)


def countries_of(word: str) -> tuple[tuple[str, str], ...]:
    """For each meaning of a word: the name used here, and where the word is usual."""
    small = plain(word)
    return tuple((group.name, where) for group in SYNONYMS for other, where in group.others if plain(other) == small)
