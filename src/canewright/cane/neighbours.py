"""Whether juice samples hold the consignment before: a wrong lag, and windows that touch two consignments."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from math import sqrt

import polars as pl

from canewright.analysis.cane_sampling import share_of_neighbour

SURE = 4.0
"""Standard errors by which the share must exceed what mixing explains before the lag is questioned (ours)."""
LEAST = 60
"""Consignments below which nothing is said (ours)."""
USUAL_WINDOW = {"start": 60.0, "window": 180.0, "mixing": 25.0}


@dataclass(frozen=True)
class NeighbourShare:
    """Share of the consignment before in the samples of a stretch of days, with its standard uncertainty.

    ``explained`` is the share that mixing alone gives with the lag set right.
    """

    first: dt.date
    last: dt.date
    share: float
    uncertainty: float
    consignments: int
    explained: float

    @property
    def wrong_lag(self) -> bool:
        """Whether the share is beyond what mixing explains."""
        return self.share - self.explained > SURE * self.uncertainty

    def says(self) -> str:
        """In a sentence, with what to do."""
        found = f"{self.first} to {self.last}: samples hold {self.share:.3f} ± {2.0 * self.uncertainty:.3f} of the "
        found += f"consignment before (mixing explains {self.explained:.3f})"
        if not self.wrong_lag:
            return f"{found}; the lag is in order"
        return f"{found}; the lag from tip to sampler looks wrong: audit it with a tracer or two unlike consignments"


def neighbour_share(frame: pl.DataFrame, window: dict[str, float] | None = None) -> NeighbourShare | None:
    """Regress each CCS on the consignment tipped before it; None with too few or too like consignments.

    Needs tipped_at, day, ccs, block and expected (the middle of the block's samples). Own blocks are taken out by their
    mean, on both sides. What is expected of the neighbour is itself narrowed by a wrong lag, by 1 - φ: the slope is
    φ / (1 - φ).
    """
    ordered = frame.sort("tipped_at").with_columns(
        before=pl.col("expected").shift(1), before_of=pl.col("block").shift(1)
    )
    usable = pl.col("ccs").is_not_null() & pl.col("before").is_not_null() & (pl.col("before_of") != pl.col("block"))
    typed_wrong = (pl.col("ccs") - pl.col("expected")).abs() > SURE * pl.col("spread")
    used = ordered.filter(usable & ~typed_wrong).filter(pl.len().over("block") > 1)
    if used.height < LEAST:
        return None
    lead = used.select(pl.col("before") - pl.col("before").mean().over("block")).to_series().to_numpy()
    off = used.select(pl.col("ccs") - pl.col("ccs").mean().over("block")).to_series().to_numpy()
    if float(lead @ lead) == 0.0:
        return None
    slope = float(lead @ off / (lead @ lead))
    left = off - slope * lead
    freedom = used.height - used["block"].n_unique() - 1
    error = sqrt(float(left @ left) / max(freedom, 1) / float(lead @ lead))
    share, error = slope / (1.0 + slope), error / (1.0 + slope) ** 2
    set_to = window or USUAL_WINDOW
    explained = float(share_of_neighbour(set_to["start"], set_to["window"], set_to["mixing"]))
    first, last = used["day"].min(), used["day"].max()
    return NeighbourShare(first, last, share, error, used.height, explained)  # type: ignore[arg-type]  # dates by column


def weekly_audit(frame: pl.DataFrame, days: int = 3) -> list[NeighbourShare]:
    """The share of the neighbour over every few days of a season, in order."""
    stretches = frame.with_columns(stretch=pl.col("day").dt.truncate(f"{days}d")).sort("stretch")
    found = (neighbour_share(part) for part in stretches.partition_by("stretch", maintain_order=True))
    return [each for each in found if each is not None]


def with_window_marks(frame: pl.DataFrame, least_seconds: float = 30.0) -> pl.DataFrame:
    """Marks on each sample window: ``shared`` where it overlaps another's, ``short`` below so many seconds, else null.

    A shared sample counts for both consignments and is told on both statements.
    """
    ordered = frame.with_row_index("_row").sort("sampled_from", nulls_last=True)
    over_next = pl.col("sampled_to") > pl.col("sampled_from").shift(-1)
    over_last = pl.col("sampled_from") < pl.col("sampled_to").cum_max().shift(1)
    short = (pl.col("sampled_to") - pl.col("sampled_from")).dt.total_seconds() < least_seconds
    mark = pl.when(over_next | over_last).then(pl.lit("shared")).when(short).then(pl.lit("short"))
    return ordered.with_columns(window_mark=mark).sort("_row").drop("_row")


def lag_with_stops(stops: list[tuple[float, float]], tipped: float, lag: float) -> float:
    """When a consignment tipped at a moment reaches the sampler, s, when the carrier stood from and to these moments.

    ``lag`` is the running time from tip to sampler. Stops are (from, to) in s, in order and apart.
    """
    left, at = lag, tipped
    for begin, end in stops:
        if end <= at:
            continue
        run = max(0.0, begin - at)
        if run >= left:
            break
        left -= run
        at = max(at, end)
    return at + left
