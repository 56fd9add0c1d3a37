"""The commands. Each says what it does; heavy libraries are imported only where a command needs them."""

from __future__ import annotations

import datetime as dt
import json
import secrets
from pathlib import Path
from typing import Annotated, Any

import typer

from canewright.cli.advising import register as register_advising
from canewright.cli.cane import cane_app
from canewright.cli.demonstrations import register as register_demonstrations
from canewright.cli.desk import (
    day_of,
    nearest_three,
    open_books,
    out,
    person,
    plain_refusals,
    read_plant,
    refuse,
    refuse_taken,
)
from canewright.cli.handbook import register as register_handbook
from canewright.cli.harvest import harvest_app
from canewright.cli.outfits import register as register_outfits
from canewright.cli.payments import pay_app
from canewright.cli.plants import plant_app
from canewright.cli.printing import print_sheet
from canewright.cli.seasons import season_app
from canewright.cli.stations import register as register_stations
from canewright.cli.strikes import strike_app
from canewright.cli.tree_printing import print_tree

app = typer.Typer(
    name="canewright",
    help="Daily accounts, reconciled balances and advice for a cane sugar mill and refinery.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
)
day_app = typer.Typer(help="Prepare, check, close, reopen and show a factory day.", no_args_is_help=True)
app.add_typer(plant_app, name="plant")
app.add_typer(strike_app, name="strike")
app.add_typer(day_app, name="day")
app.add_typer(pay_app, name="pay")
app.add_typer(season_app, name="season")
app.add_typer(cane_app, name="cane")
demo_app = typer.Typer(help="The invented demo business, or a whole season of it.", invoke_without_command=True)
app.add_typer(demo_app, name="demo")
register_outfits(plant_app)
app.add_typer(harvest_app, name="harvest")
register_handbook(app)
register_advising(app)
register_stations(app)
register_demonstrations(app, demo_app)

PlantPath = Annotated[Path, typer.Option("--plant", help="plant description, a TOML file")]
MaybePlant = Annotated[Path | None, typer.Option("--plant", help="plant description; else the business folder's own")]
Business = Annotated[Path, typer.Option("--business", help="folder of the business: its store and plant description")]
Folder = Annotated[Path, typer.Option("--folder", help="folder of the day's files")]
Day = Annotated[str, typer.Option("--day", help="factory day, such as 2031-08-14")]
Port = Annotated[int, typer.Option("--port", min=1, max=65535, help="port of the pages on this machine")]
By = Annotated[str | None, typer.Option("--by", help="who does this; else this machine's account name")]

DEMO_DATA = Path(__file__).parent.parent / "demo_data"


@day_app.command("template")
def day_template(
    plant: PlantPath,
    folder: Annotated[Path, typer.Option("--folder", help="new folder for the blank files")],
    day: Annotated[str | None, typer.Option("--day", help="factory day; only to name it on the screen")] = None,
) -> None:
    """Write the blank files of a day for this plant's meters and samples."""
    from canewright.accounts.formats import write_templates
    from canewright.accounts.measuring import expected_points

    when = f" for {day_of(day)}" if day else ""
    described = read_plant(plant)
    with plain_refusals():
        try:
            written = write_templates(folder, expected_points(described.description))
        except OSError as problem:
            refuse(f"template folder: {folder} cannot be used: {problem.strerror}; give another with --folder")
    for each in written:
        out.print(f"wrote {each}", markup=False)
    out.print(
        f"Fill them in{when}; rows left blank are passed over, and a file you have no readings for may stay away."
    )


def _read_files(plant: Any, folder: Path, day: dt.date) -> Any:
    from canewright.accounts.intake import read_day
    from canewright.accounts.measuring import expected_points

    description = plant.description
    return read_day(
        folder,
        day,
        expected_points(description),
        description.cut_hour,
        description.zone,
        sections=list(description.sections),
    )


