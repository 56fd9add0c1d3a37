"""The kinds of station at the command line: listed, or one told from its declaration."""

from __future__ import annotations

import json
from typing import Annotated

import typer
from rich.markdown import Markdown

from canewright.cli.desk import nearest_three, out
from canewright.cli.handbook import refuse_input


def register(app: typer.Typer) -> None:
    """Add the command to the command line."""
    app.command()(stations)


def stations(
    word: Annotated[list[str] | None, typer.Argument(help="a kind of station, such as: evaporator effect")] = None,
    as_markdown: Annotated[bool, typer.Option("--markdown", help="print as Markdown, all kinds or one")] = False,
    as_json: Annotated[bool, typer.Option("--json", help="print one kind as JSON")] = False,
) -> None:
    """List the kinds of station, or show one: ports, settings, equations in words, capacities, cautions, sources."""
    from canewright.plant.catalogue import STATIONS
    from canewright.plant.handbook import markdown, markdown_of, told

    asked = " ".join(word or []).lower()
    if asked and asked not in STATIONS:
        refuse_input(f"no station is of kind '{asked[:60]}'{nearest_three(asked, STATIONS)}")
    if as_json:
        if not asked:
            refuse_input(
                "--json: found no kind of station; accepted: one kind, such as: canewright stations mill --json"
            )
        typer.echo(json.dumps(told(asked).to_json(), ensure_ascii=False, indent=1))
    elif as_markdown:
        typer.echo(markdown_of(told(asked)) if asked else markdown(), nl=bool(asked))
    elif asked:
        out.print(Markdown(markdown_of(told(asked))))
    else:
        for kind in sorted(STATIONS):
            out.print(f"{kind}: {told(kind).summary}", markup=False)
