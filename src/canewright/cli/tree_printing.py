"""The tree of a figure as text: what it rests on, most important first."""

from __future__ import annotations

from typing import TYPE_CHECKING

from canewright.cli.desk import out
from canewright.cli.digits import value_text

if TYPE_CHECKING:
    from canewright.quantity import Figure


def print_tree(figure: Figure, most: int) -> None:
    """A figure with everything it rests on; ``most`` inputs of each figure, 0 for all."""
    _print_branch(figure, most, 0, "")
    priors = [s.variance_share or 0.0 for s in figure.inputs if s.figure.name.startswith("prior: ")]
    if figure.inputs:
        out.print(f"Of its variance {100 * sum(priors):.1f} % is owed to priors, the rest to readings.")
    out.print("± is the half-width of a 95 % interval, as on the day sheet.")


def _print_branch(figure: Figure, most: int, depth: int, lead: str) -> None:
    source = f" [{figure.reading}]" if figure.reading else ""
    note = f" ({figure.note})" if figure.note else ""
    out.print(f"{'  ' * depth}{lead}{figure.name}: {amount_text(figure)}{source}{note}", markup=False)
    if figure.inputs:
        out.print(f"{'  ' * depth}  = {figure.how}", markup=False)
    for source_of in figure.inputs[: most or None]:
        words = []
        if source_of.variance_share is not None:
            words.append(f"{100 * source_of.variance_share:.2f} % of the variance")
        if source_of.derivative is not None:
            words.append(f"derivative {source_of.derivative:.4g}")
        _print_branch(source_of.figure, most, depth + 1, f"({', '.join(words)}) " if words else "")
    _print_hidden(figure, most, depth)


def _print_hidden(figure: Figure, most: int, depth: int) -> None:
    hidden = figure.inputs[most:] if most else ()
    if hidden:
        rest = 100 * sum(s.variance_share or 0.0 for s in hidden)
        out.print(f"{'  ' * (depth + 1)}and {len(hidden)} more with {rest:.2f} % of the variance; --all shows them")


def amount_text(figure: Figure) -> str:
    """The value with its unit, and its 95 % half-width where it has an uncertainty."""
    unit = "" if figure.unit == "1" else f" {figure.unit}"
    if figure.value is None:
        return "no value"
    if figure.uncertainty is None:
        return f"{figure.value:.6g}{unit}"
    return f"{value_text(figure.value, figure.uncertainty)}{unit} (95 %)"
