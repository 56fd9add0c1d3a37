"""Scores as plain data, and the scorecard that a person reads."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from canewright.demonstration.scoring import Found, Matter, Restored, Score

INTRODUCTION = """# Scorecard of the invented season

What the accounts see of an invented season whose truth is known and kept from them. `canewright demo season` makes one,
`canewright score` scores it, `canewright score --record docs/measured/scorecard.json` prints this page; the exam
`tests/exams/test_scorecard.py` measures it. Truth is drawn from the scenario: the plant model run hour by hour with
wandering settings, stops, fouling and cleaning; instruments with noise, lasting bias, rounding, missing results,
outages and exchanged digits. Days are closed from their files by the functions that close any day; the trees of the
figures and the second reconciliation without the first suspect are left out for speed, and figures are kept in memory
but for the days of the late correction, which go through the whole books.

Limits of the checks were set with an eye on the full and no-fault seasons of seed 20261; seasons of other seeds are
fresh. Deadlines are the scenario's, that of A and all bounds are worked out from its noise; "next day close" of the
laboratory's slips is read as the close of the next day. The condensers of this plant pass a third of the scenario's
water, so that the same 0.40 t/h of pol carried over stands in it at three times the concentration. A false alarm is any
matter on a day's sheet about a place where nothing was planted, real changes of cane and stations included.

