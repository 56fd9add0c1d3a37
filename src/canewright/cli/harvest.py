"""Maturity, crop estimate and harvest plan at the command line."""

from __future__ import annotations

import contextlib
import datetime as dt
import json
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from canewright.cli.cane_desk import (
    DEMO,
    Business,
    By,
    ToFile,
    changes_typed,
    day_typed,
    office,
    print_table,
    write_rows,
)
from canewright.cli.desk import out, person
from canewright.cli.handbook import refuse_input

if TYPE_CHECKING:
    from canewright.accounts.books import Books
    from canewright.accounts.harvest_supply import Supply

harvest_app = typer.Typer(
    help="When each block is cut: maturity, the crop still standing, the plan, allotments, the yard.",
    no_args_is_help=True,
)
ForDay = Annotated[
    str | None, typer.Option("--for", help="first day planned; else the day after the last delivery, or the season's")
]
AsJson = Annotated[bool, typer.Option("--json", help="print as JSON")]
Season = Annotated[
    str | None, typer.Option("--season", help="year in which the season began; else the last with weeks")
]
Version = Annotated[int | None, typer.Option("--version", help="an earlier plan of the season, from 1")]
OnDay = Annotated[str, typer.Option("--day", help="the day, such as 2031-08-14")]
Bins = Annotated[int | None, typer.Option("--bins", min=0, help="bins of the day; else what the week's plan needs")]
BinTonnes = Annotated[float, typer.Option("--bin-tonnes", help="cane in a bin, t")]
Terms = Annotated[list[str] | None, typer.Option("--set", help="a term as name=value, as often as needed")]
LEVELS = ("district", "variety", "class", "farm", "block")


def _day(text: str | None) -> dt.date | None:
    return None if text is None else day_typed(text, dt.date.min)


@contextlib.contextmanager
def _supply(business: Path, for_day: str | None) -> Iterator[tuple[Books, Supply]]:
    from canewright.accounts.harvest_supply import gather

    with office(business) as books:
        with out.status("gathering") as status:
            supply = gather(books, _day(for_day), status.update)
        yield books, supply


@harvest_app.command("maturity")
def maturity(
    level: Annotated[str, typer.Argument(help=f"one of {', '.join(LEVELS)}")] = "variety",
    business: Business = DEMO,
    for_day: ForDay = None,
    csv: ToFile = None,
    as_json: AsJson = False,
) -> None:
    """Maturity curves of a level with the week of the peak and the highest CCS, each with its 90 % interval."""
    from canewright.accounts.harvest_supply import maturity_of
    from canewright.cane.maturity import CURVE_HEADERS, curves_table

    if level not in LEVELS:
        refuse_input(f"level: found '{level[:40]}'; accepted: {', '.join(LEVELS)}")
    with _supply(business, for_day) as (_, supply):
        with out.status("fitting") as status:
            fitted = maturity_of(supply, status.update)
            s = supply.standing
            curves = {
                "district": lambda: [fitted.district()],
                "variety": lambda: [fitted.of_variety(k) for k in range(len(s.varieties))],
                "class": lambda: [fitted.of_class(k) for k in range(len(s.classes))],
                "farm": lambda: [fitted.of_farm(k) for k in range(len(s.farms))],
                "block": lambda: list(fitted.block_curves),
            }[level]()
        rows = curves_table(curves)
        title = (
            f"maturity by {level} from {fitted.readings} readings; delivered cane is "
            f"{fitted.lost_by_delivery:.2f} CCS below the field"
        )
        _show(title, list(CURVE_HEADERS), rows, csv, as_json=as_json)


@harvest_app.command("estimate")
def estimate(business: Business = DEMO, for_day: ForDay = None, csv: ToFile = None, as_json: AsJson = False) -> None:
    """The crop still standing, block by block, estimated again from what is cut, with 90 % intervals."""
    from canewright.accounts.harvest_supply import crop_of, decline_of, still_standing

    with _supply(business, for_day) as (_, supply):
        crop = crop_of(supply)
        left = still_standing(supply, crop)
        rows = [
            [
                name, supply.standing.farms[supply.standing.farm[k]], f"{supply.estimate[k]:.0f}",
                f"{supply.delivered[k]:.0f}", f"{crop.tonnes[k]:.0f}", f"{crop.low[k]:.0f}", f"{crop.high[k]:.0f}",
                f"{left[k]:.0f}",
            ]
            for k, name in enumerate(supply.standing.blocks)
        ]  # fmt: skip
        headers = [
            "block", "farm", "estimate, t", "delivered, t", "estimated again, t", "low, t", "high, t", "standing, t",
        ]  # fmt: skip
        _show(f"crop on {supply.made_for}", headers, rows, csv, as_json=as_json)
        if not as_json:
            out.print(
                f"blocks not cut out: {crop.total:,.0f} t, 90 % between {crop.total_low:,.0f} and "
                f"{crop.total_high:,.0f} t; cut blocks gave {crop.ratio:.3f} of their estimates ({crop.cut_blocks} of "
                f"them); standing after part-cut blocks {left.sum():,.0f} t"
            )
            decline = decline_of(supply)
            if decline is not None:
                out.print(
                    f"plant cane {decline.plant_cane:.1f} ± {1.645 * decline.plant_cane_u:.1f} t/ha, "
                    f"{decline.loss:.2f} ± {1.645 * decline.loss_u:.2f} t/ha less with each ratoon (90 %)"
                )


