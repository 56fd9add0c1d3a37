"""Cane to mixed juice in a draft: supplies, preparation, and mills with compound imbibition or a diffuser."""

from __future__ import annotations

from canewright.plant.drafting.draft import Draft, assumed
from canewright.plant.drafting.questions import Answers

MILL, ENERGY = "mill", "energy"
FROM_MEMORY = "usual, from memory: Rein, Cane Sugar Engineering (2007)"


def supplies(d: Draft, a: Answers) -> None:
    """Cane, waters, air and the grid."""
    d.station(
        "cane yard", "cane supply", MILL, rate=a.number("crush"), fibre=a.number("fibre"), sucrose=a.number("sucrose"),
        reducing_sugars=assumed(0.6, 0.2), ash=assumed(0.55, 0.15), other=assumed(1.1, 0.3),
        suspended=assumed(0.7, 0.3), colour=assumed(13000, 2500), temperature=27,
    )  # fmt: skip
    d.station("hot water", "water supply", MILL, temperature=75)
    d.station("cooling water", "water supply", MILL, temperature=30)
    d.station("make-up water", "water supply", ENERGY, temperature=60)
    d.station("grid", "grid", ENERGY)
    d.station("power board", "power board", ENERGY)
    d.connect("power board.imported", "grid.power")
    d.connect("outside.exported power", "power board.exported")
    d.roles |= {"cane": "cane yard.cane", "imported power": "grid.power", "exported power": "power board.exported"}
    d.meter("cane weight", "cane yard.cane", "mass", "0.2 %")
    d.meter("cane fibre", "cane yard.cane", "fibre", 0.4, "prepared cane")
    d.meter("cane pol", "cane yard.cane", "pol", 0.2, "prepared cane")
    d.meter("exported power", "power board.exported", "power", "1 %")
    d.price("cane", "cane yard.cane", "cost", 45)
    d.price("power exported", "power board.exported", "income", 60, "$/MWh")
    d.price("power imported", "grid.power", "cost", 140, "$/MWh")


def tandem(d: Draft, a: Answers) -> None:
    """Preparation, mills, juice screen, the undetermined loss of the mill and the bagacillo."""
    mills = a.count("mills")
    last = f"mill {mills}"
    d.station("preparation", "cane preparation", MILL, specific_power=assumed(50, 5, FROM_MEMORY))
    d.station("imbibition", "imbibition", MILL, on_fibre=a.number("imbibition"))
    for k in range(1, mills + 1):
        _mill(d, k, mills)
    d.station("juice screen", "juice screen", MILL)
    d.station("mill loss", "undetermined juice loss", MILL, loss=assumed(0.3, 2.0))
    d.station("bagacillo", "juice splitter", MILL, share=assumed(1.8, 0.5))
    d.line("cane yard.cane", "preparation.cane", "preparation.prepared", "imbibition.cane")
    d.line("hot water.water", "imbibition.source", "imbibition.passed", "mill 1.feed")
    d.line("power board.branches", "preparation.power", "imbibition.water", f"{last}.imbibition")
    d.line("juice screen.caught", "mill 2.returned", "juice screen.screened", "mill loss.juice")
    d.connect("juice screen.raw", "mill 1.juice", "mill 2.juice")
    d.line("mill loss.lost", "outside.mill loss", f"{last}.bagasse", "bagacillo.feed")
    d.roles |= {
        "imbibition": "imbibition.water", "first juice": "mill 1.juice", "last juice": f"{last}.juice",
        "bagasse": f"{last}.bagasse", "bagasse burnt": "bagacillo.rest", "mixed juice": "mill loss.passed",
        "mill loss": "mill loss.lost",
    }  # fmt: skip
    _meters(d, last)


def _mill(d: Draft, k: int, mills: int) -> None:
    """One mill: the first presses without imbibition, the last dries to 50 %, what lies between runs evenly."""
    along = max(k - 2, 0) / max(mills - 2, 1)
    first = k == 1
    d.station(
        f"mill {k}", "mill", MILL,
        moisture=assumed(50 if k == mills else 54.5 - 1.5 * along, 1.0),
        imbibition_coefficient=assumed(1, 0.0) if first else assumed(round(0.84 - 0.08 * along, 3), 0.06),
        non_sucrose_ratio=assumed(0.94 if first else 0.90, 0.03),
        fibre_to_juice=assumed(3 if first else round(4 - 2.5 * along, 2), 0.5),
        solids_to_juice=assumed(45 if first else round(25 - 20 * along, 1), 2.0 if k == mills else 5.0),
        specific_power=assumed(15, 1.5, FROM_MEMORY),
    )  # fmt: skip
    d.connect(f"mill {k}.power", "power board.branches")
    if not first:
        d.connect(f"mill {k}.feed", f"mill {k - 1}.bagasse")
    if 1 < k < mills:
        d.connect(f"mill {k}.imbibition", f"mill {k + 1}.juice")


