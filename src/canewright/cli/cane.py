"""Deliveries of cane at the command line: import, notes, lists, weeks, audits and what quality costs."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import Annotated

import typer

from canewright.cli.cane_desk import (
    DEMO,
    Business,
    By,
    First,
    Last,
    Ticket,
    ToFile,
    day_typed,
    frame_of,
    office,
    print_table,
    shown,
    write_rows,
)
from canewright.cli.cane_registers import register_app
from canewright.cli.cane_samples import access_app, sample_app
from canewright.cli.desk import out, person
from canewright.cli.handbook import refuse_input

cane_app = typer.Typer(help="Registers, deliveries, juice samples and growers' access.", no_args_is_help=True)
cane_app.add_typer(register_app, name="register")
cane_app.add_typer(sample_app, name="sample")
cane_app.add_typer(access_app, name="access")


@cane_app.command("template")
def template(folder: Annotated[Path, typer.Option("--folder", help="folder for the blank files")]) -> None:
    """Write blank register and delivery files, each with its header row; files that are there stay."""
    from canewright.accounts.cane_deliveries import blank_files

    try:
        folder.mkdir(parents=True, exist_ok=True)
        for name, text in blank_files().items():
            if (folder / name).exists():
                out.print(f"{name} is there already and stays", markup=False)
                continue
            (folder / name).write_text(text, encoding="utf-8-sig")
            out.print(f"wrote {folder / name}", markup=False)
    except OSError as trouble:
        refuse_input(f"{folder}: {trouble.strerror}; give another folder")


@cane_app.command("import")
def deliveries_import(
    path: Annotated[Path, typer.Argument(help="file of deliveries")],
    business: Business = DEMO,
    by: By = None,
    check: Annotated[bool, typer.Option("--check", help="only check; store nothing")] = False,
) -> None:
    """Import a file of deliveries, all of it or nothing; every bad row is listed by row and column."""
    from canewright.accounts.cane_deliveries import import_season, known_of, read_season
    from canewright.accounts.cane_office import site_of

    with office(business) as books:
        site = site_of(books)
        with out.status("reading and checking") as status:
            read = read_season(path.read_bytes(), path.name, known_of(books.store, site), site)
            if not check:
                import_season(books.store, read, person(by), status.update)
        out.print(f"{'would store' if check else 'stored'} {read.frame.height} consignments")
        for note in read.notes:
            out.print(f"Note: {note}", markup=False)


@cane_app.command("note")
def note_check(
    ticket: Ticket,
    grower: Annotated[str, typer.Option("--grower")],
    block: Annotated[str, typer.Option("--block")],
    group: Annotated[str, typer.Option("--group", help="harvest group")],
    carrier: Annotated[str, typer.Option("--carrier")],
    fibre_class: Annotated[str, typer.Option("--class", help="fibre class")],
    day: Annotated[str, typer.Option("--day", help="factory day")],
    business: Business = DEMO,
) -> None:
    """Check a consignment note against the registers before it is tipped."""
    from canewright.accounts.cane_office import check_note

    with office(business) as books:
        note = {
            "ticket": ticket, "grower": grower, "block": block, "harvest group": group, "carrier": carrier,
            "fibre class": fibre_class, "factory day": day_typed(day, dt.date.min),
        }  # fmt: skip
        wrong = check_note(books, note)
        if wrong:
            refuse_input(f"ticket {ticket} is not to be tipped yet:\n" + "\n".join(f"  {each}" for each in wrong))
        out.print(f"ticket {ticket}: the note agrees with the registers", markup=False)


LISTED = (
    "ticket", "day", "grower", "block", "net", "brix", "pol", "fibre", "paid_ccs", "paid_u", "relative_ccs",
    "delay", "says",
)  # fmt: skip


@cane_app.command("list")
def deliveries_list(
    business: Business = DEMO,
    first: First = None,
    last: Last = None,
    grower: Annotated[str | None, typer.Option("--grower", help="only of this grower")] = None,
    csv: ToFile = None,
) -> None:
    """List consignments with the CCS they are paid on and why."""
    with office(business) as books:
        frame = frame_of(books, first, last)
        if grower is not None:
            frame = frame.filter(frame["grower"] == grower)
        rows = [[shown(value) for value in row] for row in frame.select(LISTED).iter_rows()]
        headers = [name.replace("_", " ") for name in LISTED]
        if csv is not None:
            write_rows(csv, headers, rows)
            return
        print_table(f"{len(rows)} consignments", headers, rows)


@cane_app.command("show")
def deliveries_show(ticket: Ticket, business: Business = DEMO, first: First = None, last: Last = None) -> None:
    """Show one consignment from its readings to the CCS paid on, with its trail."""
    from canewright.accounts.cane_office import figure_words
    from canewright.accounts.cane_season import trail_of
    from canewright.cane.retests import trail

    with office(business) as books:
        told = figure_words(frame_of(books, first, last), ticket)
        for name, value in told.items():
            if value is not None:
                out.print(f"  {name.replace('_', ' ')}: {shown(value)}", markup=False)
        out.print("Trail:")
        for line in trail(trail_of(books.store, told["day"], ticket)):
            out.print(f"  {line}", markup=False)


@cane_app.command("weekly")
def deliveries_weekly(business: Business = DEMO, first: First = None, last: Last = None, csv: ToFile = None) -> None:
    """Weeks: cane, CCS, share without a sample of its own, hours in the yard and from cutting to crushing."""
    from canewright.cane.waiting import weekly

    with office(business) as books:
        table = weekly(frame_of(books, first, last))
        headers = [name.replace("_", " ") for name in table.columns]
        rows = [[shown(value) for value in row] for row in table.iter_rows()]
        if csv is not None:
            write_rows(csv, headers, rows)
            return
        print_table("weeks (t, CCS %, hours, shares)", headers, rows)


@cane_app.command("growers")
def growers(business: Business = DEMO, first: First = None, last: Last = None, csv: ToFile = None) -> None:
    """Totals by grower: t, CCS and relative CCS, by mass."""
    from canewright.cane.delivery_frame import season_totals

    with office(business) as books:
        totals = season_totals(frame_of(books, first, last))
        headers = [name.replace("_", " ") for name in totals.by_grower.columns]
        rows = [[shown(value) for value in row] for row in totals.by_grower.iter_rows()]
        if csv is not None:
            write_rows(csv, headers, rows)
            return
        print_table(f"mean CCS {totals.season_ccs:.4f}", headers, rows)


@cane_app.command("audit")
def audit(business: Business = DEMO, first: First = None, last: Last = None) -> None:
    """What the deliveries say of the lag to the sampler, of stored tares, and of fibre classes."""
    from canewright.accounts.cane_office import audit as audited

    with office(business) as books:
        found = audited(books, frame_of(books, first, last))
        told = [*found.lags, *(each.says() for each in found.tares), *found.classes]
        for line in told or ["nothing to question"]:
            out.print(line, markup=False)
        if found.due:
            more = f" and {len(found.due) - 20} more" if len(found.due) > 20 else ""
            out.print(f"due to be weighed empty: {', '.join(found.due[:20])}{more}", markup=False)


@cane_app.command("yard")
def yard(
    day: Annotated[str, typer.Option("--day", help="factory day")], business: Business = DEMO, csv: ToFile = None
) -> None:
    """Cane in the yard at the end of each hour of a factory day, by arrivals and tippings."""
    from canewright.accounts.cane_office import site_of, yard_of_day

    with office(business) as books:
        zone = site_of(books).zone
        table = yard_of_day(books, day_typed(day, dt.date.min))
        rows = [[f"{at.astimezone(zone):%Y-%m-%d %H:%M}", f"{tonnes:.1f}"] for at, tonnes in table.iter_rows()]
        if csv is not None:
            write_rows(csv, ["hour from", "cane in the yard, t"], rows)
            return
        print_table(f"yard on {day}", ["hour from", "cane in the yard, t"], rows)


@cane_app.command("costs")
def costs(
    business: Business = DEMO,
    first: First = None,
    last: Last = None,
    grower: Annotated[str | None, typer.Option("--grower", help="only of this grower")] = None,
) -> None:
    """What waiting and doubt of samples cost the growers and the mill, with their doubt."""
    from canewright.accounts.cane_office import quality_costs

    with office(business) as books:
        found = quality_costs(books, frame_of(books, first, last), grower)
        for each in found.costs:
            out.print(
                f"{each.what}: {each.ccs_lost:.3f} ± {2 * each.ccs_u:.3f} CCS on {each.tonnes:.0f} t; grower "
                f"$ {each.grower:.0f}, mill $ {each.mill:.0f}; {each.basis}", markup=False,
            )  # fmt: skip
        doubt = found.doubt
        out.print(
            f"doubt of the samples: $ {2 * doubt.by_chance:.0f} by chance and $ {2 * doubt.by_common_error:.0f} in "
            f"common (95 %) on {found.tonnes:.0f} t", markup=False,
        )  # fmt: skip


@cane_app.command("planting")
def planting(
    plant_cane: Annotated[float, typer.Option("--plant-cane", help="yield of plant cane, t/ha")] = 97.0,
    loss: Annotated[float, typer.Option("--loss", help="t/ha less each ratoon")] = 5.4,
    ratoons: Annotated[int, typer.Option("--ratoons")] = 4,
) -> None:
    """Compare setts, billets and nursery seedlings over plant cane and ratoons; default prices are invented."""
    from canewright.cane.planting import Cycle, compared

    try:
        found = compared(cycle=Cycle(plant_cane=plant_cane, loss=loss, ratoons=ratoons))
    except ValueError as wrong:
        refuse_input(str(wrong))
    rows = [
        [
            c.method, f"{c.established:.0f}", f"{c.yearly:.0f}", f"{c.tonnes:.0f}", f"{c.ccs_gain:.3f}",
            f"{c.margin:.2f}", c.source,
        ]
        for c in found
    ]  # fmt: skip
    headers = ["method", "to establish, $/ha", "a year, $/ha", "cycle, t/ha", "gain of CCS", "margin, $/t", "source"]
    print_table("planting methods, best margin first", headers, rows)


@cane_app.command("demo")
def demo(
    folder: Annotated[Path, typer.Argument(help="folder to write to")],
    corrected: Annotated[bool, typer.Option("--corrected", help="with the exchanged brix and pol put right")] = False,
) -> None:
    """Write the invented district and its season as files to import, with planted faults and their truth."""
    from canewright.accounts.cane_office import write_demo

    try:
        with out.status("inventing a season"):
            written = write_demo(folder, as_keyed=not corrected)
    except OSError as trouble:
        refuse_input(f"{folder}: {trouble.strerror}; give another folder")
    for path in written:
        out.print(f"wrote {path}", markup=False)