@day_app.command("check")
def day_check(folder: Folder, day: Day, business: Business, plant: MaybePlant = None, by: By = None) -> None:
    """Preview an import: every bad row by file, row and column, and what would be stored. Stores no reading."""
    from canewright.accounts.intake import preview

    when = day_of(day)
    with open_books(business, plant, keep=False) as books:
        files = _read_files(books.plant, folder, when)
        report = preview(books.store, files, person(by))
        _say_import(report, "would store")


def _say_import(report: Any, act: str) -> None:
    out.print(f"{report.day}: {act} {report.readings} readings and {report.consignments} consignments")
    for alarm in report.alarms:
        out.print(f"AT ONCE: {alarm}", style="bold", markup=False)
    for note in report.notes:
        out.print(f"Note: {note}", markup=False)


@day_app.command("import")
def day_import(folder: Folder, day: Day, business: Business, plant: MaybePlant = None, by: By = None) -> None:
    """Import a day's files: all of them or none."""
    from canewright.accounts.intake import import_day

    when = day_of(day)
    with open_books(business, plant) as books:
        _say_import(import_day(books.store, _read_files(books.plant, folder, when), person(by)), "stored")


@day_app.command("close")
def day_close(
    business: Business,
    day: Day,
    folder: Annotated[Path | None, typer.Option("--folder", help="import these files first")] = None,
    plant: MaybePlant = None,
    by: By = None,
    reason: Annotated[str | None, typer.Option("--reason", help="why the day is closed again")] = None,
) -> None:
    """Close a day: reconcile it, store its figures with their trees, print the day sheet."""
    from canewright.accounts.intake import import_day

    when = day_of(day)
    with open_books(business, plant) as books:
        if folder is not None:
            _say_import(import_day(books.store, _read_files(books.plant, folder, when), person(by)), "stored")
        with out.status("closing the day") as status:
            closed = books.close(when, person(by), reason, status.update)
        _print_closed(books, closed)


def _print_closed(books: Any, closed: Any, *, periods: bool = False) -> None:
    status = f"{closed.status}, version {closed.version}, by {closed.by}"
    print_sheet(closed.figures, status, books.season_start, periods=periods)


@day_app.command("reopen")
def day_reopen(
    business: Business,
    day: Day,
    reason: Annotated[str, typer.Option("--reason", help="why the day is opened again")],
    by: By = None,
) -> None:
    """Open a closed day again; the published version stays readable."""
    when = day_of(day)
    with open_books(business) as books:
        opened = books.reopen(when, person(by), reason)
        out.print(f"{opened.day} is open again; version {opened.version} stays readable with --version", markup=False)


@day_app.command("show")
def day_show(
    business: Business,
    day: Day,
    version: Annotated[int | None, typer.Option("--version", help="an earlier version")] = None,
    as_json: Annotated[bool, typer.Option("--json", help="print the day sheet as JSON")] = False,
    periods: Annotated[
        bool, typer.Option("--periods", help="week and season to date, also on a narrow screen")
    ] = False,
) -> None:
    """Show a closed day as it was published."""
    when = day_of(day)
    with open_books(business) as books:
        closed = books.published(when, version)
        if as_json:
            typer.echo(json.dumps(closed.figures, ensure_ascii=False, indent=1))
        else:
            _print_closed(books, closed, periods=periods)


@day_app.command("check-intervals")
def day_check_intervals(
    business: Business,
    day: Day,
    draws: Annotated[int, typer.Option("--draws", help="how many days to draw, at least 20")] = 100,
    seed: Annotated[int, typer.Option("--seed", min=0, help="the same seed draws the same days")] = 1,
    as_json: Annotated[bool, typer.Option("--json", help="print as JSON")] = False,
) -> None:
    """Whether the day's intervals hold where equations bend: against drawn days reconciled by the full equations."""
    from canewright.cli.interval_printing import print_check

    when = day_of(day)
    with open_books(business) as books, out.status("drawing days") as status:
        found = books.check_intervals(when, draws, seed, status.update)
    if as_json:
        data = {"day": day, "draws": found.draws, "unsolved": found.unsolved, "says": found.sentence}
        typer.echo(json.dumps({**data, "figures": [vars(f) for f in found.figures]}, ensure_ascii=False, indent=1))
    else:
        print_check(found)


