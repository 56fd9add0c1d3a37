"""Payment of growers at the command line: agreements, runs, two-person approval, statements."""

from __future__ import annotations

import contextlib
import csv
import io
import json
import secrets
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer
from rich.table import Table

from canewright.cli.desk import nearest_three, open_books, out, person, plain_refusals, refuse
from canewright.cli.handbook import refuse_input

if TYPE_CHECKING:
    from canewright.accounts.books import Books
    from canewright.accounts.pay_office import PayOffice
    from canewright.accounts.pay_people import Signed
    from canewright.cane.schemes import Scheme
    from canewright.store import StoredRun

pay_app = typer.Typer(help="Pay growers: agreements, runs, approval by two persons, statements.", no_args_is_help=True)
Business = Annotated[Path, typer.Option("--business", help="folder of the business")]
SeasonName = Annotated[str, typer.Option("--season", help="name of the season, as its agreement has it")]
Run = Annotated[int, typer.Option("--run", min=1, help="number of the run")]
Version = Annotated[int | None, typer.Option("--version", min=1, help="version of the run; the newest if left out")]
By = Annotated[str | None, typer.Option("--by", help="who does this; else this machine's account name")]
Secret = Annotated[
    Path | None, typer.Option("--passphrase-file", help="file whose first line is the passphrase; else it is asked for")
]
Reason = Annotated[str, typer.Option("--reason", help="why")]
Grower = Annotated[str, typer.Option("--grower", help="name of the grower")]


@contextlib.contextmanager
def _refusals() -> Iterator[None]:
    """Refusals of payment in plain sentences: wrong input with code 2, what may not be done with code 1."""
    from canewright.cane.deliveries import PaymentRefused
    from canewright.cane.season_reading import SeasonFaults

    with plain_refusals():
        try:
            yield
        except SeasonFaults as faults:
            listed = "\n".join(f"  {fault}" for fault in faults.faults)
            refuse_input(f"the agreement has {len(faults.faults)} fault(s), nothing was stored:\n{listed}")
        except PaymentRefused as refused:
            refuse_input(f"nothing was stored; {len(refused.faults)} fault(s):\n{refused}")


@contextlib.contextmanager
def _office(business: Path, by: str | None, secret: Path | None) -> Iterator[tuple[PayOffice, Signed, Books]]:
    """The pay office of a business and the person, who has shown the passphrase."""
    from canewright.accounts.pay_office import PayOffice
    from canewright.accounts.pay_people import People

    with open_books(business) as books, _refusals():
        name = person(by)
        signed = People(books.store, secrets.token_bytes).sign_in(name, _passphrase(name, secret))
        yield PayOffice(books.store, books.description), signed, books


def _passphrase(name: str, file: Path | None) -> str:
    if file is None:
        asked: str = typer.prompt(f"passphrase of {name}", hide_input=True, err=True)
        return asked
    try:
        return file.read_text(encoding="utf-8").splitlines()[0]
    except (OSError, UnicodeDecodeError, IndexError):
        refuse_input(
            f"passphrase file: {file} cannot be read; accepted: a text file with the passphrase in its first line"
        )


# --- schemes and agreements -------------------------------------------------------------------------------------------


@pay_app.command("schemes")
def pay_schemes(
    name: Annotated[list[str] | None, typer.Argument(help="a scheme, for its steps and constants")] = None,
) -> None:
    """List the published schemes, or tell one with its steps, constants and source."""
    from canewright.cane.schemes import SCHEMES, scheme_names

    wanted = " ".join(name or [])
    if not wanted:
        for key in sorted(SCHEMES):
            out.print(f"{SCHEMES[key].title}: {SCHEMES[key].says}", markup=False)
        return
    found = [scheme for (known, _), scheme in sorted(SCHEMES.items()) if known == wanted]
    if not found:
        refuse_input(f"no scheme is called '{wanted[:60]}'{nearest_three(wanted, scheme_names())}")
    for scheme in found:
        _tell(scheme)


