"""How the instruments of the invented season err: noise of one reading, lasting bias, rounding.

These are the scenario's own; the plant description of the season states the same two parts to the estimator as a
maker's sheet and check weighings would. Where the scenario names no instrument the figures are invented here.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

from canewright.plant.description import Meter


@dataclass(frozen=True)
class Errs:
    """Standard deviations of one reading and of the lasting bias (in %, of the reading, where ``relative``)."""

    noise: float
    bias: float
    step: float
    relative: bool = False
    readings: int = 3

    def sizes(self, value: float) -> tuple[float, float]:
        """Noise of one reading and bias at a value, in its unit."""
        size = abs(value) / 100.0 if self.relative else 1.0
        return self.noise * size, self.bias * size


def _percent(noise: float, bias: float, step: float, readings: int = 3) -> Errs:
    return Errs(noise, bias, step, relative=True, readings=readings)


BY_TAG: Mapping[str, Errs] = {
    "cane weight": _percent(0.012, 0.1, 0.01),  # 0.1 % of a consignment, some 78 in a shift
    "mixed juice weight": _percent(0.4, 0.5, 0.1),
    "imbibition meter": _percent(0.8, 1.0, 0.1),
    "raw sugar weight": _percent(0.6, 0.5, 0.1, 1),
    "melt weight": _percent(0.15, 0.1, 0.01),
    "refined sugar weight": _percent(0.15, 0.1, 0.01),
    "final molasses weight": _percent(1.0, 0.5, 1.0, 1),
    "refinery molasses weight": _percent(1.0, 0.5, 1.0, 1),
    "bagasse weight": _percent(1.5, 1.0, 0.1),
    "bagasse sold weight": _percent(0.2, 0.1, 0.02),
    "filter cake weight": _percent(6.0, 5.0, 0.1),
    "boiler steam meter": _percent(1.0, 0.5, 1.0, 1),
    "exhaust steam meter": _percent(1.0, 0.5, 0.1),
    "first juice brix": Errs(0.08, 0.03, 0.01),
    "first juice polarimeter": Errs(0.40, 0.12, 0.01),
    "syrup brix": Errs(0.20, 0.10, 0.01),
    "cane fibre": Errs(0.5, 0.2, 0.1),
    "cane pol": Errs(0.15, 0.08, 0.01),
    "cane moisture": Errs(0.4, 0.2, 0.1),
    "bagasse pol": Errs(0.08, 0.05, 0.01),
    "bagasse moisture": Errs(0.4, 0.3, 0.1),
    "filter cake pol": Errs(0.15, 0.1, 0.01),
    "filter cake moisture": Errs(0.8, 0.5, 0.1),
    "raw sugar pol": Errs(0.03, 0.02, 0.01, readings=1),
    "raw sugar moisture": Errs(0.01, 0.006, 0.001, readings=1),
    "raw sugar colour": _percent(3.0, 2.0, 1.0, 1),
    "melted raw pol": Errs(0.03, 0.02, 0.01),
    "melted raw moisture": Errs(0.01, 0.006, 0.001),
    "affined sugar moisture": Errs(0.06, 0.04, 0.01),
    "refined sugar moisture": Errs(0.004, 0.002, 0.001),
    "mixed juice suspended solids": Errs(0.05, 0.03, 0.01),
    "mixed juice reducing sugars": Errs(0.2, 0.12, 0.01),
    "mixed juice ash": Errs(0.15, 0.1, 0.01),
    "last effect pressure": Errs(0.5, 0.1, 0.1),
}
"""The scenario's instruments by tag; pol of juice is read as degrees of the polarimeter, four to a per cent of pol."""
BY_QUANTITY: Mapping[str, Errs] = {
    "refractometer brix": Errs(0.06, 0.03, 0.01),
    "polarimeter reading": Errs(0.20, 0.12, 0.01),
    "apparent purity": Errs(0.3, 0.1, 0.01),
    "colour": _percent(3.0, 2.0, 1.0),
    "pressure": Errs(1.5, 1.0, 0.1),
    "temperature": Errs(0.3, 0.3, 0.1),
    "power": _percent(0.5, 0.5, 1.0, 1),
}
THICK = Errs(0.25, 0.10, 0.01)
"""Brix of massecuites, molasses and liquors."""
SURVEY = (2.5, 1.0, 10.0)
"""Weekly survey of the raw store: noise and bias in % of the pile, rounding, t."""
TRACE = (20.0, 10.0)
"""Noise and bias of sugar found in water, % of it."""
MOVED: Mapping[str, Errs] = {
    "rakes received": _percent(0.2, 0.1, 0.02, 1),
    "raw sugar shipped": _percent(0.15, 0.1, 0.01, 1),
    "refined sugar shipped": _percent(0.15, 0.1, 0.01, 1),
}
"""Weighers of what moves into and out of the stores beside the plant's own meters."""
STOCK_NOISE = {"bagasse stack": 57.0, "refined sugar silo": 12.0, "final molasses tanks": 20.0}


def errs_of(meter: Meter) -> Errs | None:
    """How a meter errs; None for a stock, which is surveyed."""
    if meter.tag in BY_TAG:
        return BY_TAG[meter.tag]
    if meter.file == "stocks":
        return None
    if meter.quantity == "refractometer brix" and meter.low > 30.0:
        return THICK
    return BY_QUANTITY[meter.quantity]


STORES = """
[movements]
"rakes received" = "0.1 %"
"raw sugar shipped" = "0.1 %"
"refined sugar shipped" = "0.1 %"

[[ledgers]]
store = "raw sugar store"
opening = 3000
receipts = ["raw sugar weight", "rakes received"]
issues = ["melt weight", "raw sugar shipped"]
survey = 2.7

[[ledgers]]
store = "refined sugar silo"
opening = 1450
receipts = ["refined sugar weight"]
issues = ["refined sugar shipped"]
survey = 1.0

[[traces]]
sample = "pan condenser water"
stream = "pan condenser.warm"
limit = 20

[[traces]]
sample = "secondary heater condensate"
stream = "secondary heater.condensate"
limit = 20
to_boilers = true
"""
"""What the description of the season adds: stores kept by a ledger, and waters in which sugar is looked for."""


def season_description(text: str, meters: tuple[Meter, ...], noise: float = 1.0) -> str:
    """The demo plant's description with the season's instruments, stores and waters.

    The raw store is surveyed by the week, so its ledger takes the place of the daily meter.
    """
    blocks = text.split("[[meters]]\n")
    made = [blocks[0]]
    known = {m.tag: m for m in meters}
    for block in blocks[1:]:
        tag = re.match(r'tag = "([^"]+)"', block)
        meter = known[tag.group(1)] if tag else None
        if meter is not None and meter.tag == "raw sugar store":
            made.append(block.partition("\n\n")[2])
            continue
        errs = errs_of(meter) if meter else None
        made.append("[[meters]]\n" + (_stated(block, errs, noise) if errs else block))
    return "".join(made).replace('"raw sugar store" = 14850\n', "") + STORES


def _stated(block: str, errs: Errs, noise: float) -> str:
    """A meter's block with its two uncertainties."""
    parts = errs.readings if '\nquantity = "mass"' in block else 1
    each = noise * errs.noise / parts**0.5
    said = (f'"{errs.bias:g} %"', f'"{each:.4g} %"') if errs.relative else (f"{errs.bias:g}", f"{each:.4g}")
    return re.sub(r"\nuncertainty = [^\n]+", f"\nuncertainty = {said[0]}\nrepeatability = {said[1]}", block, count=1)