Invented data proves no formula; it shows what the method would and would not have seen.
"""


def to_json(found: Score) -> dict[str, Any]:
    """A score as plain data."""
    return {
        "faults": [_fault(f) for f in found.found],
        "found in time": sum(f.in_time for f in found.found if f.fault.must_be_found),
        "of": sum(f.fault.must_be_found for f in found.found),
        "credit for suspects": sum(f.credit for f in found.found if f.fault.must_be_found),
        "points": round(found.points, 2),
        "days": round(found.weeks * 7),
        "false alarms": [_matter(m) for m in found.false_alarms],
        "false alarms a week": round(found.false_a_week, 2),
        "days with a false alarm": found.flagged_days,
        "mistyped results worth finding": found.slips[0],
        "mistyped results found": found.slips[1],
        "season totals": [_total(t) for t in found.totals],
        "undetermined loss, % of pol in cane": _undetermined(found),
        "weekly intervals": {name: list(pair) for name, pair in found.covered.items()},
        "days not reconciled": list(found.not_solved),
    }  # fmt: skip


def _undetermined(found: Score) -> dict[str, float] | None:
    one = found.undetermined
    if one is None:
        return None
    return {
        "truth": round(one.truth, 3), "accounts": round(one.told, 3),
        "with the sugar of the book": round(one.by_book, 3), "uncertainty": round(one.uncertainty, 3),
    }  # fmt: skip


def _fault(one: Found) -> dict[str, Any]:
    fault = one.fault
    return {
        "id": fault.id, "says": fault.says, "first": fault.first, "last": fault.last, "deadline": fault.deadline,
        "must be found": fault.must_be_found, "found": one.day, "in time": one.in_time,
        "rank of the right suspect": None if one.rank is None else one.rank + 1, "told as": one.says,
        "true size": fault.size, "told size": one.size, "unit": fault.unit, "relative error": one.size_error,
        "bound": fault.bound,
    }  # fmt: skip


def _matter(one: Matter) -> dict[str, Any]:
    return {"about": one.about, "first": one.first, "last": one.last, "days": one.days, "says": one.says}


def _total(one: Restored) -> dict[str, Any]:
    return {
        "name": one.name, "unit": one.unit, "truth": round(one.truth, 1), "weighed": round(one.raw, 1),
        "restored": round(one.restored, 1), "uncertainty": round(one.uncertainty, 1), "ratio": round(one.ratio, 3),
    }  # fmt: skip


def coverage(records: Sequence[Mapping[str, Sequence[int]]]) -> tuple[float, dict[str, float], int]:
    """Share of intervals that cover the truth: of all, of each total, and how many intervals there were."""
    names = dict.fromkeys(name for r in records for name in r)
    sums = {n: [sum(r[n][i] for r in records if n in r) for i in (0, 1)] for n in names}
    asked = sum(of for _, of in sums.values())
    each = {n: hit / of for n, (hit, of) in sums.items() if of}
    return (sum(hit for hit, _ in sums.values()) / asked if asked else float("nan")), each, asked


# --- the page ---------------------------------------------------------------------------------------------------------


def page(record: Mapping[str, Any]) -> str:
    """The scorecard as Markdown, from a record of seasons and of the coverage."""
    return "\n".join([INTRODUCTION, *_seasons(record), *_coverage(record), ""])


def _seasons(record: Mapping[str, Any]) -> Iterator[str]:
    for season in record["seasons"]:
        yield f"## {season['variant']} season, seed {season['seed']}, {season['days']} days"
        yield f"\nCommit {season['commit']}.\n" if "commit" in season else ""
        yield f"{season['remark']}\n" if "remark" in season else ""
        yield from _faults(season)
        yield from _alarms(season)
        yield from _totals(season)


def _faults(season: Mapping[str, Any]) -> Iterator[str]:
    planted = [f for f in season["faults"] if f["must be found"]]
    if planted:
        yield (
            f"Found in time: {season['found in time']} of {season['of']}; credit for the right suspect "
            f"{season['credit for suspects']:g} of {season['of']} (one for first, a half for second)."
        )
    yield "\n| fault | days | found on day (deadline) | right suspect | size told (true) | error (bound) |"
    yield "|---|---|---|---|---|---|"
    for f in season["faults"]:
        cells = (f"{f['id']} {f['says']}", f"{f['first']}-{f['last']}", _when(f), _rank(f), _sizes(f), _error(f))
        yield f"| {' | '.join(cells)} |"
    yield ""


def _when(f: Mapping[str, Any]) -> str:
    if not f["must be found"]:
        return "not flagged, as it should" if f["found"] is None else f"FLAGGED on {f['found']}"
    if f["found"] is None:
        return f"NOT FOUND ({f['deadline']})"
    return f"{f['found']} ({f['deadline']}){'' if f['in time'] else ' LATE'}"


def _rank(f: Mapping[str, Any]) -> str:
    return "" if f["rank of the right suspect"] is None else f"no. {f['rank of the right suspect']}"


def _sizes(f: Mapping[str, Any]) -> str:
    told, true = f["told size"], f["true size"]
    if not true:
        return ""
    return f"{'none' if told is None else f'{abs(told):.3g}'} ({true:.3g} {f['unit']})"


def _error(f: Mapping[str, Any]) -> str:
    if f["relative error"] is None:
        return ""
    bound = "" if f["bound"] is None else f" ({100 * f['bound']:.0f} %)"
    return f"{100 * f['relative error']:+.0f} %{bound}"


def _alarms(season: Mapping[str, Any]) -> Iterator[str]:
    false = sorted(season["false alarms"], key=lambda m: int(m["first"]))
    yield (
        f"False alarms: {len(false)} matters, {season['false alarms a week']} a week, on "
        f"{season['days with a false alarm']} days. Exchanged digits worth finding: {season['mistyped results found']} "
        f"of {season['mistyped results worth finding']} found at the day's close."
    )
    for m in false:
        last = f" to {m['last']}" if m["last"] > m["first"] else ""
        yield f"- day {m['first']}{last}: {m['says']}"
    if season["days not reconciled"]:
        yield f"\nDays not reconciled: {'; '.join(season['days not reconciled'])}"
    yield ""


def _totals(season: Mapping[str, Any]) -> Iterator[str]:
    yield "| season total | truth | as weighed | restored ± 95 % | error restored / raw |"
    yield "|---|---|---|---|---|"
    for t in season["season totals"]:
        yield (
            f"| {t['name']}, {t['unit']} | {t['truth']:,.0f} | {t['weighed']:,.0f} | {t['restored']:,.0f} ± "
            f"{1.96 * t['uncertainty']:,.0f} | {t['ratio']:.2f} |"
        )
    loss = season["undetermined loss, % of pol in cane"]
    if loss is None:
        return
    half = 1.96 * loss["uncertainty"]
    yield (
        f"\nUndetermined losses together, % of pol in cane: truth {loss['truth']:.2f}; the days' accounts "
        f"{loss['accounts']:.2f} ± {half:.2f}; with the sugar of the closed book "
        f"{loss['with the sugar of the book']:.2f}. Biases of the juice weigher and of the juice's pol, which nothing "
        f"else in this plant checks, allow no better than this interval.\n"
    )


def _coverage(record: Mapping[str, Any]) -> Iterator[str]:
    runs = record.get("coverage")
    if not runs:
        return
    share, each, asked = coverage([r["weekly intervals"] for r in runs])
    seeds = [r["seed"] for r in runs]
    yield f"## 90 % intervals of weekly totals, {len(seeds)} seeds ({min(seeds)} to {max(seeds)})"
    yield (
        f"\nCommit {runs[0]['commit']}. Seasons without faults, the first {runs[0]['days']} days of each: {asked} "
        f"intervals of twenty weekly totals, of which {100 * share:.1f} % cover the truth (wanted: 85 to 95 %).\n"
    )
    yield "| weekly total | covers, % |"
    yield "|---|---|"
    for name, one in each.items():
        yield f"| {name} | {100 * one:.0f} |"