def _tell(scheme: Scheme) -> None:
    since = f"in force from {scheme.since}" if scheme.since else "since a date that was not found"
    out.print(f"{scheme.title} ({scheme.kind} scheme, {since})", markup=False, style="bold")
    for line in (scheme.says, f"source: {scheme.source} ({scheme.status})", *scheme.steps):
        out.print(f"  {line}", markup=False)
    for c in scheme.constants:
        published = f"; published: {c.published}" if c.published else ""
        out.print(f"  {c.name}: {c.says}, {c.unit}, {c.low} to {c.high}{published}", markup=False)
    if scheme.caveat:
        out.print(f"  mind: {scheme.caveat}", markup=False)


AgreementFile = Annotated[Path, typer.Argument(help="the season's agreement, a TOML file")]


@pay_app.command("check")
def pay_check(file: AgreementFile) -> None:
    """Check an agreement: every fault by line and field. Stores nothing."""
    from canewright.cane.season_reading import read_season

    with _refusals():
        season = read_season(_text(file))
    out.print(f"season {season.name}, {season.first} to {season.last}: {len(season.periods)} periods", markup=False)
    for use in season.schemes.values():
        out.print(f"  {use.key}: {use.scheme.title}, relative payment {use.relative}", markup=False)
    out.print(f"  rounding: {season.rounding.says()}", markup=False)
    if not season.final_known():
        out.print("  final constants are not given yet; the final settlement needs them", markup=False)


def _text(file: Path) -> str:
    try:
        return file.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as problem:
        refuse_input(f"agreement: {file} cannot be read ({problem}); accepted: a UTF-8 text file")


@pay_app.command("agree")
def pay_agree(file: AgreementFile, business: Business, reason: Reason, by: By = None, secret: Secret = None) -> None:
    """Store a season's agreement as its next version; terms of closed periods cannot change."""
    text = _text(file)
    with _office(business, by, secret) as (office, signed, _):
        stored = office.enter_agreement(signed, text, reason)
        out.print(f"season {stored.season}: agreement stored as version {stored.version}", markup=False)


# --- persons ----------------------------------------------------------------------------------------------------------


@pay_app.command("person")
def pay_person(
    name: Annotated[str, typer.Argument(help="name of the person to record")],
    *,
    business: Business,
    reason: Reason,
    right: Annotated[list[str] | None, typer.Option("--right", help="a right to hold; may be given again")] = None,
    grower: Annotated[str | None, typer.Option("--grower", help="grower whose statements may be seen")] = None,
    new_secret: Annotated[
        Path | None,
        typer.Option("--new-passphrase-file", help="file with the passphrase; else it is asked for"),
    ] = None,
    keep: Annotated[bool, typer.Option("--keep-passphrase", help="leave the passphrase as it is")] = False,
    by: By = None,
    secret: Secret = None,
) -> None:
    """Record a person with rights, or without any to withdraw them. The first one must hold the right to administer."""
    from canewright.accounts.pay_people import People

    with open_books(business) as books, _refusals():
        people = People(books.store, secrets.token_bytes)
        who = None
        if books.store.payments.persons():
            acting = person(by)
            who = people.sign_in(acting, _passphrase(acting, secret))
        chosen = None if keep else _new_passphrase(name, new_secret)
        found = people.record(who, name, right or [], chosen, reason, grower)
        rights = ", ".join(sorted(found.rights)) or "no right"
        out.print(f"{found.name}: {rights}{f', grower {found.grower}' if found.grower else ''}", markup=False)


def _new_passphrase(name: str, file: Path | None) -> str:
    if file is not None:
        return _passphrase(name, file)
    asked: str = typer.prompt(f"new passphrase of {name}", hide_input=True, confirmation_prompt=True, err=True)
    return asked


@pay_app.command("people")
def pay_people(business: Business) -> None:
    """List the persons recorded for payment and their rights."""
    from canewright.accounts.pay_people import RIGHTS

    with open_books(business) as books:
        for one in books.store.payments.persons():
            told = ", ".join(one.rights) or "no right"
            out.print(f"{one.name}: {told}{f' ({one.grower})' if one.grower else ''}", markup=False)
    out.print(f"Rights: {'; '.join(f'{right}: {says}' for right, says in RIGHTS.items())}", markup=False)


# --- runs -------------------------------------------------------------------------------------------------------------


