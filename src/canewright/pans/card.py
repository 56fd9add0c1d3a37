"""The recipe card of a strike: what the pan boiler sets, step by step, and where the pan should then stand."""

from __future__ import annotations

from collections.abc import Iterator

from canewright.pans.recipe import Recipe, Row
from canewright.pans.strike import HAZARDS

COLUMNS = (
    "phase", "until, min", "feed", "feed, t/h", "water, t/h", "steam valve, %", "vacuum, kPa absolute", "volume, m³",
    "brix, %", "supersaturation", "crystal, % massecuite", "size, mm",
)  # fmt: skip


def cells(row: Row) -> list[str]:
    """A step of the recipe, by ``COLUMNS``."""
    told = row.told
    return [
        row.phase, f"{row.until:.0f}", str(row.which), f"{row.feed:.1f}", f"{row.water:.1f}", f"{row.opening:.0f}",
        f"{row.pressure:.1f}", f"{told['volume']:.1f}", f"{told['brix']:.1f}", f"{told['supersaturation']:.3f}",
        f"{told['crystal on massecuite']:.1f}", f"{told['mean size']:.3f}",
    ]  # fmt: skip


def steps(recipe: Recipe) -> list[Row]:
    """The steps of the card: those after which nothing is set anew are joined to the next."""
    found: list[Row] = []
    for row in recipe.rows:
        if found and _same(found[-1], row):
            found[-1] = row
        else:
            found.append(row)
    return found


def _same(one: Row, other: Row) -> bool:
    def settings(row: Row) -> tuple[object, ...]:
        return (row.phase, row.which, *(round(v, 1) for v in (row.feed, row.water, row.pressure)), round(row.opening))

    return settings(one) == settings(other)


def sentences(recipe: Recipe) -> Iterator[str]:
    """What stands on the card besides its table."""
    v, before = recipe.strike.values, recipe.before
    seeded = next(row for row in recipe.rows if row.phase != "concentrate")
    seed_at = recipe.rows[recipe.rows.index(seeded) - 1]
    yield f"Draw in {v['pan.footing']:g} m³ of feed 1, open steam."
    yield (
        f"Seed {_mass(recipe.seed)} of {recipe.strike.choices['seed.kind']} of {1000.0 * v['seed.size']:.0f} µm after "
        f"{seed_at.until:.0f} min, at a supersaturation of {seed_at.told['supersaturation']:.3f} (brix "
        f"{seed_at.told['brix']:.1f} %, {seed_at.told['temperature']:.1f} °C)."
    )
    end = recipe.after
    by = "brix" if recipe.strike.choices["drop.by"] == "brix" else "crystal on solids"
    yield (
        f"Drop at {by} {end[by]:.1f} % after {recipe.time:.0f} min: {end['massecuite']:.1f} t of massecuite, crystal "
        f"{end['crystal on massecuite']:.1f} %, mean size {end['mean size']:.3f} mm, mother liquor purity "
        f"{end['liquor purity']:.1f} %, steam {end['steam']:.2f} t."
    )
    yield (
        f"As described the strike takes {before.times[-1]:.0f} min and {before.end['steam']:.2f} t of steam, for "
        f"{before.end['massecuite']:.1f} t at {before.end['mean size']:.3f} mm."
    )
    yield (
        f"Boiled again step by step with all states: false grain {_share(end['false grain'])} of the crystal; "
        f"volume, brix and size part from the plan by at most {100.0 * recipe.parts:.2f} %."
    )
    yield "Growth, nucleation and heat transfer hold for this recipe only when they were fitted to strikes of this pan."


def _mass(kilograms: float) -> str:
    return (
        f"{1000.0 * kilograms:.0f} g"
        if kilograms < 1.0
        else f"{kilograms:.3g} kg"
        if kilograms < 1000
        else f"{kilograms:.0f} kg"
    )


def _share(percent: float) -> str:
    return "less than 0.001 %" if percent < 1e-3 else f"{percent:.3g} %"


def text(recipe: Recipe) -> str:
    """The whole card as plain text, for a printer."""
    table = [list(COLUMNS), *(cells(row) for row in steps(recipe))]
    widths = [max(len(row[i]) for row in table) for i in range(len(COLUMNS))]
    lines = ["  ".join(cell.rjust(width) for cell, width in zip(row, widths, strict=True)) for row in table]
    title = f"Recipe card: {recipe.strike.name} ({recipe.strike.grade}), least {recipe.aim}"
    cautions = [f"- {each}" for each in HAZARDS]
    return "\n".join([title, "=" * len(title), "", *sentences(recipe), "", *lines, "", "Cautions", *cautions, ""])
