"""What can be measured on a stream: the expression that an instrument or analysis would report.

Streams carry sucrose and true dry substance. Pol and refractometer brix are other expressions of them, linked by two
uncertain numbers of the plant: the rotation of reducing sugars and the refraction of non-sucrose.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from canewright.analysis.polarimetry import polarimeter_reading
from canewright.plant.saturation import saturated_sucrose_to_water
from canewright.plant.streams import PERCENT, Air, BoilerWater, Liquor, Massecuite, Power, PreparedCane, Steam, Stream
from canewright.properties.choices import Form
from canewright.quantity import Num


@dataclass(frozen=True)
class Links:
    """What links a plant's true expressions to measured ones: two uncertain numbers, and its forms of properties."""

    rotation_of_reducing_sugars: Num
    refraction_of_non_sucrose: Num
    forms: Mapping[str, Form]


@dataclass(frozen=True)
class Measurable:
    """Something measurable: unit, meaning, plausible range, the streams it applies to, and the expression.

    ``build`` takes the stream, the running hours of its section and the plant's links.
    """

    unit: str
    says: str
    low: float
    high: float
    of: tuple[type[Stream], ...]
    build: Callable[[Stream, Num, Links], Num]
    hint: str = ""


def pol_flow(stream: Liquor, links: Links) -> Num:
    """Pol carried by a stream, t/h: sucrose less the left rotation of reducing sugars, as if it were a substance.

    Source: rotations of sucrose +66.5, glucose +52.7, fructose -92 degrees (from memory), so equal parts of glucose
    and fructose count -0.30 of their mass.
    """
    return stream.sucrose + stream.crystal - links.rotation_of_reducing_sugars * stream.reducing_sugars


def brix_flow(stream: Liquor, links: Links) -> Num:
    """Refractometer solids carried by a stream, t/h: true solids plus a share of the non-sucrose.

    The share (about 0.05) reproduces DS = RDS (1 - 0.00066 (RDS - Q)) near final molasses (from memory, Rein 2007).
    """
    return stream.solids + links.refraction_of_non_sucrose * stream.non_sucrose


RESULT_QUANTITIES = {
    "itself": "the station's result as it stands",
    "over the day": "the station's result, a flow, over the running hours of the factory day",
}
"""What can be measured of a station's result, beside the quantities of streams."""


def _liquor(stream: Stream) -> Liquor:
    if not isinstance(stream, Liquor):
        raise TypeError(f"{stream.prefix} is not a sugar stream")
    return stream


def _brix(stream: Stream, hours: Num, links: Links) -> Num:
    one = _liquor(stream)
    return PERCENT * brix_flow(one, links) / one.solution


def _pol(stream: Stream, hours: Num, links: Links) -> Num:
    one = _liquor(stream)
    return PERCENT * pol_flow(one, links) / one.flow


def _polarimeter(stream: Stream, hours: Num, links: Links) -> Num:
    """What the polarimeter reads on the filtered, undiluted solution: one brix serves density and purity alike."""
    one = _liquor(stream)
    return polarimeter_reading(PERCENT * pol_flow(one, links) / one.solution, _brix(stream, hours, links))


def _apparent_purity(stream: Stream, hours: Num, links: Links) -> Num:
    one = _liquor(stream)
    return PERCENT * pol_flow(one, links) / brix_flow(one, links)


def _supersaturation(stream: Stream, hours: Num, links: Links) -> Num:
    """Sucrose per water in solution over that of the saturated liquor of the same non-sucrose per water."""
    one = _liquor(stream)
    return (
        one.sucrose / one.water / saturated_sucrose_to_water(links.forms, one.temperature, one.non_sucrose / one.water)
    )


def _viscosity(stream: Stream, hours: Num, links: Links) -> Num:
    """Of the solution alone: of the mother liquor, where there is crystal."""
    one = _liquor(stream)
    return links.forms["impure viscosity"](
        dry_substance=PERCENT * one.dissolved / (one.water + one.dissolved),
        purity=PERCENT * one.sucrose / one.dissolved,
        temperature=one.temperature,
    )


def _mother_liquor_purity(stream: Stream, hours: Num, links: Links) -> Num:
    """Apparent purity of what a pressure filter lets pass at the temperature of the massecuite."""
    one = _liquor(stream)
    return PERCENT * (pol_flow(one, links) - one.crystal) / (brix_flow(one, links) - one.crystal)


def _safety_factor(stream: Stream, hours: Num, links: Links) -> Num:
    """Moisture on all that is not pol (SASTA Laboratory Manual, 5th ed. 2009, definitions, from memory)."""
    return stream.water / (stream.flow - pol_flow(_liquor(stream), links))


def _dilution_indicator(stream: Stream, hours: Num, links: Links) -> Num:
    """Moisture on all dry matter that is not pol (the same source)."""
    return PERCENT * stream.water / (stream.flow - stream.water - pol_flow(_liquor(stream), links))


