"""Extraction turbine: steam for the process is taken between two sections, the rest runs on to a condenser."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from canewright.plant.balance import conserve_energy
from canewright.plant.expansion import (
    FollowsExhaust,
    TurboGenerator,
    generated,
    guessed_ideal,
    guessed_real,
    ideal_fall,
    keeps_entropy,
)
from canewright.plant.station import Equations, Exchange, outlet, result, setting
from canewright.plant.streams import PERCENT, Steam
from canewright.plant.surface_condenser import SurfaceCondenser
from canewright.properties.steam import saturation_temperature, steam_enthalpy, steam_entropy
from canewright.quantity import Num


class ExtractionTurbine(SurfaceCondenser, FollowsExhaust, TurboGenerator):
    """Two expansions on one shaft: all steam to the extraction, then what is not extracted to the condenser.

    Extraction is set, or follows the exhaust as a back-pressure turbine does; the flow to the condenser is set. It
    decides the flow of steam and of cooling water; the pressure of the extraction is the exhaust range's (or of a
    vapour main). A wet extraction is refused by name. The blades behind the extraction need a least flow, 5-15 % of
    full flow (common practice, no source): a limit of cogeneration, like the rating and what the grid takes.
    """

    kind = "extraction turbine"
    hazards = (
        "Overspeed, live steam and vacuum: governors, trips and relief are for licensed persons under local codes.",
        "Steam that runs back from the extraction overspeeds the set: non-return valves are kept by licensed persons.",
        "Rotating shafts and couplings: guards and lock-out.",
    )
    handles = ("extracted", "condensed")
    measured = ("power power", "extraction mass flow", "condensate mass flow", "steam temperature")

    extraction = outlet(Steam)
    extracted = setting("t/h", 100.0, "set flow: steam extracted", limits=(0.0, 500.0), prior=2.0)
    most_extracted = setting("t/h", 150.0, "following: extraction with its valve wide open", limits=(0.0, 500.0))
    condensed = setting("t/h", 40.0, "steam to the condenser", limits=(0.0, 500.0), prior=1.5)
    least_condensed = setting("t/h", 8.0, "least steam that keeps the last blades cool", limits=(0.0, 200.0))
    swallow = setting("t/h", 250.0, "most steam that the turbine swallows", limits=(0.0, 900.0))
    tail_efficiency = setting(
        "%", 80.0, "real on ideal fall of enthalpy behind the extraction", limits=(20.0, 92.0), prior=2.0
    )
    extraction_superheat = result("K", 40.0, "superheat of the steam extracted", limits=(0.0, 400.0))
    tail_quality = result("1", 0.9, "vapour in the ideal exhaust", limits=(0.6, 1.0))
    tail_superheat = result("K", 10.0, "superheat of the ideal exhaust", limits=(0.0, 400.0))

    def equations(self) -> Equations:
        """Both expansions, the quality at the end, the power, and the condenser's balances."""
        steam, out = self.steam, self.extraction
        yield (
            "steam is extracted as wanted",
            out.water,
            self.admitted(self.extracted, self.most_extracted, out.pressure),
        )
        yield "water in is extracted or condensed", steam.water, out.water + self.condensed
        yield from self.ideal(out.pressure)
        between = steam_enthalpy(out.temperature, out.pressure)
        yield "the fall of enthalpy is its share of the ideal", self.live_enthalpy - between, self.fall(out.pressure)
        boiling = out.saturation_temperature
        yield "superheat is above the boiling point", out.temperature - boiling, self.extraction_superheat
        entropy = steam_entropy(out.temperature, out.pressure)
        for sentence, left, right in keeps_entropy(entropy, self.pressure, self.tail_quality, self.tail_superheat):
            yield f"{sentence}, behind the extraction", left, right
        yield from self.condensing(between - self._tail_fall(), self.condensed)
        yield "power is what the steam gives up, less losses", self.power.enthalpy_flow, self.kept * self._work()
        yield from conserve_energy(self)

    def _tail_fall(self) -> Num:
        """Real fall of enthalpy behind the extraction, kJ/kg."""
        between = steam_enthalpy(self.extraction.temperature, self.extraction.pressure)
        return (
            self.tail_efficiency / PERCENT * ideal_fall(between, self.pressure, self.tail_quality, self.tail_superheat)
        )

    def _work(self) -> Num:
        """What the steam gives up, MJ/h."""
        return self.fall(self.extraction.pressure) * self.steam.water + self._tail_fall() * self.condensed

    def exchanges(self) -> Iterable[Exchange]:
        """Losses of bearings, gear and generator."""
        yield Exchange("lost in bearings, gear and generator", "energy", -(1.0 - self.kept) * self._work())

    def capacities(self) -> Iterable[tuple[str, Num, Num]]:
        """Swallow and rating, what the extraction passes, and the least that the last blades need."""
        yield from super().capacities()
        yield "steam extracted within what its valve passes", self.extraction.water, self.most_extracted
        yield "least steam to the condenser within what it gets", self.least_condensed, self.condensed

    def estimate(self) -> Mapping[str, float]:
        """Both end points by hand, and the cooling water by the latent heat."""
        out, left = self.extraction, float(self.condensed)
        pressure, live = float(out.pressure), float(self.live_enthalpy)
        ends, fall = self.guessed_end(pressure)
        superheat = guessed_real(live, fall, pressure)
        warm = float(saturation_temperature(pressure)) + superheat
        quality, beyond, ideal = guessed_ideal(steam_entropy(warm, pressure), float(self.pressure))
        tail = float(self.tail_efficiency) / 100.0 * (live - fall - ideal)
        taken = float(self.admitted(self.extracted, self.most_extracted, pressure))
        own = {"extraction_superheat": superheat, "tail_quality": quality, "tail_superheat": beyond}
        guess = ends | {f"{self.name}.{key}": value for key, value in own.items()}
        guess |= {f"{self.steam.prefix}.water": taken + left, f"{out.prefix}.water": taken}
        guess |= {f"{out.prefix}.temperature": warm, **self.guessed_condensing(left, live - fall - tail)}
        return guess | generated(self, (taken + left) * fall + left * tail)
