"""The season at the command line: smoothed, shown, exported; proposed corrections listed, accepted, declined."""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer
from rich.table import Table

from canewright.cli.desk import day_of, open_books, out, person, plain_refusals, refuse
from canewright.cli.digits import value_text
from canewright.cli.handbook import refuse_input

if TYPE_CHECKING:
    from canewright.store import Act, Proposal, Season

season_app = typer.Typer(
    help="A season of closed days together: what drifts, and what it corrects.", no_args_is_help=True
)
Business = Annotated[Path, typer.Option("--business", help="folder of the business: its store and description")]
First = Annotated[str | None, typer.Option("--from", help="first day, such as 2031-06-02; else the season's first")]
Last = Annotated[str | None, typer.Option("--to", help="last day; else the last closed")]
By = Annotated[str | None, typer.Option("--by", help="who does this; else this machine's account name")]
Reason = Annotated[str, typer.Option("--reason", help="why; kept with the decision")]
Number = Annotated[int, typer.Argument(help="number of the proposal, as 'season proposals' lists it")]
AsJson = Annotated[bool, typer.Option("--json", help="print as JSON")]
CsvFile = Annotated[Path | None, typer.Option("--csv", help="write the course of every quantity to this file, as CSV")]


@season_app.command("smooth")
def season_smooth(
    business: Business = Path("demo-business"),
    first: First = None,
    last: Last = None,
    by: By = None,
    as_json: AsJson = False,
    csv_file: CsvFile = None,
) -> None:
    """Smooth the closed days together, keep the result, and propose corrections. No closed day is changed."""
    from canewright.accounts.seasons import keep, smoothed

    with open_books(business) as books:
        start = day_of(first) if first else books.season_start or dt.date.min
        end = day_of(last) if last else dt.date.max
        if end < start:
            refuse_input(f"--to: found {end}, before --from {start}; accepted: the same day or a later one")
        with out.status("smoothing the season") as status:
            found = smoothed(books, start, end, status.update)
        kept = keep(books, found, person(by))
        _show(kept, books.store.proposals(), as_json=as_json, csv_file=csv_file)


@season_app.command("show")
def season_show(
    business: Business = Path("demo-business"),
    number: Annotated[int | None, typer.Option("--season", help="an earlier smoothing by its number")] = None,
    as_json: AsJson = False,
    csv_file: CsvFile = None,
) -> None:
    """Show the season as it was last smoothed."""
    with open_books(business) as books:
        kept = books.store.season(number)
        if kept is None:
            which = "no season has been smoothed" if number is None else f"there is no season {number}"
            refuse(f"{which}; smooth one with: canewright season smooth --business {business}")
        _show(kept, books.store.proposals(), as_json=as_json, csv_file=csv_file)


def _show(kept: Season, proposals: Sequence[Proposal], *, as_json: bool, csv_file: Path | None) -> None:
    from canewright.accounts.seasons import course_csv, proposal_to_json

    mine = [p for p in proposals if p.season == kept.id]
    if csv_file is not None:
        try:
            with csv_file.open("x", encoding="utf-8", newline="") as file:
                file.write(course_csv(kept.course))
        except OSError as problem:
            refuse_input(f"--csv: {csv_file} cannot be written: {problem.strerror}; give the name of a new file")
        if not as_json:
            out.print(f"wrote {csv_file}", markup=False)
    if as_json:
        data = {"season": kept.id, "by": kept.by, "at": kept.at.isoformat(), **kept.course}
        typer.echo(json.dumps(data | {"proposals": [proposal_to_json(p) for p in mine]}, ensure_ascii=False, indent=1))
        return
    _print_course(kept)
    still = [p for p in mine if p.status == "open"]
    if still:
        out.print(f"{len(still)} closed days are proposed to be corrected; canewright season proposals lists them.")
    elif mine:
        out.print("Every correction that this season proposed is decided, or overtaken.")
    else:
        out.print("It proposes no correction of any closed day.")


def _print_course(kept: Season) -> None:
    course = kept.course
    used = len(course["days"]) - len(course["without_readings"]) - len(course["left_out"])
    out.print(
        f"Season {kept.id}: {kept.first} to {kept.last}, {used} days together; smoothed by {kept.by} on "
        f"{kept.at:%Y-%m-%d %H:%M} UTC.",
        markup=False,
    )
    for change in course["changes"]:
        out.print(f"  {change['says']}", markup=False)
    if not course["changes"]:
        out.print("  No meter and no slow setting drifted or stepped, as far as these days tell.")
    out.print(_table(course))
    for what in ("left_out", "not_compared"):
        for day, why in course.get(what, {}).items():
            out.print(f"{'Left out' if what == 'left_out' else 'Not compared'}: {day}: {why}", markup=False)
    if course["without_readings"]:
        out.print(f"Days without readings: {len(course['without_readings'])}.")
    if course["untold"]:
        out.print(f"Of {len(course['untold'])} further quantities these days tell nothing; --json names them.")


