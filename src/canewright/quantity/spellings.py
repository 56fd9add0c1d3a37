"""Units as people type them: ``degF``, ``kg/m3``, ``kW/m2/K``, ``mPa.s``, ``per cent``, as symbols of the table.

Only spellings with one meaning are read. A ton, a gallon or a gauge pressure is refused with what to write instead.
"""

from __future__ import annotations

import difflib
import re
from functools import lru_cache

from canewright.quantity.units import UNITS, Unit, UnknownUnit, unit

SPELLINGS: dict[str, str] = {
    "degc": "°C", "deg c": "°C", "c": "°C", "celsius": "°C", "degrees c": "°C", "degrees celsius": "°C",
    "degf": "°F", "deg f": "°F", "f": "°F", "fahrenheit": "°F", "degrees f": "°F", "degrees fahrenheit": "°F",
    "degz": "°Z", "deg z": "°Z", "z": "°Z", "kelvin": "K", "degk": "K", "k": "K",
    "percent": "%", "per cent": "%", "pct": "%", "% m/m": "%", "% w/w": "%", "%m/m": "%", "%w/w": "%", "g/100 g": "%",
    "% v/v": "%", "%v/v": "%",
    "g/100g": "%", "bx": "%", "°bx": "%", "deg bx": "%", "degbx": "%", "brix": "%", "°brix": "%", "pol": "%",
    "ppm": "mg/kg", "fraction": "1", "ratio": "1", "none": "1",
    "tonne": "t", "tonnes": "t", "metric ton": "t", "metric tons": "t", "short tons": "short ton",
    "long tons": "long ton", "tph": "t/h", "tpd": "t/d", "kilogram": "kg", "kilograms": "kg", "gram": "g",
    "grams": "g", "lbs": "lb", "pound": "lb", "pounds": "lb",
    "metre": "m", "meter": "m", "metres": "m", "meters": "m", "micron": "µm", "microns": "µm", "um": "µm",
    "foot": "ft", "feet": "ft", "inch": "in", "inches": "in", "hectare": "ha", "hectares": "ha",
    "l": "L", "litre": "L", "liter": "L", "litres": "L", "liters": "L", "ml": "mL", "cc": "mL",
    "hr": "h", "hrs": "h", "hour": "h", "hours": "h", "sec": "s", "second": "s", "seconds": "s", "mins": "min",
    "minute": "min", "minutes": "min", "day": "d", "days": "d",
    "cp": "mPa·s", "centipoise": "mPa·s", "bara": "bar", "psia": "psi", "us/cm": "µS/cm", "us": "µS",
    "icumsa": "IU", "iu": "IU", "usd": "$", "dollar": "$", "dollars": "$", "us gallon": "US gal",
    "us gallons": "US gal", "imperial gallon": "imp gal", "imperial gallons": "imp gal",
}  # fmt: skip
"""A spelling, in small letters, and the symbol it stands for."""
HINTS: dict[str, str] = {
    **dict.fromkeys(
        ("ton", "tons"), "a ton is t (1000 kg), short ton (907.185 kg) or long ton (1016.05 kg): say which"
    ),
    **dict.fromkeys(("gal", "gallon", "gallons"), "a gallon is US gal (3.785 L) or imp gal (4.546 L): say which"),
    **dict.fromkeys(
        ("barg", "psig", "kpag", "bar(g)", "kpa(g)", "psi(g)"),
        "a gauge pressure has to be given absolute: add the pressure of the air",
    ),
    "inhg": "a vacuum has to be given as an absolute pressure: take it from the pressure of the air",
    **dict.fromkeys(("p", "poise"), "give a viscosity in mPa.s or Pa.s"),
    **dict.fromkeys(("°s", "degs", "deg s"), "sugar degrees of other scales are not converted: give °Z"),
}
"""Spellings with more than one meaning, or that hide a reference, and what to write instead."""
_SAME = str.maketrans({"μ": "µ", "º": "°", "˚": "°", "⋅": "·", "∙": "·", "•": "·", "*": "·", "×": "·", "−": "-"})
_EXPONENT = str.maketrans("⁻¹²³", "-123")
_RAISED = {1: "", 2: "²", 3: "³"}
_BY_SMALL: dict[str, list[str]] = {}
for _symbol in UNITS:
    _BY_SMALL.setdefault(_symbol.lower(), []).append(_symbol)


@lru_cache(maxsize=512)
def spelt(text: str) -> str:
    """The symbol of a unit that a person typed.

    Raises UnknownUnit, naming what is not known, what it may mean or what is nearest.
    """
    plain = re.sub(r"\s+", " ", text.translate(_SAME).replace("℃", "°C").replace("℉", "°F").replace("**", "^")).strip()
    whole = _whole(plain)
    if whole is not None:
        return whole
    flat = re.sub(r"/\s*\(([^()]*)\)", lambda m: "/" + re.sub(r"[·. ]+", "/", m[1].strip()), plain)
    flat = re.sub(r"(?<=[^\d\s])\.(?=[^\d\s])|(?<=[²³])\.", "·", re.sub(r"\bper\b", "/", flat))
    for name in ("short ton", "long ton", "US gal", "imp gal"):  # two words that are one unit
        flat = flat.replace(name, name.replace(" ", "_"))
    flat = re.sub(r" (?=[^\s/·])", "·", re.sub(r"\s*([/·])\s*", r"\1", flat))
    parts = [_part(mark, word, text) for mark, word in re.findall(r"(^|[·/])([^·/]+)", flat)]
    over, under = [w for w, p in parts if p > 0], [w for w, p in parts if p < 0]
    symbol = "·".join(over or ["1"]) + "".join(f"/{each}" for each in under)
    unit(symbol)
    return symbol


def _whole(plain: str) -> str | None:
    """The symbol of a text that stands in one of the tables as it is."""
    if plain == "" or plain in UNITS:
        return plain or "1"
    small = plain.lower()
    if small in HINTS:
        raise UnknownUnit(f"unit '{plain}': {HINTS[small]}")
    if small in SPELLINGS:
        return SPELLINGS[small]
    known = _BY_SMALL.get(small, [])
    if len(known) > 1:
        raise UnknownUnit(f"unit '{plain}': {' or '.join(known)}, as written")
    return known[0] if known and len(plain) > 1 else None


def _part(mark: str, word: str, text: str) -> tuple[str, int]:
    """One factor of a unit as ``(symbol with power, side)``, side 1 above the line and -1 below."""
    found = re.fullmatch(r"(.*?)\^?(-?[123])?", word.replace("_", " ").translate(_EXPONENT).strip())
    name, power = (found[1], int(found[2] or 1)) if found else (word, 1)
    if name.isdigit() or (name == "" and found):
        name, power = word, 1
    known = _whole(name)
    if known is None or (abs(power) > 1 and re.search(r"[·/]", known)):
        near = difflib.get_close_matches(name, [*UNITS, *SPELLINGS], n=3, cutoff=0.5)
        nearest = f"; nearest: {', '.join(near)}" if near else ""
        raise UnknownUnit(f"unit '{text.strip()}': '{name}' is not known{nearest}")
    side = (-1 if mark == "/" else 1) * (1 if power > 0 else -1)
    return known + _RAISED[abs(power)], side


def same_kind(symbol: str) -> tuple[str, ...]:
    """The unit itself and the table's units that convert to it, for telling a person what is accepted."""
    wanted: Unit = unit(symbol)
    others = [each for each in UNITS if unit(each).exponents == wanted.exponents and each != symbol]
    return (symbol, *others)
