"""Schemes that pay by the press juice of a core sample."""

from __future__ import annotations

import datetime as dt

from canewright.analysis import cane, cane_measures, payment
from canewright.cane.exact import Exact
from canewright.cane.schemes.declaring import Kind, Readings, Scheme, Terms, declare
from canewright.cane.schemes.readings import FIBRE, JUICE_BRIX, JUICE_POL, constant, sugar_price
from canewright.quantity.formula import Formula

PRESS_READ = {
    JUICE_POL: cane_measures.jamaica_recoverable_sugar.arguments["press_pol"],
    JUICE_BRIX: cane.ccs.arguments["juice_brix"],
    FIBRE: cane.ccs.arguments["fibre"],
}


def _press(version: int, formula: Formula, step: str, caveat: str, since: dt.date | None) -> Scheme:
    def quality(readings: Readings, t: Terms) -> Exact:
        pol = readings[JUICE_POL]
        found: Exact = formula(pol, readings[FIBRE], 100 * pol / readings[JUICE_BRIX])
        return found

    def price(found: Exact, t: Terms) -> Exact:
        one = Exact.one(1)  # the relative factor of the week is in the quality already
        paid: Exact = payment.jamaica_cane_price(t["sugar_price"], t["recovery_index"], found, one, t["fixed_factor"])
        return paid

    return declare(
        Scheme(
            "core-sample recoverable sugar",
            version,
            Kind.PRICE,
            "Recoverable sugar at 96 pol from press juice, times the factory recovery index, less a fixed share.",
            "Jamaican industry, Basics of the core sampling system; industry research annual 2003, chapter 9",
            "read",
            "JRCS",
            "%",
            PRESS_READ,
            (
                sugar_price(),
                constant("recovery_index", "%", "factory recovery index", "50", "110", "normally 80 to 94 (read)"),
                constant("fixed_factor", "%", "factory's fixed share, % cane", "0", "10"),
            ),
            (
                "juice brix and pol are those of the press juice; Q = 100 P / B",
                step,
                "price = sugar price x FRI / 100 x (JRCS x relative factor - FF) / 100",
            ),
            quality,
            price,
            since,
            caveat=caveat,
        )
    )


JRCS_SHORT = _press(
    1, payment.jamaica_recoverable_sugar_short, "JRCS = 1.03 P (1.02 - 1.73 F)(1.4 - 40 / Q), F as a share",
    "the printed short form: right near 14 % fibre only", dt.date(2003, 1, 1),
)  # fmt: skip
JRCS = _press(
    2, cane_measures.jamaica_recoverable_sugar,
    "JRCS = 1.03 P (1.02 - 0.44 F)(1 - F)(1 - 0.4 F)(1.4 - 40 / Q), F as a share",
    "the product that the short form stands for; the price is of the form in force since 2003", dt.date(2003, 1, 1),
)  # fmt: skip
