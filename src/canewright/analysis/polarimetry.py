"""Polarimeter work: from a reading in °Z to pol, and back to the reading an instrument would show.

Two conventions live side by side. The air convention of the classic tables divides by apparent relative density; the
vacuo convention is a true mass fraction. The air convention gives 0.04 % relative more in water, 0.03 % in juice and
0.01 % at 80 brix. Say which one a series uses.

Lead salts used for clarification are poisonous and their waste is regulated: follow the site's chemical safety rules.
"""

from __future__ import annotations

from canewright.analysis.declaring import REFRACTOMETER, brix, degrees_celsius, percent, plain, sugar_degrees
from canewright.properties.ranges import (
    AMOUNT,
    FLASK,
    MINOR_CONTENT,
    MOISTURE_OF_BAGASSE,
    PART,
    POL_OF_SOLUTION,
    POLARIMETER_SCALE,
    ROOM_TEMPERATURE,
    SAMPLE,
    SHARE,
    TUBE,
    WATER_RATIO,
)
from canewright.properties.sucrose import apparent_specific_gravity, sucrose_density
from canewright.quantity.formula import argument, formula
from canewright.quantity.maths import Num

NORMAL_MASS_IN_AIR = 26.000
NORMAL_MASS_IN_VACUO = 26.0160
WATER_IN_FLASK = 99.718
"""Apparent mass in air of 100 mL of water at 20 °C, g."""

SUGAR_SCALE = "ICUMSA, General definitions: normal sugar solution (26.0160 g in vacuo, 26.000 g in air, 100 mL, 200 mm)"
BY_DEFINITION = f"follows from {SUGAR_SCALE}; Schmitz-type calculation"


@formula(
    result=percent("pol of the solution, air convention", *SHARE, "P", "pol"),
    equation="P = 26.000 R / (99.718 SG(B))",
    source=BY_DEFINITION,
    status="derived",
    caveat="no volume change on clarification, 200 mm tube; density taken from brix before any dilution",
    example=(50.0, 15.0),
    gives=12.2855925,
    reading=sugar_degrees("polarimeter reading, 200 mm tube", *POLARIMETER_SCALE),
    brix=brix("brix of the undiluted solution"),
)
def pol_from_polarimeter(reading: Num, brix: Num) -> Num:
    """Pol of a juice from its polarimeter reading and brix, in the air convention of the classic tables."""
    return NORMAL_MASS_IN_AIR * reading / (WATER_IN_FLASK * apparent_specific_gravity(brix))


@formula(
    result=percent("pol of the solution, mass fraction in vacuo", *SHARE, "P", "pol, vacuo"),
    equation="P = 26.0160 R / (ρ(B, 20 °C) / 10)",
    source=BY_DEFINITION,
    status="derived",
    caveat="0.03 % relative below the air convention for juice; never mix the two in one series",
    example=(50.0, 15.0),
    gives=12.281409,
    reading=sugar_degrees("polarimeter reading, 200 mm tube", *POLARIMETER_SCALE),
    brix=brix("brix of the undiluted solution"),
)
def pol_from_polarimeter_vacuo(reading: Num, brix: Num) -> Num:
    """Pol of a juice from its polarimeter reading and brix, as a true mass fraction."""
    return NORMAL_MASS_IN_VACUO * reading / (sucrose_density(brix, 20.0) / 10.0)


@formula(
    result=sugar_degrees("polarimeter reading expected, 200 mm tube", *POLARIMETER_SCALE),
    equation="R = P · 99.718 SG(B) / 26.000",
    source=BY_DEFINITION,
    status="derived",
    caveat="inverse of the air convention",
    example=(12.2855925, 15.0),
    gives=50.0,
    pol=percent("pol of the solution, air convention", *POL_OF_SOLUTION, "P", "pol"),
    brix=brix("brix of the undiluted solution"),
)
def polarimeter_reading(pol: Num, brix: Num) -> Num:
    """What a polarimeter would read on a solution of this pol and brix."""
    return pol * WATER_IN_FLASK * apparent_specific_gravity(brix) / NORMAL_MASS_IN_AIR


