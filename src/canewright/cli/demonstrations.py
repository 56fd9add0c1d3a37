"""The invented season at the command line: made from a seed, closed from its files, held against its truth."""

from __future__ import annotations

import json
import tempfile
from pathlib import Path
from typing import Annotated, Any

import typer
from rich.progress import Progress

from canewright.cli.desk import out, plain_refusals, read_plant
from canewright.cli.handbook import refuse_input

DEMO_PLANT = Path(__file__).parent.parent / "demo_data" / "plant.toml"
VariantName = Annotated[str, typer.Option("--variant", help="easy, full, adversarial, no-fault or noisy")]
Seed = Annotated[int, typer.Option("--seed", min=0, help="the same seed makes the same files")]
Days = Annotated[int, typer.Option("--days", min=1, max=182, help="how many days of the season, from its first")]


def register(app: typer.Typer, demo_app: typer.Typer) -> None:
    """Add the commands to the application."""
    demo_app.command("season")(demo_season)
    app.command("score")(score_season)


def demo_season(
    folder: Annotated[Path, typer.Option("--folder", help="new folder for the season's plant description and files")],
    truth: Annotated[Path, typer.Option("--truth", help="another new folder for what truly happened")],
    variant: VariantName = "full",
    seed: Seed = 20261,
    days: Days = 182,
) -> None:
    """Make an invented season: the days' files for `day close`, and apart from them what truly happened."""
    _make(folder, truth, variant, seed, days)
    out.print(f"wrote {days} days and {folder / 'plant.toml'}; the truth lies in {truth}", markup=False)
    out.print(
        f"Next: canewright score --season {folder} --truth {truth}, or close single days: canewright day close "
        f"--business NEW --plant {folder / 'plant.toml'} --folder {folder / 'days' / 'DATE'} --day DATE",
        markup=False,
    )


def _make(folder: Path, truth: Path, variant: str, seed: int, days: int) -> None:
    from canewright.demonstration.faults import VARIANTS
    from canewright.demonstration.season import Asked, SeasonRefused, make_season, season_plant

    if variant not in VARIANTS:
        refuse_input(f"variant: found '{variant}'; accepted: {', '.join(VARIANTS)}")
    plant = season_plant(read_plant(DEMO_PLANT), VARIANTS[variant])
    with Progress(console=out, transient=True) as bar:
        task = bar.add_task("making the season", total=days)
        try:
            make_season(
                plant, Asked(VARIANTS[variant], seed, 1, days), folder, truth,
                lambda done, of: bar.update(task, completed=done, total=of),
            )  # fmt: skip
        except SeasonRefused as refused:
            refuse_input(str(refused))
        except OSError as problem:
            refuse_input(f"the season cannot be written: {problem}")


def score_season(
    season: Annotated[Path | None, typer.Option("--season", help="folder of a season made before")] = None,
    truth: Annotated[Path | None, typer.Option("--truth", help="folder of its truth")] = None,
    variant: VariantName = "full",
    seed: Seed = 20261,
    days: Days = 182,
    record: Annotated[Path | None, typer.Option("--record", help="print the card of scores recorded before")] = None,
    as_json: Annotated[bool, typer.Option("--json", help="print the score as JSON")] = False,
) -> None:
    """Close an invented season from its files and hold it against its truth; without --season one is made for it."""
    if record is not None:
        _print_recorded(record)
        return
    if (season is None) != (truth is None):
        refuse_input("give both --season and --truth, or neither and a season is made for the score")
    with tempfile.TemporaryDirectory() as work, plain_refusals():
        if season is None or truth is None:
            season, truth = Path(work) / "season", Path(work) / "truth"
            _make(season, truth, variant, seed, days)
            named = {"variant": variant, "seed": seed}
        else:
            named = {"variant": str(season), "seed": "as made"}
        scored = {**named, **_scored(season, truth, Path(work) / "books")}
    if as_json:
        typer.echo(json.dumps(scored, ensure_ascii=False, indent=1))
    else:
        from canewright.demonstration.scorecard import page

        typer.echo(page({"seasons": [scored]}))


def _print_recorded(record: Path) -> None:
    from canewright.demonstration.scorecard import page

    try:
        typer.echo(page(json.loads(record.read_text(encoding="utf-8"))))
    except (OSError, ValueError, KeyError, TypeError) as problem:
        refuse_input(
            f"record: {record} does not hold scores ({problem}); give a file such as docs/measured/scorecard.json"
        )


def _scored(season: Path, truth: Path, work: Path) -> dict[str, Any]:
    from canewright.demonstration.closing import close_season
    from canewright.demonstration.scorecard import to_json
    from canewright.demonstration.scoring import score
    from canewright.demonstration.season import SeasonRefused
    from canewright.demonstration.truth import read_truth

    if not (season / "plant.toml").is_file():
        refuse_input(f"{season} holds no plant.toml; give the folder of a season made with: canewright demo season")
    try:
        known = read_truth(truth)
    except SeasonRefused as refused:
        refuse_input(str(refused))
    with Progress(console=out, transient=True) as bar:
        task = bar.add_task("closing the season's days", total=None)
        closed = close_season(season, work, lambda done, of: bar.update(task, completed=done, total=of))
    return to_json(score(closed, known))
