"""Clarifier: mud settles out of limed juice."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from canewright.plant.balance import conserve, conserve_energy
from canewright.plant.ratios import SEEPAGE, share
from canewright.plant.reactions import inversion
from canewright.plant.station import Equations, Exchange, Station, inlet, outlet, result, setting, spread
from canewright.plant.streams import PERCENT, Juice, Liquor
from canewright.properties.sucrose import sucrose_density
from canewright.quantity import Num, constant

KILOGRAMS = constant(1000.0, "kg/t")


class Clarifier(Station):
    """Clear juice keeps a little suspended matter, mud takes the rest and all fibre; their liquor is the same.

    Mud solids 5-10 % (Rainey, Thaval and Rackemann 2014, opening read), carry-over 0.01-0.05 %, drop 1-3 K, rise
    velocity 3-10 m/h trayless with flocculant, 1-2 m/h of tray (from memory).
    """

    kind = "clarifier"
    hazards = ("Hot juice scalds; tanks are confined spaces: entry only by permit under local rules.",)

    juice = inlet(Juice)
    clear, mud = outlet(Liquor), outlet(Juice)

    mud_solids = setting("%", 7.5, "fibre and suspended solids in mud", limits=(1.0, 20.0), prior=0.75)
    carry_over = setting("%", 0.03, "suspended solids in clear juice", limits=(0.0, 1.0), prior=0.01)
    inversion = setting("%", 0.04, "sucrose inverted", limits=(0.0, 3.0))
    temperature_drop = setting("K", 3.0, "how much cooler both leave", limits=(0.0, 20.0), prior=0.5)
    colour_removed = setting("%", 4.0, "colour removed, on colour that enters", limits=(0.0, 60.0), prior=2.0)
    area = setting("m²", 60.0, "area on which juice rises", limits=(1.0, 5000.0))
    rise_velocity = setting("m/h", 8.0, "upward velocity at which mud still settles", limits=(0.2, 20.0))
    liquid_share = result("1", 0.1, "liquor that leaves with the mud, on all liquor", limits=(0.0, 1.0))
    heat_lost = result("kW", 500.0, "heat lost to the surroundings", limits=(-1e3, 1e5))

    def equations(self) -> Equations:
        """Balances; solids by mud and clear juice; liquor of one composition; the temperatures."""
        juice, clear, mud = self.juice, self.clear, self.mud
        exchanges = tuple(self.exchanges())
        yield from conserve(juice, into=[clear, mud], exchanges=exchanges)
        yield "clear juice carries solids over as set", PERCENT * clear.suspended, self.carry_over * clear.flow
        solids = mud.fibre + mud.suspended
        liquor = juice.water + juice.dissolved
        yield from share(
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

    def exchanges(self) -> Iterable[Exchange]:
        """Sucrose inverted, colour removed, heat lost."""
        yield from inversion(self.inversion / PERCENT * self.juice.sucrose)
        yield Exchange("colour removed", "colour", -(self.colour_removed / PERCENT * self.juice.colour))
        yield Exchange("heat lost to the surroundings", "energy", -(self.KILOWATT * self.heat_lost))

    def capacities(self) -> Iterable[tuple[str, Num, Num]]:
        """Rise of the juice: its volume within area times velocity, m³/h."""
        clear = self.clear
        density = sucrose_density(PERCENT * clear.solids / (clear.solution + SEEPAGE), clear.temperature)
        there = self.area * self.rise_velocity
        yield "clear juice rises slower than mud settles", KILOGRAMS * clear.flow / density, there

    def estimate(self) -> Mapping[str, float]:
        """A tenth of the juice with nearly all solids goes to mud."""
        juice = self.juice
        solids = float(juice.fibre + juice.suspended)
        held = min(solids * (100.0 / float(self.mud_solids) - 1.0) / (float(juice.water + juice.dissolved) or 1.0), 0.9)
        warm = float(juice.temperature) - float(self.temperature_drop)
        guess = spread([juice], {self.clear: 1.0 - held, self.mud: held}, warm)
        guess |= {f"{self.clear.prefix}.suspended": 0.0, f"{self.mud.prefix}.suspended": float(juice.suspended)}
        lost = float(juice.flow) * 3.9 * float(self.temperature_drop) / 3.6
        return {
            **guess, f"{self.mud.prefix}.fibre": float(juice.fibre), f"{self.name}.liquid_share": held,
            f"{self.name}.heat_lost": lost,
        }  # fmt: skip
