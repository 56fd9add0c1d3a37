"""Why a plant's equations and unknowns do not match, in the plant's words: which targets, stations and streams."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from canewright.engine import Imbalance, Law, Variable
from canewright.plant.assembly import Assembly

NAMED = 6
"""How many of a sort a message names before it counts the rest."""


def mismatch(assembly: Assembly, imbalance: Imbalance) -> str:
    """What is said too often, what nothing determines, and what to do about each."""
    idle = _idle_targets(assembly, imbalance)
    parts = list(idle)
    freed = {t.moves for t in assembly.description.targets}
    if imbalance.surplus_laws and not idle:
        parts.append(_too_much(imbalance.surplus_laws, imbalance.overdetermined))
    if imbalance.loose_unknowns and not (idle and freed & {v.name for v in imbalance.underdetermined}):
        parts.append(_too_little(assembly, imbalance.loose_unknowns, imbalance.underdetermined))
    return "; ".join(parts)


def _idle_targets(assembly: Assembly, imbalance: Imbalance) -> list[str]:
    """Targets that stand where everything is already determined: what they move does not reach what they hold."""
    said = {law.sentence for law in imbalance.overdetermined if law.owner == "targets"}
    return [
        f"line {t.line}: the target on {t.quantity} of {t.stream} cannot be held: {t.moves}, which it moves, does not "
        f"change it; move a setting that does, or drop the target"
        for t in assembly.description.targets
        if f"{t.quantity} of {t.stream} is as wanted" in said
    ]


def _too_much(surplus: Sequence[Law], region: Iterable[Law]) -> str:
    among = _listed(dict.fromkeys(law.owner for law in region))
    return (
        f"too much is said, {len(surplus)} equation(s) more than unknowns, by: {_listed(str(law) for law in surplus)} "
        f"(at stations {among}); two stations decide the same flow: take one out, or put a draw or a tank between"
    )


def _too_little(assembly: Assembly, loose: Sequence[Variable], region: Iterable[Variable]) -> str:
    among = _listed(dict.fromkeys(v.name.partition(".")[0] for v in region))
    return (
        f"nothing determines {_listed(spoken(assembly, v) for v in loose)} (at stations {among}): lead the stream to a "
        f"station that decides it, or take the source out"
    )


def spoken(assembly: Assembly, variable: Variable) -> str:
    """A variable as a person would say it: water of spare.water, or the setting's own meaning."""
    stream, _, _ = variable.name.rpartition(".")
    return f"{variable.says} of {stream}" if stream in assembly.streams else f"{variable.says} ({variable.name})"


def _listed(words: Iterable[str]) -> str:
    listed = list(words)
    more = f" and {len(listed) - NAMED} more" if len(listed) > NAMED else ""
    return ", ".join(listed[:NAMED]) + more