@pay_app.command("preview")
def pay_preview(
    business: Business,
    season: SeasonName,
    reason: Annotated[str, typer.Option("--reason", help="why something paid before is corrected")] = "",
    as_json: Annotated[bool, typer.Option("--json", help="print everything as JSON")] = False,
    by: By = None,
    secret: Secret = None,
) -> None:
    """What the next run would pay; stores nothing."""
    with _office(business, by, secret) as (office, signed, _), out.status("computing") as status:
        told = office.preview(signed, season, reason, status.update)
    if as_json:
        typer.echo(json.dumps(told, ensure_ascii=False, indent=1))
    else:
        _print_run(told, "preview, nothing is stored")


@pay_app.command("compute")
def pay_compute(
    business: Business,
    season: SeasonName,
    reason: Annotated[str, typer.Option("--reason", help="why something paid before is corrected")] = "",
    by: By = None,
    secret: Secret = None,
) -> None:
    """Compute the next run and store it for approval."""
    with _office(business, by, secret) as (office, signed, _), out.status("computing") as status:
        stored = office.compute(signed, season, reason, status.update)
    _print_run(stored.content, _status(stored))


@pay_app.command("approve")
def pay_approve(
    business: Business, season: SeasonName, run: Run, version: Version = None, by: By = None, secret: Secret = None
) -> None:
    """Approve a computed run; two different persons must."""
    with _office(business, by, secret) as (office, signed, _):
        stored = office.approve(signed, season, run, version or office.run(season, run).version)
        out.print(_status(stored), markup=False)


@pay_app.command("reject")
def pay_reject(
    business: Business,
    season: SeasonName,
    run: Run,
    reason: Reason,
    version: Version = None,
    by: By = None,
    secret: Secret = None,
) -> None:
    """Reject a computed run with a reason."""
    with _office(business, by, secret) as (office, signed, _):
        stored = office.reject(signed, season, run, version or office.run(season, run).version, reason)
        out.print(_status(stored), markup=False)


@pay_app.command("close")
def pay_close(
    business: Business, season: SeasonName, run: Run, version: Version = None, by: By = None, secret: Secret = None
) -> None:
    """Close a run that two persons approved. Nothing of it changes afterwards."""
    with _office(business, by, secret) as (office, signed, _), out.status("computing once more") as status:
        stored = office.close(signed, season, run, version or office.run(season, run).version, status.update)
    _print_run(stored.content, _status(stored))


@pay_app.command("correct")
def pay_correct(
    *,
    business: Business,
    season: SeasonName,
    grower: Grower,
    amount: Annotated[str, typer.Option("--amount", help="money to credit; below nothing to take back")],
    period: Annotated[int, typer.Option("--period", help="number of the period that it belongs to")],
    reason: Reason,
    ticket: Annotated[str, typer.Option("--ticket", help="ticket that it belongs to, if one")] = "",
    by: By = None,
    secret: Secret = None,
) -> None:
    """Record money to credit or take back by hand; it becomes a new line of the next run."""
    with _office(business, by, secret) as (office, signed, _):
        stored = office.correct(signed, season, grower, amount, reason, period, ticket)
        out.print(f"{stored.grower}: {stored.amount} $ with run {stored.run}: {stored.reason}", markup=False)


@pay_app.command("runs")
def pay_runs(business: Business, season: SeasonName, by: By = None, secret: Secret = None) -> None:
    """List the runs of a season, every version with who, when and why."""
    with _office(business, by, secret) as (office, signed, _):
        for run in office.seen_runs(signed, season):
            for version in office.store.payments.versions(season, run.number):
                out.print(_status(version), markup=False)


def _status(run: StoredRun) -> str:
    from canewright.accounts.pay_words import status_of

    why = f", {run.reason}" if run.reason else ""
    what = "final settlement" if run.content["final"] else f"run {run.number}"
    return f"season {run.season}, {what}: {status_of(run)}; computed by {run.by} on {run.at:%Y-%m-%d %H:%M} UTC{why}"


