"""Pressing cane or bagasse between rolls: what every mill and pressure feeder shares."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import ClassVar

from canewright.plant.balance import conserve, conserve_energy
from canewright.plant.ratios import proportion
from canewright.plant.station import Equations, Exchange, Station, inlet, inlets, outlet, result, setting, spread
from canewright.plant.streams import PERCENT, Juice, Power
from canewright.quantity import Num

SOLUTES = ("sucrose", "reducing_sugars", "ash", "other", "colour")


class PressingStation(Station):
    """Bagasse and juice from cane or bagasse, imbibition and returned screenings; how much juice stays is the kind's.

    What stays in the bagasse of each dissolved part is ``feed - coefficient * (feed - mixed share)``; a coefficient
    of 1 is perfect mixing, 0 is imbibition that passes without displacing; above 1 the juice left is poorer than the
    mixture, as at a dry first mill. The coefficient of non-sucrose is lower by a ratio, so purity falls along the
    train. Where the feed carries its preparation index, the coefficient rises with it: closed cells keep their juice.
    Family: Murry & Holt 1967, Russell 1968 (from memory); own statement.

    Moved by imbibition, roll speed, openings and hydraulic load; measured: brix and pol of each mill's juice, moisture
    and pol of bagasse, power. First expressed juice is that of the first mill or feeder, last that of the last mill.
    """

    hazards = (
        "Rotating rolls, chutes and carriers draw people in: guards and lock-out under local safety rules.",
        "Hot imbibition scalds; choked chutes and tramp iron are cleared only with the drive locked out.",
        "Bagasse dust burns and explodes, and wet juice gutters breed bacteria: housekeeping under local codes.",
    )
    handles: ClassVar[tuple[str, ...]] = ("imbibition",)
    measured: ClassVar[tuple[str, ...]] = (
        "juice refractometer brix",
        "juice pol",
        "bagasse moisture",
        "bagasse pol",
        "power power",
    )

    feed, power = inlet(Juice), inlet(Power)
    returned = inlets(Juice, may_be_open=True)
    imbibition = inlets(Juice, may_be_open=True)
    bagasse, juice = outlet(Juice), outlet(Juice)

    imbibition_coefficient = setting("1", 0.8, "approach of sucrose to perfect mixing", limits=(0.0, 1.3), prior=0.04)
    non_sucrose_ratio = setting(
        "1", 0.95, "coefficient of non-sucrose on that of sucrose", limits=(0.5, 1.0), prior=0.02
    )
    preparation_effect = setting(
        "1/%", 0.004, "rise of the coefficient for each unit of preparation index", limits=(0.0, 0.02)
    )
    usual_index = setting("%", 89.0, "preparation index at which the coefficient was found", limits=(40.0, 98.0))
    fibre_to_juice = setting("%", 3.0, "fibre that leaves with the juice", limits=(0.0, 30.0), prior=0.5)
    solids_to_juice = setting("%", 25.0, "suspended solids that leave with the juice", limits=(0.0, 90.0), prior=5.0)
    specific_power = setting("kW/t·h", 15.0, "power for each t/h of fibre", limits=(0.0, 60.0), prior=1.0)
    installed_power = setting("kW", 2000.0, "installed power", limits=(1.0, 20000.0))
    wettest_feed = setting("1", 10.0, "liquid on fibre that the rolls still grip, t/t", limits=(2.0, 30.0))
    heat_loss = setting("kW/K", 20.0, "heat lost for each kelvin above the surroundings", limits=(0.01, 200.0))
    surroundings = setting("°C", 30.0, "temperature of the surroundings", limits=(-10.0, 50.0))
    liquid_share = result("1", 0.4, "liquid left in the bagasse on liquid that entered", limits=(0.0, 1.0))

    def equations(self) -> Equations:
        """Balances, what stays in the bagasse, how much juice that is, and the power that warms both."""
        bagasse, juice, brought = self.bagasse, self.juice, self.brought
        yield from conserve(*brought, into=[bagasse, juice])
        left = bagasse.water + bagasse.dissolved
        yield from proportion("liquid left is its share of liquid in", self.liquid_share, left, self.liquid)
        yield from self._retention()
        fibre = self.fibre_to_juice * sum(s.fibre for s in brought)
        yield "fibre goes with the juice as set", PERCENT * juice.fibre, fibre
        solids = self.solids_to_juice * sum(s.suspended for s in brought)
        yield "suspended solids go with the juice as set", PERCENT * juice.suspended, solids
        yield from self.pressed()
        yield "power is what the fibre asks", self.power.power, self.specific_power * self.feed.fibre
        yield from conserve_energy(self)
        yield "bagasse and juice leave equally warm", bagasse.temperature, juice.temperature

    def pressed(self) -> Equations:
        """What says how much juice stays in the bagasse: one equation, and those of the kind's own results."""
        raise TypeError(f"station kind '{self.kind}' does not say how much juice it presses")

    @property
    def brought(self) -> tuple[Juice, ...]:
        """All that enters but power."""
        return (self.feed, *self.returned, *self.imbibition)

    @property
    def liquid(self) -> Num:
        """Water and dissolved solids that enter, t/h."""
        return sum(s.water + s.dissolved for s in self.brought)

    def exchanges(self) -> Iterable[Exchange]:
        """Warmth lost to the surroundings."""
        lost = self.KILOWATT * self.heat_loss * (self.juice.temperature - self.surroundings)
        yield Exchange("heat lost to the surroundings", "energy", -lost)

    def capacities(self) -> Iterable[tuple[str, Num, Num]]:
        """Installed power, and the grip of the rolls on wet feed: beyond it they slip."""
        yield "power within the installed power", self.power.power, self.installed_power
        gripped = self.wettest_feed * sum(s.fibre for s in self.brought)
        yield "liquid fed within what the rolls grip", self.liquid, gripped

    def _coefficient(self) -> Num:
        """The coefficient of sucrose at the preparation that the feed shows, where it shows one."""
        if "preparation_index" not in self.feed.holds:
            return self.imbibition_coefficient
        better = self.feed.preparation_index - self.usual_index
        return self.imbibition_coefficient + self.preparation_effect * better

    def _retention(self) -> Iterator[tuple[str, Num, Num]]:
        reached_by_sucrose = self._coefficient()
        for name in SOLUTES:
            fed = sum(getattr(s, name) for s in (self.feed, *self.returned))
            mixed = self.liquid_share * sum(getattr(s, name) for s in self.brought)
            reached = reached_by_sucrose if name == "sucrose" else reached_by_sucrose * self.non_sucrose_ratio
            yield (
                f"{name.replace('_', ' ')} stays in the bagasse by the coefficient",
                getattr(self.bagasse, name),
                fed - reached * (fed - mixed),
            )

    def _guess(self, held: float) -> dict[str, float]:
        """A first estimate where so much liquid, t/h, stays in the bagasse."""
        brought = self.brought
        left = min(held / (float(self.liquid) or 1.0), 0.9)
        guess = spread(brought, {self.bagasse: left, self.juice: 1.0 - left})
        for name, gone in (("fibre", float(self.fibre_to_juice)), ("suspended", float(self.solids_to_juice))):
            whole = sum(float(getattr(s, name)) for s in brought)
            guess[f"{self.juice.prefix}.{name}"] = gone / 100.0 * whole
            guess[f"{self.bagasse.prefix}.{name}"] = (1.0 - gone / 100.0) * whole
        asked = float(self.specific_power * self.feed.fibre)
        return {**guess, f"{self.name}.liquid_share": left, f"{self.power.prefix}.power": asked}

    def estimate(self) -> Mapping[str, float]:
        """About as much liquid as fibre stays in the bagasse."""
        return self._guess(1.15 * float(self.feed.fibre))
