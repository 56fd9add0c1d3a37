"""Formulas found by name, meaning, symbol or any word of the trade for them."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from canewright.quantity.formula import Formula
from canewright.quantity.synonyms import plain, same_things

IN_NAME, AS_SYMBOL, IN_MEANING, IN_ARGUMENTS, IN_SOURCE = range(5)
_SYNONYM = 0.5
"""How much further down a formula stands that is found by another word for the one typed."""


@dataclass(frozen=True)
class Found:
    """A formula that a search found, and the words that were found in it, as they stand in the table of synonyms."""

    formula: Formula
    by: tuple[str, ...]


def search(asked: str, catalogue: Mapping[str, Formula]) -> list[Found]:
    """Formulas in which every asked word, or another word of the trade for it, stands; the nearest first.

    The whole phrase is tried as one word of the trade before its words are taken one by one.
    """
    phrase = " ".join(asked.split())
    if not phrase:
        return []
    whole = _ranked([phrase], catalogue)
    words = phrase.split()
    parts = _ranked(words, catalogue) if len(words) > 1 else []
    seen = {each.formula.name for each in whole}
    return whole + [each for each in parts if each.formula.name not in seen]


def _ranked(words: list[str], catalogue: Mapping[str, Formula]) -> list[Found]:
    wanted = [same_things(word) for word in words]
    ranked: list[tuple[float, str, Found]] = []
    for name, formula in catalogue.items():
        texts = _texts(formula)
        hits = [_best(each, texts) for each in wanted]
        if all(hit is not None for hit in hits):
            kept = [hit for hit in hits if hit is not None]
            found = Found(formula, tuple(dict.fromkeys(word for _, word in kept)))
            ranked.append((sum(rank for rank, _ in kept), name, found))
    return [found for _, _, found in sorted(ranked, key=lambda each: each[:2])]


def _texts(formula: Formula) -> tuple[str, ...]:
    """What is searched, the place that weighs most first."""
    declared = formula.arguments.values()
    symbols = " ".join([formula.result.symbol, *(a.symbol for a in declared)])
    arguments = " ".join([*formula.arguments, *(a.says for a in declared), *(a.kind for a in declared)])
    meaning = f"{formula.says} {formula.result.says} {formula.result.kind}"
    return tuple(plain(each) for each in (formula.name, symbols, meaning, arguments, formula.source))


def _best(names: Iterable[str], texts: tuple[str, ...]) -> tuple[float, str] | None:
    """How near a formula is to any of the names, 0 the nearest, with the name found; None where none of them stands."""
    found: tuple[float, str] | None = None
    for number, name in enumerate(names):
        pattern = _pattern(plain(name))
        for place, text in enumerate(texts):
            rank = place + (_SYNONYM if number else 0.0) - (0.25 if text == plain(name) else 0.0)
            if (found is None or rank < found[0]) and pattern.search(text):
                found = (rank, name)
    return found


def _pattern(word: str) -> re.Pattern[str]:
    """A short word stands alone; a longer one may begin a longer word still (polarimeter, polarimetric)."""
    end = r"(?!\w)" if len(word) <= 3 else ""
    return re.compile(rf"(?<!\w){re.escape(word)}{end}")


def nearest(asked: str, known: Iterable[str], most: int = 3) -> list[str]:
    """The names most like one that is not known."""
    by_plain = {plain(each): each for each in known}
    return [by_plain[each] for each in difflib.get_close_matches(plain(asked), by_plain, n=most, cutoff=0.4)]
