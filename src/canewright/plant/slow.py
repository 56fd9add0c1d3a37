"""What changes slowly over a season: which settings and which meters' errors, as described or by default.

``[season]`` of the plant description names them. Where it does not, what wears, fouls or ages by its nature is tried
(``WEARS``), the links of readings, common errors, and the error of every meter and analysis; the season then keeps
those of which its days tell something.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from canewright.plant.faults import Reader, nearest
from canewright.plant.metering import COMMON_PART, Meter

if TYPE_CHECKING:
    from canewright.plant.plant import Plant

SETTING, GAIN, BIAS = "setting", "gain", "bias"
WEARS = frozenset({
    "absorption", "caught", "coefficient", "efficiency", "efficiency_opened", "fibre_caught", "gear_efficiency",
    "heat_transfer_coefficient", "imbibition_coefficient", "isentropic_efficiency", "isotherm_capacity",
    "left_by_regeneration", "motor_efficiency", "non_sucrose_ratio", "other_losses", "pump_efficiency", "radiation",
    "rate_constant", "reabsorption_factor", "retention", "screen_efficiency", "solids_caught", "tail_efficiency",
    "wash_effect", "wash_efficiency", "working_capacity",
})  # fmt: skip
"""Settings, by last word, that scale, rollers, screens, blades, cloths and carbon change over weeks (judgement)."""


@dataclass(frozen=True)
class SeasonGiven:
    """What ``[season]`` names as slow: settings and meters; None where it leaves the choice."""

    settings: tuple[str, ...] | None = None
    meters: tuple[str, ...] | None = None


@dataclass(frozen=True)
class Slow:
    """A slow quantity: a setting, a meter's gain error in % of the reading, or its bias in the meter's unit.

    ``first`` and ``uncertainty`` are what is known of it before the season's first day.
    """

    name: str
    kind: str
    unit: str
    first: float
    uncertainty: float

    @property
    def key(self) -> str:
        """Its name beside those of other kinds: a meter may be called as a setting is."""
        return self.name if self.kind == SETTING else f"{self.kind} of {self.name}"


def read_season(
    reader: Reader, released: Collection[str], settings: Collection[str], meters: Sequence[Meter]
) -> SeasonGiven:
    """The table ``[season]``; ``released`` are the settings with an uncertainty. Faults go to the reader."""
    table = reader.table("season")
    reader.known(("season",), table, {"slow", "meters", "says"})
    tags = {m.tag for m in meters}
    chosen = _names(reader, table, "slow", settings)
    for name in chosen or ():
        if name in settings and name not in released:
            reader.fault(
                ("season", "slow"), name, "a setting whose uncertainty is above zero: this one is held as it is"
            )
    return SeasonGiven(chosen, _names(reader, table, "meters", tags))


def _names(reader: Reader, table: Mapping[str, object], key: str, known: Collection[str]) -> tuple[str, ...] | None:
    listed = table.get(key)
    if listed is None:
        return None
    if not isinstance(listed, list):
        reader.fault(("season", key), listed, "a list of names in square brackets; an empty one for none")
        return None
    for name in listed:
        if name not in known:
            reader.fault(("season", key), name, nearest(str(name), known))
    if len(set(map(str, listed))) < len(listed):
        reader.fault(("season", key), listed, "each name once")
    return tuple(str(name) for name in listed)


def slow_quantities(plant: Plant) -> list[Slow]:
    """Everything that may change slowly, in the order of the description; settings first."""
    given, priors = plant.description.season, plant.priors()
    names = given.settings if given.settings is not None else [n for n in priors if _wears(n)]
    units = {v.name: v.unit for v in plant.model.settings}
    found = [Slow(n, SETTING, units[n], *priors[n]) for n in names if n in priors]
    meters = {m.tag: m for m in plant.description.meters}
    tags = given.meters if given.meters is not None else [t for t, m in meters.items() if m.file != "stocks"]
    return found + [_error_of(meters[tag]) for tag in tags]


def _wears(name: str) -> bool:
    station, _, key = name.partition(".")
    return key in WEARS or station in {"links", "common error"}


def _error_of(meter: Meter) -> Slow:
    """The lasting error of a meter: a gain where its uncertainty is in per cent, else a bias."""
    spread = COMMON_PART**0.5 * meter.uncertainty
    return Slow(meter.tag, GAIN, "%", 0.0, spread) if meter.relative else Slow(meter.tag, BIAS, meter.unit, 0.0, spread)