def _print_run(told: dict[str, Any] | Any, status: str) -> None:
    out.print(status, markup=False)
    money = told["currency"]
    out.print(
        f"{told['first']} to {told['last']}: {told['consignments']} consignments, {told['tonnes']} t, "
        f"worth {told['value']} {money}; payable {told['payable']} {money}", markup=False,
    )  # fmt: skip
    table = Table(box=None, pad_edge=False)
    table.add_column("grower", overflow="fold")
    for head in ("value", "corrections", "value to date", "payable", "carried"):
        table.add_column(f"{head}, {money}", justify="right")
    for row in told["growers"]:
        table.add_row(*(str(cell).replace("[", "(") for cell in row))
    out.print(table)
    for grower, period, ticket, _, amount, reason in told["corrections"]:
        named = f" ticket {ticket}" if ticket else ""
        out.print(f"new line: {grower}, period {period}{named}: {amount} {money}, {reason}", markup=False)
    x = told["exposure"]
    if x["proceeds"]:
        out.print(
            f"the mill: proceeds {x['proceeds']}, left {x['left']}, growers {x['growers_share']} %, "
            f"one point of recovery {x['per_recovery']} {money}", markup=False,
        )  # fmt: skip


# --- statements -------------------------------------------------------------------------------------------------------


@pay_app.command("statement")
def pay_statement(
    *,
    business: Business,
    season: SeasonName,
    run: Run,
    grower: Grower,
    pdf: Annotated[Path | None, typer.Option("--pdf", help="write it here as PDF")] = None,
    workbook: Annotated[Path | None, typer.Option("--xlsx", help="write it here as a workbook")] = None,
    as_json: Annotated[bool, typer.Option("--json", help="print it as JSON")] = False,
    version: Version = None,
    by: By = None,
    secret: Secret = None,
) -> None:
    """Show a grower's statement as it was published, or write it as PDF or workbook."""
    from canewright.accounts.pay_words import status_of

    with _office(business, by, secret) as (office, signed, books):
        found = office.statement(signed, season, run, grower, version)
        stored = office.run(season, run, version)
        site = books.description.name
    if pdf is not None:
        from canewright.reports.statement_pdf import StatementPrinter

        _write(pdf, StatementPrinter(site).pdf(found, status_of(stored), stored.at))
    if workbook is not None:
        from canewright.reports.statement_workbook import statement_workbook

        _write(workbook, statement_workbook(found, site, status_of(stored), stored.at))
    if as_json:
        typer.echo(json.dumps(found, ensure_ascii=False, indent=1))
    elif pdf is None and workbook is None:
        _print_statement(found, status_of(stored))


@pay_app.command("print")
def pay_print(
    business: Business,
    season: SeasonName,
    run: Run,
    folder: Annotated[Path, typer.Option("--folder", help="folder for one PDF each, made when absent")],
    version: Version = None,
    by: By = None,
    secret: Secret = None,
) -> None:
    """Write every statement of a run as PDF."""
    from canewright.accounts.pay_words import file_name, status_of
    from canewright.reports.statement_pdf import StatementPrinter

    with _office(business, by, secret) as (office, signed, books):
        stored = office.run(season, run, version)
        printer = StatementPrinter(books.description.name)
        names = [row[0] for row in stored.content["growers"]]
        with out.status("printing") as status:
            for number, name in enumerate(names, start=1):
                status.update(f"printing {number} of {len(names)}: {name}")
                found = office.statement(signed, season, run, name, version)
                _write(folder / f"{file_name(found)}.pdf", printer.pdf(found, status_of(stored), stored.at), say=False)
    out.print(f"wrote {len(names)} statements to {folder}", markup=False)


def _write(path: Path, made: bytes, *, say: bool = True) -> None:
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(made)
    except OSError as problem:
        refuse(f"{path} cannot be written: {problem.strerror}; give another")
    if say:
        out.print(f"wrote {path}", markup=False)


def _print_statement(told: Any, status: str) -> None:
    out.print(f"{told['grower']}, season {told['season']}, run {told['run']}: {status}", markup=False)
    for says, amount, unit in told["account"]:
        out.print(f"  {says:<45}{amount:>16} {unit}", markup=False)
    out.print(_as_csv([told["heads"], *told["lines"]]), markup=False, soft_wrap=True)
    for ticket, remark in told["marks"]:
        out.print(f"ticket {ticket}: {remark}", markup=False)
    for period, ticket, _, amount, reason in told["corrections"]:
        out.print(f"correction of period {period} {ticket}: {amount} {told['currency']}, {reason}", markup=False)
    out.print(f"rounding: {told['rounding']}", markup=False)


def _as_csv(rows: Sequence[Sequence[str]]) -> str:
    kept = io.StringIO()
    csv.writer(kept, lineterminator="\n").writerows(rows)
    return kept.getvalue().rstrip()
