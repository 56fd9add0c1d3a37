"""Liming: milk of lime neutralises juice, binds non-sucrose into precipitate and costs a little sucrose."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from canewright.plant.balance import conserve
from canewright.plant.heat import blend_energy
from canewright.plant.reactions import inversion
from canewright.plant.station import Equations, Exchange, Station, inlet, inlets, outlet, setting, spread
from canewright.plant.streams import PERCENT, Juice, Water
from canewright.quantity import Num, constant

KILOGRAM = constant(1e-3, "t/kg")


class Liming(Station):
    """Lime joins as a declared gain of ash and precipitate; juice gives up part of its ash and other non-sucrose.

    It decides the water of the milk of lime. Juice at ``returned`` (filtrate, already limed) takes no lime and gives no
    precipitate, only its share of inversion. Dose 0.4-0.9 kg CaO per tonne, slurry 8-16 %, other non-sucrose
    precipitated 3-10 % (from memory). Lime counts as CaO without its warmth; the heat of slaking is given off before.
    """

    kind = "liming"
    hazards = (
        "Lime and milk of lime burn skin and eyes, and slaking spits: eye protection and washing by site rules.",
    )

    juice, returned = inlets(Juice), inlets(Juice, may_be_open=True)
    water = inlet(Water)
    limed = outlet(Juice)

    lime_dose = setting("kg/t", 0.6, "CaO on juice", limits=(0.0, 5.0), prior=0.05)
    slurry_strength = setting("%", 12.0, "CaO in the milk of lime", limits=(2.0, 40.0), prior=1.0)
    lime_precipitated = setting("%", 60.0, "CaO that ends in the precipitate", limits=(0.0, 100.0), prior=10.0)
    other_precipitated = setting("%", 6.0, "other non-sucrose precipitated", limits=(0.0, 40.0), prior=1.5)
    ash_precipitated = setting("%", 8.0, "soluble ash precipitated", limits=(0.0, 60.0), prior=3.0)
    inversion = setting("%", 0.0, "sucrose inverted", limits=(0.0, 3.0))

    def equations(self) -> Equations:
        """Juice, milk of lime and what lime brings leave together."""
        yield from conserve(*self.entering, into=[self.limed], exchanges=self.exchanges())
        yield (
            "water makes up the milk of lime",
            self.slurry_strength * (self.water.water + self._lime()),
            PERCENT * self._lime(),
        )
        yield from blend_energy(self, self.limed, self.juice[0])

    def _lime(self) -> Num:
        """CaO added, t/h."""
        return KILOGRAM * self.lime_dose * sum(s.flow for s in self.juice)

    def exchanges(self) -> Iterable[Exchange]:
        """Lime added, non-sucrose precipitated, sucrose inverted."""
        settled = self.lime_precipitated / PERCENT * self._lime()
        ash = self.ash_precipitated / PERCENT * sum(s.ash for s in self.juice)
        other = self.other_precipitated / PERCENT * sum(s.other for s in self.juice)
        yield Exchange("lime added, dissolved", "ash", self._lime() - settled)
        yield Exchange("lime added, precipitated", "suspended", settled)
        yield Exchange("ash precipitated", "ash", -ash)
        yield Exchange("other non-sucrose precipitated", "other", -other)
        yield Exchange("precipitate formed from non-sucrose", "suspended", ash + other)
        yield from inversion(self.inversion / PERCENT * sum(s.sucrose for s in (*self.juice, *self.returned)))

    def estimate(self) -> Mapping[str, float]:
        """The sum of what enters, with the water of the milk of lime."""
        lime = float(self._lime())
        asked = lime * (100.0 / float(self.slurry_strength) - 1.0)
        guess = spread([*self.juice, *self.returned], {self.limed: 1.0})
        guess[f"{self.limed.prefix}.water"] += asked
        return {**guess, f"{self.water.prefix}.water": asked}
