"""Juice samples that a person decides about, and growers' access, at the command line."""

from __future__ import annotations

import datetime as dt
import secrets
from typing import Annotated

import typer

from canewright.cli.cane_desk import (
    DEMO,
    Business,
    By,
    First,
    Last,
    Reason,
    Ticket,
    day_typed,
    frame_of,
    office,
)
from canewright.cli.desk import now, out, person

sample_app = typer.Typer(help="Questioned, repeated and disputed juice samples.", no_args_is_help=True)
access_app = typer.Typer(help="Keys to growers' own pages.", no_args_is_help=True)


@sample_app.command("questions")
def sample_questions(business: Business = DEMO, first: First = None, last: Last = None) -> None:
    """Samples that are not paid on as they stand, with what they may have been meant to say."""
    from canewright.accounts.cane_season import questions

    with office(business) as books:
        asked = questions(frame_of(books, first, last))
        for each in asked:
            out.print(f"ticket {each.ticket}, {each.day}, {each.grower}: {each.says}", markup=False)
            for proposal in each.proposals:
                out.print(f"  perhaps: {proposal.says} (CCS {proposal.ccs:.2f})", markup=False)
        out.print(f"{len(asked)} open question(s)")


@sample_app.command("accept")
def sample_accept(
    ticket: Ticket, business: Business = DEMO, first: First = None, last: Last = None, by: By = None
) -> None:
    """Accept the one proposal for a questioned sample; the old reading stays in the history."""
    from canewright.accounts.cane_season import CaneRefused, accept_proposal, questions

    with office(business) as books:
        asked = [each for each in questions(frame_of(books, first, last)) if each.ticket == ticket]
        if not asked:
            raise CaneRefused(f"ticket {ticket} has no open question; canewright cane sample questions lists them")
        meant = accept_proposal(books.store, asked[0], person(by))
        out.print(f"ticket {ticket}: brix {meant.brix}, pol {meant.pol}, CCS {meant.ccs:.2f}", markup=False)


@sample_app.command("rule")
def sample_rule(
    ticket: Ticket,
    ruling: Annotated[str, typer.Argument(help="confirmed, rejected, disputed or settled")],
    day: Annotated[str, typer.Option("--day", help="factory day of the consignment")],
    reason: Reason,
    business: Business = DEMO,
    by: By = None,
) -> None:
    """Say what was decided about a sample: confirmed, rejected, disputed or settled."""
    from canewright.accounts.cane_season import CaneRefused

    with office(business) as books:
        when = day_typed(day, dt.date.min)
        if ticket not in {each.ticket for each in books.store.consignments(when)}:
            raise CaneRefused(f"ticket: found '{ticket[:40]}', which is not stored for {when}; look for its day")
        made = books.store.rule_on_sample(when, ticket, ruling, reason, person(by))  # type: ignore[arg-type]  # checked
        out.print(f"ticket {ticket}: {made.ruling} by {made.entered_by}: {made.says}", markup=False)


@sample_app.command("retest")
def sample_retest(
    ticket: Ticket,
    brix: Annotated[float, typer.Option("--brix", help="brix of the retained juice, %")],
    pol: Annotated[float, typer.Option("--pol", help="pol of the retained juice, %")],
    day: Annotated[str, typer.Option("--day", help="factory day of the consignment")],
    business: Business = DEMO,
    by: By = None,
) -> None:
    """Enter a further analysis of a ticket's retained juice; two that agree give their mean, else a third decides."""
    from canewright.accounts.cane_office import enter_retest

    with office(business) as books:
        number = enter_retest(books.store, day_typed(day, dt.date.min), ticket, brix, pol, person(by), now())
        out.print(f"ticket {ticket}: analysis {number + 1} stored", markup=False)


@access_app.command("give")
def access_give(
    grower: Annotated[str, typer.Argument(help="number of the grower")],
    to: Annotated[str, typer.Option("--to", help="name of the person")],
    business: Business = DEMO,
    by: By = None,
) -> None:
    """Give a person a key to one grower's own pages. The key is shown once and is not kept."""
    from canewright.accounts.cane_registers import entry_on

    with office(business) as books:
        entry_on(books.store, "grower", grower, dt.date.max)
        key = secrets.token_urlsafe(18)
        made = books.store.grant_access(grower, to, key, person(by))
        out.print(f"access {made.id} for {grower}, {to}. The key, shown this once: {key}", markup=False)


@access_app.command("withdraw")
def access_withdraw(
    number: Annotated[int, typer.Argument(help="number of the access")],
    reason: Reason,
    business: Business = DEMO,
    by: By = None,
) -> None:
    """End an access; it stays on record."""
    with office(business) as books:
        books.store.withdraw_access(number, person(by), reason)
        out.print(f"access {number} no longer opens anything")


@access_app.command("list")
def access_list(business: Business = DEMO) -> None:
    """List every access ever given."""
    with office(business) as books:
        for each in books.store.accesses():
            state = f"withdrawn: {each.withdrawn}" if each.withdrawn else "open"
            when = f"{each.entered_at:%Y-%m-%d %H:%M} UTC by {each.entered_by}"
            out.print(f"{each.id}: {each.grower}, {each.given_to}, {when}; {state}", markup=False)