def _show(title: str, headers: list[str], rows: list[list[str]], csv: Path | None, *, as_json: bool = False) -> None:
    if as_json:
        typer.echo(json.dumps([dict(zip(headers, row, strict=True)) for row in rows], ensure_ascii=False, indent=1))
    elif csv is not None:
        write_rows(csv, headers, rows)
    else:
        print_table(title, headers, rows)


@harvest_app.command("plan")
def plan(
    business: Business = DEMO,
    for_day: ForDay = None,
    by: By = None,
    reason: Annotated[str | None, typer.Option("--reason", help="why it is planned again, where a plan stands")] = None,
    check: Annotated[bool, typer.Option("--check", help="only show it; store nothing")] = False,
    terms: Terms = None,
    as_json: AsJson = False,
) -> None:
    """Plan, or plan again with what is cut fixed: when each block is cut for most worth within all limits.

    Terms by --set: band (points of a farm's share cut, 100 for none), catch-up (weeks for farms behind; else by the
    season's end), youngest and oldest (months at the cut), cutting (share of a group's hours), standover ($/t lost
    by cane left; without it all must be cut), sugar ($/t), coefficient of work, harvest ($/t), haul ($/t km), next
    crop ($/t for each week later).
    """
    from canewright.accounts.harvest_office import body_of, keep_plan, make_plan, reason_given
    from canewright.accounts.harvest_terms import plan_terms

    with office(business) as books:
        kept = plan_terms(changes_typed(terms))
        with out.status("planning") as status:
            allow = reason_given(books, "check" if check else reason)
            made = make_plan(books, kept, _day(for_day), status.update, allow=allow)
        stored = None if check else keep_plan(books, made, person(by), reason)
        body = body_of(made)
        if as_json:
            typer.echo(json.dumps(body, ensure_ascii=False, indent=1))
            return
        _print_plan(body, f"plan from {made.supply.made_for}" if stored is None else _title(stored))


def _title(stored: Any) -> str:
    why = f", instead of plan {stored.supersedes}: {stored.reason}" if stored.supersedes else ""
    return f"plan {stored.id} of season {stored.season} from {stored.made_for}, by {stored.entered_by}{why}"


def _print_plan(body: dict[str, Any], title: str) -> None:
    from canewright.accounts.harvest_office import week_table

    print_table(title, *week_table(body))
    for line in body["sentences"]:
        out.print(line, markup=False)


@harvest_app.command("show")
def show(
    by_what: Annotated[str, typer.Option("--by", help="week, group, or block")] = "week",
    business: Business = DEMO,
    season: Season = None,
    version: Version = None,
    csv: ToFile = None,
    as_json: AsJson = False,
) -> None:
    """Show the standing plan, or an earlier one: by week, by group and week, or every block."""
    from canewright.accounts.harvest_office import stored_plan, week_table

    if by_what not in {"week", "group", "block"}:
        refuse_input(f"--by: found '{by_what[:40]}'; accepted: week, group, block")
    with office(business) as books:
        stored = stored_plan(books, season or _season(books), version)
        body = dict(stored.body)
        if as_json:
            typer.echo(json.dumps(body, ensure_ascii=False, indent=1))
        elif by_what == "week" and csv is None:
            _print_plan(body, _title(stored))
        elif by_what == "week":
            _show(_title(stored), *week_table(body), csv)
        elif by_what == "group":
            rows = [[g, *(f"{t:.0f}" for t in tonnes)] for g, tonnes in body["groups"].items()]
            _show(_title(stored), ["harvest group, t", *body["weeks"]], rows, csv)
        else:
            headers = list(body["rows"][0])
            _show(_title(stored), headers, [[str(row[h]) for h in headers] for row in body["rows"]], csv)


def _season(books: Books) -> str:
    from canewright.accounts.harvest_office import planned_seasons

    return max(planned_seasons(books), default="next")


