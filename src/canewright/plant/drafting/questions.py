"""The short questions about a plant, and the check of what is answered."""

from __future__ import annotations

import difflib
import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from canewright.plant.drafting.draft import Number


class BadAnswer(ValueError):
    """An answer that cannot be used; the message says which, what was found and what is accepted."""


@dataclass(frozen=True)
class Question:
    """One question: what is asked, in which unit, between which limits, and the answer assumed where none is given."""

    key: str
    asks: str
    default: float | str
    unit: str = ""
    limits: tuple[float, float] = (0.0, 0.0)
    options: tuple[str, ...] = ()
    whole: bool = False
    uncertainty: float | None = None

    @property
    def accepted(self) -> str:
        """What may be answered, in words."""
        if self.options:
            return " or ".join(self.options)
        if isinstance(self.default, str):
            return "a name of at most 60 printable characters"
        low, high = self.limits
        unit = f" {self.unit}" if self.unit else ""
        return f"a {'whole ' if self.whole else ''}number from {low:g} to {high:g}{unit}"

    def read(self, typed: str) -> Answer:
        """An answer as typed.

        Raises BadAnswer naming what is accepted.
        """
        word = typed.strip()
        if self.options:
            found = next((o for o in self.options if o == word.lower()), None)
            if found is None:
                raise BadAnswer(self._refusal(word))
            return Answer(self, found, own=True)
        if isinstance(self.default, str):
            if not word or len(word) > LONGEST_NAME or not word.isprintable():
                raise BadAnswer(self._refusal(word))
            return Answer(self, word, own=True)
        number = _number(word.removesuffix(self.unit).strip() if self.unit else word)
        low, high = self.limits
        if number is None or not low <= number <= high or (self.whole and not number.is_integer()):
            raise BadAnswer(self._refusal(word))
        return Answer(self, number, own=True)

    def _refusal(self, word: str) -> str:
        return f"{self.key}: found '{word[:60]}'; accepted: {self.accepted}"

    def left(self) -> Answer:
        """The answer assumed where none is given."""
        return Answer(self, self.default, own=False)


LONGEST_NAME = 60


def _number(word: str) -> float | None:
    try:
        number = float(word)
    except ValueError:
        return None
    return number if math.isfinite(number) else None


@dataclass(frozen=True)
class Answer:
    """An answer with whether a person gave it."""

    question: Question
    value: float | str
    own: bool

    @property
    def number(self) -> Number:
        """The answer as a number of the description."""
        if isinstance(self.value, str):
            raise TypeError(f"{self.question.key} is not a number")
        spread = self.question.uncertainty
        return Number(self.value, self.own, "assumed answer to a question of `plant new`", spread)


@dataclass(frozen=True)
class Answers:
    """Every answer to a template's questions."""

    by_key: Mapping[str, Answer]

    def number(self, key: str) -> Number:
        """A numerical answer as a number of the description."""
        return self.by_key[key].number

    def size(self, key: str) -> float:
        """A numerical answer's value."""
        return self.number(key).value

    def count(self, key: str) -> int:
        """A whole number."""
        return int(self.size(key))

    def word(self, key: str) -> str:
        """An answer in words."""
        return str(self.by_key[key].value)

    def told(self) -> Iterator[str]:
        """The answers in two lines, those given and those assumed: some decide what is built and stand nowhere else."""
        for what, own in (("Answered", True), ("Assumed", False)):
            listed = [f"{a.question.key} {a.value}" for a in self.by_key.values() if a.own == own]
            if listed:
                yield f"{what}: {', '.join(listed)}"


_ALL = (
    Question("name", "What is the plant called", "our plant"),
    Question("crush", "Cane crushed while running", 300.0, "t/h", (20.0, 1000.0), uncertainty=15.0),
    Question("hours", "Running hours of the mill a day", 22.0, "h", (1.0, 24.0)),
    Question("fibre", "Fibre in cane", 14.0, "%", (8.0, 22.0), uncertainty=1.0),
    Question("sucrose", "Sucrose in cane", 13.5, "%", (8.0, 20.0), uncertainty=1.0),
    Question("mills", "Number of mills", 5.0, "", (3.0, 7.0), whole=True),
    Question("imbibition", "Imbibition water on fibre", 220.0, "%", (100.0, 400.0), uncertainty=20.0),
    Question("effects", "Number of evaporator effects", 4.0, "", (3.0, 6.0), whole=True),
    Question("syrup", "Dry substance of syrup", 65.0, "%", (55.0, 72.0), uncertainty=1.5),
    Question("massecuites", "Number of raw massecuites", 3.0, "", (2.0, 3.0), whole=True),
    Question("boiler_pressure", "Absolute pressure of the boilers", 3200.0, "kPa", (1500.0, 10000.0)),
    Question("steam_temperature", "Temperature of live steam", 400.0, "°C", (300.0, 540.0)),
    Question("exhaust_pressure", "Absolute pressure of exhaust steam", 240.0, "kPa", (180.0, 320.0)),
    Question("melt", "Raw sugar melted while running", 40.0, "t/h", (5.0, 300.0), uncertainty=4.0),
    Question("refinery_hours", "Running hours of the refinery a day", 23.0, "h", (1.0, 24.0)),
    Question("strikes", "Number of refined strikes", 4.0, "", (2.0, 4.0), whole=True),
)
QUESTIONS: dict[str, Question] = {q.key: q for q in _ALL}


def answered(questions: Mapping[str, Question], given: Mapping[str, str]) -> Answers:
    """The answers to these questions: what is given in words, else what is assumed.

    Raises BadAnswer for a key that is not asked or an answer that is not accepted.
    """
    for key in given:
        if key not in questions:
            near = difflib.get_close_matches(key, list(questions), n=1, cutoff=0.0)
            raise BadAnswer(f"no question is called '{key[:60]}'; nearest: {near[0]}; asked are {', '.join(questions)}")
    return Answers({k: q.read(given[k]) if k in given else q.left() for k, q in questions.items()})
