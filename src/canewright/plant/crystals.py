"""What stations that hold crystals share: mother liquor, colour on solids, and first estimates of sugar streams.

Crystal is pure sucrose. Its content follows from purities in product form, so that an idle station still solves.
"""

from __future__ import annotations

from collections.abc import Iterable

from canewright.plant.ratios import SEEPAGE
from canewright.plant.station import Equations
from canewright.plant.streams import PERCENT, Massecuite, Stream
from canewright.quantity import Num


def mother_liquor_has(purity: Num, stream: Massecuite) -> Equations:
    """The mother liquor of ``stream`` has this true purity, %; crystal is then what the balance of sucrose leaves."""
    yield "mother liquor has its purity", PERCENT * stream.sucrose, purity * stream.dissolved


def on_whole(sentence: str, concentration: Num, part: Num, whole: Num) -> Equations:
    """``concentration`` times ``whole`` (t/h) is ``part``; it tends to zero where nothing flows."""
    yield sentence, concentration * (whole + SEEPAGE), part


def grown_colour(stream: Massecuite, brought: Iterable[Stream], inclusion: Num, colour_on_solids: Num) -> Equations:
    """Crystal keeps the colour it came with; what grew here takes ``inclusion`` of the colour of the massecuite.

    ``colour_on_solids`` is the colour of the whole massecuite in IU. Form: Thompson, Fry and Hasrajani (2005),
    Thoughts on Refinery Boiling Schemes (read): colour of sugar is a fixed share of the colour of the massecuite.
    """
    brought = tuple(brought)
    grown = stream.crystal - sum(s.crystal for s in brought)
    kept = sum(s.crystal_colour for s in brought)
    yield (
        "crystal colour is what came and what grew in",
        stream.crystal_colour,
        kept + inclusion * (colour_on_solids * grown),
    )


def totals(entering: Iterable[Stream]) -> dict[str, float]:
    """Components and both colours that enter together, in plain numbers; for first estimates."""
    entering = tuple(entering)
    names = (*Stream.COMPONENTS, "colour", "crystal_colour")
    return {name: sum(float(s.component(name)) for s in entering) for name in names}


def crystals_by_purity(total: dict[str, float], purity: float) -> float:
    """Crystal, t/h, that leaves a mother liquor of this true purity, %; never below zero. For first estimates."""
    non_sucrose = total["reducing_sugars"] + total["ash"] + total["other"]
    sucrose = total["sucrose"] + total["crystal"]
    return max(0.0, sucrose - non_sucrose * purity / max(100.0 - purity, 1e-9))


def placed(stream: Stream, parts: dict[str, float]) -> dict[str, float]:
    """The parts that this stream can hold, under their full names; for first estimates."""
    return {f"{stream.prefix}.{name}": value for name, value in parts.items() if name in stream.holds}
