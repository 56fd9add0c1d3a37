"""Schemes that pay by a quality factor, and by the recovery of the whole mill with a floor."""

from __future__ import annotations

import datetime as dt

from canewright.analysis import payment
from canewright.cane.exact import Exact
from canewright.cane.schemes.declaring import Kind, Readings, Scheme, Terms, declare
from canewright.cane.schemes.readings import JUICE_POL, TRASH, TRASH_READING, constant, of


def _standard(readings: Readings, t: Terms) -> Exact:
    factor: Exact = payment.florida_quality_factor(readings[JUICE_POL] * t["dry_milling_factor"])
    over = (readings[TRASH] - t["trash_allowed"]).at_least(0)
    return factor * (1 - over / 100)


FACTOR = declare(
    Scheme(
        "quality factor",
        1,
        Kind.PRICE,
        "Net cane times a factor by sucrose of normal juice makes standard tonnes, at one price per standard tonne.",
        payment.FLORIDA,
        "read",
        "standard tonnes per net tonne",
        "t/t",
        of(payment.florida_quality_factor, sucrose=JUICE_POL) | {TRASH: TRASH_READING},
        (
            constant("standard_price", "$/t", "price of a standard tonne", "0", "100000"),
            constant(
                "dry_milling_factor", "1", "normal juice over crusher juice", "0.85", "1.05", "0.9375 for brix (read)"
            ),
            constant("trash_allowed", "%", "extraneous matter that is not taken off", "0", "20", "4 (read)"),
        ),
        (
            "sucrose of normal juice = pol of crusher juice x dry-milling factor, at one purity",
            "factor = 1 + 0.1 x (sucrose of normal juice - 12.5), that is 0.05 for each 0.5 %",
            "extraneous matter above what is allowed comes off the mass",
            "price of a net tonne = price of a standard tonne x standard tonnes per net tonne",
        ),
        _standard,
        lambda quality, t: quality * t["standard_price"],
        caveat="historic",
    )
)


def _mill_recovery(readings: Readings, t: Terms) -> Exact:
    """The recovery of the whole mill, the same for everybody; not below the floor's."""
    return t["mill_recovery"].at_least(t["floor_recovery"])


FAIR = declare(
    Scheme(
        "fair price with a floor",
        1,
        Kind.PRICE,
        "A price by the recovery of the whole mill, which does not fall below that of the floor recovery.",
        payment.INDIA,
        "read",
        "mill recovery",
        "%",
        {},
        (
            constant("mill_recovery", "%", "sugar recovered by the mill, % cane", "5", "14"),
            constant("base_price", "$/t", "price at the basic recovery", "0", "100000", "3400 for 2024-25 (read)"),
            constant("base_recovery", "%", "basic recovery", "8", "11", "10.25 for 2024-25 (read)"),
            constant("premium", "$/t", "change per 0.1 % of recovery", "0", "1000", "33.2 for 2024-25 (read)"),
            constant(
                "floor_recovery", "%", "recovery below which the price stays", "5", "11", "9.5 for 2024-25 (read)"
            ),
        ),
        ("recovery of the whole mill, not below the floor", "price = base price + 10 x premium x (recovery - base)"),
        _mill_recovery,
        lambda quality, t: payment.india_fair_price(quality, t["base_price"], t["base_recovery"], t["premium"]),
        since=dt.date(2024, 2, 22),
        caveat="a least price by law; a state may order more",
    )
)
