"""Liquid sugar: refined sugar or fine liquor brought to strength, held hot, lit with ultraviolet and cooled."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from canewright.analysis.keeping import mean_irradiance, pasteurisation_units
from canewright.plant.asking import asked
from canewright.plant.balance import conserve, conserve_energy
from canewright.plant.crystals import placed, totals
from canewright.plant.heat import at_temperature
from canewright.plant.liquor_station import KILOGRAMS, TONNES, liquor_density
from canewright.plant.reactions import inversion
from canewright.plant.station import Equations, Exchange, Station, inlet, inlets, outlet, result, setting
from canewright.plant.streams import PERCENT, Liquor, Massecuite, Steam, Water
from canewright.properties.kinetics import inversion_rate
from canewright.properties.sucrose import solubility
from canewright.quantity import Num, constant
from canewright.quantity.maths import exp

MINUTES = constant(60.0, "min/h")
SECONDS = constant(3600.0, "s/h")
STANDSTILL_VOLUME = constant(1e-4, "m³/h")


class LiquidSugar(Station):
    """Sugar dissolves and liquors join with water to a set dry substance; pasteuriser, ultraviolet lamp and cooler.

    Heat to the holding temperature comes from steam, less what recuperation takes back from the hot syrup (for cold
    feeds only: with hot feeds there is nothing to give it to). Effect of the hold is ``min 10^((t - reference)/z)``;
    ultraviolet dose is the mean irradiance of the lit layer (law of Beer) times the time in it. Usual: 67 % dry
    substance, not below 62 % by EU directive 2001/111/EC (read), 75-85 °C for 1-10 min, 400 J/m² (from memory).
    Liquors alone below the dry substance leave no answer: water would be negative. Decides ``water`` and ``steam``.
    """

    kind = "liquid sugar"
    hazards = (
        "Hot syrup and steam scald; ultraviolet light burns eyes and skin: covers with interlocks.",
        "Food safety: hold, dose, filters and tank hygiene are critical points of the site's food safety plan.",
    )
    handles = ("dry_substance", "hold_temperature")
    measured = ("liquid refractometer brix", "liquid colour", "liquid temperature", "ph")

    sugar, liquors = inlets(Massecuite, may_be_open=True), inlets(Liquor, may_be_open=True)
    water, steam = inlet(Water), inlet(Steam)
    liquid, condensate = outlet(Liquor), outlet(Water)

    dry_substance = setting("%", 67.0, "true dry substance of the liquid sugar", limits=(50.0, 78.0), prior=0.1)
    hold_temperature = setting("°C", 80.0, "temperature of the hold", limits=(50.0, 105.0), prior=0.5)
    hold = setting("min", 5.0, "time held", limits=(0.0, 120.0), prior=0.2)
    reference = setting("°C", 70.0, "reference temperature of the effect wanted", limits=(50.0, 120.0))
    tenfold = setting("K", 7.0, "rise that makes the effect tenfold", limits=(4.0, 20.0))
    units_wanted = setting("min", 30.0, "minutes at the reference temperature wanted", limits=(0.0, 1e5))
    recuperation = setting("%", 0.0, "heat of the hot syrup given back to the cold", limits=(0.0, 90.0), prior=2.0)
    heat_loss = setting("%", 2.0, "heat lost, on heat brought by the steam", limits=(0.0, 20.0))
    store_temperature = setting("°C", 28.0, "temperature to the store or tanker", limits=(10.0, 70.0), prior=1.0)
    ph = setting("1", 7.0, "pH in the hold, at its temperature", limits=(5.5, 9.0), prior=0.1)
    irradiance = setting("W/m²", 150.0, "ultraviolet at 254 nm at the lit surface", limits=(0.0, 5000.0), prior=15.0)
    absorption = setting("1/cm", 1.0, "decadic absorption of the syrup at 254 nm", limits=(0.05, 20.0), prior=0.2)
    layer = setting("cm", 1.0, "depth of the lit layer", limits=(0.1, 10.0))
    lit_volume = setting("m³", 0.12, "syrup in the lit layer", limits=(0.0, 20.0))
    dose_wanted = setting("J/m²", 400.0, "ultraviolet dose wanted", limits=(0.0, 5000.0))

    pasteurisation = result("min", 100.0, "minutes at the reference temperature of equal effect", limits=(0.0, 1e9))
    dose = result("J/m²", 800.0, "ultraviolet dose", limits=(0.0, 1e12))
    inverted = result("kg/h", 0.5, "sucrose inverted in the hold", limits=(0.0, 1e5))
    cooling = result("kW", 300.0, "heat that cooling water takes", limits=(-1e4, 1e6))

    def equations(self) -> Equations:
        """Everything dissolves; water gives the dry substance, steam the holding temperature."""
        liquid, condensate = self.liquid, self.condensate
        yield from conserve(*self._fed(), into=[liquid], exchanges=self.exchanges())
        yield "liquid sugar has its dry substance", PERCENT * liquid.solids, self.dry_substance * liquid.solution
        yield "liquid sugar leaves cooled", liquid.temperature, self.store_temperature
        hot = at_temperature(liquid, self.hold_temperature).enthalpy_flow - liquid.enthalpy_flow
        left = (PERCENT - self.recuperation) / PERCENT * hot
        yield "cooling takes what is not recuperated", self.KILOWATT * self.cooling, left
        yield "steam becomes condensate", self.steam.water, condensate.water
        yield "condensate leaves as it condenses", condensate.temperature, self.steam.saturation_temperature
        yield from conserve_energy(self)
        yield from self._kept()

    def _fed(self) -> tuple[Liquor | Water, ...]:
        return (*self.sugar, *self.liquors, self.water)

    def _kept(self) -> Equations:
        effect = pasteurisation_units(self.hold, self.hold_temperature, self.reference, self.tenfold)
        yield "hold has its effect", self.pasteurisation, effect
        volume = self.liquid.flow / liquor_density(self.dry_substance, self.liquid) + STANDSTILL_VOLUME
        lit = mean_irradiance(self.absorption, self.layer) * self.irradiance * self.lit_volume * SECONDS
        yield "dose is irradiance for the time in the light", self.dose * volume, lit
        rate = inversion_rate(self.hold_temperature, self.ph, self.dry_substance, PERCENT)
        sucrose = sum(s.sucrose + s.crystal for s in (*self.sugar, *self.liquors))
        gone = 1.0 - exp(-(rate * self.hold / MINUTES))
        yield "sucrose inverts in the hold", self.inverted, KILOGRAMS * (gone * sucrose)

    def exchanges(self) -> Iterable[Exchange]:
        """Sucrose inverted, heat to cooling water, heat lost."""
        yield from inversion(TONNES * self.inverted)
        yield Exchange("heat to cooling water", "energy", -(self.KILOWATT * self.cooling))
        yield Exchange("heat lost", "energy", -(self.heat_loss * self.steam.enthalpy_flow) / PERCENT)

    def capacities(self) -> Iterable[tuple[str, Num, Num]]:
        """Hold, dose, and a strength that does not crystallise in the store."""
        yield "effect wanted within that of the hold", self.units_wanted, self.pasteurisation
        yield "dose wanted within that of the lamp", self.dose_wanted, self.dose
        yield "dry substance below saturation in the store", self.dry_substance, solubility(self.store_temperature)

    def estimate(self) -> Mapping[str, float]:
        """Water for the dry substance, and steam by the warming of the whole."""
        total = totals((*self.sugar, *self.liquors))
        total["sucrose"] += total["crystal"]
        total["colour"] += total["crystal_colour"]
        solids = sum(total[n] for n in ("sucrose", "reducing_sugars", "ash", "other"))
        strength = float(self.dry_substance)
        water = max(0.0, solids * (100.0 - strength) / strength - total["water"])
        total["water"] += water
        whole = solids + total["water"]
        rise = float(self.hold_temperature) - float(self.store_temperature)
        left = 1.0 - float(self.recuperation) / 100.0
        steam = 2.8 * whole * left * rise / 2200.0
        volume = whole / 1.32 + 1e-4
        guess = placed(self.liquid, {**total, "temperature": float(self.store_temperature)})
        guess |= {f"{self.condensate.prefix}.water": steam}
        guess |= {f"{self.condensate.prefix}.temperature": float(self.steam.saturation_temperature)}
        lit = float(mean_irradiance(self.absorption, self.layer) * self.irradiance * self.lit_volume)
        results = {"cooling": 2.8 * whole * left * rise / 3.6, "dose": 3600.0 * lit / volume, "inverted": 0.01 * solids}
        effect = pasteurisation_units(self.hold, self.hold_temperature, self.reference, self.tenfold)
        results |= {"pasteurisation": float(effect)}
        guess |= {f"{self.name}.{name}": value for name, value in results.items()}
        return {**guess, **asked(self.water, water), **asked(self.steam, steam)}
