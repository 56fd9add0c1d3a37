"""Seal tank: where the tail pipes of condensers end, and the sugar that the vapour brought is found."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from canewright.plant.balance import conserve_energy
from canewright.plant.liquor_station import STANDSTILL
from canewright.plant.mixing import STILL
from canewright.plant.splitting import flowing
from canewright.plant.station import Equations, Station, inlets, outlet, result, setting, spread
from canewright.plant.streams import Liquor, Water
from canewright.quantity import Num, constant

PARTS = constant(1e6, "mg/kg")


class SealTank(Station):
    """Warm water of jet condensers with the droplets that the vapour brought; the laboratory tests it for sugar.

    Water goes on to tower or river; the sugar in it is kept apart as the loss that it is, with the droplets' own
    water, which is too little to matter to the circuit. In a closed circuit what is lost stays in it until it
    overflows or is eaten. Alarm at some 50-200 mg/kg of sugar (common practice, no source), effluent by local licence.
    Measured: sugar trace (``sugar_in_water``), temperature.
    """

    kind = "seal tank"
    hazards = (
        "A broken seal draws air and breaks the vacuum; a blocked overflow floods the condenser: keep levels watched.",
        "Warm water with sugar grows slime and takes the oxygen out of rivers: keep to the discharge licence.",
    )
    measured = ("sugar_in_water", "water temperature")

    warm, carried = inlets(Water), inlets(Liquor)
    water, lost = outlet(Water), outlet(Liquor)
    sugar_limit = setting("mg/kg", 100.0, "sugar in the water at which an alarm is given", limits=(1.0, 1e5))
    sugar_in_water = result("mg/kg", 10.0, "sucrose in the warm water", limits=(0.0, 1e6))

    def equations(self) -> Equations:
        """Water and droplets pass, mixed to one temperature (idle, as warm as they came); the trace on both."""
        water, lost, drops = self.water, self.lost, self.carried
        yield "water in is water out", sum(w.water for w in self.warm), water.water
        for name in flowing(lost):
            yield f"{name.replace('_', ' ')} is lost", sum(getattr(d, name) for d in drops), getattr(lost, name)
        yield "both are equally warm", lost.temperature, water.temperature
        for sentence, brought, left in conserve_energy(self):
            yield sentence, brought, left + STILL * (water.temperature - self.warm[0].temperature)
        both = water.water + lost.flow + STANDSTILL
        yield "sugar is found in all the water", self.sugar_in_water * both, PARTS * lost.sucrose

    def capacities(self) -> Iterable[tuple[str, Num, Num]]:
        """Sugar within the alarm, mg/kg."""
        yield "sugar in the water below the alarm", self.sugar_in_water, self.sugar_limit

    def estimate(self) -> Mapping[str, float]:
        """The sums."""
        warm = float(self.warm[0].temperature)
        guess = spread(self.warm, {self.water: 1.0}, warm) | spread(self.carried, {self.lost: 1.0}, warm)
        water = sum(float(w.water) for w in self.warm)
        sugar = sum(float(d.sucrose) for d in self.carried)
        return {**guess, f"{self.name}.sugar_in_water": 1e6 * sugar / max(water, 1e-6)}
