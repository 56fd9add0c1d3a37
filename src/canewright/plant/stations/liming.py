"""Liming: milk of lime neutralises juice, binds non-sucrose into precipitate and costs a little sucrose."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from canewright.analysis.dosing import phosphate_dose, phosphoric_acid_needed
from canewright.plant.balance import conserve
from canewright.plant.heat import blend_energy
from canewright.plant.reactions import inversion
from canewright.plant.station import (
    Equations,
    Exchange,
    Station,
    choice,
    inlet,
    inlets,
    outlet,
    result,
    setting,
    spread,
)
from canewright.plant.streams import PERCENT, Juice, Water
from canewright.quantity import Num, constant

TONNES = constant(1e-3, "t/kg")


class Liming(Station):
    """Lime joins as a declared gain of ash and precipitate; juice gives up part of its ash and other non-sucrose.

    Lime is a dose on juice, or what lifts the pH against the buffering of the juice: ``buffer (limed pH - raw pH)``,
    with a buffer from titration. Phosphoric acid may top up the phosphate of the juice, usually to 300 mg/kg of P2O5;
    it ends in the precipitate with the lime that it binds. It decides the water of the milk of lime. Juice at
    ``returned`` (filtrate, already limed) takes no lime and gives no precipitate, only its share of inversion. Dose
    0.4-0.9 kg CaO per tonne, slurry 8-16 %, other non-sucrose precipitated 3-10 %, raw juice pH 5.0-5.6, limed 7.2-8.0
    (from memory). Lime counts as CaO without its warmth; the heat of slaking is given off before.
    """

    kind = "liming"
    hazards = (
        "Lime and milk of lime burn skin and eyes, and slaking spits: eye protection and washing by site rules.",
        "Phosphoric acid burns; never let it meet lime outside the juice.",
    )
    handles = ("lime_dose", "limed_ph", "phosphate_added")
    measured = ("raw_ph", "limed_ph", "lime", "phosphate", "limed temperature")

    juice, returned = inlets(Juice), inlets(Juice, may_be_open=True)
    water = inlet(Water)
    limed = outlet(Juice)
    lime_by = choice("dose", "ph", says="whether lime is a dose or follows the pH")

    lime_dose = setting("kg/t", 0.6, "CaO on juice, where it is a dose", limits=(0.0, 5.0), prior=0.05)
    raw_ph = setting("1", 5.4, "pH of raw juice", limits=(3.5, 7.5))
    limed_ph = setting("1", 7.6, "pH to which it is limed", limits=(5.0, 11.5))
    buffer = setting("kg/t", 0.27, "CaO on juice that lifts the pH by one", limits=(0.05, 2.0))
    phosphate_in_juice = setting("mg/kg", 250.0, "phosphate of raw juice, as P2O5", limits=(0.0, 2000.0))
    phosphate_added = setting("mg/kg", 0.0, "phosphate added on juice, as P2O5", limits=(0.0, 500.0))
    acid_strength = setting("%", 75.0, "phosphoric acid in the acid as bought", limits=(10.0, 100.0))
    slurry_strength = setting("%", 12.0, "CaO in the milk of lime", limits=(2.0, 40.0), prior=1.0)
    lime_precipitated = setting("%", 60.0, "CaO that ends in the precipitate", limits=(0.0, 100.0), prior=10.0)
    other_precipitated = setting("%", 6.0, "other non-sucrose precipitated", limits=(0.0, 40.0), prior=1.5)
    ash_precipitated = setting("%", 8.0, "soluble ash precipitated", limits=(0.0, 60.0), prior=3.0)
    lime_rating = setting("kg/h", 2000.0, "lime that slaking and dosing give, as CaO", limits=(0.0, 1e5))
    inversion = setting("%", 0.0, "sucrose inverted", limits=(0.0, 3.0))
    lime = result("kg/h", 250.0, "lime, as CaO", limits=(0.0, 1e5))
    phosphoric_acid = result("kg/h", 10.0, "phosphoric acid as bought", limits=(0.0, 1e5))
    phosphate = result("mg/kg", 300.0, "phosphate in the juice that is limed, as P2O5", limits=(0.0, 1e4))

    def equations(self) -> Equations:
        """Juice, milk of lime and what lime and acid bring leave together."""
        yield from conserve(*self.entering, into=[self.limed], exchanges=self.exchanges())
        yield "lime follows its dose or the pH", self.lime, self._on_juice() * self._juice()
        acid = phosphoric_acid_needed(self._phosphate(), self.acid_strength)
        yield "acid holds the phosphate that is added", self.phosphoric_acid, acid
        yield "phosphate adds up", self.phosphate, self.phosphate_in_juice + self.phosphate_added
        lime = TONNES * self.lime
        yield "water makes up the milk of lime", self.slurry_strength * (self.water.water + lime), PERCENT * lime
        yield from blend_energy(self, self.limed, self.juice[0])

    def _juice(self) -> Num:
        return sum(s.flow for s in self.juice)

    def _on_juice(self) -> Num:
        """CaO on juice, kg/t."""
        return self.lime_dose if self.lime_by == "dose" else self.buffer * (self.limed_ph - self.raw_ph)

    def _phosphate(self) -> Num:
        """Phosphate added as P2O5, kg/h."""
        return phosphate_dose(self._juice(), self.phosphate_added)

    def exchanges(self) -> Iterable[Exchange]:
        """Lime and acid added, non-sucrose precipitated, sucrose inverted."""
        lime, phosphate = TONNES * self.lime, TONNES * self._phosphate()
        settled = self.lime_precipitated / PERCENT * lime
        ash = self.ash_precipitated / PERCENT * sum(s.ash for s in self.juice)
        other = self.other_precipitated / PERCENT * sum(s.other for s in self.juice)
        yield Exchange("lime added, dissolved", "ash", lime - settled)
        yield Exchange("lime added, precipitated", "suspended", settled)
        yield Exchange("phosphate added, precipitated", "suspended", phosphate)
        yield Exchange("water of the acid", "water", TONNES * self.phosphoric_acid - phosphate)
        yield Exchange("ash precipitated", "ash", -ash)
        yield Exchange("other non-sucrose precipitated", "other", -other)
        yield Exchange("precipitate formed from non-sucrose", "suspended", ash + other)
        yield from inversion(self.inversion / PERCENT * sum(s.sucrose for s in (*self.juice, *self.returned)))

    def capacities(self) -> Iterable[tuple[str, Num, Num]]:
        """Lime within what slaking and dosing give, kg/h."""
        yield "lime within what slaking and dosing give", self.lime, self.lime_rating

    def estimate(self) -> Mapping[str, float]:
        """The sum of what enters, with the water of the milk of lime."""
        lime = 1e-3 * float(self._on_juice() * self._juice())
        asked = lime * (100.0 / float(self.slurry_strength) - 1.0)
        guess = spread([*self.juice, *self.returned], {self.limed: 1.0})
        guess[f"{self.limed.prefix}.water"] += asked
        phosphate = float(self.phosphate_in_juice + self.phosphate_added)
        guess |= {f"{self.name}.lime": 1e3 * lime, f"{self.name}.phosphate": phosphate}
        return {**guess, f"{self.water.prefix}.water": asked}
