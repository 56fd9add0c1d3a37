"""What needs attention, in order of money: suspect meters, losses above target, figures off target."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import Any

from canewright.intervals import TIMES, decimals
from canewright.plant.description import Description
from canewright.plant.diagnosis import EXCHANGED, LOSS, READING, Diagnosis
from canewright.plant.tables import price_in

SHEETS = "look at the laboratory's sheets, and correct with a reason if so"
WALK = "walk the line, drains and heat exchangers included; hot juice and vapour scald"


@dataclass(frozen=True)
class Attention:
    """One matter: what, why, what to do, and the money a day at stake (None where it cannot be said)."""

    what: str
    why: str
    act: str
    money: float | None

    def to_json(self) -> dict[str, Any]:
        """Plain data."""
        return asdict(self)


def prices(description: Description) -> list[dict[str, Any]]:
    """The price list of the plant description."""
    listed = description.data.get("prices", [])
    return [dict(p) for p in listed] if isinstance(listed, list) else []


def sugar_price(description: Description) -> float | None:
    """The price of the mill's raw sugar, $/t, by which losses of sucrose are valued; None where it is not given."""
    stream = description.roles.get("raw sugar")
    for price in prices(description):
        if price.get("stream") == stream and price.get("kind") == "income":
            return price_in(price)
    return None


Pair = tuple[float | None, float | None]


def attention_list(
    description: Description,
    meters: Sequence[Mapping[str, Any]],
    sheet: Sequence[Mapping[str, Any]],
    without: Mapping[str, Pair],
    next_suspect: str | None = None,
    diagnosis: Diagnosis | None = None,
) -> list[Attention]:
    """Everything that needs attention, dearest first; matters without a price follow.

    ``diagnosis`` tells of exchanged values and of losses at stations. ``without`` holds the figures worked out without
    the first suspect: a loss that is gone then hangs on that reading and is told with it, not as a matter of its own.
    """
    found = [
        *_diagnosed(diagnosis or Diagnosis()),
        *_suspects(description, meters, sheet, without, next_suspect),
        *_losses(description, sheet, without),
        *_off_target(sheet),
    ]
    return sorted(found, key=lambda a: -(a.money if a.money is not None else -1.0))


def _diagnosed(diagnosis: Diagnosis) -> Iterable[Attention]:
    """What is likely wrong besides single meters: two values exchanged, or a loss at a station; and what would tell."""
    for one in diagnosis.suspects:
        if one.kind == EXCHANGED:
            yield Attention(one.says, f"exchanged they fit the other readings (test {one.test:.1f})", SHEETS, None)
        elif one.kind == LOSS:
            ties = "; ".join(t.says for t in diagnosis.ties)
            told = f"; the readings hardly tell this from: {ties}" if ties else ""
            yield Attention(one.says, f"the balances around it do not close (test {one.test:.1f}){told}", WALK, None)
    if diagnosis.telling and any(one.kind == READING for one in diagnosis.suspects):
        said = f"{diagnosis.telling} would tell the suspects apart"
        yield Attention(said, "; ".join(one.says for one in diagnosis.suspects), "take it before acting", None)