def _total_mass(stream: Stream, hours: Num, links: Links) -> Num:
    return stream.flow * hours


def _sugar_trace(stream: Stream, hours: Num, links: Links) -> Num:
    """Sucrose in water, as the test strip or the colour reaction for traces reads it."""
    return 1e6 * (stream.sucrose + stream.crystal) / stream.flow


SUGAR = (Liquor,)
CRYSTALS = (Massecuite,)
MEASURABLE: dict[str, Measurable] = {
    "mass": Measurable("t", "mass over the factory day", 0, 2e5, (Stream,), _total_mass),
    "mass flow": Measurable("t/h", "mean flow while running", 0, 5e4, (Stream,), lambda s, h, k: s.flow),
    "refractometer brix": Measurable("%", "refractometer brix at 20 °C", 0, 100, SUGAR, _brix),
    "polarimeter reading": Measurable(
        "°Z", "reading of the clarified, undiluted solution in a 200 mm tube", -40, 120, SUGAR, _polarimeter
    ),
    "pol": Measurable("%", "pol on the whole stream", 0, 100.2, SUGAR, _pol),
    "apparent purity": Measurable("%", "pol on refractometer brix", 10, 100.2, SUGAR, _apparent_purity),
    "true purity": Measurable(
        "%", "sucrose on dry substance", 10, 100.0, SUGAR, lambda s, h, k: _liquor(s).purity
    ),
    "dry substance": Measurable(
        "%", "true solids on the solution", 0, 100, SUGAR, lambda s, h, k: _liquor(s).dry_substance
    ),
    "moisture": Measurable(
        "%", "loss on drying, on the whole stream", 0, 95, SUGAR, lambda s, h, k: PERCENT * s.water / s.flow,
        "moisture is in per cent: 50, not 0.5",
    ),
    "fibre": Measurable(
        "%", "fibre on the whole stream", 2, 70, SUGAR, lambda s, h, k: PERCENT * s.fibre / s.flow,
        "fibre is in per cent of the stream: 14, not 0.14",
    ),
    "suspended solids": Measurable(
        "%", "suspended solids on the whole stream", 0, 60, SUGAR, lambda s, h, k: PERCENT * s.suspended / s.flow
    ),
    "crystal content": Measurable(
        "%", "crystal on massecuite or magma", 0, 80, CRYSTALS, lambda s, h, k: PERCENT * s.crystal / s.flow
    ),
    "mother liquor purity": Measurable(
        "%", "apparent purity of the mother liquor, by pressure filter", 10, 100, CRYSTALS, _mother_liquor_purity
    ),
    "safety factor": Measurable(
        "1", "moisture on what is not pol, of sugar", 0, 1, CRYSTALS, _safety_factor,
        "a safety factor is a ratio: 0.25, not 25",
    ),
    "dilution indicator": Measurable(
        "%", "moisture on dry non-pol, of sugar", 0, 400, CRYSTALS, _dilution_indicator
    ),
    "sugar trace": Measurable(
        "mg/kg", "sucrose on the whole stream, where it is a trace", 0, 2e4, SUGAR, _sugar_trace,
        "a trace is in milligrams per kilogram: 50, not 0.005 %",
    ),
    "reducing sugars": Measurable(
        "%", "reducing sugars on the solids", 0, 40, SUGAR,
        lambda s, h, k: PERCENT * s.reducing_sugars / _liquor(s).solids,
    ),
    "ash": Measurable(
        "%", "soluble ash on the solids", 0, 40, SUGAR, lambda s, h, k: PERCENT * s.ash / _liquor(s).solids
    ),
    "colour": Measurable(
        "IU", "ICUMSA colour on solids at 420 nm, pH 7", 0, 2e5, SUGAR, lambda s, h, k: _liquor(s).icumsa_colour
    ),
    "supersaturation": Measurable(
        "1", "supersaturation of the solution (mother liquor), by the plant's forms", 0, 5, SUGAR, _supersaturation
    ),
    "viscosity": Measurable(
        "Pa·s", "viscosity of the solution (mother liquor), by the plant's form", 0, 1e4, SUGAR, _viscosity
    ),
    "temperature": Measurable("°C", "temperature", 0, 600, (Stream,), lambda s, h, k: s.temperature),
    "pressure": Measurable(
        "kPa", "absolute pressure", 1, 2e4, (Steam, BoilerWater), lambda s, h, k: s.pressure,
        "absolute pressure is wanted: barometer less vacuum, about 13 to 20 kPa in a last vessel",
    ),
    "power": Measurable("kW", "mean power", 0, 1e6, (Power,), lambda s, h, k: s.power),
    "preparation index": Measurable(
        "%", "share of the cells opened, by leaching or conductivity", 40, 98, (PreparedCane,),
        lambda s, h, k: s.preparation_index,
    ),
    "humidity": Measurable(
        "g/kg", "humidity ratio of the air", 0, 400, (Air,), lambda s, h, k: 1000.0 * s.water / s.dry_air
    ),
}  # fmt: skip