@harvest_app.command("equity")
def equity(
    bands: Annotated[list[float] | None, typer.Argument(help="bands to price, points; else 20, 10 and 5")] = None,
    business: Business = DEMO,
    for_day: ForDay = None,
    terms: Terms = None,
    csv: ToFile = None,
    as_json: AsJson = False,
) -> None:
    """What equity costs: the best plan without a band, within each band, and with every block cut alike each week."""
    from canewright.accounts.harvest_office import equity_prices
    from canewright.accounts.harvest_terms import plan_terms

    with office(business) as books:
        with out.status("planning") as status:
            found = equity_prices(
                books, plan_terms(changes_typed(terms)), bands or [20.0, 10.0, 5.0], _day(for_day), status.update
            )
        best = found[0][1] or 1.0
        rows = [
            [name, "cannot be kept", "", ""] if worth is None
            else [name, f"{worth:.0f}", f"{best - worth:.0f}", f"{100 * (best - worth) / abs(best):.2f}"]
            for name, worth in found
        ]  # fmt: skip
        _show("what equity costs", ["farms' shares cut", "worth, $", "less, $", "less, %"], rows, csv, as_json=as_json)


@harvest_app.command("allot")
def allot(
    day: OnDay,
    business: Business = DEMO,
    season: Season = None,
    bins: Bins = None,
    bin_tonnes: BinTonnes = 6.0,
    csv: ToFile = None,
    as_json: AsJson = False,
) -> None:
    """Share a day's bins among the harvest groups, by the week's plan, and over each group's hours."""
    from canewright.accounts.harvest_office import allotment, stored_plan

    with office(business) as books:
        stored = stored_plan(books, season or _season(books))
        shares = allotment(books, stored, day_typed(day, dt.date.min), bins, bin_tonnes)
        hours = [h for h in range(24) if any(each.hours[h] for each in shares)]
        headers = ["group", "t", "bins", *(f"{h:02d}" for h in hours)]
        rows = [
            [each.group, f"{each.tonnes:.0f}", str(each.bins), *(str(each.hours[h]) for h in hours)] for each in shares
        ]
        total = sum(each.bins for each in shares)
        rows.append(
            ["all", f"{sum(e.tonnes for e in shares):.0f}", str(total)]
            + [str(sum(e.hours[h] for e in shares)) for h in hours]
        )
        _show(f"allotment of {total} bins on {day}, by clock hour", headers, rows, csv, as_json=as_json)


@harvest_app.command("yard")
def yard(
    day: OnDay,
    business: Business = DEMO,
    season: Season = None,
    bins: Bins = None,
    terms: Terms = None,
    csv: ToFile = None,
    as_json: AsJson = False,
) -> None:
    """Forecast the cane in the yard hour by hour, and the queue to be received, from a day's allotments.

    Terms by --set: crush (t/h while running), opening (t in the yard a day before), bin tonnes, bins a load, receive
    minutes (a load), places (that receive), haul hours (from loading to the yard), seed (the same one gives the same).
    """
    from canewright.accounts.harvest_office import allotment, stored_plan, yard_of
    from canewright.accounts.harvest_terms import yard_terms

    with office(business) as books:
        stored = stored_plan(books, season or _season(books))
        kept = yard_terms(changes_typed(terms))
        shares = allotment(books, stored, day_typed(day, dt.date.min), bins, kept.bin_tonnes)
        found = yard_of(books, shares, kept)
        f = found.forecast
        rows = [
            [f"{h:02d} h", f"{a:.0f}", f"{low:.0f}", f"{mid:.0f}", f"{high:.0f}", f"{mid / kept.crush:.1f}"]
            for h, a, low, mid, high in zip(found.hours, found.arriving, f.low, f.middle, f.high, strict=True)
        ]
        headers = ["hour", "arriving, t", "yard, low, t", "yard, t", "yard, high, t", "hours of crush"]
        _show(f"yard on {day} (80 % of days between low and high)", headers, rows, csv, as_json=as_json)
        if not as_json:
            out.print(
                f"less than an hour's crush in {100 * f.short:.1f} % of hours; the mill lacks {f.starved:.0f} t; "
                f"{f.night:.0f} t must stand there when hauling stops; {found.vehicles} vehicles on 12 h a day"
            )
            out.print(found.queue, markup=False)


@harvest_app.command("demo")
def demo(folder: Annotated[Path, typer.Argument(help="folder to write to")]) -> None:
    """Write invented estimates, ripeness samples, orders and crush weeks of the demo district as register files."""
    from canewright.accounts.harvest_demo import write_harvest_demo

    try:
        written = write_harvest_demo(folder)
    except OSError as trouble:
        refuse_input(f"{folder}: {trouble.strerror}; give another folder")
    for path in written:
        out.print(f"wrote {path}", markup=False)
