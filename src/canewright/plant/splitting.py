"""Splitters and draws: one stream becomes two of its own composition."""

from __future__ import annotations

from collections.abc import Mapping

from canewright.plant.balance import conserve_energy
from canewright.plant.station import Equations, Station, result, setting
from canewright.plant.streams import PERCENT, Liquor, Stream
from canewright.quantity import Num, constant

DROP = constant(1e-9, "t/h")
"""A flow too small to weigh, so that the share drawn from nothing has a value (none)."""
DROPS = ("water", "sucrose")
"""What such a drop holds: users that count solids, such as a pan, ask for sugar as well as water."""


def flowing(stream: Stream) -> list[str]:
    """The extensive variables that a stream carries."""
    return [name for name, held in stream.variables().items() if held.extensive]


def brought(feed: Stream, name: str, into: Stream) -> Num:
    """What the feed brings of a variable; crystals dissolve where the outlet cannot hold them."""
    if name == "sucrose" and "crystal" not in into.holds:
        return feed.sucrose + feed.crystal
    if name == "colour" and "crystal_colour" not in into.holds:
        return feed.colour + feed.crystal_colour
    return getattr(feed, name)


def as_it_came(feed: Stream, out: Stream) -> bool:
    """Whether an outlet of this kind at the feed's temperature carries exactly the feed's heat."""
    if type(feed) is type(out):
        return True
    both = isinstance(feed, Liquor) and isinstance(out, Liquor)
    return both and ("crystal" in out.holds or "crystal" not in feed.holds)


def warm_as_it_came(station: Station, feed: Stream, part: Stream, rest: Stream) -> Equations:
    """Both outlets are equally warm: as warm as the feed, or by the energy balance where crystals dissolve."""
    if as_it_came(feed, part):
        yield "the rest is as warm as it came", rest.temperature, feed.temperature
    else:
        yield from conserve_energy(station)
    yield "the part is as warm as the rest", part.temperature, rest.temperature


class Splitting(Station):
    """What splitters and draws share: an inlet, then the outlets ``part`` and ``rest`` in that order."""

    def _streams(self) -> tuple[Stream, Stream, Stream]:
        part, rest = self.leaving
        return self.entering[0], part, rest

    def _balances(self) -> Equations:
        feed, part, rest = self._streams()
        for name in flowing(part):
            here = brought(feed, name, part)
            yield f"{name.replace('_', ' ')} in is out", here, getattr(part, name) + getattr(rest, name)
        yield from warm_as_it_came(self, feed, part, rest)

    def _guess(self, share: float) -> dict[str, float]:
        feed, part, rest = self._streams()
        guess = {f"{s.prefix}.temperature": float(feed.temperature) for s in (part, rest)}
        for name in flowing(part):
            whole = float(brought(feed, name, part))
            guess |= {f"{part.prefix}.{name}": share * whole, f"{rest.prefix}.{name}": (1.0 - share) * whole}
        return guess


class ShareSplitter(Splitting):
    """A set share of the feed goes to ``part``."""

    handles = ("share",)

    share = setting("%", 50.0, "share of the feed that goes to the part", limits=(0.0, 100.0), prior=1.0)

    def equations(self) -> Equations:
        """Everything is split in the same share."""
        feed, part, _ = self._streams()
        for name in flowing(part):
            yield (
                f"{name.replace('_', ' ')} goes to the part in its share",
                PERCENT * getattr(part, name),
                self.share * brought(feed, name, part),
            )
        yield from self._balances()

    def estimate(self) -> Mapping[str, float]:
        """The split itself."""
        return self._guess(float(self.share) / 100.0)


class Draw(Splitting):
    """The user of ``part`` decides how much is drawn; the share is a result. Over 100 % it asks for more than there is.

    One equation fewer than its outlets have variables: the flow of ``part`` is decided downstream.
    """

    # drawn from nothing, the share is nothing to within rounding of a drop, on either side
    share = result("%", 10.0, "share of the feed that is drawn", limits=(-1e-3, 100.0))

    def equations(self) -> Equations:
        """Everything is drawn in the same share."""
        feed, part, _ = self._streams()
        for name in flowing(part):
            drawn, there = getattr(part, name), brought(feed, name, part)
            if name in DROPS:
                there = there + DROP
            yield f"{name.replace('_', ' ')} is drawn in the common share", PERCENT * drawn, self.share * there
        yield from self._balances()

    def estimate(self) -> Mapping[str, float]:
        """The flow that the user last asked for, with the composition of the feed."""
        feed, part, _ = self._streams()
        there = float(feed.flow)
        share = min(float(part.flow) / there, 0.95) if there > 1e-9 else 0.0
        return {**self._guess(share), f"{self.name}.share": 100.0 * share}
