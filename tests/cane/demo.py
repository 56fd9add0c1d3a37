"""The invented season, worked out once for the tests that read it."""

from __future__ import annotations

from functools import cache

import polars as pl

from canewright.cane.class_fibre import rolling_class_fibre, with_fibre
from canewright.cane.delivery_frame import with_ccs, with_net, with_objections
from canewright.cane.demo_district import District, district, registers_of
from canewright.cane.demo_season import DemoSeason, season
from canewright.cane.fall_back import with_paid_ccs

DEFAULT_FIBRE = {"burnt early": 13.2, "burnt mid": 13.9, "green late": 14.6}


@cache
def the_district() -> District:
    """The farms and blocks."""
    return district()


@cache
def the_season() -> DemoSeason:
    """The season with every fault in it."""
    return season(the_district())


@cache
def clean_season() -> DemoSeason:
    """The same season without a planted fault."""
    return season(the_district(), faults=())


def questioned(recorded: pl.DataFrame) -> pl.DataFrame:
    """Recorded consignments with fibre, CCS and objections."""
    blocks = registers_of(the_district())["blocks.csv"].select(
        "block", "variety", crop_class="crop class", registered_class="fibre class"
    )
    frame = with_net(recorded).join(blocks, on="block", how="left", maintain_order="left")
    samples = frame.select("fibre_class", "day", fibre="fibre_measured").drop_nulls()
    return with_objections(with_ccs(with_fibre(frame, rolling_class_fibre(samples, DEFAULT_FIBRE))))


@cache
def analysed() -> pl.DataFrame:
    """The faulty season, analysed, questioned samples set aside and the fall-back ladder used."""
    found = questioned(the_season().recorded)
    return with_paid_ccs(found.with_columns(ccs=pl.when(pl.col("objection").is_null()).then("ccs")))
