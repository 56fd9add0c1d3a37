"""Schemes that share out a pool of money, to the last cent."""

from __future__ import annotations

from canewright.analysis import cane, payment
from canewright.cane.exact import Exact
from canewright.cane.schemes.declaring import Kind, Scheme, Terms, declare
from canewright.cane.schemes.readings import CCS, CCS_STEP, constant, of, own_ccs

CCS_READ = of(cane.classic_cane_price, ccs=CCS)
POOL = constant("pool", "$", "money to be shared out for the period", "0", "100000000000")

SHARED_CCS = declare(
    Scheme(
        "pool on CCS",
        1,
        Kind.POOL,
        "A pool shared out pro rata to tonnes of CCS delivered, to the last cent.",
        "pro rata by the mass-weighted units of clauses 148-149, South African sugar industry agreement",
        "read",
        "CCS",
        "%",
        CCS_READ,
        (POOL,),
        (CCS_STEP, "pay units = net mass x CCS / 100", "amount = pool x pay units / pay units of all"),
        own_ccs,
        lambda quality, t: quality / 100,
    )
)

REVENUE_SHARE = declare(
    Scheme(
        "revenue share",
        1,
        Kind.POOL,
        "The growers' share of net proceeds, shared out by CCS with 6 % for each unit from 10.",
        payment.THAILAND,
        "read",
        "CCS",
        "%",
        CCS_READ,
        (
            constant("proceeds", "$", "net proceeds of sugar and molasses for the period", "0", "100000000000"),
            constant("growers_share", "%", "growers' share of the proceeds", "0", "100", "70 (read)"),
        ),
        (
            CCS_STEP,
            "pool = proceeds x growers' share / 100",
            "pay units = net mass x [1 + 0.06 x (CCS - 10)]",
            "amount = pool x pay units / pay units of all",
        ),
        own_ccs,
        lambda quality, t: payment.thailand_cane_price(Exact.one(1), quality),
    )
)


def pool_of(scheme: Scheme, terms: Terms) -> Exact:
    """The money that a pool scheme shares out, $."""
    if scheme is REVENUE_SHARE:
        return terms["proceeds"] * terms["growers_share"] / 100
    return terms["pool"]
