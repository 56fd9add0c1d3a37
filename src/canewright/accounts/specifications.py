"""The figures of the day sheet: what each is called, which totals it is made of, and by which formula."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from canewright.accounts.totals import Totals
from canewright.analysis.boiling_house import boiling_house_recovery
from canewright.analysis.milling import extraction, imbibition_on_fibre, reduced_extraction_deerr
from canewright.analysis.purity import apparent_purity
from canewright.analysis.steam_figures import steam_on_cane
from canewright.quantity import Formula, Num


@dataclass(frozen=True)
class Specification:
    """One figure: its totals (which add over days) and the formula of them.

    ``formula`` names the calculation in words; ``combine`` takes the totals in order. Above ``most`` the figure is
    impossible, whatever its uncertainty says.
    """

    name: str
    group: str
    unit: str
    decimals: int
    roles: tuple[str, ...]
    totals: Callable[[Totals], Sequence[Num]]
    combine: Callable[..., Num]
    formula: str
    loss_of: str = ""
    most: float = math.inf


def _percent(of: str) -> str:
    return f"100 × {of}"


def _ratio(part: Num, whole: Num) -> Num:
    return 100.0 * part / whole


def _said(formula: Formula) -> str:
    return f"{formula.name.replace('_', ' ')}: {formula.equation}"


def _amount(name: str, group: str, role: str, decimals: int = 1) -> Specification:
    return Specification(name, group, "t", decimals, (role,), lambda t: [t.mass(role)], lambda x: x, f"mass of {role}")


def _rate(name: str, group: str, role: str) -> Specification:
    return Specification(
        name, group, "t/h", 1, (role,), lambda t: [t.mass(role), t.hours(role)], lambda mass, hours: mass / hours,
        f"mass of {role} / running hours",
    )  # fmt: skip


def _colour(role: str) -> Specification:
    return Specification(
        f"colour of {role}", "colour", "IU", 0, (role,), lambda t: [t.colour(role), t.solids(role)],
        lambda c, s: c / s, "colour on solids",
    )  # fmt: skip


def _loss(name: str, role: str, on: str) -> Specification:
    return Specification(
        name, LOSSES, "%", 2, (role, on), lambda t: [t.pol(role), t.pol(on)], _ratio,
        _percent(f"pol in {role} / pol in {on}"), role,
    )  # fmt: skip


_WAYS_OUT = ("raw sugar", "bagasse burnt", "filter cake", "final molasses", "mill loss", "boiling house loss")


def _changed(cane: Num, *out: Num) -> Num:
    return 100.0 * (cane - sum(out)) / cane


def _pol_of(name: str, group: str, role: str, decimals: int = 2) -> Specification:
    return Specification(
        name, group, "%", decimals, (role,), lambda t: [t.pol(role), t.mass(role)], _ratio,
        _percent(f"pol in {role} / mass"), most=100.3,
    )  # fmt: skip


def _purity_of(role: str, group: str) -> Specification:
    return Specification(
        f"apparent purity of {role}", group, "%", 2, (role,), lambda t: [100.0 * t.pol(role), t.brix(role)],
        lambda p, b: p / b, _said(apparent_purity), most=100.3,
    )  # fmt: skip


def _per_cane(name: str, group: str, role: str) -> Specification:
    return Specification(
        name, group, "%", 2, (role, "cane"), lambda t: [t.mass(role), t.mass("cane")], _ratio,
        _percent(f"mass of {role} / mass of cane"),
    )  # fmt: skip


def _reduced(pol_juice: Num, pol_cane: Num, fibre: Num, cane: Num) -> Num:
    return reduced_extraction_deerr(extraction(pol_juice, pol_cane), 100.0 * fibre / cane)


MILL = "mill"
HOUSE = "boiling house"
STEAM = "steam and power"
REFINERY = "refinery"
LOSSES = "losses"

SPECIFICATIONS: tuple[Specification, ...] = (
    _amount("cane crushed", MILL, "cane"),
    _rate("crushing rate while running", MILL, "cane"),
    Specification(
        "pol in cane", MILL, "%", 2, ("cane",), lambda t: [t.pol("cane"), t.mass("cane")], _ratio,
        _percent("pol in cane / mass of cane"),
    ),
    Specification(
        "fibre in cane", MILL, "%", 2, ("cane",), lambda t: [t.part("cane", "fibre"), t.mass("cane")], _ratio,
        _percent("fibre / mass of cane"),
    ),
    Specification(
        "imbibition on fibre", MILL, "%", 1, ("imbibition", "cane"),
        lambda t: [t.mass("imbibition"), t.part("cane", "fibre")], imbibition_on_fibre, _said(imbibition_on_fibre),
    ),
    Specification(
        "pol extraction", MILL, "%", 2, ("mixed juice", "cane"), lambda t: [t.pol("mixed juice"), t.pol("cane")],
        extraction, _said(extraction), most=100.0,
    ),
    Specification(
        "reduced extraction", MILL, "%", 2, ("mixed juice", "cane"),
        lambda t: [t.pol("mixed juice"), t.pol("cane"), t.part("cane", "fibre"), t.mass("cane")], _reduced,
        _said(reduced_extraction_deerr), most=100.0,
    ),
    _amount("mixed juice", MILL, "mixed juice"),
    _purity_of("mixed juice", MILL),
    _purity_of("first juice", MILL),
    _purity_of("last juice", MILL),
    _pol_of("pol in bagasse", MILL, "bagasse"),
    Specification(
        "moisture of bagasse", MILL, "%", 2, ("bagasse",), lambda t: [t.part("bagasse", "water"), t.mass("bagasse")],
        _ratio, _percent("water / mass of bagasse"),
    ),
    _per_cane("bagasse on cane", MILL, "bagasse"),
    Specification(
        "boiling house recovery", HOUSE, "%", 2, ("raw sugar", "mixed juice"),
        lambda t: [t.pol("raw sugar"), t.pol("mixed juice")], boiling_house_recovery, _said(boiling_house_recovery),
        most=100.0,
    ),
    Specification(
        "overall recovery", HOUSE, "%", 2, ("raw sugar", "cane"), lambda t: [t.pol("raw sugar"), t.pol("cane")], _ratio,
        _percent("pol in raw sugar / pol in cane"), most=100.0,
    ),
    _amount("raw sugar made", HOUSE, "raw sugar"),
    _pol_of("pol of raw sugar", HOUSE, "raw sugar"),
    _purity_of("clear juice", HOUSE),
    Specification(
        "brix of syrup", HOUSE, "%", 2, ("syrup",), lambda t: [t.brix("syrup"), t.mass("syrup")], _ratio,
        _percent("refractometer solids / mass"),
    ),
    _amount("final molasses", HOUSE, "final molasses"),
    _per_cane("final molasses on cane", HOUSE, "final molasses"),
    _purity_of("final molasses", HOUSE),
    Specification(
        "exhaust steam on cane", STEAM, "%", 2, ("exhaust to evaporator", "cane"),
        lambda t: [t.mass("exhaust to evaporator"), t.mass("cane")], _ratio,
        _percent("exhaust steam to the evaporator / mass of cane"),
    ),
    Specification(
        "process steam on cane", STEAM, "%", 2, ("process steam", "cane"),
        lambda t: [t.mass("process steam"), t.mass("cane")], steam_on_cane, _said(steam_on_cane),
    ),
    Specification(
        "boiler steam on cane", STEAM, "%", 2, ("boiler steam", "cane"),
        lambda t: [t.mass("boiler steam"), t.mass("cane")], _ratio, _percent("boiler steam / mass of cane"),
    ),
    Specification(
        "exhaust steam on melt", STEAM, "%", 1, ("exhaust to refinery", "melted raw"),
        lambda t: [t.mass("exhaust to refinery"), t.mass("melted raw")], _ratio,
        _percent("exhaust steam to the refinery / raw sugar melted"),
    ),
    Specification(
        "power generated", STEAM, "MWh", 1, ("generated power",), lambda t: [t.energy("generated power")],
        lambda e: e / 1000.0, "mean power × hours",
    ),
    Specification(
        "power exported", STEAM, "MWh", 1, ("exported power",), lambda t: [t.energy("exported power")],
        lambda e: e / 1000.0, "mean power × hours",
    ),
    Specification(
        "power imported", STEAM, "MWh", 1, ("imported power",), lambda t: [t.energy("imported power")],
        lambda e: e / 1000.0, "mean power × hours",
    ),
    Specification(
        "power used on cane", STEAM, "kWh/t", 2, ("generated power", "imported power", "exported power", "cane"),
        lambda t: [
            t.energy("generated power") + t.energy("imported power") - t.energy("exported power"), t.mass("cane"),
        ],
        lambda used, cane: used / cane, "energy generated and imported less exported / mass of cane",
    ),
    Specification(
        "power exported on cane", STEAM, "kWh/t", 2, ("exported power", "cane"),
        lambda t: [t.energy("exported power"), t.mass("cane")], lambda sent, cane: sent / cane,
        "energy exported / mass of cane",
    ),
    _amount("raw sugar melted", REFINERY, "melted raw"),
    _rate("melt rate while running", REFINERY, "melted raw"),
    _amount("refined sugar made", REFINERY, "refined sugar"),
    Specification(
        "refinery yield on pol", REFINERY, "%", 2, ("refined sugar", "melted raw"),
        lambda t: [t.pol("refined sugar"), t.pol("melted raw")], _ratio,
        _percent("pol in refined sugar / pol in raw sugar melted"), most=100.0,
    ),
    _amount("refinery molasses", REFINERY, "refinery molasses"),
    _purity_of("refinery molasses", REFINERY),
    _colour("raw sugar"),
    _colour("melted raw"),
    _colour("affined sugar"),
    _colour("melt liquor"),
    _colour("clarified liquor"),
    _colour("filtered liquor"),
    _colour("fine liquor"),
    _colour("refined sugar"),
    _loss("pol lost in bagasse", "bagasse burnt", "cane"),
    _loss("pol lost in filter cake", "filter cake", "cane"),
    _loss("pol lost in final molasses", "final molasses", "cane"),
    _loss("undetermined loss of the mill", "mill loss", "cane"),
    _loss("undetermined loss of the boiling house", "boiling house loss", "cane"),
    Specification(
        "pol changed on the way", LOSSES, "%", 2, ("cane", *_WAYS_OUT),
        lambda t: [t.pol(r) for r in ("cane", *_WAYS_OUT)], _changed,
        "100 less overall recovery and the losses above: inversion and changed rotation",
    ),
    _loss("pol lost in refinery molasses", "refinery molasses", "melted raw"),
    _loss("undetermined loss of the refinery", "refinery loss", "melted raw"),
)  # fmt: skip


MASS_FIGURES: dict[str, str] = {
    s.name: s.roles[0] for s in SPECIFICATIONS if s.formula.startswith("mass of ") and s.unit == "t"
}
"""Figures that are the mass of one role's stream, which a weigher may read as well."""


def specifications_for(roles: Iterable[str]) -> list[Specification]:
    """The figures that a plant with these roles can have."""
    known = set(roles)
    return [s for s in SPECIFICATIONS if set(s.roles) <= known]
