"""Strikes at the command line: boiled as described, seeded for a size, given a recipe, fitted to a log."""

from __future__ import annotations

import contextlib
import csv
import io
import json
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer
from rich.table import Table

from canewright.cli.desk import MOST, out
from canewright.cli.digits import value_text
from canewright.cli.handbook import refuse_input, write_new

if TYPE_CHECKING:
    from canewright.pans.classes import Classes
    from canewright.pans.description import Described
    from canewright.pans.fit import Fit
    from canewright.pans.recipe import Recipe
    from canewright.pans.strike import Boiled

strike_app = typer.Typer(
    help="Strikes in batch vacuum pans: boil, seed, recipe, fit. Advice to qualified people, not a control system.",
    no_args_is_help=True,
)
Which = Annotated[
    str, typer.Argument(help="a strike's description (a TOML file), or a strike that canewright strike list names")
]
Changes = Annotated[
    list[str] | None, typer.Option("--set", help="another value for a setting, such as seed.mass=1.2; may be repeated")
]
AsJson = Annotated[bool, typer.Option("--json", help="print as JSON")]
CsvFile = Annotated[Path | None, typer.Option("--csv", help="write the course to this new file")]
SHOWN = (
    "volume", "brix", "supersaturation", "temperature", "crystal on massecuite", "mean size", "steam rate", "feed rate",
)  # fmt: skip
"""Columns of the printed course."""
STRONGEST = 8
"""Settings whose effect is printed with a recipe."""


# --- what every command needs -----------------------------------------------------------------------------------------


@contextlib.contextmanager
def _refusals() -> Iterator[None]:
    """Every foreseen refusal in a sentence, exit code 2."""
    from canewright.pans.description import StrikeRefused
    from canewright.pans.log import LogFaults
    from canewright.plant.faults import DescriptionFaults

    try:
        yield
    except StrikeRefused as refused:
        refuse_input(str(refused))
    except LogFaults as faults:
        refuse_input(f"the log has {len(faults.faults)} fault(s), nothing was fitted:\n" + _listed(faults.faults))
    except DescriptionFaults as faults:
        refuse_input(f"the strike has {len(faults.faults)} fault(s):\n" + _listed(list(map(str, faults.faults))))


def _listed(faults: Sequence[str]) -> str:
    more = [f"  and {len(faults) - MOST} more"] if len(faults) > MOST else []
    return "\n".join([f"  {each}" for each in faults[:MOST]] + more)


def _described(which: str, changes: Sequence[str] | None) -> Described:
    from canewright.pans.description import read, template

    path = Path(which)
    if path.suffix == ".toml" or path.exists():
        try:
            strike = read(path.read_text(encoding="utf-8"))
        except (OSError, UnicodeDecodeError) as problem:
            reason = getattr(problem, "strerror", None) or "it is not a UTF-8 text"
            refuse_input(f"{path} cannot be read: {reason}; give a strike's description")
    else:
        strike = template(which)
    return strike.with_values(_typed(changes or [])) if changes else strike


def _typed(words: Sequence[str]) -> dict[str, float]:
    found: dict[str, float] = {}
    for word in words:
        name, equals, value = word.partition("=")
        try:
            found[name.strip()] = float(value)
        except ValueError:
            equals = ""
        if not equals:
            refuse_input(f"--set: found '{word[:60]}'; accepted: setting=number, such as seed.mass=1.2")
    return found


def _refuse_taken_file(path: Path | None) -> None:
    if path is not None and path.exists():
        refuse_input(f"{path} is there already and is not overwritten; give another name")


# --- list, new --------------------------------------------------------------------------------------------------------


@strike_app.command("list")
def strike_list() -> None:
    """The strikes that come with canewright, to boil or to start a description from."""
    from canewright.pans.description import template, templates

    for name in templates():
        strike = template(name)
        out.print(f"{name}: {strike.says} ({strike.grade})", markup=False)


@strike_app.command("new")
def strike_new(
    path: Annotated[Path, typer.Argument(help="file to write; it must not be there yet")],
    template: Annotated[str, typer.Option("--template", help="strike to start from")] = "refined",
) -> None:
    """Write a strike's description to a file, to be changed in an editor."""
    from canewright.pans.description import TEMPLATES
    from canewright.pans.description import template as template_called

    with _refusals():
        template_called(template)
    write_new(path, (TEMPLATES / f"{template}.toml").read_text(encoding="utf-8"))


