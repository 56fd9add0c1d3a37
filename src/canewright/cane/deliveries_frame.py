"""Deliveries out of a table of columns, for a season at once; the same as row by row, only quicker.

Columns: ticket, day, grower, block, net_kg (whole kilograms), brix, pol and fibre (%, null where not read), paid_ccs
and paid_u (CCS paid on and its standard uncertainty, null where there is none), rung (0 for an own sample) and basis in
words; farm may be among them.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import polars as pl

from canewright.cane.deliveries import Column, Deliveries, PaymentRefused
from canewright.cane.exact import Exact
from canewright.cane.schemes import READABLE
from canewright.cane.schemes.readings import CCS, FIBRE, JUICE_BRIX, JUICE_POL

PLACES = 6
"""Decimals kept of a reading that comes as a float: more than any instrument shows."""
READ: Mapping[str, str] = {JUICE_BRIX: "brix", JUICE_POL: "pol", FIBRE: "fibre", CCS: "paid_ccs"}
NEEDED = ("ticket", "day", "grower", "block", "net_kg", "paid_ccs", "paid_u", "rung", "basis")
EPOCH = 719_163
"""The ordinal of 1970-01-01."""


def deliveries_of_frame(frame: pl.DataFrame) -> Deliveries:
    """Columns of exact decimals by day and ticket, whatever the order of the rows.

    Raises PaymentRefused listing columns that are lacking, repeated tickets, impossible masses, readings out of range.
    """
    lacking = [name for name in NEEDED if name not in frame.columns]
    if lacking:
        raise PaymentRefused([f"the table of deliveries has no column '{name}'" for name in lacking])
    ordered = frame.sort("day", "ticket")
    faults = _faults(ordered)
    if faults:
        raise PaymentRefused(faults)
    growers = ordered["grower"].unique().sort().to_list()
    number = ordered["grower"].replace_strict(growers, list(range(len(growers))), return_dtype=pl.Int64)
    fallen = ordered.with_row_index("place").filter(pl.col("rung") != 0)
    return Deliveries(
        ordered["ticket"].to_list(),
        ordered["day"].cast(pl.Int64).to_numpy() + EPOCH,
        growers,
        number.to_numpy(),
        ordered["farm"].to_list() if "farm" in ordered.columns else [""] * ordered.height,
        ordered["block"].to_list(),
        Exact(ordered["net_kg"].cast(pl.Int64).to_numpy(), 3),
        {name: _column(ordered[column]) for name, column in READ.items() if column in ordered.columns},
        ordered["paid_u"].cast(pl.Float64).fill_null(np.nan).to_numpy(),
        {int(place): (basis,) for place, basis in fallen.select("place", "basis").rows()},
        {},
    )


def _column(values: pl.Series) -> Column:
    units = (values.fill_null(0.0) * 10.0**PLACES).round().cast(pl.Int64).to_numpy()
    return Column(Exact(units, PLACES), values.is_not_null().to_numpy())


def _faults(ordered: pl.DataFrame) -> list[str]:
    """What cannot be paid on, by ticket."""
    where = pl.format("ticket {} of {}", "ticket", "day")
    found: list[str] = []

    def tell(wrong: pl.Expr, says: pl.Expr) -> None:
        told = ordered.filter(wrong.fill_null(value=False)).select(pl.concat_str(where, says))
        found.extend(told.to_series().to_list())

    again = (pl.col("ticket") == pl.col("ticket").shift(1)) & (pl.col("day") == pl.col("day").shift(1))
    tell(again, pl.lit(" is given more than once; a load is paid once, remove the repeat"))
    for name in ("grower", "block"):
        tell(pl.col(name).fill_null("").str.strip_chars() == "", pl.lit(f": {name} is empty; complete the note"))
    net = pl.col("net_kg")
    tell(net.is_null() | (net <= 0), pl.format(": net mass is {} kg; accepted: more than 0 kg", net.fill_null(0)))
    for name, column in READ.items():
        if column in ordered.columns:
            limits = READABLE[name]
            says = pl.format(f": {name} is {{}} {limits.unit}; accepted: {limits.low:g} to {limits.high:g}", column)
            tell(~pl.col(column).is_between(limits.low, limits.high), says)
    return found
