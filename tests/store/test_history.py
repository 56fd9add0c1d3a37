"""Whatever is entered, corrected, closed or reopened: former values stay reachable, closed days as published."""

from __future__ import annotations

import shutil
import tempfile
from pathlib import Path

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import Bundle, RuleBasedStateMachine, consumes, invariant, multiple, rule

from canewright.store import ClosedDay, DayClosed, NothingToReopen, Reading, Store
from store.samples import DAY, Clock, a_reading

VALUES = st.floats(allow_nan=False, allow_infinity=False)
REASONS = st.sampled_from(["typed wrong", "wrong meter", "late composite"])


class Records(RuleBasedStateMachine):
    """A chemist at work, and a notebook kept beside the store to compare with."""

    standing = Bundle("standing")

    def __init__(self) -> None:
        """An empty business and an empty notebook."""
        super().__init__()
        self.folder = Path(tempfile.mkdtemp())
        self.clock = Clock()
        self.store = Store.create(self.folder, now=self.clock)
        self.chains: list[list[Reading]] = []
        self.published: list[ClosedDay] = []
        self.is_closed = False

    def teardown(self) -> None:
        """The file is whole at the end, too."""
        assert self.store.condition().faults == ()
        self.store.close()
        shutil.rmtree(self.folder)

    @rule(target=standing, value=VALUES)
    def enter(self, value: float) -> object:
        """A new reading, refused when the day is closed."""
        new = a_reading(len(self.chains), value=value)
        if self.is_closed:
            with pytest.raises(DayClosed):
                self.store.add_reading(new)
            return multiple()
        self.chains.append([self.store.add_reading(new)])
        return len(self.chains) - 1

    @rule(target=standing, number=consumes(standing), value=VALUES, reason=REASONS)
    def correct(self, number: int, value: float, reason: str) -> int:
        """A correction of the newest reading of a chain, refused when the day is closed."""
        newest = self.chains[number][-1]
        if self.is_closed:
            with pytest.raises(DayClosed):
                self.store.correct(newest.id, value, "chief chemist", reason)
        else:
            self.chains[number].append(self.store.correct(newest.id, value, "chief chemist", reason))
        return number

    @rule(figure=VALUES)
    def close(self, figure: float) -> None:
        """Close the day, refused when it is closed."""
        used = [chain[-1].id for chain in self.chains]
        plant = f"version {len(self.published) % 2}"
        if self.is_closed:
            with pytest.raises(DayClosed):
                self.store.close_day(DAY, "chief chemist", plant, {"cane": figure}, {}, used)
        else:
            self.published.append(self.store.close_day(DAY, "chief chemist", plant, {"cane": figure}, {}, used))
            self.is_closed = True

    @rule(reason=REASONS)
    def reopen(self, reason: str) -> None:
        """Reopen the day, refused when it is open."""
        if not self.is_closed:
            with pytest.raises(NothingToReopen):
                self.store.reopen_day(DAY, "chief chemist", reason)
        else:
            self.published[-1] = self.store.reopen_day(DAY, "chief chemist", reason)
            self.is_closed = False

    @rule()
    def open_again(self) -> None:
        """Leave the program and come back."""
        self.store.close()
        self.store = Store.open(self.folder, now=self.clock)

    @invariant()
    def every_former_value_is_reachable(self) -> None:
        """From any link of a chain the whole chain is found, as it was entered."""
        for chain in self.chains:
            for link in (chain[0], chain[-1]):
                assert self.store.history(link.id) == tuple(chain)

    @invariant()
    def the_day_shows_the_newest_of_each_chain(self) -> None:
        """Standing and former readings together are all that was ever entered."""
        assert set(self.store.readings(DAY)) == {chain[-1] for chain in self.chains}
        assert set(self.store.former_readings(DAY)) == {old for chain in self.chains for old in chain[:-1]}

    @invariant()
    def closed_versions_are_as_published(self) -> None:
        """Every version, with its figures, plant and readings; only the mark of reopening may be added."""
        assert list(self.store.closings(DAY)) == self.published
        assert self.store.is_closed(DAY) == self.is_closed
        for version, published in enumerate(self.published, start=1):
            assert published.version == version
            for number in published.readings_used:
                assert self.store.reading(number).id == number


Records.TestCase.settings = settings(max_examples=12, stateful_step_count=25, deadline=None)
TestRecords = Records.TestCase