@formula(
    result=sugar_degrees("polarimeter reading expected, 200 mm tube", *POLARIMETER_SCALE),
    equation="R = P · (ρ(B, 20 °C) / 10) / 26.0160",
    source=BY_DEFINITION,
    status="derived",
    caveat="inverse of the vacuo convention",
    example=(12.281409, 15.0),
    gives=50.0,
    pol=percent("pol of the solution, mass fraction in vacuo", *POL_OF_SOLUTION, "P", "pol, vacuo"),
    brix=brix("brix of the undiluted solution"),
)
def polarimeter_reading_vacuo(pol: Num, brix: Num) -> Num:
    """What a polarimeter would read on a solution whose pol is a true mass fraction."""
    return pol * sucrose_density(brix, 20.0) / 10.0 / NORMAL_MASS_IN_VACUO


@formula(
    result=sugar_degrees("reading of the undiluted juice in a 200 mm tube", *POLARIMETER_SCALE),
    equation="R = R' · (V₂ / V₁) · (200 / L)",
    source="sugar scale is linear in concentration and in tube length (OIML R 14, annex A)",
    status="derived",
    caveat="volume of the clarifier's precipitate neglected",
    example=(50.0, 100.0, 110.0, 200.0),
    gives=55.0,
    reading=sugar_degrees("reading as seen", *POLARIMETER_SCALE),
    volume_taken=argument("mL", "volume of juice taken", *FLASK, symbol="V₁"),
    volume_made=argument("mL", "volume made up to", *FLASK, symbol="V₂"),
    tube=argument("mm", "tube length", *TUBE, symbol="L"),
)
def undiluted_reading(reading: Num, volume_taken: Num, volume_made: Num, tube: Num) -> Num:
    """Reading brought back to undiluted juice and a 200 mm tube."""
    return reading * volume_made / volume_taken * 200.0 / tube


@formula(
    result=sugar_degrees("quartz plate value at temperature", *POLARIMETER_SCALE, "Z"),
    equation="Z = Z₀ · [1 + c (t - t₀)]",
    source="OIML R 14 (1.44e-4 per K from 20 °C); older c 1.46e-4 from 0 °C: Wiley, Agricultural Analysis vol. 3, §79",
    status="from memory",
    caveat="quartz only, not sugar solutions",
    example=(33.0, 20.0, 1.46e-4, 0.0),
    gives=33.09636,
    value=sugar_degrees("value of the plate at the reference temperature", -50.0, 110.0, "Z₀"),
    temperature=degrees_celsius("temperature of the plate", *ROOM_TEMPERATURE),
    coefficient=argument("1/K", "rise of rotation per kelvin", 1.3e-4, 1.6e-4, symbol="c"),
    reference=degrees_celsius("temperature at which the plate was certified", 0.0, 25.0, "t₀"),
)
def quartz_value(value: Num, temperature: Num, coefficient: Num, reference: Num) -> Num:
    """Value of a quartz control plate at the temperature of use, for checking a polarimeter."""
    return value * (1.0 + coefficient * (temperature - reference))


@formula(
    result=plain("rotation of the 100 °Z point, degrees of arc", *AMOUNT, "α"),
    equation="α = 40.777 (A₀ + A₁/λ² + A₂/λ⁴ + A₃/λ⁸)",
    source="OIML R 14, annex A (mantissas read; powers of ten and last exponent inferred from closure at 546.2271 nm)",
    status="read",
    caveat="exponents inferred, not read; closes to 1e-3 degree at 589.44 nm and 587.0 nm",
    example=(589.440,),
    gives=34.62577,
    # light of saccharimeters by the scope of OIML R 14
    wavelength=argument("nm", "vacuum wavelength", 540.0, 633.0, symbol="λ"),
)
def rotation_of_normal_solution(wavelength: Num) -> Num:
    """Rotation in degrees of arc of the normal sugar solution in a 200 mm tube."""
    inverse_square = 1.0 / (wavelength * wavelength)
    fourth = inverse_square * inverse_square
    return 40.777 * (-1.7982e-3 + 2.765318e5 * inverse_square + 6.55736e9 * fourth + 1.03825e19 * fourth * fourth)


@formula(
    result=sugar_degrees("reading on the international sugar scale", *POLARIMETER_SCALE),
    equation="R = 100 α / α₁₀₀ · (200 / L)",
    source="OIML R 14, annex A: the scale is linear; check case Wiley, Agricultural Analysis vol. 3, §80",
    status="read",
    example=(33.0, 34.67, 200.0),
    gives=95.183155,
    angle=plain("angle observed, degrees of arc", -40.0, 45.0, "α"),
    # by light of 633 to 540 nm
    hundred_point=plain("angle of the 100 °Z point at the same wavelength, degrees of arc", 29.7, 41.9, "α₁₀₀"),
    tube=argument("mm", "tube length", *TUBE, symbol="L"),
)
def reading_from_angle(angle: Num, hundred_point: Num, tube: Num) -> Num:
    """Sugar-scale reading of an instrument that shows degrees of arc."""
    return 100.0 * angle / hundred_point * 200.0 / tube


