"""A mill: cane or bagasse is mixed with imbibition and pressed to a moisture."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from canewright.plant.balance import conserve, conserve_energy
from canewright.plant.ratios import share
from canewright.plant.station import Equations, Exchange, Station, inlet, inlets, outlet, result, setting, spread
from canewright.plant.streams import PERCENT, Juice, Power
from canewright.quantity import Num


class Mill(Station):
    """One mill of a train, by the imbibition coefficient: how far its liquid reaches the perfectly mixed composition.

    What stays in the bagasse of each dissolved part is ``feed - coefficient * (feed - mixed share)``; a coefficient
    of 1 is perfect mixing, 0 is imbibition that passes without displacing; above 1 the juice left is poorer than the
    mixture, as at a dry first mill. The coefficient of non-sucrose is lower by
    a ratio, so purity falls along the train. Family: Murry & Holt 1967, Russell 1968 (from memory); own statement.
    """

    kind = "mill"
    hazards = ("Rotating rolls and pinch points: guards and lock-out; hot imbibition scalds.",)

    feed, power = inlet(Juice), inlet(Power)
    returned = inlets(Juice, may_be_open=True)
    imbibition = inlets(Juice, may_be_open=True)
    bagasse, juice = outlet(Juice), outlet(Juice)

    moisture = setting("%", 52.0, "moisture of the bagasse that leaves", limits=(40.0, 65.0), prior=1.0)
    imbibition_coefficient = setting("1", 0.8, "approach of sucrose to perfect mixing", limits=(0.0, 1.3), prior=0.04)
    non_sucrose_ratio = setting(
        "1", 0.95, "coefficient of non-sucrose on that of sucrose", limits=(0.5, 1.0), prior=0.02
    )
    fibre_to_juice = setting("%", 3.0, "fibre that leaves with the juice", limits=(0.0, 30.0), prior=0.5)
    solids_to_juice = setting("%", 25.0, "suspended solids that leave with the juice", limits=(0.0, 90.0), prior=5.0)
    specific_power = setting("kW/t·h", 15.0, "power for each t/h of fibre", limits=(0.0, 60.0), prior=1.0)
    heat_loss = setting("kW/K", 20.0, "heat lost for each kelvin above the surroundings", limits=(0.0, 200.0))
    surroundings = setting("°C", 30.0, "temperature of the surroundings", limits=(-10.0, 50.0))
    liquid_share = result("1", 0.4, "liquid left in the bagasse on liquid that entered", limits=(0.0, 1.0))

    def equations(self) -> Equations:
        """Balances, what stays in the bagasse, its moisture, and the power that warms both."""
        feed, bagasse, juice = self.feed, self.bagasse, self.juice
        brought = (feed, *self.returned, *self.imbibition)
        yield from conserve(*brought, into=[bagasse, juice])
        liquid = sum(s.water + s.dissolved for s in brought)
        yield from share(
            "liquid left is its share of liquid in", self.liquid_share, bagasse.water + bagasse.dissolved, liquid
        )
        yield from self._retention()
        yield (
            "fibre goes with the juice as set",
            PERCENT * juice.fibre,
            self.fibre_to_juice * sum(s.fibre for s in brought),
        )
        yield (
            "suspended solids go with the juice as set",
            PERCENT * juice.suspended,
            self.solids_to_juice * sum(s.suspended for s in brought),
        )
        yield "bagasse leaves at its moisture", PERCENT * bagasse.water, self.moisture * bagasse.flow
        yield "power is what the fibre asks", self.power.power, self.specific_power * feed.fibre
        yield from conserve_energy(self)
        yield "bagasse and juice leave equally warm", bagasse.temperature, juice.temperature

    def exchanges(self) -> Iterable[Exchange]:
        """Warmth lost to the surroundings."""
        lost = self.KILOWATT * self.heat_loss * (self.juice.temperature - self.surroundings)
        yield Exchange("heat lost to the surroundings", "energy", -lost)

    def _retention(self) -> Iterator[tuple[str, Num, Num]]:
        fed_streams = (self.feed, *self.returned)
        brought = (*fed_streams, *self.imbibition)
        others = self.imbibition_coefficient * self.non_sucrose_ratio
        for name in ("sucrose", "reducing_sugars", "ash", "other", "colour"):
            fed = sum(getattr(s, name) for s in fed_streams)
            mixed = self.liquid_share * sum(getattr(s, name) for s in brought)
            reached = self.imbibition_coefficient if name == "sucrose" else others
            yield (
                f"{name.replace('_', ' ')} stays in the bagasse by the coefficient",
                getattr(self.bagasse, name),
                fed - reached * (fed - mixed),
            )

    def estimate(self) -> Mapping[str, float]:
        """A split by fibre, moisture and a common dilution."""
        brought = [self.feed, *self.returned, *self.imbibition]
        liquid = sum(float(s.water + s.dissolved) for s in brought) or 1.0
        held = float(self.feed.fibre) * float(self.moisture) / (100.0 - float(self.moisture)) * 1.05
        left = min(held / liquid, 0.9)
        guess = spread(brought, {self.bagasse: left, self.juice: 1.0 - left})
        fibre, solids = sum(float(s.fibre) for s in brought), sum(float(s.suspended) for s in brought)
        guess |= {f"{self.juice.prefix}.fibre": 0.03 * fibre, f"{self.bagasse.prefix}.fibre": 0.97 * fibre}
        guess |= {f"{self.juice.prefix}.suspended": 0.3 * solids, f"{self.bagasse.prefix}.suspended": 0.7 * solids}
        guess |= {f"{self.name}.liquid_share": left}
        return {**guess, f"{self.power.prefix}.power": float(self.specific_power * self.feed.fibre)}
