"""What vacuum pans share: balances, exhaustion, colour of the crystal, boiling temperature and heat."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import ClassVar

from canewright.plant.asking import asked
from canewright.plant.balance import conserve, conserve_energy
from canewright.plant.boiling import boiling_law, boiling_point_choice, boils_at
from canewright.plant.crystals import crystals_by_purity, grown_colour, mother_liquor_has, on_whole, placed, totals
from canewright.plant.ratios import SEEPAGE
from canewright.plant.saturation import saturated_sucrose_to_water
from canewright.plant.station import Equations, Exchange, Station, choice, inlet, inlets, outlet, result, setting
from canewright.plant.streams import PERCENT, Massecuite, Steam, Water
from canewright.properties.steam import saturation_temperature
from canewright.quantity import Num

NOTHING = 1e-9
"""Flow, t/h, below which nothing has come or is wanted yet."""


class BoilingPan(Station):
    """A pan or a group of pans boiling one kind of massecuite, in balance form.

    Crystal follows from the purity of the mother liquor: crystal % solids = 100 (P - P_ml) / (100 - P_ml), exact for
    crystals of pure sucrose; or its content is given; or the supersaturation left in the mother liquor, which then
    follows brix and vacuum (1.05-1.20 A and refinery, 1.1-1.3 low grade, from memory; within the range of the
    solubility, up to 5 t of non-sucrose per t of water). The massecuite leaves at the boiling temperature of its mother
    liquor plus the rise by the head of massecuite. Steam condenses at its saturation temperature.

    Upstream it decides the flow of steam; the pressure of its own vapour is decided by the condenser. The law
    of Norrish is not for mother liquors under 5 % water and runs high (15-25 K) for C massecuite.
    """

    hazards = (
        "Boiling massecuite scalds: break the vacuum and drain before opening a pan.",
        "Vessels under vacuum and steam: inspection and entry under local codes and permit.",
    )
    handles: ClassVar[tuple[str, ...]] = ("brix", "steam", "feeds")
    measured: ClassVar[tuple[str, ...]] = (
        "massecuite refractometer brix",
        "massecuite apparent purity",
        "massecuite mother liquor purity",
        "massecuite crystal content",
        "massecuite temperature",
        "steam pressure",
        "vapour pressure",
    )

    feeds, steam = inlets(Massecuite), inlet(Steam)
    massecuite, vapour, condensate = outlet(Massecuite), outlet(Steam), outlet(Water)

    exhaustion = choice(
        "mother liquor purity",
        "crystal content",
        "supersaturation",
        says="which of them decides how much crystal the strike has",
    )
    boiling_point = boiling_point_choice()
    brix = setting("%", 92.0, "true dry substance of the massecuite", limits=(75.0, 98.5), prior=0.4)
    mother_liquor_purity = setting(
        "%", 70.0, "true purity of the mother liquor when dropped", limits=(15.0, 99.9), prior=1.0
    )
    crystal_content = setting("%", 50.0, "crystal on solids, where that is given", limits=(5.0, 75.0), prior=1.0)
    supersaturation = setting(
        "1", 1.15, "supersaturation of the mother liquor when dropped", limits=(0.9, 1.5), prior=0.03
    )
    head_rise = setting("K", 3.0, "rise of the boiling temperature by the head", limits=(0.0, 20.0), prior=1.0)
    crystal_inclusion = setting(
        "1", 0.02, "colour of grown crystal on colour of the massecuite", limits=(0.0, 1.0), prior=0.005
    )
    colour_formed = setting("%", 2.0, "colour formed, on colour in solution fed", limits=(0.0, 30.0), prior=1.0)
    heat_loss = setting("%", 3.0, "heat lost, on heat given by the steam", limits=(0.0, 15.0))
    density = setting("t/m³", 1.45, "density of the massecuite (1.42-1.50, from memory)", limits=(1.2, 1.6))
    most_crystal = setting("%", 68.0, "crystal on solids that still flows (from memory)", limits=(20.0, 80.0))

    duty = result("kW", 10000.0, "heat given by the steam", limits=(-1e3, 1e6))
    colour_on_solids = result("IU", 10000.0, "colour of the massecuite on all its solids", limits=(0.0, 1e6))
    mother_liquor_brix = result("%", 84.0, "true dry substance of the mother liquor", limits=(0.0, 100.0))

    def fed(self) -> tuple[Massecuite, ...]:
        """Every sugar stream that is boiled."""
        return self.feeds

    def equations(self) -> Equations:
        """Balances, brix, exhaustion, colour of the crystal, boiling temperature and heat."""
        strike, vapour = self.massecuite, self.vapour
        yield from conserve(*self.fed(), into=[strike, vapour], exchanges=self.exchanges())
        yield "massecuite has its brix", PERCENT * strike.solids, self.brix * strike.solution
        yield from self._crystal()
        yield from on_whole(
            "colour on solids is that of the massecuite", self.colour_on_solids, strike.total_colour, strike.solids
        )
        yield from grown_colour(strike, self.fed(), self.crystal_inclusion, self.colour_on_solids)
        yield from on_whole(
            "dry substance of the mother liquor", self.mother_liquor_brix, PERCENT * strike.dissolved,
            strike.water + strike.dissolved,
        )  # fmt: skip
        yield "vapour leaves as hot as the surface boils", vapour.temperature, self._surface()
        yield "massecuite is hotter by the head", strike.temperature, vapour.temperature + self.head_rise
        yield from self._heat()

    def _crystal(self) -> Equations:
        if self.exhaustion == "crystal content":
            strike = self.massecuite
            yield "crystal is its share of solids", PERCENT * strike.crystal, self.crystal_content * strike.solids
        elif self.exhaustion == "supersaturation":
            yield "mother liquor stands at its supersaturation", self.massecuite.sucrose, self._held_in_solution()
        else:
            yield from mother_liquor_has(self.mother_liquor_purity, self.massecuite)

    def _held_in_solution(self) -> Num:
        """Sucrose that the mother liquor holds at its supersaturation, t/h."""
        strike = self.massecuite
        per_water = strike.non_sucrose / (strike.water + SEEPAGE)
        return (
            self.supersaturation * strike.water * saturated_sucrose_to_water(self.forms, strike.temperature, per_water)
        )

    def _surface(self) -> Num:
        """Temperature at which the mother liquor boils at the surface."""
        return boils_at(boiling_law(self), self.massecuite, self.mother_liquor_brix, self.vapour.pressure)

    def _heat(self) -> Equations:
        steam, condensate = self.steam, self.condensate
        yield "steam becomes condensate", steam.water, condensate.water
        yield "condensate leaves as it condenses", condensate.temperature, steam.saturation_temperature
        yield "duty is what the steam gives", self.KILOWATT * self.duty, steam.enthalpy_flow - condensate.enthalpy_flow
        yield from conserve_energy(self)

    def _driving(self) -> Num:
        """Temperature difference over the calandria at its least: steam against massecuite as dropped, K."""
        return self.steam.saturation_temperature - self.massecuite.temperature

    def exchanges(self) -> Iterable[Exchange]:
        """Colour formed in solution, and heat lost."""
        dissolved_colour = sum(s.colour for s in self.fed())
        yield Exchange("colour formed in boiling", "colour", self.colour_formed * dissolved_colour / PERCENT)
        yield Exchange("heat lost", "energy", -(self.heat_loss * (self.KILOWATT * self.duty)) / PERCENT)

    def capacities(self) -> Iterable[tuple[str, Num, Num]]:
        """Crystal that the mother liquor can still carry out of the pan."""
        flows = self.most_crystal * self.massecuite.solids / PERCENT
        yield "crystal little enough for the massecuite to flow", self.massecuite.crystal, flows

    def estimate(self) -> Mapping[str, float]:
        """Massecuite by brix and exhaustion; steam a little more than the water boiled off."""
        strike = self._strike(totals(self.fed()))
        evaporated = max(0.0, sum(float(s.water) for s in self.fed()) - strike["water"])
        steam = 1.12 * evaporated
        solids = sum(strike[n] for n in ("sucrose", "reducing_sugars", "ash", "other", "crystal"))
        guess = placed(self.massecuite, strike)
        dissolved = solids - strike["crystal"]
        guess |= asked(self.steam, steam)
        guess |= {
            f"{self.vapour.prefix}.water": evaporated,
            f"{self.condensate.prefix}.water": steam,
            f"{self.condensate.prefix}.temperature": float(self.steam.saturation_temperature),
            f"{self.name}.duty": steam * 2200.0 / 3.6,
            f"{self.name}.colour_on_solids": (strike["colour"] + strike["crystal_colour"]) / max(solids, 1e-6),
            f"{self.name}.mother_liquor_brix": 100.0 * dissolved / max(dissolved + strike["water"], 1e-6),
        }
        guess |= self._asks_for_feed()
        hot = float(saturation_temperature(max(2.0, float(self.vapour.pressure)))) + 10.0
        guess[f"{self.vapour.prefix}.temperature"] = hot
        return {**guess, f"{self.massecuite.prefix}.temperature": hot + float(self.head_rise)}

    def _asks_for_feed(self) -> dict[str, float]:
        """As much feed as the massecuite that is wanted of a pan to which none has come yet."""
        wanted = float(self.massecuite.flow)
        if wanted <= NOTHING or any(float(s.flow) > NOTHING for s in self.fed()):
            return {}
        return {f"{s.prefix}.water": wanted / len(self.feeds) for s in self.feeds}

    def _strike(self, total: dict[str, float]) -> dict[str, float]:
        non_sucrose = total["reducing_sugars"] + total["ash"] + total["other"]
        sucrose = total["sucrose"] + total["crystal"]
        solids, brix = sucrose + non_sucrose, float(self.brix)
        if self.exhaustion == "crystal content":
            crystal = min(sucrose, solids * float(self.crystal_content) / 100.0)
        else:
            crystal = crystals_by_purity(total, float(self.mother_liquor_purity))
        colour = total["colour"] * (1.0 + float(self.colour_formed) / 100.0) + total["crystal_colour"]
        grown = (crystal - total["crystal"]) / max(solids, 1e-9)
        inside = total["crystal_colour"] + float(self.crystal_inclusion) * colour * grown
        return {
            **total, "water": solids * (100.0 - brix) / brix, "sucrose": sucrose - crystal, "crystal": crystal,
            "colour": colour - inside, "crystal_colour": inside,
        }  # fmt: skip
