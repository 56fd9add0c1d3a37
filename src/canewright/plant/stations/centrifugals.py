"""Centrifugals: spin massecuite or magma, wash the crystals, and part sugar from molasses."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from canewright.analysis.massecuite_figures import basket_charge, gravity_factor
from canewright.plant.curing import Curing
from canewright.plant.saturation import saturated_sucrose_to_water
from canewright.plant.station import Equations, outlet, result, setting
from canewright.plant.streams import PERCENT, Liquor
from canewright.quantity import Num, constant

SECONDS = constant(3600.0, "s/h")
NO_IMPURITY = constant(0.0, "kg/kg")


class Centrifugals(Curing):
    """Machines of any make, sized by charges alone: batch, or continuous read as charges."""

    kind = "centrifugals"

    charge = setting("t", 1.5, "massecuite in one charge", limits=(0.1, 5.0))
    cycles = setting("1/h", 18.0, "charges an hour", limits=(1.0, 40.0))

    def capacities(self) -> Iterable[tuple[str, Num, Num]]:
        """Charges that the machines can spin."""
        spun = self.machines * self.charge * self.cycles
        yield "massecuite within what the machines spin", self.massecuite.flow, spun


class BatchCentrifugals(Curing):
    """Batch machines: charge by basket and layer, cycles by their times, force by speed.

    Operator's handles: wash time and water, layer, spinning time, speed. Measured: wash, purity of molasses and of the
    filtered mother liquor, moisture, colour and purity of sugar, cycles. Cycle 120-240 s, force 1000-1400 for A,
    layer 12-14 % of the diameter: public page on batch machine capacity (layer and formulas read); one cycle an hour
    idle, and molasses that leaves while charging makes room for a tenth more (read there).
    """

    kind = "batch centrifugals"
    handles = ("wash_on_massecuite", "layer", "speed", "charging", "spinning", "washing")

    diameter = setting("m", 1.22, "inner diameter of the basket", limits=(0.5, 2.2))
    height = setting("m", 0.76, "height of the basket", limits=(0.3, 1.8))
    layer = setting("m", 0.15, "thickness of the massecuite charged", limits=(0.02, 0.4))
    density = setting("t/m³", 1.45, "density of the massecuite (1.42-1.50, from memory)", limits=(1.2, 1.6))
    speed = setting("1/min", 1200.0, "speed of the basket when spinning", limits=(200.0, 2500.0))
    charging = setting("s", 35.0, "time to charge", limits=(5.0, 300.0))
    spinning = setting("s", 75.0, "time to speed up and spin without wash", limits=(10.0, 900.0))
    washing = setting("s", 15.0, "time of wash", limits=(0.0, 120.0))
    ploughing = setting("s", 55.0, "time to brake, plough and clean the screen", limits=(5.0, 300.0))
    idle_cycles = setting("1/h", 1.0, "cycles an hour without a charge", limits=(0.0, 10.0))
    purged_in_charging = setting("%", 10.0, "room made by molasses that leaves while charging", limits=(0.0, 30.0))
    least_force = setting("1", 900.0, "gravity factor that this massecuite wants", limits=(100.0, 2500.0))

    charge = result("t", 0.6, "massecuite in one charge", limits=(0.0, 10.0))
    cycles = result("1/h", 20.0, "cycles an hour", limits=(0.0, 200.0))

    def equations(self) -> Equations:
        """Those of curing; charge and cycles of a machine."""
        yield from super().equations()
        held = basket_charge(self.diameter, self.height, self.layer)
        yield "charge fills the layer", self.charge, held * self.density * (1.0 + self.purged_in_charging / PERCENT)
        takes = self.charging + self.spinning + self.washing + self.ploughing
        yield "cycles follow one another", self.cycles * takes, SECONDS

    def capacities(self) -> Iterable[tuple[str, Num, Num]]:
        """Charges that the machines spin, force wanted, and wash that dissolves no more than it can."""
        spun = self.machines * self.charge * (self.cycles - self.idle_cycles)
        yield "massecuite within what the machines spin", self.massecuite.flow, spun
        yield "force wanted within that of the speed", self.least_force, gravity_factor(self.diameter, self.speed)
        most = saturated_sucrose_to_water(self.forms, self.sugar.temperature, NO_IMPURITY)
        yield "wash dissolves no more than saturates it", self.dissolving_power, most

    def estimate(self) -> Mapping[str, float]:
        """As any machine; charge and cycles are found in one step."""
        results = {"charge": 0.6, "cycles": 20.0}
        return {**super().estimate(), **self.own(results)}


class PartingCentrifugals(BatchCentrifugals):
    """Batch machines that part their run-off: heavy molasses first, light molasses from the wash on.

    Heavy molasses is a share of the mother liquor that leaves, with the crystal through the screen; light molasses is
    the rest of it, the wash and what the wash dissolves. Parted later, the light molasses is purer and less. Purities
    of 76 and 91 from a massecuite of 90: public page on three and a half massecuites (read).
    """

    kind = "parting centrifugals"
    handles = ("wash_on_massecuite", "layer", "speed", "spinning", "washing", "parted_after")

    light_molasses = outlet(Liquor)
    parted_after = setting("%", 90.0, "mother liquor in the heavy molasses", limits=(0.0, 100.0), prior=3.0)

    def run_offs(self) -> tuple[Liquor, ...]:
        """Heavy and light molasses."""
        return (self.molasses, self.light_molasses)

    def equations(self) -> Equations:
        """Those of batch machines; heavy molasses by its share of the mother liquor."""
        yield from super().equations()
        came, sugar, heavy = self.massecuite, self.sugar, self.molasses
        for name in ("water", "sucrose", "reducing_sugars", "ash", "other", "suspended", "colour"):
            stays = 0.0 if name == "water" else getattr(sugar, name)
            part = self.parted_after * (getattr(came, name) - stays) / PERCENT
            grains = {"sucrose": came.crystal, "colour": came.crystal_colour}
            with_grain = part + self._through(grains[name]) if name in grains else part
            yield f"{name.replace('_', ' ')} goes with the heavy molasses", getattr(heavy, name), with_grain

    def estimate(self) -> Mapping[str, float]:
        """As any machine, with the molasses of both kinds alike."""
        guess = dict(super().estimate())
        share = float(self.parted_after) / 100.0
        heavy, light = self.molasses.prefix, self.light_molasses.prefix
        for name in self.light_molasses.holds:
            whole = guess[f"{heavy}.{name}"]
            parts = (whole, whole) if name == "temperature" else (share * whole, (1.0 - share) * whole)
            guess[f"{heavy}.{name}"], guess[f"{light}.{name}"] = parts
        return guess


class ContinuousCentrifugals(Curing):
    """Conical machines that massecuite runs up: as much as they take, with more crystal lost than in batch machines.

    Operator's handles: feed, water to the basket and to the feed (together the wash), steam, screen. Measured: as on
    batch machines, and crystal in the molasses (torn or worn screens). B and C massecuite: film 10-25 % before wash,
    moisture 2-4 %, crystal through the screen and broken 3-10 %, 8-25 t/h a machine (from memory).
    """

    kind = "continuous centrifugals"

    machines = setting("1", 4.0, "number of machines", limits=(0.0, 60.0))
    throughput = setting("t/h", 12.0, "massecuite that one machine takes", limits=(0.5, 60.0))
    crystal_loss = setting("%", 5.0, "crystal through the screen, on crystal cured", limits=(0.0, 40.0), prior=1.0)
    film = setting("%", 15.0, "solids of the film before washing, on crystal", limits=(0.0, 60.0), prior=2.0)
    wash_effect = setting(
        "1", 5.0, "how fast wash clears the film, t crystal per t wash", limits=(0.0, 200.0), prior=2.0
    )
    moisture = setting("%", 2.5, "moisture of the sugar", limits=(0.0, 8.0), prior=0.3)
    most_lost = setting("%", 10.0, "crystal lost at which a screen is changed", limits=(0.5, 40.0))

    def capacities(self) -> Iterable[tuple[str, Num, Num]]:
        """Massecuite that the machines take, crystal that screens let pass, and what the wash can dissolve."""
        yield "massecuite within what the machines take", self.massecuite.flow, self.machines * self.throughput
        yield "crystal through the screens within their change", self.crystal_loss, self.most_lost
        most = saturated_sucrose_to_water(self.forms, self.sugar.temperature, NO_IMPURITY)
        yield "wash dissolves no more than saturates it", self.dissolving_power, most