def _suspects(
    description: Description,
    meters: Sequence[Mapping[str, Any]],
    sheet: Sequence[Mapping[str, Any]],
    without: Mapping[str, Pair],
    next_suspect: str | None,
) -> Iterable[Attention]:
    """The first suspect by name, those that the readings cannot tell from it, and the losses that hang on it."""
    flagged = sorted((m for m in meters if m["flagged"]), key=lambda m: -m["test"])
    if not flagged:
        return
    first = flagged[0]
    rivals = [m["tag"] for m in flagged[1:] if m["test"] > 0.9 * first["test"]]
    relative = 100.0 * first["bias"] / first["implied"] if first["implied"] else 0.0
    way = "high" if first["bias"] > 0 else "low"
    spread = TIMES * first["bias_uncertainty"]
    places = decimals(spread)
    why = (
        f"it reads {first['read']:.{places}f} {first['unit']}; the other readings and the plant description imply "
        f"{first['implied']:.{places}f} ± {spread:.{places}f} {first['unit']} (95 %): {abs(relative):.1f} % {way}"
    )
    if rivals:
        why += f"; the readings do not tell it from {', '.join(rivals[:3])}"
    others = [m["tag"] for m in flagged[1:] if m["tag"] not in rivals]
    if others:
        why += f"; flagged with it: {', '.join(others[:3])}"
    why += f"; with it left out {next_suspect} is suspect" if next_suspect else "; with it left out nothing else is"
    moved, money = _hanging(description, sheet, without)
    why += "".join(f"; without it {said}" for said in moved)
    price = _price_of(description, str(first["stream"]))
    own = abs(first["bias"]) * price if price and first["quantity"] == "mass" else 0.0
    yield Attention(
        f"{first['tag']} is the first suspect", why, "check it before acting on the losses", own + money or None
    )


def _hanging(
    description: Description, sheet: Sequence[Mapping[str, Any]], without: Mapping[str, Pair]
) -> tuple[list[str], float]:
    """The losses that change by more than their uncertainty without the suspect, and what they are worth."""
    worth, said, money = sugar_price(description) or 0.0, [], 0.0
    for row in sheet:
        value, u = without.get(row["name"], (None, None))
        if not row["loss"] or row["value"] is None or value is None or u is None or row["uncertainty"] is None:
            continue
        change = row["value"] - value
        if abs(change) > TIMES * row["uncertainty"]:
            said.append(f"the {row['name']} is {value:.2f} ± {TIMES * u:.2f} %, not {row['value']:.2f} %")
            money = max(money, abs(change) / 100.0 * row["totals"][1] * worth)
    return said, money


def _price_of(description: Description, stream: str) -> float | None:
    for price in prices(description):
        if price.get("stream") == stream:
            return price_in(price)
    return sugar_price(description) if stream == description.roles.get("cane") else None


def _losses(
    description: Description, sheet: Sequence[Mapping[str, Any]], without: Mapping[str, Pair]
) -> Iterable[Attention]:
    worth = sugar_price(description)
    for row in sheet:
        target = row["target"]
        if not row["loss"] or target is None or not _stands(row):
            continue
        value, u = without.get(row["name"], (row["value"], row["uncertainty"]))
        if value is None or u is None or value - target <= TIMES * u:
            continue
        money = (value - target) / 100.0 * row["totals"][1] * worth if worth else None
        why = f"{value:.2f} ± {TIMES * u:.2f} % (95 %) against a target of {target:g} %"
        if row["name"] in without:
            why += ", the first suspect left out"
        yield Attention(f"{row['name']} is above target", why, "look at this station first", money)


def _stands(row: Mapping[str, Any]) -> bool:
    """Whether readings say enough of a figure to act on it."""
    return row["standing"] in {"known", "partly priors"} or row["standing"].startswith("hangs on")


def _off_target(sheet: Sequence[Mapping[str, Any]]) -> Iterable[Attention]:
    for row in sheet:
        value, u, target, better = row["value"], row["uncertainty"], row["target"], row["better"]
        if row["standing"].startswith("hangs on"):
            value, u = row["without_suspect"]["value"], row["without_suspect"]["uncertainty"]
        if row["loss"] or None in (value, u, target) or better not in {"higher", "lower"} or not _stands(row):
            continue
        gap = (target - value) if better == "higher" else (value - target)
        if gap > TIMES * u:
            d, unit = row["decimals"], row["unit"]
            why = f"{value:.{d}f} ± {TIMES * u:.{d}f} {unit} (95 %), target {target:g} {unit}"
            yield Attention(f"{row['name']} is off target", why, "see what it rests on with explain", None)
