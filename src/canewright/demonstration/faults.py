"""What is wrong in the invented season: each fault with its days, place, true size, and by when it must be found.

A fault of the cane and its payment (mistyped or exchanged juice, carrier lag, tare, fibre class) has its place in
``FAULTS`` beside these, with the files of deliveries. Days count from 1, the first day of the season.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

SEASON_DAYS = 182
CLEAN_OUTS = (60, 90, 112)
"""Days at whose end the raw sugar store is empty."""


@dataclass(frozen=True)
class Fault:
    """A planted fault.

    ``about`` names the meters, samples or stores that are right to suspect, ``size`` its true size in ``unit`` (worked
    out by the generator where it hangs on the day), ``bound`` the relative error of the size that the data allow.
    ``within`` is the number of days to the deadline, ``deadline`` the day itself. ``must_be_found`` is false of a
    control, which must not be flagged.
    """

    id: str
    says: str
    first: int
    last: int
    about: tuple[str, ...]
    within: int = 1
    size: float | None = None
    unit: str = ""
    bound: float | None = None
    must_be_found: bool = True

    @property
    def deadline(self) -> int:
        """The last day at whose close it must be found."""
        return self.first + self.within - 1

    def on(self, day: int) -> bool:
        """Whether the fault is there on a day."""
        return self.first <= day <= self.last


DRIFT = Fault(
    "A", "raw sugar weigher drifts by 0.06 % a day, then is recalibrated to +0.5 %", 61, 112,
    ("raw sugar weight", "raw sugar store"), 30, None, "t",
)  # fmt: skip
TYPED = Fault("B2", "pol of raw sugar 98.95 written 98.59", 47, 47, ("raw sugar pol",), 2, 0.36, "%")
COPIED = Fault("B4", "pol of bagasse copied from the day before", 84, 86, ("bagasse pol",), 2)
ENTRAINED = Fault(
    "C", "pans carry sugar over into the condenser water", 95, 99, ("pan condenser water",), 2, None, "t",
)  # fmt: skip
LEAK = Fault(
    "D", "a tube of the pumped secondary heater leaks juice into its condensate", 120, 126,
    ("secondary heater condensate",), 2, None, "t",
)  # fmt: skip
FALSE_GRAIN = Fault(
    "E", "false grain in C strikes 412 to 431: purer molasses", 75, 80, ("final molasses purity", "C molasses"), 3,
    None, "t",
)  # fmt: skip
SILO = Fault("I", "sugar mixes in the silo: nothing is wrong", 1, SEASON_DAYS, ("refined sugar silo",),
             must_be_found=False)  # fmt: skip
TWICE = Fault("J", "rake 77 entered twice", 164, 168, ("raw sugar store", "rakes received"), 5, None, "t")
LATE, CORRECTION = 55, 1.5
"""The day whose molasses purity is corrected on day 62, and by how much."""
CORRECTED = Fault(
    "K", "on day 62 the molasses purity of day 55 is corrected from 36.4 to 37.9", 62, 62, ("final molasses",), 1,
    1.5, "%",
)  # fmt: skip
DIP = Fault("W", "the dip of the molasses tank reads low while the pans carry over", 95, 99,
            ("final molasses weight",), 5, None, "%")  # fmt: skip
FAULTS = (DRIFT, TYPED, COPIED, ENTRAINED, LEAK, FALSE_GRAIN, SILO, TWICE, CORRECTED)

LEAK_JUICE, LEAK_BRIX, LEAK_PURITY = 0.35, 15.0, 86.0
"""Juice of a whole leak, t/h, its brix and its purity, %."""
ENTRAINED_RATE = 0.40
"""Pol carried over into the condenser water, t/h."""
PURER, STRIKES_SHARE = 3.0, 0.6
"""Points of purity that false grain leaves in the molasses of a strike, and the share of strikes that have it."""
DIP_LOW = -0.05
"""Error of the molasses dip of the adversarial season, of its reading."""
TYPING_ERRORS = 0.004
"""Share of laboratory results with two digits exchanged."""


@dataclass(frozen=True)
class Variant:
    """A kind of season: its faults, how much noisier its instruments are, and whether results are mistyped."""

    name: str
    says: str
    faults: tuple[Fault, ...]
    noise: float = 1.0
    typing_errors: float = TYPING_ERRORS

    def fault(self, wanted: str) -> Fault | None:
        """A fault by its letter, or None where this season does not have it."""
        return next((f for f in self.faults if f.id == wanted), None)

    def on(self, wanted: str, day: int) -> bool:
        """Whether a fault is there on a day."""
        found = self.fault(wanted)
        return found is not None and found.on(day)


ADVERSARIAL = tuple(replace(f, first=100, last=105) if f.id == "E" else f for f in FAULTS)
VARIANTS: Mapping[str, Variant] = {
    v.name: v
    for v in (
        Variant("easy", "the drifting weigher and the laboratory's slips alone", (DRIFT, TYPED, COPIED, SILO)),
        Variant("full", "every fault", FAULTS),
        Variant("adversarial", "false grain during the drift; a molasses dip error hides the entrainment",
                (*ADVERSARIAL, DIP)),
        Variant("no-fault", "the control: nothing is wrong", (SILO,), typing_errors=0.0),
        Variant("noisy", "every fault, instruments twice as noisy", FAULTS, noise=2.0),
    )
}  # fmt: skip


def drift_of(day: int) -> float:
    """Relative error of the raw sugar weigher of fault A on a day."""
    if day <= 60:
        return 0.0
    return 0.0006 * (day - 60) if day <= 110 else 0.005


def leak_of(day: float) -> float:
    """Part of the whole leak of fault D at a time (days, with their fraction): it grows from day 120 to 126."""
    return min(max((day - 120.0) / 6.0, 0.0), 1.0) if day < 127.0 else 0.0


def sized(faults: Iterable[Fault], found: Mapping[str, Mapping[str, float]]) -> Sequence[Fault]:
    """Faults with the sizes, bounds and deadlines that the generator worked out."""
    made = []
    for fault in faults:
        told = found.get(fault.id, {})
        within = int(told["within"]) if "within" in told else fault.within
        made.append(
            replace(fault, size=told.get("size", fault.size), bound=told.get("bound", fault.bound), within=within)
        )
    return made
