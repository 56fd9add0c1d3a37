"""Planting methods compared: what a hectare costs to establish, how it stands, and the margin a tonne over the cycle.

Agrochemical and hot-water treatment of planting material can harm people: local rules and data sheets govern.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

BENEFIT_COST_OF_BUD_CHIPS = 1.63
"""Benefit to cost of bud chips, one trial 2016-17 (Khaliq and others, Adv. Life Sci. 7(3), 2020, 151; read)."""


@dataclass(frozen=True)
class Method:
    """A way of planting: cost in $/ha by its parts, survival as a share, and how evenly the stand ripens.

    ``material`` is mass of setts in t/ha, or thousands of seedlings a hectare, at ``price`` for one. ``spread`` is the
    standard deviation of CCS within a block against that of setts. ``source`` tells what the defaults rest on.
    """

    name: str
    material: float
    material_unit: str
    price: float
    cartage: float
    treatment: float
    planting: float
    survival: float
    gap_cost: float
    spread: float
    source: str

    def __post_init__(self) -> None:
        """Refuse what cannot be. Raises ValueError."""
        for name in ("material", "price", "cartage", "treatment", "planting", "gap_cost", "spread"):
            if not getattr(self, name) >= 0.0:
                raise ValueError(f"{self.name}: {name} is {getattr(self, name)}; accepted: 0 or more")
        if not 0.0 < self.survival <= 1.0:
            raise ValueError(f"{self.name}: survival is {self.survival}; accepted: a share above 0 and up to 1")


DEFAULTS: tuple[Method, ...] = (
    Method(
        "setts", 8.5, "t/ha", 40.0, 60.0, 40.0, 260.0, 0.50, 180.0, 1.0,
        "mass 7 to 10 t/ha (Begum and others, Agric. Reviews 45(3), 2024, 488; read), germination 30 to 65 % in the "
        "field (page on planting material, read); prices ours",
    ),
    Method(
        "billets", 11.0, "t/ha", 36.0, 70.0, 40.0, 150.0, 0.45, 180.0, 1.0,
        "mass 8 to 14 t/ha for machine billets (from memory); prices ours",
    ),
    Method(
        "nursery seedlings", 14.0, "thousand/ha", 45.0, 25.0, 10.0, 320.0, 0.93, 150.0, 0.8,
        "10 to 18 thousand plants/ha, survival 85 to 98 % if watered within hours (from memory); the rest ours",
    ),
)  # fmt: skip
"""Defaults to be edited: every price is ours and invented."""


@dataclass(frozen=True)
class Cycle:
    """A crop cycle: yield of plant cane t/ha, loss a ratoon t/ha, ratoons, CCS at the cut, CCS lost by uneven ripeness.

    ``margin`` $ a tonne of cane after harvest and haulage at that CCS; ``per_ccs`` $ a tonne for a unit of CCS more;
    ``discount`` a year as a share; ``bend`` of the maturity curve times 2: CCS lost for a unit of variance.
    """

    plant_cane: float = 97.0
    loss: float = 5.4
    ratoons: int = 4
    margin: float = 14.0
    per_ccs: float = 3.6
    discount: float = 0.08
    block_sd: float = 0.35
    uneven: float = 0.6

    def __post_init__(self) -> None:
        """Refuse what cannot be. Raises ValueError."""
        if not (self.plant_cane > 0 and 0 <= self.ratoons <= 15 and self.discount >= 0):
            raise ValueError(
                f"cycle: plant cane {self.plant_cane} t/ha, {self.ratoons} ratoons, discount {self.discount}; "
                "accepted: more than 0 t/ha, 0 to 15 ratoons, discount 0 or more"
            )


@dataclass(frozen=True)
class Compared:
    """A method over a cycle: $/ha to establish, by parts and a year; t/ha in all; gain of CCS; margin $ a tonne."""

    method: str
    parts: dict[str, float]
    established: float
    yearly: float
    tonnes: float
    ccs_gain: float
    margin: float
    source: str


def annuity(capital: float, rate: float, years: int) -> float:
    """Equal yearly payment that repays a capital over years at a rate; the plain share at a rate of 0."""
    return capital / years if rate == 0.0 else capital * rate / (1.0 - (1.0 + rate) ** -years)


def yield_of(ratoon: int, cycle: Cycle) -> float:
    """Cane of a ratoon, t/ha, by the straight decline TCH(r) = TCH(P) - b r.

    Published: 121.3 t/ha in plant cane, 2.74 t/ha less each crop (Dlamini, Franke and Zhou 2024, variety N25; read).
    """
    return max(0.0, cycle.plant_cane - cycle.loss * ratoon)


def compare(method: Method, cycle: Cycle) -> Compared:
    """Cost, stand and margin of one method over plant cane and ratoons. All of a cycle's years are discounted alike."""
    parts = {
        "planting material": method.material * method.price,
        "cartage": method.cartage,
        "treatment": method.treatment,
        "planting": method.planting,
        "gap filling": (1.0 - method.survival) * method.gap_cost,
    }
    established = sum(parts.values())
    crops = cycle.ratoons + 1
    yearly = annuity(established, cycle.discount, crops)
    tonnes = sum(yield_of(r, cycle) for r in range(crops))
    setts_loss = cycle.uneven * cycle.block_sd**2
    gain = setts_loss - cycle.uneven * (cycle.block_sd * method.spread) ** 2
    margin = cycle.margin + cycle.per_ccs * gain - yearly * crops / tonnes
    return Compared(method.name, parts, established, yearly, tonnes, gain, margin, method.source)


def compared(methods: tuple[Method, ...] = DEFAULTS, cycle: Cycle | None = None) -> list[Compared]:
    """Methods by margin a tonne over the cycle, best first."""
    found = [compare(each, cycle or Cycle()) for each in methods]
    return sorted(found, key=lambda c: -c.margin)


def breaks_even_at(dearer: Method, cheaper: Method, cycle: Cycle) -> float:
    """The price of planting material at which the dearer method earns what the cheaper does, $ for one unit of it."""
    at_no_price = compare(replace(dearer, price=0.0), cycle).margin
    at_one = compare(replace(dearer, price=1.0), cycle).margin
    return (at_no_price - compare(cheaper, cycle).margin) / (at_no_price - at_one)
