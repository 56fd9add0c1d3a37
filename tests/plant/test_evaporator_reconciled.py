"""What meters of an evaporator tell: coefficients of scaled bodies and sugar in condensate."""

from __future__ import annotations

from functools import cache

import pytest

from canewright.plant.plant import Plant, Reconciled
from plant.juice_side import effects_in_series, station

TRUE = {"effect 1": 2.3, "effect 2": 1.9, "effect 3": 0.65}
DESCRIBED = 2.0
METERS = [
    ("exhaust flow", "exhaust.steam.1", "mass flow", '"2 %"'),
    ("vapour 1 pressure", "effect 1.vapour", "pressure", "0.5"),
    ("vapour 2 pressure", "effect 2.vapour", "pressure", "0.5"),
    ("brix 1", "effect 1.concentrated", "refractometer brix", "0.2"),
    ("brix 2", "effect 2.concentrated", "refractometer brix", "0.2"),
    ("syrup brix", "effect 3.concentrated", "refractometer brix", "0.2"),
    ("sugar in condenser water", "separator.sugar_in_condensate", "itself", "2"),
]
"""Tag, stream, quantity and standard uncertainty: usual instruments (common practice, no source)."""


@cache
def row() -> Plant:
    """Three effects with a separator on the last, coefficients loosely known beforehand."""
    loose = "heat_transfer_coefficient = { value = 2.0, uncertainty = 1.0 }\n"
    stations = [
        station("juice", "liquor supply", rate=300, dry_substance=15, temperature=100),
        station("exhaust", "steam supply", pressure=200, superheat=0),
        station("river", "water supply", temperature=30),
        station("condenser", "condenser", pressure=15),
        *(station(name, "evaporator effect", area=1400) + loose for name in TRUE),
        station("separator", "entrainment separator") + "carried_at_greatest = { value = 200, uncertainty = 150 }\n",
    ]
    links = effects_in_series(list(TRUE), "juice.liquor", "exhaust.steam", "condenser")
    links |= {
        "condenser.water": "river.water", "separator.liquor": "effect 3.concentrated",
        "separator.vapour": "effect 3.vapour", "condenser.vapours": "separator.cleaned",
        "outside.product": "separator.kept", "outside.carried": "separator.carried",
    }  # fmt: skip
    lines = [f'"{end}" = {start!r}'.replace("'", '"') for end, start in links.items()]
    meters = "".join(
        f'[[meters]]\ntag = "{tag}"\nstream = "{stream}"\nquantity = "{quantity}"\nuncertainty = {u}\n'
        for tag, stream, quantity, u in METERS
    )
    head = '[plant]\nname = "row"\n[sections.mill]\nhours = 24\n'
    return Plant.from_text(head + "\n".join(stations) + "[connections]\n" + "\n".join(lines) + "\n" + meters)


@cache
def found() -> Reconciled:
    """The day of bodies that are scaled, read by perfect meters."""
    scaled = {f"{name}.heat_transfer_coefficient": u for name, u in TRUE.items()}
    state = row().predict(scaled | {"separator.carried_at_greatest": 600.0})
    readings = {m.tag: state.measured(m.stream, m.quantity) for m in row().description.meters}
    return row().reconcile(readings)


@pytest.mark.parametrize(("name", "true"), list(TRUE.items()))
def test_coefficients_are_found_from_pressures_and_brix(name: str, true: float) -> None:
    """The coefficients of the day within a twentieth, though they were described as 2.0 for every body."""
    assert found().state.values[f"{name}.heat_transfer_coefficient"] == pytest.approx(true, rel=0.05)


def test_the_uncertainty_of_a_coefficient_shrinks() -> None:
    """One kilowatt beforehand; after it 0.10, 0.04 and 0.014, least where the difference to the steam is widest."""
    names = [f"{name}.heat_transfer_coefficient" for name in TRUE]
    after = [u for _, u in found().with_uncertainty(lambda v: [v[n] for n in names])]
    assert after == pytest.approx([0.10, 0.038, 0.014], rel=0.05)


def test_sugar_in_condensate_fits_the_separator() -> None:
    """What the laboratory finds in the water tells how much the vapour carries: 600 mg/kg, not the 200 described."""
    assert found().state.values["separator.carried_at_greatest"] == pytest.approx(600.0, rel=0.15)
    assert max(c.relative for c in found().state.closures) <= 1e-9