@strike_app.command("settings")
def strike_settings(which: Which = "refined") -> None:
    """Every setting of a strike: value, unit, meaning and limits."""
    from canewright.pans.settings import declared

    with _refusals():
        strike = _described(which, None)
    for name, value in strike.values.items():
        one = declared(name)
        unit = "" if one.unit == "1" else f" {one.unit}"
        out.print(f"{name} = {value:g}{unit}: {one.says} ({one.low:g} to {one.high:g})", markup=False)


# --- run --------------------------------------------------------------------------------------------------------------


@strike_app.command("run")
def strike_run(
    which: Which,
    changes: Changes = None,
    as_json: AsJson = False,
    to_csv: CsvFile = None,
    every: Annotated[
        float, typer.Option("--every", min=0.5, max=600, help="seconds between points of the course")
    ] = 2.0,
    sizes: Annotated[
        Path | None, typer.Option("--sizes", help="write the crystals by classes of size to this new file")
    ] = None,
    by: Annotated[
        list[str] | None, typer.Option("--sensitivity", help="a setting whose effect is told; may be repeated")
    ] = None,
) -> None:
    """Boil a strike from footing to drop: its course, what it gives, and what a pan boiler would not want."""
    from canewright.pans.classes import by_classes
    from canewright.pans.strike import balances, boil

    _refuse_taken_file(to_csv)
    _refuse_taken_file(sizes)
    with _refusals(), out.status("boiling") as status:
        boiled = boil(_described(which, changes), every / 60.0, status.update)
        told = boiled.sensitivity(by) if by else {}
        classes = by_classes(boiled) if sizes is not None else None
    if as_json:
        data = _boiled_data(boiled) | {"sensitivity": told, "balances": balances(boiled)}
        typer.echo(json.dumps(data, ensure_ascii=False, indent=1))
    else:
        _print_boiled(boiled)
        _print_sensitivity(told)
    if to_csv is not None:
        write_new(to_csv, _course_csv(boiled), quiet=as_json)
    if sizes is not None and classes is not None:
        write_new(sizes, _sizes_csv(classes), quiet=as_json)
        if not as_json:
            _print_classes(boiled, classes)


def _sizes_csv(classes: Classes) -> str:
    """Size, share of the mass in its class, and mass on a sieve of its size."""
    import numpy as np

    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(["size, mm", "crystals, 10⁹", "mass, %", "retained, %"])
    whole = classes.numbers.sum(axis=0)
    shares = 100.0 * whole * classes.sizes**3 / float(whole @ classes.sizes**3)
    retained = np.cumsum(shares[::-1])[::-1]
    for row in zip(classes.sizes, whole, shares, retained, strict=True):
        writer.writerow([f"{value:.6g}" for value in row])
    return text.getvalue()


def _print_classes(boiled: Boiled, classes: Classes) -> None:
    """How far the moments part from the classes."""
    from canewright.pans import grain

    found, end = classes.moments(), boiled.end
    mean = 100.0 * (grain.mean_by_mass(found) / end["mean size"] - 1.0)
    mass = 100.0 * (grain.mass(found) / end["crystal"] - 1.0)
    out.print(
        f"Classes of size, worked out by themselves, part from the moments by {mean:+.2f} % of the mean size and "
        f"{mass:+.2f} % of the crystal.",
        markup=False,
    )


def _boiled_data(boiled: Boiled) -> dict[str, Any]:
    from canewright.pans.strike import HAZARDS

    return {
        "strike": boiled.strike.name,
        "grade": boiled.strike.grade,
        "phases": [{"phase": n, "from, min": a, "to, min": b} for n, a, b in boiled.phases],
        "figures": {name: {"value": value, "unit": unit} for name, (value, unit) in boiled.figures().items()},
        "cautions": boiled.cautions(),
        "hazards": list(HAZARDS),
    }


def _course_csv(boiled: Boiled) -> str:
    import numpy as np

    from canewright.pans.strike import UNITS

    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(["time, min", *(f"{n}, {UNITS[n]}" if UNITS[n] else n for n in boiled.course)])
    columns = np.array([boiled.times, *boiled.course.values()])
    for row in columns.T:
        writer.writerow([f"{value:.9g}" for value in row])
    return text.getvalue()


