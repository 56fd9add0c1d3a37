"""Syrup to raw sugar and final molasses in a draft: strikes of two grades or three, seed from the lower, a dryer."""

from __future__ import annotations

from canewright.plant.drafting.draft import Draft, assumed
from canewright.plant.drafting.mills import MILL
from canewright.plant.drafting.questions import Answers

SIZED = "sized to what the described plant needs"
STEAM = "vapour 1.branches"


def raw_house(d: Draft, a: Answers) -> None:
    """Pans, centrifugals, crystallisers, remelter, dryer and what leaves."""
    syrup = f"effect {a.count('effects')}.concentrated"
    low = ("B", "C") if a.count("massecuites") == 3 else ("C",)
    _pan(d, "A", 91.7, 74 if low[0] == "B" else 68, inclusion_spread=0.005)
    _machines(d, "A", 0.9, 4.6, 0.7, 2.2, 2)
    d.station("A molasses returned", "liquor splitter", MILL, share=assumed(15 if low[0] == "B" else 30, 4))
    d.connect("pan A.feeds", syrup, "remelter.liquor", "magma mixer.magma", "A molasses returned.part")
    d.connect("A molasses returned.feed", "centrifugals A.molasses")
    if low[0] == "B":
        _three(d)
    else:
        _two(d)
    _last_grade(d)
    _remelt(d, low[0])
    d.station("pan condenser", "condenser", MILL, pressure=assumed(13.5, 0.5), approach=assumed(8, 1))
    for grade in ("A", *low):
        d.connect("pan condenser.vapours", f"pan {grade}.vapour")
        d.connect("flash pot 3.condensates", f"pan {grade}.condensate")
        d.connect(f"pan {grade}.steam", STEAM)
    d.line("cooling water.water", "pan condenser.water", "pan condenser.warm", "outside.pan condenser water")
    _dryer(d)
    _meters(d, low)


def _pan(d: Draft, grade: str, brix: float, purity: float, inclusion_spread: float) -> None:
    d.station(
        f"pan {grade}", "vacuum pan", MILL, brix=assumed(brix, 0.5), mother_liquor_purity=assumed(purity, 1.5),
        crystal_inclusion=assumed(0.02, inclusion_spread), colour_formed=assumed(2, 0.8),
        volume=assumed(200, because=SIZED), boiling_point="norrish" if grade == "A" else "handbook",
    )  # fmt: skip
    d.connect(f"centrifugals {grade}.wash", "hot water.water")
    if grade != "C":
        d.connect(f"centrifugals {grade}.massecuite", f"pan {grade}.massecuite")


def _machines(d: Draft, grade: str, wash: float, film: float, moisture: float, dissolving: float, loss: float) -> None:
    d.station(
        f"centrifugals {grade}", "centrifugals", MILL, wash_on_massecuite=assumed(wash, 0.3),
        film=assumed(film, 0.15 * film), moisture=assumed(moisture, 0.1 * moisture), dissolving_power=dissolving,
        crystal_loss=assumed(loss, 0.5 * loss), machines=assumed(6, because=SIZED),
        suspended_kept=assumed(20 if grade == "A" else 5, 3),
    )  # fmt: skip


def _three(d: Draft) -> None:
    """B massecuite of A molasses; B magma seeds A; C massecuite of B molasses and some A molasses."""
    _pan(d, "B", 94.0, 55, 0.005)
    _machines(d, "B", 0.8, 10, 2, 1.5, 3)
    d.station("A molasses", "liquor splitter", MILL, share=assumed(10, 3))
    d.station("seed", "sugar splitter", MILL, share=assumed(70, 5))
    d.line("A molasses returned.rest", "A molasses.feed", "A molasses.rest", "pan B.feeds")
    d.connect("pan C.feeds", "centrifugals B.molasses", "A molasses.part")
    d.connect("seed.feed", "centrifugals B.sugar")
    _pan(d, "C", 95.0, 45, 0.005)


def _two(d: Draft) -> None:
    """C massecuite of A molasses; part of the C sugar seeds A."""
    d.station("seed", "sugar splitter", MILL, share=assumed(60, 5))
    d.connect("pan C.feeds", "A molasses returned.rest")
    d.connect("seed.feed", "centrifugals C.sugar")
    _pan(d, "C", 95.0, 47, 0.005)


