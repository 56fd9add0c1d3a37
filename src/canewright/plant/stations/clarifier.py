"""Clarifier: mud settles out of limed juice."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from canewright.plant.balance import conserve, conserve_energy
from canewright.plant.either import surplus
from canewright.plant.ratios import proportion
from canewright.plant.retention import Retaining
from canewright.plant.station import Equations, Exchange, choice, inlet, outlet, published, result, setting, spread
from canewright.plant.streams import PERCENT, Juice, Liquor
from canewright.plant.strength import strength, volume_flow
from canewright.properties.settling import clear_juice_turbidity, mud_settling_velocity
from canewright.quantity import Num, constant

PARTS = constant(1e4, "mg/kg/%")
GRAMS = constant(1e-3, "kg·kg/mg/t")
JOIN = constant(1e-4, "1")
"""Square of the width, on the load, over which carry-over by overload sets in."""
REFERENCE_VISCOSITY = constant(4.49e-4, "Pa·s")
"""Juice of 15 % dry substance at 98 °C, for which the unaided velocity is stated."""


class Clarifier(Retaining):
    """Clear juice keeps a little suspended matter, mud takes the rest and all fibre; their liquor is the same.

    Mud settles at a set velocity, or by flocculant and by the viscosity of the juice. Above it clear juice carries over
    ``overload_carry`` for each part of overload: fit it, it is nothing until then. Turbidity is in the scale of the
    plant's instrument. Mud solids 5-10 % (Rainey, Thaval and Rackemann 2014, opening read); retention 3.5 h with trays
    to 20 min without (Doherty 2011, opening read); juice rises at half the velocity of a settling test, 3.9-4.8 m/h,
    for 40-45 min (a page on trayless clarifiers, read); carry-over 0.01-0.05 %, drop 1-3 K, flocculant 2-5 mg/kg,
    settling 3-10 m/h trayless and 1-2 m/h of tray (from memory).
    """

    kind = "clarifier"
    hazards = ("Hot juice scalds; tanks are confined spaces: entry only by permit under local rules.",)
    handles = ("flocculant", "mud_solids")
    measured = ("clear temperature", "clear colour", "turbidity", "ph", "mud suspended solids")

    juice = inlet(Juice)
    clear, mud = outlet(Liquor), outlet(Juice)
    settling = choice("set", "flocculant", says="how the velocity of settling is found")
    viscosity = published("viscosity", says="law of the viscosity of the juice")

    mud_solids = setting("%", 7.5, "fibre and suspended solids in mud", limits=(1.0, 20.0), prior=0.75)
    carry_over = setting("%", 0.03, "suspended solids in clear juice", limits=(0.0, 1.0), prior=0.01)
    overload_carry = setting("%", 0.0, "solids that clear juice gains when load doubles", limits=(0.0, 5.0))
    inversion = setting("%", 0.04, "sucrose inverted where it is set", limits=(0.0, 3.0))
    volume = setting("m³", 200.0, "volume of juice in the vessel", limits=(0.0, 10000.0))
    temperature_drop = setting("K", 3.0, "how much cooler both leave", limits=(0.0, 20.0), prior=0.5)
    colour_removed = setting("%", 4.0, "colour removed, on colour that enters", limits=(0.0, 60.0), prior=2.0)
    area = setting("m²", 60.0, "area on which juice rises", limits=(1.0, 5000.0))
    rise_velocity = setting("m/h", 8.0, "upward velocity at which mud still settles, as set", limits=(0.2, 20.0))
    unaided_velocity = setting("m/h", 2.0, "that velocity without flocculant", limits=(0.05, 10.0))
    flocculant = setting("mg/kg", 3.0, "flocculant on juice", limits=(0.0, 20.0))
    flocculant_gain = setting("1", 4.0, "greatest gain of velocity by flocculant", limits=(0.0, 20.0))
    flocculant_scale = setting("mg/kg", 2.0, "flocculant for 63 % of that gain", limits=(0.1, 20.0))
    solids_flux = setting("t/h/m²", 0.1, "solids that thicken on a square metre", limits=(0.001, 5.0))
    phosphate = setting("mg/kg", 300.0, "phosphate in the limed juice, as P2O5", limits=(0.0, 2000.0))
    haze = setting("1", 200.0, "turbidity of juice without phosphate", limits=(0.0, 1e4))
    phosphate_scale = setting("mg/kg", 100.0, "phosphate that leaves 37 % of it", limits=(10.0, 1000.0))
    turbidity_of_solids = setting("kg/mg", 0.1, "turbidity of solids carried over", limits=(0.0, 10.0))
    liquid_share = result("1", 0.1, "liquor that leaves with the mud, on all liquor", limits=(0.0, 1.0))
    heat_lost = result("kW", 500.0, "heat lost to the surroundings", limits=(-1e3, 1e5))
    settling_velocity = result("m/h", 8.0, "velocity at which mud settles", limits=(0.0, 200.0))
    load = result("1", 0.8, "rise of clear juice on the velocity of settling", limits=(0.0, 1e3))
    turbidity = result("1", 40.0, "turbidity of the clear juice", limits=(0.0, 1e5))
    flocculant_used = result("kg/h", 1.5, "flocculant, dry", limits=(0.0, 1e3))

    def equations(self) -> Equations:
        """Balances; solids by mud and clear juice; liquor of one composition; the temperatures."""
        juice, clear, mud = self.juice, self.clear, self.mud
        exchanges = tuple(self.exchanges())
        yield from conserve(juice, into=[clear, mud], exchanges=exchanges)
        yield from self._settled()
        solids = mud.fibre + mud.suspended
        liquor = juice.water + juice.dissolved
        yield from proportion(
            "mud holds liquor by its solids", self.liquid_share, (PERCENT / self.mud_solids - 1.0) * solids, liquor
        )
        for name in ("water", "sucrose", "reducing_sugars", "ash", "other", "colour"):
            whole = getattr(juice, name) + sum(x.amount for x in exchanges if x.what == name)
            yield (
                f"{name.replace('_', ' ')} leaves with the mud by its share",
                getattr(mud, name),
                self.liquid_share * whole,
            )
        yield "clear juice leaves cooler by the drop", clear.temperature, juice.temperature - self.temperature_drop
        yield "mud leaves as warm as clear juice", mud.temperature, clear.temperature
        yield from conserve_energy(self)
        yield from self._retained(juice)

    def _settled(self) -> Equations:
        """Velocity of settling, load, and what clear juice carries over."""
        clear = self.clear
        yield "mud settles at its velocity", self.settling_velocity, self._velocity()
        rises = self.area * self.settling_velocity * self.load
        yield "load is the rise on the velocity of settling", rises, volume_flow(clear)
        carried = self.carry_over + self.overload_carry * surplus(self.load - 1.0, JOIN)
        yield "clear juice carries solids over by its load", PERCENT * clear.suspended, carried * clear.flow
        turbid = (PARTS * carried, self.turbidity_of_solids, self.haze, self.phosphate, self.phosphate_scale)
        yield "clear juice is as turbid as its solids and haze", self.turbidity, clear_juice_turbidity(*turbid)
        yield "flocculant is its dose on juice", self.flocculant_used, GRAMS * self.flocculant * self.juice.flow

    def _velocity(self) -> Num:
        if self.settling == "set":
            return self.rise_velocity
        warm = self.clear.temperature
        thickness = self.form("viscosity")(dry_substance=strength(self.juice), temperature=warm)
        by_dose = (self.unaided_velocity, self.flocculant, self.flocculant_gain, self.flocculant_scale)
        return mud_settling_velocity(*by_dose, thickness, REFERENCE_VISCOSITY)

    def exchanges(self) -> Iterable[Exchange]:
        """Sucrose inverted, colour removed, heat lost."""
        yield from self._inversion(self.juice)
        yield Exchange("colour removed", "colour", -(self.colour_removed / PERCENT * self.juice.colour))
        yield Exchange("heat lost to the surroundings", "energy", -(self.KILOWATT * self.heat_lost))

    def capacities(self) -> Iterable[tuple[str, Num, Num]]:
        """Rise of the juice: its volume within area times velocity, m³/h; solids that thicken, t/h."""
        yield "clear juice rises slower than mud settles", volume_flow(self.clear), self.area * self.settling_velocity
        solids = self.mud.fibre + self.mud.suspended
        yield "mud thickens on the area", solids, self.area * self.solids_flux

    def estimate(self) -> Mapping[str, float]:
        """A tenth of the juice with nearly all solids goes to mud."""
        juice = self.juice
        solids = float(juice.fibre + juice.suspended)
        held = min(solids * (100.0 / float(self.mud_solids) - 1.0) / (float(juice.water + juice.dissolved) or 1.0), 0.9)
        warm = float(juice.temperature) - float(self.temperature_drop)
        guess = spread([juice], {self.clear: 1.0 - held, self.mud: held}, warm)
        guess |= {f"{self.clear.prefix}.suspended": 0.0, f"{self.mud.prefix}.suspended": float(juice.suspended)}
        lost = float(juice.flow) * 3.9 * float(self.temperature_drop) / 3.6
        guess |= self._stay(juice) | {f"{self.name}.settling_velocity": float(self.rise_velocity)}
        guess |= {f"{self.name}.flocculant_used": 1e-3 * float(self.flocculant * juice.flow)}
        return {
            **guess, f"{self.mud.prefix}.fibre": float(juice.fibre), f"{self.name}.liquid_share": held,
            f"{self.name}.heat_lost": lost,
        }  # fmt: skip
