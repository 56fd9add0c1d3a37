"""Which meters to buy, at the command line: the cheapest that make wanted quantities checkable."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Annotated

import typer
from rich.table import Table

from canewright.cli.desk import out, plain_refusals, read_plant
from canewright.cli.digits import value_text
from canewright.cli.handbook import refuse_input
from canewright.cli.plants import PlantFile


def register(app: typer.Typer) -> None:
    """Add the command to those on plants."""
    app.command("cheapest-meters")(plant_cheapest_meters)


def plant_cheapest_meters(
    path: PlantFile,
    wanted: Annotated[list[str], typer.Argument(help="figures of the day sheet, or such as 'pol of bagasse'")],
    candidates: Annotated[Path, typer.Option("--candidates", help="CSV: name,stream,quantity,uncertainty,price")],
    determined: Annotated[bool, typer.Option("--determined", help="only determined, not checked as well")] = False,
    as_json: Annotated[bool, typer.Option("--json", help="print as JSON")] = False,
) -> None:
    """The cheapest meters to buy so that every wanted quantity is known even when any one meter fails."""
    from canewright.accounts.outfit import OutfitRefused, as_data, cheapest_meters, read_offers

    plant = read_plant(path)
    try:
        offers = read_offers(plant, candidates.read_bytes())
        with plain_refusals(), out.status("choosing meters"):
            found = cheapest_meters(plant, wanted, offers, checked=not determined)
    except OSError as problem:
        refuse_input(f"--candidates: {candidates} cannot be read: {problem.strerror}; give a CSV file")
    except OutfitRefused as lack:
        refuse_input(str(lack))
    if as_json:
        typer.echo(json.dumps(as_data(found), ensure_ascii=False, indent=1))
        return
    made = "determined" if determined else "checked: known even when any one meter fails"
    if not found.buy:
        out.print(f"Nothing need be bought: with the plant's own meters each is {made}.")
    else:
        out.print(f"Buy {len(found.buy)} meters for {found.cost:,.0f}; each quantity is then {made}:", markup=False)
    for o in found.buy:
        unit = "%" if o.relative else ""
        out.print(f"  {o.name}: {o.quantity} of {o.stream}, ± {o.uncertainty:g}{unit}, {o.price:,.0f}", markup=False)
    table = Table(box=None, pad_edge=False)
    table.add_column("quantity", overflow="fold")
    table.add_column("unit")
    for head in ("now (95 %)", "then (95 %)"):
        table.add_column(head, justify="right", no_wrap=True)
    for w in found.wanted:
        table.add_row(w.name, w.unit, value_text(w.value, w.before), value_text(w.value, w.after))
    out.print(table)