def _print_boiled(boiled: Boiled) -> None:
    import numpy as np

    from canewright.pans.strike import HAZARDS, UNITS

    out.print(f"[bold]{boiled.strike.name}[/bold] ({boiled.strike.grade}): {boiled.strike.says}")
    table = Table("min", *(f"{n}, {UNITS[n]}" if UNITS[n] else n for n in SHOWN), box=None, pad_edge=False)
    for k in np.unique(np.searchsorted(boiled.times, np.linspace(0.0, boiled.times[-1], 16))):
        i = min(int(k), len(boiled.times) - 1)
        table.add_row(f"{boiled.times[i]:.0f}", *(f"{boiled.course[n][i]:.4g}" for n in SHOWN))
    out.print(table)
    for name, begins, ends in boiled.phases:
        out.print(f"  {name}: {begins:.1f} to {ends:.1f} min", markup=False)
    for name, (value, unit) in boiled.figures().items():
        out.print(f"{name}: {value:.4g} {unit}".rstrip(), markup=False)
    for each in boiled.cautions():
        out.print(f"Caution: {each}", markup=False)
    for each in HAZARDS:
        out.print(f"Safety: {each}", markup=False)


def _print_sensitivity(told: Mapping[str, Mapping[str, float]]) -> None:
    from canewright.pans.strike import UNITS

    units = {**UNITS, "boiling time": "min"}
    for name in ("boiling time", "steam", "mean size", "variation", "crystal on massecuite", "false grain"):
        for setting, by in told.get(name, {}).items():
            out.print(f"{name}: {by:+.4g} {units[name]} per unit of {setting}", markup=False)


# --- seed -------------------------------------------------------------------------------------------------------------


@strike_app.command("seed")
def strike_seed(
    which: Which,
    size: Annotated[float, typer.Option("--size", min=0.02, max=3.0, help="mean size by mass that is wanted, mm")],
    changes: Changes = None,
    as_json: AsJson = False,
) -> None:
    """The seed that gives a crystal size in this strike, beside the plain ratio of sizes."""
    from canewright.pans.seeding import seed_for

    with _refusals(), out.status("looking for the seed") as status:
        found = seed_for(_described(which, changes), size, status.update)
    if as_json:
        data = {
            "size, mm": found.size, "seed, kg": found.mass, "by the ratio of sizes, kg": found.by_ratio,
            "crystals, 10⁹": found.crystals, **_boiled_data(found.boiled),
        }  # fmt: skip
        typer.echo(json.dumps(data, ensure_ascii=False, indent=1))
        return
    v = found.boiled.strike.values
    out.print(
        f"Seed {found.mass:.4g} kg of {found.boiled.strike.choices['seed.kind']} of {v['seed.size']:g} mm "
        f"({found.crystals:.4g} · 10⁹ crystals) for a mean size by mass of {size:g} mm.",
        markup=False,
    )
    out.print(f"By the ratio of sizes alone: {found.by_ratio:.4g} kg.", markup=False)
    grain = found.boiled.grain
    out.print(
        f"Mean aperture {grain.mean_aperture:.3f} mm, coefficient of variation {grain.coefficient_of_variation:.1f} % "
        f"({grain.method}).",
        markup=False,
    )
    for each in found.boiled.cautions():
        out.print(f"Caution: {each}", markup=False)


# --- recipe -----------------------------------------------------------------------------------------------------------


@strike_app.command("recipe")
def strike_recipe(
    which: Which,
    aim: Annotated[str, typer.Option("--aim", help="what is made least: time or steam")] = "time",
    changes: Changes = None,
    as_json: AsJson = False,
    card: Annotated[
        Path | None, typer.Option("--card", help="write the recipe card to this new file, to print")
    ] = None,
    to_csv: CsvFile = None,
) -> None:
    """Feed, water, steam and vacuum over time for least time or steam, and the card to boil it by."""
    from canewright.pans import card as cards
    from canewright.pans.recipe import recipe

    _refuse_taken_file(card)
    _refuse_taken_file(to_csv)
    with _refusals(), out.status("boiling the strike as described") as status:
        found = recipe(_described(which, changes), aim, status.update)
    if as_json:
        typer.echo(json.dumps(_recipe_data(found), ensure_ascii=False, indent=1))
    else:
        out.print(cards.text(found), markup=False, soft_wrap=True)
        _print_worth(found)
    if card is not None:
        write_new(card, cards.text(found), quiet=as_json)
    if to_csv is not None:
        text = io.StringIO()
        csv.writer(text, lineterminator="\n").writerows([cards.COLUMNS, *(cards.cells(r) for r in found.rows)])
        write_new(to_csv, text.getvalue(), quiet=as_json)


