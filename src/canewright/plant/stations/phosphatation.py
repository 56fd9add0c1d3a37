"""Phosphatation: phosphoric acid and lime precipitate in the liquor; air floats the precipitate, and colour with it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from canewright.plant.balance import amount, conserve, conserve_energy
from canewright.plant.liquor_station import (
    KILOGRAMS,
    STANDSTILL,
    TONNES,
    dry_substance_of,
    equally_warm,
    held_share,
    in_proportion,
    liquor_density,
)
from canewright.plant.reactions import inversion
from canewright.plant.station import Equations, Exchange, Station, choice, inlet, outlet, result, setting, spread
from canewright.plant.streams import PERCENT, Liquor, Water
from canewright.properties.kinetics import inversion_rate
from canewright.quantity import Num, constant
from canewright.quantity.maths import exp

ANHYDRIDE, LIME, WATER, ACID = 141.9445, 56.0774, 18.0153, 97.9952
"""Molar masses of P2O5, CaO, H2O and H3PO4, g/mol."""
PRECIPITATES = {
    "tricalcium phosphate": (3.0, 0.0),
    "hydroxyapatite": (10.0 / 3.0, 1.0 / 3.0),
    "dicalcium phosphate": (2.0, 1.0),
}
"""For each mole of P2O5: moles of CaO and of water in the precipitate."""
ACID_WATER = 3.0
"""Moles of water that phosphoric acid holds above its mole of P2O5."""
KILOGRAMS_IN_GRAMS = constant(1e-3, "kg/g")
STANDSTILL_VOLUME = constant(1e-4, "m³/h")
MINUTES = constant(60.0, "min/h")


class Phosphatation(Station):
    """Clarifies refinery liquor with 200-400 mg P2O5 per kg of solids at pH 7.0-7.4 and 80-85 °C.

    Colour removed is ``greatest (1 - exp(-dose/characteristic dose))``, plus the same law for a cationic precipitant.
    Insolubles left are ``exp(-dose/clearing dose)`` of those brought, plus a little precipitate carried over; the scum
    holds the rest with liquor of the composition of the clarified liquor. Precipitate that neither floc nor air lifts,
    ``exp(-floc dose/characteristic dose)``, stays too. These laws are own forms with numbers to fit from jar tests;
    25-40 % of colour is usual (common practice, no source). Precipitate follows from the molar ratio of lime to
    phosphate; lime for the liquor's own acidity is its buffering times the rise of pH. Inversion in tank and clarifier
    by Vukov. Floc 5-15 mg/kg, air 1-5 % of the volume, 20-40 min (from memory). The station decides the flow of
    ``water``: that of the lime slurry and of the acid.
    """

    kind = "phosphatation"
    hazards = (
        "Phosphoric acid and lime burn skin and eyes: goggles, gloves, a shower at hand; food grade only.",
        "Hot liquor at 80-85 °C scalds.",
        "Below pH 6.5 sucrose inverts, above 8.5 reducing sugars are destroyed and colour forms; pH is read hot.",
    )
    handles = ("p2o5_dose", "ph", "floc_dose", "air", "precipitant_dose")
    measured = ("ph_in", "ph", "liquor colour", "clarified colour", "clarified temperature", "scum refractometer brix")

    liquor, water = inlet(Liquor), inlet(Water)
    clarified, scum = outlet(Liquor), outlet(Liquor)
    precipitate_formed = choice(*PRECIPITATES, says="the calcium phosphate that precipitates")

    p2o5_dose = setting("mg/kg", 300.0, "P2O5 on solids", limits=(0.0, 1200.0), prior=10.0)
    acid_strength = setting("%", 75.0, "phosphoric acid in the acid as bought", limits=(10.0, 100.0))
    ph_in = setting("1", 6.2, "pH of the liquor that comes, hot", limits=(4.0, 8.0), prior=0.1)
    ph = setting("1", 7.2, "pH after liming, hot", limits=(5.5, 9.0), prior=0.05)
    buffering = setting("mg/kg", 60.0, "CaO on solids that lifts the pH by one", limits=(0.0, 1500.0), prior=20.0)
    floc_dose = setting("mg/kg", 12.0, "flocculant on solids", limits=(0.0, 100.0), prior=0.5)
    characteristic_floc = setting(
        "mg/kg", 1.0, "flocculant that leaves 37 % of the precipitate", limits=(0.1, 20.0), prior=0.3
    )
    air = setting("% v/v", 3.0, "air beaten in, on liquor", limits=(0.0, 15.0), prior=0.3)
    dosing_water = setting("%", 0.5, "water of slurry and acid on liquor", limits=(0.0, 5.0), prior=0.1)
    greatest_removal = setting("%", 40.0, "colour that phosphate can remove", limits=(0.0, 65.0), prior=4.0)
    characteristic_dose = setting("mg/kg", 180.0, "P2O5 for 63 % of that", limits=(20.0, 1000.0), prior=30.0)
    precipitant_dose = setting("mg/kg", 0.0, "cationic colour precipitant on solids", limits=(0.0, 600.0), prior=0.0)
    precipitant_removal = setting("%", 20.0, "colour that precipitant can remove", limits=(0.0, 30.0), prior=4.0)
    characteristic_precipitant = setting(
        "mg/kg", 150.0, "precipitant for 63 % of that", limits=(20.0, 1000.0), prior=40.0
    )
    clearing_dose = setting(
        "mg/kg", 100.0, "P2O5 that leaves 37 % of the insolubles in the liquor", limits=(10.0, 1000.0), prior=20.0
    )
    carry_over = setting("%", 8.0, "precipitate that stays in the clarified liquor", limits=(0.0, 60.0), prior=3.0)
    scum_solids = setting("%", 4.0, "insolubles in the scum", limits=(1.0, 15.0), prior=0.5)
    temperature_drop = setting("K", 1.0, "cooling from liquor in to liquor out", limits=(0.0, 15.0), prior=0.5)
    volume = setting("m³", 45.0, "liquor in reaction tank and clarifier", limits=(0.1, 1000.0))
    time_wanted = setting("min", 25.0, "time that the liquor should stay", limits=(1.0, 180.0))

    p2o5 = result("kg/h", 15.0, "phosphate, as P2O5", limits=(0.0, 1e5))
    phosphoric_acid = result("kg/h", 20.0, "phosphoric acid, as 100 % H3PO4", limits=(0.0, 1e5))
    acid_as_bought = result("kg/h", 27.0, "acid as bought", limits=(0.0, 1e6))
    lime = result("kg/h", 20.0, "lime, as CaO, for phosphate and acidity", limits=(0.0, 1e5))
    precipitate = result("kg/h", 35.0, "precipitate formed, dry", limits=(0.0, 1e5))
    colour_removal = result("%", 30.0, "colour removed on colour of the liquor", limits=(0.0, 100.0))
    liquor_share = result("1", 0.01, "liquor that the scum holds on all liquor", limits=(0.0, 1.0))
    heat_lost = result("kW", 50.0, "heat lost from tank and clarifier")
    dry_substance = result("%", 65.0, "dry substance of the liquor", limits=(0.0, 100.0))
    purity = result("1", 0.99, "sucrose on solids of the liquor", limits=(0.0, 1.0 + 1e-9))
    residence = result("h", 0.6, "time in tank and clarifier", limits=(0.0, 1e9))
    inverted = result("kg/h", 0.3, "sucrose inverted", limits=(0.0, 1e6))
    floc = result("kg/h", 0.6, "flocculant", limits=(0.0, 1e5))
    air_flow = result("m³/h", 2.0, "air beaten in", limits=(0.0, 1e5))

    def equations(self) -> Equations:
        """Balances, doses, colour and insolubles removed, and scum that holds liquor."""
        liquor, clarified, scum = self.liquor, self.clarified, self.scum
        yield from conserve(liquor, self.water, into=[clarified, scum], exchanges=self.exchanges())
        yield "dosing water is its share of liquor", PERCENT * self.water.water, self.dosing_water * liquor.flow
        yield from self._doses()
        yield "colour goes by the saturating laws", self.colour_removal, self._removal()
        left = liquor.suspended * exp(-(self.p2o5_dose / self.clearing_dose))
        carried = self._carried() * TONNES * self.precipitate
        yield "insolubles stay in the liquor by dose and carry-over", clarified.suspended, left + carried
        yield from self._stay()
        yield from self._scum()
        yield "liquor cools as set", liquor.temperature - clarified.temperature, self.temperature_drop
        yield from equally_warm(clarified, scum)
        yield from conserve_energy(self)

    def _carried(self) -> Num:
        """Precipitate that stays in the liquor: carry-over of what the floc lifts, and all that it does not."""
        lifted = 1.0 - exp(-(self.floc_dose / self.characteristic_floc))
        return 1.0 - lifted * (PERCENT - self.carry_over) / PERCENT

    def _stay(self) -> Equations:
        liquor = self.liquor
        yield from dry_substance_of(self.dry_substance, liquor)
        sucrose = amount(liquor, "sucrose")
        yield "purity is sucrose on solids", self.purity * (liquor.solids + STANDSTILL), sucrose + STANDSTILL
        flow = liquor.flow / liquor_density(self.dry_substance, liquor)
        yield "air is its share of liquor", PERCENT * self.air_flow, self.air * flow
        yield "liquor stays volume on flow", self.residence * (flow + STANDSTILL_VOLUME), self.volume
        rate = inversion_rate(liquor.temperature, self.ph, self.dry_substance, PERCENT * self.purity)
        gone = 1.0 - exp(-(rate * self.residence))
        yield "sucrose inverts while it stays", self.inverted, KILOGRAMS * (gone * sucrose)
        yield "flocculant is its dose on solids", self.floc, KILOGRAMS_IN_GRAMS * self.floc_dose * liquor.solids

    def _acidity(self) -> Num:
        """Lime on solids for the liquor's own acidity, mg/kg."""
        return self.buffering * (self.ph - self.ph_in)

    def _doses(self) -> Equations:
        limes, waters = PRECIPITATES[self.precipitate_formed]
        solids = self.liquor.solids
        p2o5, extra = self.p2o5, KILOGRAMS_IN_GRAMS * self._acidity() * solids
        yield "phosphate is its dose on solids", p2o5, KILOGRAMS_IN_GRAMS * self.p2o5_dose * solids
        yield "acid holds the phosphate", self.phosphoric_acid, 2.0 * ACID / ANHYDRIDE * p2o5
        yield (
            "acid as bought has its strength",
            self.acid_strength * self.acid_as_bought,
            PERCENT * self.phosphoric_acid,
        )
        yield "lime is by molar ratio, and for acidity", self.lime, limes * LIME / ANHYDRIDE * p2o5 + extra
        formed = (1.0 + (limes * LIME + waters * WATER) / ANHYDRIDE) * p2o5
        yield "precipitate holds phosphate and lime", self.precipitate, formed

    def _removal(self) -> Num:
        by_phosphate = 1.0 - exp(-(self.p2o5_dose / self.characteristic_dose))
        by_precipitant = 1.0 - exp(-(self.precipitant_dose / self.characteristic_precipitant))
        return self.greatest_removal * by_phosphate + self.precipitant_removal * by_precipitant

    def _scum(self) -> Iterator[tuple[str, Num, Num]]:
        clarified, scum = self.clarified, self.scum
        held = (PERCENT - self.scum_solids) / self.scum_solids * scum.suspended
        whole = sum(s.water + s.solids for s in (clarified, scum))
        yield from held_share("scum is insolubles and liquor", self.liquor_share, held, whole)
        names = ("sucrose", "reducing_sugars", "other")
        yield from in_proportion(scum, self.liquor_share, self.liquor, names)
        for name in ("water", "ash", "colour"):
            both = amount(clarified, name) + amount(scum, name)
            yield f"{name} goes in proportion", amount(scum, name), self.liquor_share * both

    def exchanges(self) -> Iterable[Exchange]:
        """Phosphate and lime become precipitate, lime for acidity stays as ash, colour goes with the precipitate."""
        waters = PRECIPITATES[self.precipitate_formed][1]
        extra = TONNES * (KILOGRAMS_IN_GRAMS * self._acidity() * self.liquor.solids)
        yield Exchange("calcium phosphate precipitated", "suspended", TONNES * self.precipitate)
        freed = (ACID_WATER - waters) * WATER / ANHYDRIDE
        yield Exchange("water freed from the acid", "water", freed * (TONNES * self.p2o5))
        yield Exchange("lime that stays dissolved", "ash", extra)
        removed = self.colour_removal / PERCENT * amount(self.liquor, "colour")
        yield Exchange("colour taken by the precipitate", "colour", -removed)
        yield Exchange("flocculant in the scum", "suspended", TONNES * self.floc)
        yield from inversion(TONNES * self.inverted)
        yield Exchange("heat lost from tank and clarifier", "energy", -(self.KILOWATT * self.heat_lost))

    def capacities(self) -> Iterable[tuple[str, Num, Num]]:
        """Time in tank and clarifier."""
        held = self.liquor.flow / liquor_density(self.dry_substance, self.liquor) * self.time_wanted / MINUTES
        yield "liquor of the time wanted within tank and clarifier", held, self.volume

    def estimate(self) -> Mapping[str, float]:
        """Doses as set; one hundredth of the liquor in the scum."""
        liquor, clarified, scum = self.liquor, self.clarified.prefix, self.scum.prefix
        water = float(self.dosing_water * liquor.flow) / 100.0
        p2o5 = 1e-3 * float(self.p2o5_dose * liquor.solids)
        removal = float(self._removal())
        warm = float(liquor.temperature - self.temperature_drop)
        guess = spread([liquor], {self.clarified: 0.99, self.scum: 0.01}, temperature=warm)
        guess[f"{clarified}.water"] += water
        insolubles = float(liquor.suspended) + 2.2e-3 * p2o5
        guess |= {f"{clarified}.suspended": 0.1 * insolubles, f"{scum}.suspended": 0.9 * insolubles}
        guess[f"{clarified}.colour"] *= 1.0 - removal / 100.0
        doses = {"p2o5": p2o5, "phosphoric_acid": 1.38 * p2o5, "lime": 1.2 * p2o5, "precipitate": 2.2 * p2o5}
        flow = float(liquor.flow) / 1.28
        doses |= {"acid_as_bought": 138.0 * p2o5 / float(self.acid_strength)}
        doses |= {"colour_removal": removal, "liquor_share": 0.01, "dry_substance": 65.0, "purity": 0.99}
        doses |= {"floc": 1e-3 * float(self.floc_dose * liquor.solids), "air_flow": 0.01 * float(self.air) * flow}
        doses |= {"residence": float(self.volume) / (flow + 1e-4), "inverted": 0.005 * float(liquor.solids)}
        return {**guess, **self.own(doses), f"{self.water.prefix}.water": water}