def _table(course: Mapping[str, Any]) -> Table:
    table = Table(title="On the last day (95 %)", title_justify="left", box=None, pad_edge=False)
    table.add_column("slow quantity", overflow="fold")
    table.add_column("unit")
    for head in ("before", "first day", "last day", "pace a day"):
        table.add_column(head, justify="right", no_wrap=True)
    for q in course["quantities"]:
        ends = (value_text(q["values"][i], q["uncertainties"][i]) for i in (0, -1))
        before = value_text(q["first"], q["first_uncertainty"])
        table.add_row(q["name"], "" if q["unit"] == "1" else q["unit"], before, *ends, f"{q['pace']:.2g}")
    return table


# --- proposals --------------------------------------------------------------------------------------------------------


@season_app.command("proposals")
def season_proposals(
    business: Business = Path("demo-business"),
    day: Annotated[str | None, typer.Option("--day", help="of this day only, with all that was decided")] = None,
    everything: Annotated[bool, typer.Option("--all", help="also what is decided, replaced or past")] = False,
    as_json: AsJson = False,
) -> None:
    """List the corrections of closed days that a season proposes: day, figure, published, proposed, why."""
    from canewright.accounts.seasons import proposal_to_json

    with open_books(business) as books:
        found = books.store.proposals(day_of(day) if day else None)
    shown = [p for p in found if everything or day or p.status == "open"]
    if as_json:
        typer.echo(json.dumps([proposal_to_json(p) for p in shown], ensure_ascii=False, indent=1))
        return
    for p in shown:
        _print_proposal(p)
    if not shown:
        more = f" ({len(found)} decided or overtaken; --all lists them)" if found else ""
        out.print(f"No proposed correction is open{more}.")
    else:
        out.print("canewright season accept NUMBER --reason ... closes the day again; season decline keeps it.")


def _print_proposal(p: Proposal) -> None:
    out.print(f"\nProposal {p.id}: {p.day}, version {p.version}: {p.status}", markup=False)
    table = Table(box=None, pad_edge=False)
    table.add_column("figure", overflow="fold")
    table.add_column("unit")
    for head in ("published", "proposed (95 %)"):
        table.add_column(head, justify="right", no_wrap=True)
    for f in p.figures:
        pair = (value_text(f[what], f[f"{what}_uncertainty"], f["decimals"]) for what in ("published", "proposed"))
        table.add_row(f["name"], f["unit"], *pair)
    out.print(table)
    for why in dict.fromkeys(f["why"] for f in p.figures):
        out.print(f"  because {why}", markup=False)
    for d in p.decisions:
        out.print(f"  {d.act} by {d.by} on {d.at:%Y-%m-%d %H:%M} UTC: {d.reason}", markup=False)


@season_app.command("accept")
def season_accept(number: Number, reason: Reason, business: Business = Path("demo-business"), by: By = None) -> None:
    """Accept a proposal: its day is reopened and closed again; the earlier version stays readable."""
    _decided(number, "accepted", reason, business, by)


@season_app.command("decline")
def season_decline(number: Number, reason: Reason, business: Business = Path("demo-business"), by: By = None) -> None:
    """Decline a proposal: its day stays as published."""
    _decided(number, "declined", reason, business, by)


@season_app.command("withdraw")
def season_withdraw(number: Number, reason: Reason, business: Business = Path("demo-business"), by: By = None) -> None:
    """Withdraw an acceptance: the day is closed again without what the season knew."""
    _decided(number, "withdrawn", reason, business, by)


def _decided(number: int, act: Act, reason: str, business: Path, by: str | None) -> None:
    from canewright.accounts.seasons import decide

    if not reason.strip():
        refuse_input("--reason: found nothing; accepted: why this is decided so")
    with open_books(business) as books, plain_refusals(), out.status("deciding") as status:
        found = decide(books, number, act, person(by), reason, status.update)
        latest = books.store.closed(found.day)
    version = "" if latest is None or act == "declined" else f"; {found.day} now stands as version {latest.version}"
    out.print(f"proposal {number} for {found.day} is {found.status}{version}", markup=False)
