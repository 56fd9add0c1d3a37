"""Cane supply: the cane that the carrier brings, at a rate and of a composition."""

from __future__ import annotations

from collections.abc import Mapping

from canewright.plant.station import Equations, Station, outlet, setting
from canewright.plant.streams import PERCENT, Juice


class CaneSupply(Station):
    """Cane as crushed. Its composition is what reconciliation is least sure of, so every part has a wide prior.

    Ranges: fibre 11-17 %, brix 13-19 %, soil 0.3-5 % (common practice, no source).
    """

    kind = "cane supply"
    boundary = True

    cane = outlet(Juice)
    rate = setting("t/h", 400.0, "cane crushed while running", limits=(0.0, 2000.0), prior=8.0)
    fibre = setting("%", 14.0, "fibre in cane", limits=(6.0, 25.0), prior=1.0)
    sucrose = setting("%", 13.4, "sucrose in cane", limits=(4.0, 20.0), prior=1.0)
    reducing_sugars = setting("%", 0.65, "reducing sugars in cane", limits=(0.0, 4.0), prior=0.15)
    ash = setting("%", 0.55, "soluble ash in cane", limits=(0.0, 3.0), prior=0.1)
    other = setting("%", 1.35, "other dissolved non-sucrose in cane", limits=(0.0, 5.0), prior=0.3)
    suspended = setting("%", 0.8, "soil and other insolubles in cane", limits=(0.0, 8.0), prior=0.3)
    colour = setting(
        "IU", 14000.0, "colour of the juice in cane, on dissolved solids", limits=(1000.0, 60000.0), prior=1500.0
    )
    temperature = setting("°C", 27.0, "temperature of the cane", limits=(0.0, 50.0))

    def equations(self) -> Equations:
        """Rate and composition make the stream; water is the rest."""
        cane = self.cane
        yield "cane is crushed at the rate", cane.flow, self.rate
        for name in ("fibre", "sucrose", "reducing_sugars", "ash", "other", "suspended"):
            yield (
                f"{name.replace('_', ' ')} is its share of cane",
                PERCENT * cane.component(name),
                getattr(self, name) * self.rate,
            )
        yield "colour comes with the dissolved solids", cane.colour, self.colour * cane.dissolved
        yield "cane has its temperature", cane.temperature, self.temperature

    def estimate(self) -> Mapping[str, float]:
        """The composition itself."""
        name, rate = self.cane.prefix, float(self.rate)
        parts = {
            c: getattr(self, c) * rate / 100
            for c in ("fibre", "sucrose", "reducing_sugars", "ash", "other", "suspended")
        }
        solids = sum(parts[c] for c in ("sucrose", "reducing_sugars", "ash", "other"))
        parts |= {"water": rate - sum(parts.values()), "colour": self.colour * solids, "temperature": self.temperature}
        return {f"{name}.{c}": float(v) for c, v in parts.items()}
