"""Mud filter: mud with bagacillo becomes a washed cake and a filtrate that goes back to the juice."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from canewright.analysis.filter_station import drum_filtrate
from canewright.plant.balance import conserve, conserve_energy
from canewright.plant.liquor_station import STANDSTILL, held_share
from canewright.plant.ratios import proportion
from canewright.plant.station import Equations, Exchange, Station, inlet, outlet, published, result, setting, spread
from canewright.plant.streams import PERCENT, Juice, Water
from canewright.plant.strength import density, strength
from canewright.quantity import Num, constant
from canewright.quantity.maths import exp, log

ONE = constant(1.0, "1")
TONNES = constant(1e-3, "t/kg")
KILOGRAMS = constant(1000.0, "kg/t")
DRIP = constant(1e-3, "m³/h")


class MudFilter(Station):
    """Cake keeps its retention of the solids, and in its liquor what washing leaves of the dissolved matter.

    Washing: ``left = (1 - efficiency) ** (wash / usual wash)``, wash on the liquor of the cake; at the usual wash the
    efficiency is that stated (exponential displacement, form from memory). It decides the flow of the wash water.
    Retention 65-90 %, moisture 68-78 %, efficiency 0.6-0.85, wash 100-200 % on cake (from memory). Retention below
    about 60 % sends fine mud round and round until the clarifier fills. Bagacillo fibre 0.3-0.5 on mud solids, drums
    20-30 kg/m²h of insolubles, vacuum 30 kPa where cake forms (from memory; a drum at 0.45 m² per tonne an hour of cane
    carries about so much dry, not wet, cake).
    """

    kind = "mud filter"
    hazards = ("Hot wash water and filtrate scald; drums, scrapers and belts need guards and lock-out.",)
    handles = ("wash_on_cake", "vacuum", "drum_speed", "bagacillo")
    measured = ("cake pol", "cake moisture", "filtrate refractometer brix", "wash mass flow", "vacuum")

    mud, bagacillo, wash = inlet(Juice), inlet(Juice), inlet(Water)
    cake, filtrate = outlet(Juice), outlet(Juice)
    viscosity = published("viscosity", says="law of the viscosity of the filtrate")

    retention = setting("%", 85.0, "fibre and suspended solids kept in the cake", limits=(5.0, 100.0), prior=4.0)
    cake_moisture = setting("%", 72.0, "moisture of the cake", limits=(40.0, 90.0), prior=1.0)
    wash_efficiency = setting(
        "1", 0.78, "share of the dissolved matter that the usual wash displaces", limits=(0.0, 0.99), prior=0.05
    )
    usual_wash = setting("1", 1.75, "wash on liquor of the cake at which that was found, t/t", limits=(0.2, 10.0))
    wash_on_cake = setting("%", 130.0, "wash water on cake", limits=(0.0, 500.0), prior=10.0)
    cake_temperature = setting("°C", 60.0, "temperature of the cake", limits=(20.0, 100.0), prior=3.0)
    filtrate_temperature = setting("°C", 65.0, "temperature of the filtrate", limits=(20.0, 100.0), prior=3.0)
    area = setting("m²", 400.0, "filter area of the drums", limits=(0.1, 5000.0))
    greatest_load = setting("kg/m²/h", 30.0, "insolubles that a square metre carries off", limits=(1.0, 500.0))
    vacuum = setting("kPa", 30.0, "pressure difference where cake forms", limits=(1.0, 95.0))
    submergence = setting("%", 25.0, "circumference that dips into the mud", limits=(5.0, 60.0))
    drum_speed = setting("1/min", 0.25, "speed of the drums", limits=(0.02, 5.0))
    cake_resistance = setting("m/kg", 1e10, "specific resistance of the cake", limits=(1e7, 1e14))
    bagacillo_ratio = result("1", 0.4, "fibre on suspended solids in the feed", limits=(0.0, 1e9))
    liquid_share = result("1", 0.2, "liquor of the cake on liquor that came", limits=(0.0, 10.0))
    wash_ratio = result("1", 1.75, "wash on liquor of the cake, t/t", limits=(0.0, 50.0))
    heat_lost = result("kW", 500.0, "heat lost to the surroundings", limits=(-1e4, 1e5))

    def equations(self) -> Equations:
        """Balances; solids by retention; liquor by moisture and washing; the temperatures."""
        cake, fed = self.cake, (self.mud, self.bagacillo)
        yield from conserve(*fed, self.wash, into=[cake, self.filtrate])
        for name in ("fibre", "suspended"):
            whole = sum(getattr(s, name) for s in fed)
            yield f"{name} is kept by the retention", PERCENT * getattr(cake, name), self.retention * whole
        yield "cake leaves at its moisture", PERCENT * cake.water, self.cake_moisture * cake.flow
        yield "wash water is its share of cake", PERCENT * self.wash.water, self.wash_on_cake * cake.flow
        liquor = cake.water + cake.dissolved
        yield from proportion(
            "cake liquor is its share of liquor", self.liquid_share, liquor, sum(s.water + s.dissolved for s in fed)
        )
        yield from proportion("wash is on the liquor of the cake", self.wash_ratio, self.wash.water, liquor)
        for name in ("sucrose", "reducing_sugars", "ash", "other", "colour"):
            whole = sum(getattr(s, name) for s in fed)
            yield (
                f"{name.replace('_', ' ')} stays as washing leaves it",
                getattr(cake, name),
                self._left() * self.liquid_share * whole,
            )
        fibre, mud = (sum(getattr(s, name) for s in fed) for name in ("fibre", "suspended"))
        yield from held_share("bagacillo is on mud", self.bagacillo_ratio, fibre, mud)
        yield "cake has its temperature", cake.temperature, self.cake_temperature
        yield "filtrate has its temperature", self.filtrate.temperature, self.filtrate_temperature
        yield from conserve_energy(self)

    def _left(self) -> Num:
        """Share of the dissolved matter left in the liquor of the cake."""
        return exp(log(ONE - self.wash_efficiency) * self.wash_ratio / self.usual_wash)

    def exchanges(self) -> Iterable[Exchange]:
        """Heat lost by the drum, the vacuum and the cake."""
        yield Exchange("heat lost to the surroundings", "energy", -(self.KILOWATT * self.heat_lost))

    def capacities(self) -> Iterable[tuple[str, Num, Num]]:
        """Insolubles within what the area carries off, t/h; filtrate within what the cake lets through, m³/h."""
        insolubles = self.cake.fibre + self.cake.suspended
        yield "cake comes off the area", insolubles, TONNES * self.greatest_load * self.area
        mud = self.mud
        through = KILOGRAMS * (mud.water + mud.dissolved) / density(mud)
        concentration = KILOGRAMS * (insolubles + STANDSTILL) / (through + DRIP)
        thin = self.form("viscosity")(dry_substance=strength(mud), temperature=mud.temperature)
        drum = (self.area, self.vacuum, self.submergence, self.drum_speed, thin, self.cake_resistance, concentration)
        yield "filtrate passes the cake", through, drum_filtrate(*drum)

    def estimate(self) -> Mapping[str, float]:
        """Cake by its solids and moisture; a fifth of the dissolved matter left in its liquor."""
        fed = (self.mud, self.bagacillo)
        solids = sum(float(s.fibre + s.suspended) for s in fed) * float(self.retention) / 100.0
        cake = 1.1 * solids / (1.0 - float(self.cake_moisture) / 100.0)
        wash, water = cake * float(self.wash_on_cake) / 100.0, cake * float(self.cake_moisture) / 100.0
        liquid = sum(float(s.water + s.dissolved) for s in fed)
        held = min(water / (liquid or 1.0), 0.9)
        guess = spread(fed, {self.cake: 0.2 * held, self.filtrate: 1.0 - 0.2 * held})
        brought = sum(float(s.water) for s in fed) + wash
        guess |= {f"{self.cake.prefix}.water": water, f"{self.filtrate.prefix}.water": brought - water}
        for name in ("fibre", "suspended"):
            whole = sum(float(getattr(s, name)) for s in fed)
            kept = whole * float(self.retention) / 100.0
            guess |= {f"{self.cake.prefix}.{name}": kept, f"{self.filtrate.prefix}.{name}": whole - kept}
        guess |= {f"{self.cake.prefix}.temperature": float(self.cake_temperature)}
        guess |= {f"{self.filtrate.prefix}.temperature": float(self.filtrate_temperature)}
        guess |= {f"{self.wash.prefix}.water": wash, f"{self.name}.liquid_share": held}
        return {**guess, f"{self.name}.wash_ratio": wash / (water or 1.0)}
