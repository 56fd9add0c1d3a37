"""The registers by day: what held when, gaps, and what comes after a harvest."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Any

import pytest

from canewright.cane.registers import (
    Registers,
    age_at,
    area_by,
    nearest,
    next_crop,
    of_grower,
    ratoon_number,
    replanted,
    varieties_of,
)

JAN, JUL, DEC = (dt.date(2026, month, 1) for month in (1, 7, 12))
BLOCK = {
    "farm": "017", "area": 12.5, "variety": "late 1", "crop class": "R1", "started": "2025-09-12",
    "planting method": "billets", "fibre class": "green late",
}  # fmt: skip


@dataclass(frozen=True)
class Row:
    """An entry."""

    register: str
    key: str
    valid_from: dt.date
    details: dict[str, Any] | None


def registers() -> Registers:
    """A farm that changes hands in July, a block that leaves the register in December, agreements with a gap."""
    return Registers(
        [
            Row("farm", "017", JUL, {"grower": "B", "harvest group": "g1"}),
            Row("farm", "017", JAN, {"grower": "A", "harvest group": "g1"}),
            Row("farm", "018", JAN, {"grower": "B", "harvest group": "g2"}),
            Row("block", "017-1", JAN, BLOCK),
            Row("block", "018-1", JAN, {**BLOCK, "farm": "018", "area": 4.0, "variety": "mid 1"}),
            Row("block", "017-1", DEC, None),
            Row("agreement", "1", JAN, {"grower": "A", "until": "2026-06-30"}),
            Row("agreement", "2", JUL, {"grower": "B", "until": "2026-12-31"}),
            Row("agreement", "3", dt.date(2026, 7, 10), {"grower": "A", "until": "2026-12-31"}),
        ]
    )


def test_an_entry_holds_until_the_next_one() -> None:
    held = registers()
    assert held.grower_of("017-1", dt.date(2026, 6, 30)) == "A"
    assert held.grower_of("017-1", JUL) == "B"
    assert held.one("farm", "017", dt.date(2025, 12, 31)) is None
    assert held.one("farm", "999", JUL) is None
    assert held.grower_of("999-1", JUL) is None
    assert held.spans("block", "999-1") == []
    assert [(s.start, s.end) for s in held.spans("farm", "017")] == [(JAN, JUL), (JUL, None)]


def test_an_entry_without_details_takes_the_key_out() -> None:
    held = registers()
    assert set(held.at("block", JUL)) == {"017-1", "018-1"}
    assert set(held.at("block", DEC)) == {"018-1"}
    assert held.keys("block") == ["017-1", "018-1"]
    assert held.spans("block", "017-1")[-1].end == DEC


def test_farms_and_blocks_of_a_grower_follow_the_day() -> None:
    held = registers()
    before, after = of_grower(held, "B", JAN), of_grower(held, "B", JUL)
    assert (sorted(before[0]), sorted(before[1])) == (["018"], ["018-1"])
    assert (sorted(after[0]), sorted(after[1])) == (["017", "018"], ["017-1", "018-1"])
    assert varieties_of(list(after[1].values())) == ["late 1", "mid 1"]
    assert area_by(after[1], "variety") == {"late 1": 12.5, "mid 1": 4.0}


def test_a_block_belongs_to_two_growers_when_its_farm_changes_hands() -> None:
    held = registers()
    (span,) = held.spans("block", "017-1")
    assert held.growers_within("017-1", span) == {"A", "B"}
    assert held.growers_within("018-1", held.spans("block", "018-1")[0]) == {"B"}


def test_gaps_between_agreements() -> None:
    held = registers()
    assert held.agreement_of("A", dt.date(2026, 6, 30)) == "1"
    assert held.agreement_of("A", JUL) is None
    gaps = held.agreement_gaps("A", dt.date(2026, 6, 29), dt.date(2026, 7, 12))
    assert gaps == [(JUL, dt.date(2026, 7, 9))]
    assert held.agreement_gaps("B", dt.date(2026, 6, 29), JUL) == [(dt.date(2026, 6, 29), dt.date(2026, 6, 30))]
    assert held.agreement_gaps("A", JAN, dt.date(2026, 6, 30)) == []
    several = held.agreement_gaps("A", dt.date(2026, 6, 30), dt.date(2027, 1, 1))
    assert several == [(JUL, dt.date(2026, 7, 9)), (dt.date(2027, 1, 1), dt.date(2027, 1, 1))]


def test_after_harvest_comes_the_next_ratoon_and_after_planting_plant_cane() -> None:
    cut = next_crop(BLOCK, dt.date(2026, 8, 20))
    assert (cut["crop class"], cut["started"], cut["area"]) == ("R2", "2026-08-20", 12.5)
    assert next_crop({**BLOCK, "crop class": "P"}, JUL)["crop class"] == "R1"
    with pytest.raises(ValueError, match="beyond 15"):
        next_crop({**BLOCK, "crop class": "R15"}, JUL)
    new = replanted(BLOCK, DEC, "early 1", "nursery seedlings")
    assert (new["crop class"], new["variety"], new["planting method"]) == ("P", "early 1", "nursery seedlings")
    with pytest.raises(ValueError, match="accepted: setts, billets, nursery seedlings"):
        replanted(BLOCK, DEC, "early 1", "by hand")


def test_age_and_ratoon_number() -> None:
    assert age_at(BLOCK, dt.date(2026, 9, 12)) == pytest.approx(12.0, abs=0.02)
    assert [ratoon_number(c) for c in ("P", "R1", "R7")] == [0, 1, 7]


def test_the_nearest_names_are_offered() -> None:
    assert nearest("17", ["farm 017", "farm 018", "farm 171"])[:2] == ["farm 017", "farm 171"]
    assert nearest("farm 01", ["farm 017", "group 3"])[0] == "farm 017"
    assert nearest("zzz", ["farm 017"]) == []
