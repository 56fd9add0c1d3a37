"""Records of the cane supply: register entries, consignment notes, rulings on samples, and growers' access."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal, NamedTuple, get_args

from canewright.store.errors import BadEntry
from canewright.store.records import Quality, check_day, check_name, check_time

Ruling = Literal["confirmed", "rejected", "disputed", "settled"]
"""confirmed: unlikely but looked at and right; rejected: not to be paid on; disputed and settled: a grower's doubt."""
RULINGS: tuple[str, ...] = get_args(Ruling)


@dataclass(frozen=True)
class NewRegisterEntry:
    """What a register says of a key from a day on, until its next entry; ``details`` None takes the key out.

    Raises BadEntry when a name is missing.
    """

    register: str
    key: str
    valid_from: dt.date
    details: Mapping[str, Any] | None
    source: str

    def __post_init__(self) -> None:
        """Refuse what makes no sense."""
        for name in ("register", "key", "source"):
            check_name(name, getattr(self, name))
        check_day(self.valid_from)


@dataclass(frozen=True)
class RegisterEntry:
    """A stored entry of a register. ``supersedes`` is the number of the entry it corrects, with the ``reason``."""

    id: int
    register: str
    key: str
    valid_from: dt.date
    details: Mapping[str, Any] | None
    entered_by: str
    entered_at: dt.datetime
    source: str
    supersedes: int | None
    reason: str | None


@dataclass(frozen=True)
class NewNote:
    """What a consignment note tells beside grower and block: who cut and hauled, when, in which bins, sampled when.

    ``bins`` are the numbers of the bins. Times not recorded are None. Raises BadEntry when something makes no sense.
    """

    day: dt.date
    ticket: str
    harvest_group: str
    carrier: str
    cut_at: dt.datetime | None
    arrived_at: dt.datetime | None
    sampled_from: dt.datetime | None
    sampled_to: dt.datetime | None
    source: str
    bins: Sequence[str] = ()

    def __post_init__(self) -> None:
        """Refuse what makes no sense."""
        for name in ("ticket", "harvest_group", "carrier", "source"):
            check_name(name.replace("_", " "), getattr(self, name))
        check_day(self.day)
        for name in ("cut_at", "arrived_at", "sampled_from", "sampled_to"):
            moment = getattr(self, name)
            if moment is not None:
                check_time(name.replace("_", " "), moment)


@dataclass(frozen=True)
class Note:
    """A stored consignment note. ``supersedes`` is the number of the one it corrects, with the ``reason``."""

    id: int
    day: dt.date
    ticket: str
    harvest_group: str
    carrier: str
    cut_at: dt.datetime | None
    arrived_at: dt.datetime | None
    sampled_from: dt.datetime | None
    sampled_to: dt.datetime | None
    bins: tuple[str, ...]
    entered_by: str
    entered_at: dt.datetime
    source: str
    batch_id: int | None
    supersedes: int | None
    reason: str | None


class TicketValue(NamedTuple):
    """A standing reading on a consignment, bare: many of them are read at once."""

    day: dt.date
    ticket: str
    quantity: str
    duplicate: int
    value: float | None
    quality: Quality
    id: int


@dataclass(frozen=True)
class SampleRuling:
    """What a person decided about the juice sample of a ticket, when and in which words."""

    id: int
    day: dt.date
    ticket: str
    ruling: Ruling
    says: str
    entered_by: str
    entered_at: dt.datetime


@dataclass(frozen=True)
class StoredPlan:
    """A harvest plan as it was made. ``supersedes`` is the number of the plan it took the place of, with the reason."""

    id: int
    season: str
    made_for: dt.date
    body: Mapping[str, Any]
    entered_by: str
    entered_at: dt.datetime
    supersedes: int | None
    reason: str | None


@dataclass(frozen=True)
class Access:
    """A key given to a person for one grower's own pages; ``withdrawn`` says why it no longer opens them."""

    id: int
    grower: str
    given_to: str
    entered_by: str
    entered_at: dt.datetime
    withdrawn: str | None


def check_ruling(ruling: str, says: str) -> None:
    """Refuse a ruling nobody knows or without words. Raises BadEntry."""
    if ruling not in RULINGS:
        raise BadEntry(f"The ruling '{ruling}' is not accepted; give one of {', '.join(RULINGS)}.")
    if not says.strip():
        raise BadEntry("A ruling needs its reason in words; say why.")
