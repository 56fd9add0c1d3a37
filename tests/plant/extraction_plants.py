"""Plants that take juice from cane, for tests: trains of any number of mills of either kind, and a diffuser."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cache
from typing import Any

from canewright.engine import predict
from canewright.plant.plant import Plant, State
from canewright.plant.streams import Juice
from canewright.quantity import noting_breaches
from plant.steam_plant import plant_of

Described = dict[str, dict[str, Any]]
Joined = dict[str, Any]

SUPPLIES: Described = {
    "cane": {"kind": "cane supply", "rate": 400},
    "water": {"kind": "water supply", "temperature": 75},
    "grid": {"kind": "grid"},
    "board": {"kind": "power board"},
    "imbibition": {"kind": "imbibition", "on_fibre": 220},
}
POWERED: Joined = {
    "board.imported": "grid.power",
    "outside.export": "board.exported",
    "imbibition.cane": "cane.cane",
    "imbibition.source": "water.water",
}
IDEAL_CANE = {"fibre": 10, "sucrose": 4, "reducing_sugars": 0, "ash": 0, "other": 0, "suspended": 0}
"""Cane of fibre, sucrose and water alone."""
IDEAL = {"imbibition_coefficient": 1, "non_sucrose_ratio": 1, "fibre_to_juice": 0, "solids_to_juice": 0}
"""A mill that mixes perfectly and lets no fibre through."""


def train_plant(
    mills: Sequence[Mapping[str, Any]],
    cane: Mapping[str, Any] | None = None,
    *,
    on_fibre: float = 220,
    prepared: bool = True,
    feeder: bool = False,
    screen: bool = True,
    water_to: int | None = None,
) -> Plant:
    """Mills in a row with compound imbibition; ``water_to`` is the mill that gets the water (the last).

    Juice of mill i goes to mill i - 1 down to the second; that of the first two is mixed and, with a screen, screened.
    """
    stations = {**SUPPLIES, "cane": {**SUPPLIES["cane"], **(cane or {})}}
    stations["imbibition"] = {"kind": "imbibition", "on_fibre": on_fibre}
    joined, before, drawn = dict(POWERED), "imbibition.passed", []
    if prepared:
        stations["preparation"] = {"kind": "cane preparation"}
        joined |= {"preparation.cane": before, "preparation.power": "board.branches"}
        before = "preparation.prepared"
    if feeder:
        stations["feeder"] = {"kind": "pressure feeder"}
        joined |= {"feeder.feed": before, "feeder.power": "board.branches"}
        before, drawn = "feeder.bagasse", ["feeder.juice"]
    last = len(mills)
    for i, given in enumerate(mills, start=1):
        name = f"mill {i}"
        stations[name] = {"kind": "mill", **given}
        joined |= {f"{name}.feed": before, f"{name}.power": "board.branches"}
        if i > 1 or water_to == 1:
            joined[f"{name}.imbibition"] = "imbibition.water" if i == (water_to or last) else f"mill {i + 1}.juice"
        before = f"{name}.bagasse"
    drawn += ["mill 1.juice", "mill 2.juice"][: min(last, 2)]
    if screen:
        stations["screen"] = {"kind": "juice screen"}
        joined |= {"screen.raw": drawn, "mill 2.returned": "screen.caught", "outside.mixed juice": "screen.screened"}
    else:
        joined |= {f"outside.juice {k}": each for k, each in enumerate(drawn)}
    return plant_of(stations, {**joined, "outside.bagasse": before})


def _usual(mills: int, kind: str) -> list[dict[str, Any]]:
    settings: list[dict[str, Any]] = []
    for i in range(1, mills + 1):
        pressed = {"work_opening": 48.0 if i == 1 else 44.0 - i} if kind == "volumetric mill" else {}
        settings.append({"kind": kind, "imbibition_coefficient": 1.02 if i == 1 else 0.8, **pressed})
    return settings


@cache
def usual_train(mills: int, kind: str = "mill", *, feeder: bool = False) -> Plant:
    """A train of so many mills of one kind at usual settings, with prepared cane and a screen."""
    return train_plant(_usual(mills, kind), feeder=feeder)


@cache
def diffuser_plant(stages: str = "12", dewatering: tuple[str, ...] = ("mill", "mill")) -> Plant:
    """Yard, preparation, diffuser and mills of these kinds that press its bagasse; their juice returns to the bed."""
    stations: Described = {
        **SUPPLIES,
        "imbibition": {"kind": "imbibition", "on_fibre": 350},
        "yard": {"kind": "cane yard"},
        "preparation": {"kind": "cane preparation"},
        "vapour": {"kind": "steam supply"},
        "diffuser": {"kind": "diffuser", "stages": stages},
    }
    joined: Joined = {
        **POWERED, "yard.receipts": "cane.cane", "imbibition.cane": "yard.crushed",
        "preparation.cane": "imbibition.passed", "preparation.power": "board.branches",
        "diffuser.cane": "preparation.prepared", "diffuser.imbibition": "imbibition.water",
        "diffuser.steam": "vapour.steam", "diffuser.power": "board.branches",
        "outside.condensate": "diffuser.condensate", "outside.draft juice": "diffuser.juice",
    }  # fmt: skip
    before = "diffuser.bagasse"
    for i, kind in enumerate(dewatering, start=1):
        pressed = {"moisture": 62.0 - 12.0 * (i - 1)} if kind == "mill" else {"work_opening": 52.0 - 12.0 * (i - 1)}
        stations[f"dewatering {i}"] = {"kind": kind, "imbibition_coefficient": 1, "non_sucrose_ratio": 1, **pressed}
        joined |= {f"dewatering {i}.feed": before, f"dewatering {i}.power": "board.branches"}
        before = f"dewatering {i}.bagasse"
    press_water = [f"dewatering {i}.juice" for i in range(1, len(dewatering) + 1)]
    return plant_of(stations, {**joined, "diffuser.press_water": press_water, "outside.bagasse": before})


def solved(plant: Plant, changes: Mapping[str, float] | None = None) -> State:
    """The plant solved cold with changed settings; every balance of every station closes to 1e-9."""
    state = plant.predict(changes)
    assert max(c.relative for c in state.closures) <= 1e-9
    return state


def standing(plant: Plant) -> State:
    """The plant without cane: it solves, no juice or bagasse moves, and every balance is held.

    Solved below the check of formula ranges, which would refuse rounding of -1e-30 t/h.
    """
    solution = predict(plant.model, plant.first_estimate(plant.settings({"cane.rate": 0.0})))
    state = State(plant.assembly, solution.values, solution.scaled, solution.method)
    for name, kind in plant.assembly.streams.items():
        assert not issubclass(kind, Juice) or abs(float(state.stream(name).flow)) < 1e-9, name
    with noting_breaches():
        assert max(abs(c.gap) for c in state.closures) < 1e-9
    return state


def extracted(state: State, cane: str, bagasse: str) -> float:
    """Sucrose extraction, %."""
    return 100.0 * (1.0 - state.values[f"{bagasse}.sucrose"] / state.values[f"{cane}.sucrose"])
