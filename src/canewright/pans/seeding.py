"""The seed for a wanted crystal size: first by the ratio of sizes, then so that the strike itself gives the size.

By the ratio, every crystal of the seed becomes one of the product: seed = crystal (seed size / product size)³ times the
spread of the seed. That takes the product for crystals of one size. The strike knows the paces of the crystals, merging
and what the seed itself brings; its answer is found by Newton with the exact derivative of the mean size.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from canewright.analysis.massecuite_figures import crystals_in_strike, seed_spread_factor
from canewright.pans import grain
from canewright.pans.description import Described, StrikeRefused
from canewright.pans.settings import declared
from canewright.pans.strike import Boiled, boil
from canewright.properties.crystal import crystal_mass

CLOSE = 1e-6
"""Miss of the mean size, on the wanted one, at which the seed counts as found."""
ROUNDS = 25


def seed_by_ratio(crystal: float, size: float, seed_size: float, variation: float = 0.0) -> float:
    """Seed, kg, for crystal (t) of a size (mm) from seed of a mean size (mm) and variation (%) by number.

    Raises StrikeRefused where the seed is not smaller than the product.
    """
    if seed_size >= size:
        raise StrikeRefused(
            f"seed size: found {seed_size:g} mm; accepted: less than the product's {size:g} mm, or nothing could grow"
        )
    one = float(crystal_mass(seed_size, grain.SHAPE))
    return 1e-6 * one * float(crystals_in_strike(crystal, size)) * float(seed_spread_factor(variation))


@dataclass(frozen=True)
class Seeded:
    """The seed of a strike: by the ratio of sizes, by the strike itself, and the strike boiled on it."""

    size: float
    by_ratio: float
    mass: float
    crystals: float
    rounds: int
    boiled: Boiled


def seed_for(strike: Described, size: float, progress: Callable[[str], None] | None = None) -> Seeded:
    """The seed that gives a mean size by mass (mm) in the strike as described.

    Raises StrikeRefused where the seed is not smaller than the product, lies outside what a seed may weigh, or the
    strike cannot be boiled on it.
    """
    limits, v = declared("seed.mass"), strike.values
    wanted = strike.with_values({"drop.size": size})
    guess = seed_by_ratio(_crystal(strike), size, v["seed.size"], v["seed.variation"])
    mass = min(max(guess, limits.low), limits.high)
    for rounds in range(1, ROUNDS + 1):
        if progress is not None:
            progress(f"strike {rounds}, seed {mass:.4g} kg")
        boiled = boil(wanted.with_values({"seed.mass": mass}), every=0.5)
        reached = boiled.end["mean size"]
        if abs(reached / size - 1.0) < CLOSE:
            return Seeded(size, guess, mass, boiled.end["crystals"], rounds, boiled)
        slope = boiled.sensitivity(["seed.mass"])["mean size"]["seed.mass"] * mass / reached
        # in logarithms size and seed lie nearly on a line; a step beyond a factor of five would leave it
        step = (size / reached) ** (1.0 / min(slope, -0.05))
        mass *= min(max(step, 0.2), 5.0)
        if not limits.low <= mass <= limits.high:
            raise StrikeRefused(
                f"seed mass: {size:g} mm would need {mass:.3g} kg; accepted: {limits.low:g} to {limits.high:g} kg; use "
                "a seed of another size"
            )
    raise StrikeRefused(
        f"seed mass: no seed gives {size:g} mm in this strike; the last, {mass:.4g} kg, gives {reached:.4g} mm"
    )


def _crystal(strike: Described) -> float:
    """Crystal of the strike boiled on the seed as described, t."""
    return boil(strike, every=1.0).end["crystal"]
