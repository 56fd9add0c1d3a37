"""Syrup clarifier: a little phosphate and lime precipitate in hot syrup, and fine air floats the precipitate off."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from canewright.analysis.dosing import (
    lime_for_phosphate,
    phosphate_dose,
    phosphate_precipitate,
    phosphoric_acid_needed,
)
from canewright.plant.balance import conserve, conserve_energy
from canewright.plant.liquor_station import LIQUID, equally_warm, held_share
from canewright.plant.retention import Retaining
from canewright.plant.station import Equations, Exchange, inlet, outlet, result, setting, spread
from canewright.plant.streams import PERCENT, Liquor, Water
from canewright.plant.strength import strength, volume_flow
from canewright.quantity import Num, constant

TONNES = constant(1e-3, "t/kg")
GRAMS = constant(1e-3, "kg·kg/mg/t")
TRICALCIUM = constant(3.0, "1")
"""Moles of CaO with each mole of P2O5."""


class SyrupClarifier(Retaining):
    """Flotation of syrup at 80-85 °C: suspended matter and some colour leave with a scum that holds syrup.

    Scum 1-3 % of syrup, P2O5 100-300 mg/kg on solids, 80-90 % of turbidity and 5-20 % of colour removed, 0.5-2 % of
    other non-sucrose and ash precipitated, 30-60 min, dry substance to 65-66 % (from memory); syrup at 85 °C as in the
    tests of Rein, Cox and Montocchio, Proc. S. Afr. Sug. Technol. Ass. 61 (1987), opening read. It decides the flow of
    ``water``, that of the chemicals made up. Heaters stand before it, the scum goes back to mud or mixed juice.
    """

    kind = "syrup clarifier"
    hazards = (
        "Hot syrup scalds; tanks are confined spaces: entry only by permit under local rules.",
        "Phosphoric acid and lime burn skin and eyes: goggles, gloves, a shower at hand; food grade only.",
    )
    handles = ("p2o5_dose", "flocculant")
    measured = ("ph", "clarified colour", "clarified suspended solids", "clarified temperature", "scum mass flow")

    syrup, water = inlet(Liquor), inlet(Water)
    clarified, scum = outlet(Liquor), outlet(Liquor)

    p2o5_dose = setting("mg/kg", 200.0, "P2O5 on solids", limits=(0.0, 800.0), prior=10.0)
    flocculant = setting("mg/kg", 10.0, "flocculant on solids", limits=(0.0, 60.0))
    dosing_water = setting("%", 0.5, "water of the chemicals, on syrup", limits=(0.0, 5.0), prior=0.1)
    acid_strength = setting("%", 75.0, "phosphoric acid in the acid as bought", limits=(10.0, 100.0))
    solids_removed = setting("%", 85.0, "suspended solids that float off", limits=(0.0, 100.0), prior=5.0)
    other_precipitated = setting("%", 1.0, "ash and other non-sucrose precipitated", limits=(0.0, 10.0), prior=0.5)
    colour_removed = setting("%", 10.0, "colour removed, on colour that enters", limits=(0.0, 50.0), prior=3.0)
    scum_solids = setting("%", 8.0, "suspended solids in the scum", limits=(1.0, 30.0), prior=2.0)
    temperature_drop = setting("K", 1.5, "how much cooler both leave", limits=(0.0, 15.0), prior=0.5)
    ph = setting("1", 6.5, "pH of the cooled sample", limits=(4.0, 9.0))
    volume = setting("m³", 60.0, "volume of syrup in the vessel", limits=(0.0, 2000.0))
    time_wanted = setting("h", 0.5, "time that scum needs to rise", limits=(0.05, 5.0))
    most_strength = setting("%", 66.0, "dry substance above which scum rises badly", limits=(50.0, 75.0))
    most_scum = setting("%", 8.0, "scum that can be taken back, on syrup", limits=(0.5, 30.0))
    phosphoric_acid = result("kg/h", 20.0, "phosphoric acid as bought", limits=(0.0, 1e5))
    lime = result("kg/h", 15.0, "lime, as CaO", limits=(0.0, 1e5))
    flocculant_used = result("kg/h", 0.6, "flocculant, dry", limits=(0.0, 1e3))
    liquor_share = result("1", 0.02, "syrup that the scum holds, on all syrup", limits=(0.0, 1.0))
    heat_lost = result("kW", 100.0, "heat lost to the surroundings", limits=(-1e4, 1e5))

    def equations(self) -> Equations:
        """Balances, chemicals, and scum that holds syrup of the composition of the clarified."""
        syrup, clarified, scum = self.syrup, self.clarified, self.scum
        exchanges = tuple(self.exchanges())
        yield from conserve(syrup, self.water, into=[clarified, scum], exchanges=exchanges)
        yield "chemicals bring their water", PERCENT * self.water.water, self.dosing_water * syrup.flow
        yield from self._chemicals()
        brought = syrup.suspended + sum(x.amount for x in exchanges if x.what == "suspended")
        yield "suspended solids float off", PERCENT * scum.suspended, self.solids_removed * brought
        held = (PERCENT / self.scum_solids - 1.0) * scum.suspended
        whole = clarified.solution + scum.solution
        yield from held_share("scum is solids and syrup", self.liquor_share, held, whole)
        for name in LIQUID:
            entered = getattr(syrup, name) + (self.water.water if name == "water" else 0.0)
            there = entered + sum(x.amount for x in exchanges if x.what == name)
            yield f"{name.replace('_', ' ')} goes with the scum", getattr(scum, name), self.liquor_share * there
        yield "syrup cools as set", clarified.temperature, syrup.temperature - self.temperature_drop
        yield from equally_warm(clarified, scum)
        yield from conserve_energy(self)
        yield from self._retained(syrup)

    def _phosphate(self) -> Num:
        """P2O5, kg/h."""
        return phosphate_dose(self.syrup.solids, self.p2o5_dose)

    def _chemicals(self) -> Equations:
        p2o5 = self._phosphate()
        yield "acid holds the phosphate", self.phosphoric_acid, phosphoric_acid_needed(p2o5, self.acid_strength)
        yield "lime binds the phosphate", self.lime, lime_for_phosphate(p2o5, TRICALCIUM)
        yield "flocculant is its dose", self.flocculant_used, GRAMS * self.flocculant * self.syrup.solids

    def exchanges(self) -> Iterable[Exchange]:
        """Phosphate and lime precipitated, non-sucrose precipitated, colour removed, sucrose inverted, heat lost."""
        phosphate = TONNES * self._phosphate()
        ash, other = (self.other_precipitated / PERCENT * x for x in (self.syrup.ash, self.syrup.other))
        yield Exchange("calcium phosphate precipitated", "suspended", TONNES * phosphate_precipitate(self._phosphate()))
        yield Exchange("water of the acid", "water", TONNES * self.phosphoric_acid - phosphate)
        yield Exchange("ash precipitated", "ash", -ash)
        yield Exchange("other non-sucrose precipitated", "other", -other)
        yield Exchange("precipitate formed from non-sucrose", "suspended", ash + other)
        yield Exchange("colour removed", "colour", -(self.colour_removed / PERCENT * self.syrup.colour))
        yield from self._inversion(self.syrup)
        yield Exchange("heat lost to the surroundings", "energy", -(self.KILOWATT * self.heat_lost))

    def capacities(self) -> Iterable[tuple[str, Num, Num]]:
        """Volume for the time that scum needs, m³; strength, %; scum, t/h."""
        yield "syrup stays until the scum has risen", volume_flow(self.syrup) * self.time_wanted, self.volume
        yield "syrup is thin enough for scum to rise", strength(self.syrup), self.most_strength
        yield "scum can be taken back", self.scum.flow, self.most_scum / PERCENT * self.syrup.flow

    def estimate(self) -> Mapping[str, float]:
        """Two hundredths of the syrup in the scum."""
        syrup, warm = self.syrup, float(self.syrup.temperature - self.temperature_drop)
        water = float(self.dosing_water * syrup.flow) / 100.0
        guess = spread([syrup], {self.clarified: 0.98, self.scum: 0.02}, warm)
        guess[f"{self.clarified.prefix}.water"] += water
        p2o5 = 1e-3 * float(self.p2o5_dose * syrup.solids)
        doses = {"phosphoric_acid": 1.84 * p2o5, "lime": 1.19 * p2o5, "liquor_share": 0.02}
        guess |= self.own(doses) | self._stay(syrup)
        return {**guess, f"{self.water.prefix}.water": water}
