"""Schemes that pay for kilograms of recoverable sugar in a tonne of cane."""

from __future__ import annotations

from canewright.analysis import cane_measures, payment
from canewright.cane.exact import Exact
from canewright.cane.schemes.declaring import Kind, Readings, Scheme, Terms, declare
from canewright.cane.schemes.readings import (
    BURNT,
    BURNT_HOURS,
    FIBRE,
    JUICE_BRIX,
    JUICE_POL,
    READING,
    WET_CAKE,
    constant,
    of,
    sugar_price,
)

STALE = constant(
    "hours_allowed",
    "h",
    "hours from burning within which nothing is lost",
    "60",
    "72",
    "72, from 1 September 60 (read)",
)


def _stale(readings: Readings, t: Terms) -> Exact:
    """The stale-cane factor: 1 up to the hours allowed, straight down beyond."""
    hours, allowed = readings[BURNT], t["hours_allowed"]
    factor: Exact = payment.stale_cane_factor.function(hours, allowed)
    return factor.at_most(1)


def _total_recoverable(version: int, pol_factor: float, reducing_factor: float, loss: str) -> Scheme:
    formula = cane_measures.total_recoverable_sugar

    def quality(readings: Readings, t: Terms) -> Exact:
        found: Exact = formula(readings[JUICE_BRIX], readings[READING], readings[WET_CAKE], pol_factor, reducing_factor)
        return found * _stale(readings, t)

    return declare(
        Scheme(
            "total recoverable sugar",
            version,
            Kind.PRICE,
            f"Sucrose and reducing sugars of cane, kg per tonne less {loss} % lost in the factory, at a price per kg.",
            formula.source,
            "from memory",
            "ATR",
            "kg/t",
            of(formula, brix=JUICE_BRIX, reading=READING, wet_cake=WET_CAKE) | {BURNT: BURNT_HOURS},
            (constant("price_per_kg", "$/kg", "price of a kilogram of ATR", "0", "100"), STALE),
            (
                "F = 0.08 PBU + 0.876; S = (1.00621 R + 0.05117)(0.2605 - 0.0009882 B)",
                "AR = 3.641 - 0.0343 x 100 S / B",
                f"ATR = ({pol_factor} S + {reducing_factor} AR)(1 - 0.01 F)(1.0313 - 0.00575 F)",
                "K = 1 - 0.002 x (hours since burning - hours allowed), not above 1; paid on ATR x K",
                "price = price per kg x ATR x K",
            ),
            quality,
            lambda found, t: found * t["price_per_kg"],
            caveat="circulars change factors and rounding; dates of the two versions were not found",
        )
    )


ATR_OLDER = _total_recoverable(1, 9.5263, 9.05, "9.5")
ATR_LATER = _total_recoverable(2, 9.6316, 9.15, "8.5")

LOUISIANA = declare(
    Scheme(
        "theoretical recoverable sugar",
        1,
        Kind.PRICE,
        "Recoverable sugar of the core sample, kg per tonne; the grower owns a share of it by contract.",
        cane_measures.louisiana_recoverable_sugar.source,
        "from memory",
        "TRS",
        "kg/t",
        of(cane_measures.louisiana_recoverable_sugar, sucrose=JUICE_POL, brix=JUICE_BRIX, fibre=FIBRE),
        (
            sugar_price(),
            constant(
                "growers_share", "%", "part of the sugar that is the grower's", "0", "100", "about 60 (from memory)"
            ),
        ),
        (
            "TRS = (0.28 S - 0.08 B)(100 - 56.67 F / (100 - F)) / 2, of normal juice",
            "price = TRS / 1000 x grower's share / 100 x sugar price",
        ),
        lambda readings, t: cane_measures.louisiana_recoverable_sugar(
            readings[JUICE_POL], readings[JUICE_BRIX], readings[FIBRE]
        ),
        lambda quality, t: quality * t["growers_share"] * t["sugar_price"] / 100_000,
    )
)