@formula(
    result=sugar_degrees("reading at 20 °C", *POLARIMETER_SCALE, "R₂₀"),
    equation="R₂₀ = R [1 + c (t - 20)]",
    source="NBS Circular C440 (quartz-wedge saccharimeter, solution made and read at t)",
    status="from memory",
    caveat="pure sucrose only; reducing sugars change the other way, so never on molasses; better to hold 20 °C",
    example=(98.20, 26.5, 3.1e-4),
    gives=98.397873,
    reading=sugar_degrees("reading at t", *POLARIMETER_SCALE),
    temperature=degrees_celsius("temperature of the solution", *ROOM_TEMPERATURE),
    coefficient=argument("1/K", "fall of rotation per kelvin", 0.0, 6e-4, symbol="c"),
)
def reading_at_20(reading: Num, temperature: Num, coefficient: Num) -> Num:
    """Polarimeter reading of a sugar solution brought to 20 °C."""
    return reading * (1.0 + coefficient * (temperature - 20.0))


@formula(
    result=percent("pol of the material as weighed", *SHARE, "P", "pol"),
    equation="P = 26 R V / (100 m)",
    source=BY_DEFINITION,
    status="derived",
    caveat="volume of insoluble matter in the flask neglected",
    example=(3.20, 200.0, 50.0),
    gives=3.328,
    reading=sugar_degrees("polarimeter reading, 200 mm tube", *POLARIMETER_SCALE),
    volume=argument("mL", "volume of the flask", *FLASK, symbol="V"),
    mass=argument("g", "mass of material taken", *SAMPLE, symbol="m"),
)
def pol_of_slurry(reading: Num, volume: Num, mass: Num) -> Num:
    """Pol of filter cake, mud or raw sugar from a weighed amount made up to volume."""
    return NORMAL_MASS_IN_AIR * reading * volume / (100.0 * mass)


@formula(
    result=percent("pol of bagasse", *SHARE, "P", "pol"),
    equation="P = p [(1 + k) - 0.0125 F], F = [100 - M - (1 + k) b] / (1 - 0.0125 b)",
    source="balance over the digester with 25 % brix-free water on fibre (South African practice, SASTA manual)",
    status="derived",
    caveat="the 25 % is a convention; at 10 % the pol is about 1 % relative higher",
    example=(0.172, 0.240, 50.0, 10.0),
    gives=1.7898696,
    extract_pol=percent("pol of the digester extract", 0.0, 1.0, "p", "pol"),
    extract_brix=percent("brix of the digester extract", 0.0, 1.5, "b", REFRACTOMETER),
    moisture=percent("moisture of bagasse", *MOISTURE_OF_BAGASSE, "M"),
    water_ratio=plain("water added per mass of bagasse", *WATER_RATIO, "k"),
)
def pol_of_bagasse(extract_pol: Num, extract_brix: Num, moisture: Num, water_ratio: Num) -> Num:
    """Pol of bagasse from the pol and brix of its cold-digester extract."""
    fibre = (100.0 - moisture - (1.0 + water_ratio) * extract_brix) / (1.0 - 0.0125 * extract_brix)
    return extract_pol * (1.0 + water_ratio - 0.0125 * fibre)


@formula(
    result=percent("pol expected, a mass fraction", *SHARE, "P"),
    equation="P = S - κ · RS",
    source="specific rotations of sucrose +66.5°, glucose +52.7°, fructose -92.4° at 20 °C: (66.5 κ = 19.9 for invert)",
    status="from memory",
    caveat="κ is 0.30 for equal glucose and fructose and differs by stream; other optically active matter is left out",
    example=(13.0, 0.60, 0.30),
    gives=12.82,
    sucrose=percent("sucrose", *SHARE, "S"),
    reducing_sugars=percent("reducing sugars", *MINOR_CONTENT, "RS"),
    rotation_ratio=plain("left rotation of the reducing sugars relative to sucrose", *PART, "κ"),
)
def pol_of_solution(sucrose: Num, reducing_sugars: Num, rotation_ratio: Num) -> Num:
    """Pol that a solution of this sucrose and reducing sugars would show."""
    return sucrose - rotation_ratio * reducing_sugars
