"""Settling of mud in juice and what it leaves hazy: forms to be fitted to the plant's own settling tests.

Hot juice scalds, and clarifiers are confined spaces: local rules govern.
"""

from __future__ import annotations

from canewright.properties.ranges import AMOUNT, DOSE, JUICE_VISCOSITY, SATURATING_DOSE, TRACE
from canewright.quantity import Num, argument, formula
from canewright.quantity.maths import exp


@formula(
    result=argument("m/h", "velocity at which mud settles", *AMOUNT, symbol="v"),
    unaided=argument("m/h", "velocity without flocculant at the reference viscosity", 0.05, 10.0, symbol="v₀"),
    flocculant=argument("mg/kg", "flocculant on juice", 0.0, 50.0, symbol="d"),
    gain=argument("1", "greatest gain by flocculant", 0.0, 20.0, symbol="g"),
    scale=argument("mg/kg", "flocculant for 63 % of that gain", 0.1, 20.0, symbol="d₀"),
    viscosity=argument("Pa·s", "viscosity of the juice", *JUICE_VISCOSITY, symbol="η"),
    reference=argument("Pa·s", "viscosity at which the unaided velocity was found", *JUICE_VISCOSITY, symbol="η₀"),
    equation="v = v₀ [1 + g (1 − exp(−d/d₀))] η₀ / η",
    source="Stokes's law for the viscosity; the gain is a form chosen here; v₀, g, d₀ from settling tests",
    status="own fit",
    example=(2.0, 3.0, 4.0, 2.0, 0.00045, 0.00045),
    gives=8.21495872,
    caveat="Size and density of the flocs follow pH, phosphate and heating too: test again when they change.",
)
def mud_settling_velocity(unaided: Num, flocculant: Num, gain: Num, scale: Num, viscosity: Num, reference: Num) -> Num:
    """Velocity at which limed, hot juice lets its mud settle."""
    return unaided * (1.0 + gain * (1.0 - exp(-flocculant / scale))) * reference / viscosity


@formula(
    result=argument("1", "turbidity in the scale of the plant's instrument", *AMOUNT, symbol="T"),
    solids=argument("mg/kg", "suspended solids in the clear juice", *TRACE, symbol="s"),
    of_solids=argument("kg/mg", "turbidity of a milligram of them on a kilogram", 0.0, 10.0, symbol="k"),
    haze=argument("1", "turbidity of juice without phosphate", 0.0, 1e4, symbol="T₀"),
    phosphate=argument("mg/kg", "phosphate in the limed juice, as P₂O₅", *DOSE, symbol="p"),
    scale=argument("mg/kg", "phosphate that leaves 37 % of the haze", *SATURATING_DOSE, symbol="p₀"),
    equation="T = k s + T₀ exp(−p/p₀)",
    source="form chosen here; juice with less than 300 mg/kg of P₂O₅ clarifies poorly (common practice, no source)",
    status="own fit",
    example=(300.0, 0.1, 200.0, 300.0, 100.0),
    gives=39.9574137,
)
def clear_juice_turbidity(solids: Num, of_solids: Num, haze: Num, phosphate: Num, scale: Num) -> Num:
    """Turbidity of clear juice from what is carried over and what phosphate has not taken."""
    return of_solids * solids + haze * exp(-phosphate / scale)