def _last_grade(d: Draft) -> None:
    """Cooling crystallisers, continuous machines, final molasses thinned for its tank."""
    d.station(
        "crystallisers C", "crystalliser", MILL, mother_liquor_purity=assumed(40, 1.5), temperature=assumed(52, 1),
        volume=assumed(500, because=SIZED),
    )  # fmt: skip
    _machines(d, "C", 0.8, 28, 3, 1.0, 3)
    d.station("final molasses tank", "dilution tank", MILL, dry_substance=assumed(80, 1), temperature=assumed(45, 2))
    d.line("pan C.massecuite", "crystallisers C.massecuite")
    d.line("crystallisers C.cooled", "centrifugals C.massecuite")
    d.line("centrifugals C.molasses", "final molasses tank.feeds", "hot water.water", "final molasses tank.water")
    d.line("final molasses tank.liquor", "outside.final molasses")
    d.roles["final molasses"] = "final molasses tank.liquor"


def _remelt(d: Draft, second: str) -> None:
    """Seed magma from part of the lower sugar; the rest is remelted."""
    d.station(
        "magma mixer", "magma mixer", MILL, dry_substance=assumed(90, 0.5), temperature=assumed(60, 1),
        crystal_dissolved=assumed(22, 4),
    )  # fmt: skip
    d.station(
        "remelter", "melter", MILL, dry_substance=assumed(66, 1), temperature=assumed(72, 1),
        volume=assumed(40, because=SIZED),
    )  # fmt: skip
    d.line("seed.part", "magma mixer.sugar", "hot water.water", "magma mixer.liquor")
    d.line("hot water.water", "remelter.water", STEAM, "remelter.steam")
    d.connect("remelter.sugar", "seed.rest", *(["centrifugals C.sugar"] if second == "B" else []))


def _dryer(d: Draft) -> None:
    d.station("mill air", "air supply", MILL, temperature=30, relative_humidity=60)
    d.station("raw air heater", "air heater", MILL, temperature=assumed(85, 1))
    d.station("raw dryer", "sugar dryer", MILL, moisture=assumed(0.15, 0.03), temperature=assumed(60, 1))
    d.line("mill air.air", "raw air heater.air", "exhaust range.branches", "raw air heater.steam")
    d.line("centrifugals A.sugar", "raw dryer.sugar", "raw air heater.heated", "raw dryer.air")
    d.connect("outside.raw dryer air", "raw dryer.air_out")
    d.roles["raw sugar"] = "raw dryer.dried"
    d.products["raw sugar"] = {"stream": "raw dryer.dried", "pol": (98.0, 100), "moisture": (0, 0.3)}
    d.price("raw sugar", "raw dryer.dried", "income", 420)
    d.price("final molasses", "final molasses tank.liquor", "income", 95)


def _meters(d: Draft, low: tuple[str, ...]) -> None:
    for grade in ("A", *low):
        sample = f"{grade} massecuite"
        d.meter(f"{sample} brix", f"pan {grade}.massecuite", "refractometer brix", 0.4, sample)
        d.meters[-1]["dilution"] = 1.0
        d.meter(f"{sample} purity", f"pan {grade}.massecuite", "apparent purity", 0.4, sample)
    for grade in ("A", *low[:-1]):
        d.meter(
            f"{grade} molasses purity", f"centrifugals {grade}.molasses", "apparent purity", 0.4, f"{grade} molasses"
        )
    final, sugar = "final molasses tank.liquor", "raw dryer.dried"
    d.meter("final molasses weight", final, "mass", "1 %")
    d.meter("final molasses purity", final, "apparent purity", 0.4, "final molasses")
    d.meter("final molasses brix", final, "refractometer brix", 0.4, "final molasses")
    d.meters[-1]["dilution"] = 3.0
    d.meter("raw sugar weight", sugar, "mass", "0.6 %")
    d.meter("raw sugar pol", sugar, "pol", 0.05, "raw sugar")
    d.meter("raw sugar moisture", sugar, "moisture", 0.02, "raw sugar")
    d.meter("raw sugar colour", sugar, "colour", "5 %", "raw sugar")
