"""Schemes that pay a price by CCS."""

from __future__ import annotations

from decimal import Decimal

from canewright.analysis import cane, payment
from canewright.cane.schemes.declaring import Crosscheck, Kind, Scheme, declare
from canewright.cane.schemes.readings import CCS, CCS_STEP, constant, of, own_ccs, sugar_price

CCS_READ = of(cane.classic_cane_price, ccs=CCS)

CLASSIC = declare(
    Scheme(
        "classic CCS price",
        1,
        Kind.PRICE,
        "Two thirds of the sugar proceeds at CCS 12 and recovery 90; all recovery above 90 stays with the mill.",
        "Queensland cane-growers' organisation, Cane payment information",
        "read",
        "CCS",
        "%",
        CCS_READ,
        (
            sugar_price(),
            constant("constant", "$/t", "constant of the agreement", "-10", "50", "0.578 in 2000 (read)"),
        ),
        (CCS_STEP, "price = sugar price x 0.90 x (CCS - 4) / 100 + constant"),
        own_ccs,
        lambda quality, t: cane.classic_cane_price(t["sugar_price"], quality, t["constant"]),
        caveat="below CCS 4 the formula turns negative; the agreement's least price says what then holds",
    )
)

AT_TEN = declare(
    Scheme(
        "price at ten CCS",
        1,
        Kind.PRICE,
        "A price at CCS 10 that moves by 6 % for each unit of CCS: the form of the 70:30 system.",
        payment.THAILAND,
        "read",
        "CCS",
        "%",
        CCS_READ,
        (constant("price_at_ten", "$/t", "price of a tonne of CCS 10", "0", "100000", "1197.53 for 2022/23 (read)"),),
        (CCS_STEP, "price = price at CCS 10 x [1 + 0.06 x (CCS - 10)]"),
        own_ccs,
        lambda quality, t: payment.thailand_cane_price(t["price_at_ten"], quality),
        caveat="the mill's return is 3/7 of the price at CCS 10",
        crosschecks=(
            Crosscheck(
                "change_per_ccs", "$/t", "6 % of the price at CCS 10", lambda v: v["price_at_ten"] * Decimal("0.06")
            ),
            Crosscheck("mill_return", "$/t", "3/7 of the price at CCS 10", lambda v: v["price_at_ten"] * 3 / 7),
        ),
    )
)