@app.command()
def explain(
    figure: Annotated[str, typer.Argument(help="name of a figure on the day sheet")],
    day: Day,
    business: Business = Path("demo-business"),
    everything: Annotated[bool, typer.Option("--all", help="show every input, however small")] = False,
) -> None:
    """Print what a figure of a closed day was computed from, down to single readings."""
    when = day_of(day)
    with open_books(business) as books:
        names = [str(row["name"]) for row in books.published(when).figures["sheet"]]
        if figure not in names:
            refuse(
                f"no figure is called '{figure}' on {when}{nearest_three(figure, names)}; "
                f"canewright day show --business {business} --day {when} lists all"
            )
        print_tree(books.figure(figure, when), 0 if everything else 8)


@app.command("worth-reading")
def worth_reading(
    figure: Annotated[str, typer.Argument(help="a figure of the day sheet")],
    day: Day,
    business: Business = Path("demo-business"),
    days: Annotated[float, typer.Option("--days", min=1.0, help="days over which the doubt is counted")] = 1.0,
    most: Annotated[int, typer.Option("--most", min=1, help="how many readings to list")] = 8,
    as_json: Annotated[bool, typer.Option("--json", help="print as JSON, every reading")] = False,
) -> None:
    """Which further or surer reading would narrow a figure's interval most, and the money that is in doubt."""
    from canewright.cli.worth_printing import print_worth, worth_data

    when = day_of(day)
    with open_books(business) as books, out.status("weighing readings"):
        found = books.worth_of_readings(when, figure)
    if as_json:
        typer.echo(json.dumps(worth_data(found, days), ensure_ascii=False, indent=1))
    else:
        print_worth(found, days, most)


@app.command()
def serve(
    business: Business = Path("demo-business"),
    port: Port = 8000,
    by: By = None,
    growers: Annotated[bool, typer.Option("--growers", help="let in only growers who sign in with their key")] = False,
) -> None:
    """Serve the pages of a business on this machine."""
    _serve(business, port, by, growers_only=growers)


def _serve(business: Path, port: int, by: str | None, *, growers_only: bool = False) -> None:
    from canewright.cli.desk import now
    from canewright.web.app import create_app
    from canewright.web.app import serve as serve_pages

    with open_books(business) as books:
        refuse_taken(port)
        out.print(f"pages: http://127.0.0.1:{port}/ (stop with Ctrl+C)")
        secret = secrets.token_bytes(32)
        app_of = create_app(books, now=now, person=person(by), secret=secret, growers_only=growers_only)
        serve_pages(app_of, port)


@demo_app.callback()
def demo(
    context: typer.Context,
    folder: Annotated[Path, typer.Option("--folder", help="folder of the demo business")] = Path("demo-business"),
    port: Port = 8000,
    no_serve: Annotated[bool, typer.Option("--no-serve", help="stop after the day sheet")] = False,
) -> None:
    """Make the invented demo business, import and close its demo day, print the day sheet, then serve the pages."""
    if context.invoked_subcommand is not None:
        return
    from canewright.accounts.intake import import_day

    with open_books(folder, DEMO_DATA / "plant.toml") as books:
        for files in sorted((DEMO_DATA / "days").iterdir()):
            day = day_of(files.name)
            if not books.store.is_closed(day):
                if not books.store.readings(day):
                    report = import_day(books.store, _read_files(books.plant, files, day), "demo analyst")
                    _say_import(report, "stored")
                with out.status(f"closing {day}") as status:
                    books.close(day, "demo chemist", None, status.update)
            closed = books.published(day)
            _print_closed(books, closed)
    if not no_serve:
        _serve(folder, port, "demo analyst")