def _print_worth(found: Recipe) -> None:
    unit = "min" if found.aim == "time" else "t of steam"
    out.print("What a unit more of each binding limit changes:")
    for says, by in found.prices().items():
        out.print(f"  {says}: {by:+.3g} {unit}", markup=False)
    out.print("What one per cent more of a setting changes, the recipe chosen anew:")
    for name, by in list(found.answers().items())[:STRONGEST]:
        out.print(f"  {name}: {by:+.3g} {unit}", markup=False)


def _recipe_data(found: Recipe) -> dict[str, Any]:
    return {
        "strike": found.strike.name, "aim": found.aim, "seed, kg": found.seed, "time, min": found.time,
        "steps": [vars(row) for row in found.rows], "after": found.after, "parts from plan": found.parts,
        "prices": found.prices(), "one per cent of settings": found.answers(),
        "before": {"time, min": float(found.before.times[-1]), "steam, t": found.before.end["steam"]},
    }  # fmt: skip


# --- fit --------------------------------------------------------------------------------------------------------------


@strike_app.command("fit")
def strike_fit(
    which: Which,
    log: Annotated[
        Path, typer.Argument(help="the logged strike, a CSV file; canewright strike columns lists its columns")
    ],
    wanted: Annotated[list[str] | None, typer.Option("--constant", help="a setting to fit; may be repeated")] = None,
    changes: Changes = None,
    as_json: AsJson = False,
) -> None:
    """Fit growth and heat transfer to a logged strike, with uncertainty."""
    from canewright.pans.fit import USUAL, fit
    from canewright.pans.log import read_log

    with _refusals(), out.status("fitting") as status:
        strike = _described(which, changes)
        try:
            text = log.read_text(encoding="utf-8")
        except (OSError, UnicodeDecodeError) as problem:
            refuse_input(f"{log} cannot be read: {getattr(problem, 'strerror', None) or 'it is not a UTF-8 text'}")
        found = fit(strike, read_log(text, strike.feeds), wanted or USUAL, status.update)
    if as_json:
        typer.echo(json.dumps(_fit_data(found), ensure_ascii=False, indent=1))
    else:
        _print_fit(found)


@strike_app.command("columns")
def strike_columns(
    feeds: Annotated[int, typer.Option("--feeds", min=1, max=3, help="feeds of the strike")] = 1,
) -> None:
    """The columns that a logged strike may have."""
    from canewright.pans.log import DRIVES, READINGS, columns

    for name in columns(feeds):
        if name in READINGS:
            out.print(
                f"{name}: a reading, standard uncertainty {READINGS[name][1]:g} where no row ± gives another",
                markup=False,
            )
        elif name in DRIVES:
            out.print(
                f"{name}: let in from this row to the next, {DRIVES[name][1]:g} to {DRIVES[name][2]:g}", markup=False
            )
        else:
            out.print(name, markup=False)


def _print_fit(found: Fit) -> None:
    for c in found.constants:
        unit = "" if c.unit == "1" else f" {c.unit}"
        told = "not determined by these readings" if c.uncertainty is None else value_text(c.value, c.uncertainty)
        limit = " (at its limit)" if c.at_limit else ""
        out.print(
            f"{c.name}: {told}{unit if c.uncertainty is not None else ''}{limit}; before {c.before:g}{unit}",
            markup=False,
        )
    out.print(
        f"± is half of a 95 % interval. Misfit {found.misfit:.1f} for {found.freedom} degrees of freedom; as much "
        f"or more comes by chance with probability {found.chance:.3f}.",
        markup=False,
    )
    for name, (count, before, after) in found.missed.items():
        out.print(
            f"  {name}: {count} readings, missed by {before:.2f} before and {after:.2f} standard uncertainties after",
            markup=False,
        )
    out.print("Hold for this pan and liquor; fit more strikes before trusting a recipe to them.")


def _fit_data(found: Fit) -> dict[str, Any]:
    return {
        "constants": [vars(c) for c in found.constants],
        "correlations": found.correlations.tolist(),
        "misfit": found.misfit, "degrees of freedom": found.freedom, "chance": found.chance,
        "missed": {n: {"readings": k, "before": b, "after": a} for n, (k, b, a) in found.missed.items()},
    }  # fmt: skip