def diffusion(d: Draft, a: Answers) -> None:
    """Preparation, a diffuser, two mills that press its bagasse and return their juice to the bed."""
    d.station("imbibition", "imbibition", MILL, on_fibre=a.number("imbibition"))
    d.station("preparation", "cane preparation", MILL, specific_power=assumed(55, 5, FROM_MEMORY))
    d.station(
        "diffuser", "diffuser", MILL, juice_held=assumed(5.0, 0.4, FROM_MEMORY), temperature=assumed(80, 1),
        width=a.number("crush").times(0.025, "sized to what the described plant needs"),
    )  # fmt: skip
    d.line("cane yard.cane", "imbibition.cane", "hot water.water", "imbibition.source")
    d.line("imbibition.passed", "preparation.cane", "power board.branches", "preparation.power")
    d.line("preparation.prepared", "diffuser.cane", "imbibition.water", "diffuser.imbibition")
    d.line("vapour 1.branches", "diffuser.steam", "diffuser.condensate", "flash pot 3.condensates")
    d.line("power board.branches", "diffuser.power", "diffuser.bagasse", "dewatering mill 1.feed")
    for k, moisture in ((1, 62), (2, 51)):
        name = f"dewatering mill {k}"
        d.station(
            name, "mill", MILL, moisture=assumed(moisture, 1.0), imbibition_coefficient=assumed(1, 0.0),
            non_sucrose_ratio=assumed(1, 0.0), fibre_to_juice=assumed(3, 0.5), solids_to_juice=assumed(10, 3),
            specific_power=assumed(12, 1.5, FROM_MEMORY),
        )  # fmt: skip
        d.line("power board.branches", f"{name}.power", f"{name}.juice", "diffuser.press_water")
    d.line("dewatering mill 1.bagasse", "dewatering mill 2.feed")
    d.station("mill loss", "undetermined juice loss", MILL, loss=assumed(0.3, 2.0))
    d.station("bagacillo", "juice splitter", MILL, share=assumed(1.8, 0.5))
    d.line("diffuser.juice", "mill loss.juice", "mill loss.lost", "outside.mill loss")
    d.line("dewatering mill 2.bagasse", "bagacillo.feed")
    d.roles |= {
        "imbibition": "imbibition.water", "bagasse": "dewatering mill 2.bagasse", "bagasse burnt": "bagacillo.rest",
        "mixed juice": "mill loss.passed", "mill loss": "mill loss.lost",
    }  # fmt: skip
    _juice_meters(d, "dewatering mill 2.bagasse", ())
    d.meter("press water brix", "dewatering mill 2.juice", "refractometer brix", 0.06, "press water")
    d.meter("draft juice temperature", "diffuser.juice", "temperature", 0.5)


def _meters(d: Draft, last: str) -> None:
    samples = (("mill 1.juice", "first juice", 0.08, 0.3), (f"{last}.juice", "last juice", 0.06, 0.2))
    _juice_meters(d, f"{last}.bagasse", samples)


def _juice_meters(d: Draft, bagasse: str, further: tuple[tuple[str, str, float, float], ...]) -> None:
    juice = "mill loss.passed"
    d.meter("mixed juice weight", juice, "mass", "0.4 %")
    d.meter("imbibition meter", "imbibition.water", "mass", "1 %")
    for stream, sample, brix, pol in (*further, (juice, "mixed juice", 0.06, 0.2)):
        d.meter(f"{sample} brix", stream, "refractometer brix", brix, sample)
        d.meter(f"{sample} polarimeter", stream, "polarimeter reading", pol, sample)
    d.meter("mixed juice suspended solids", juice, "suspended solids", 0.08, "mixed juice")
    d.meter("bagasse pol", bagasse, "pol", 0.1, "bagasse")
    d.meter("bagasse moisture", bagasse, "moisture", 0.5, "bagasse")
