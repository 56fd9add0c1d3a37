"""Pan separator: vapour leaves a boiling massecuite with droplets of its mother liquor."""

from __future__ import annotations

from collections.abc import Mapping

from canewright.plant.carrying_over import CarryingOver
from canewright.plant.station import Equations, inlet, outlet, setting
from canewright.plant.streams import Massecuite
from canewright.quantity import Num

NOTHING = 1e-9
"""Flow, t/h, below which a pan has not been estimated yet."""


class PanSeparator(CarryingOver):
    """Vapour space and separator of all pans of one kind of strike: droplets of mother liquor go with the vapour.

    It stands behind a pan: massecuite and vapour enter as they left it, crystal stays. Over a strike droplets are
    first of the liquor fed and last of the mother liquor dropped; the latter stands for all, which holds of sucrose
    within some tenths (syrup of 65 % and 85 purity 0.55, mother liquor of 84 % and 70 purity 0.59 t/t). Velocity and
    droplets are means over the strike; the fastest vapour, 1.5 times as fast (own calculation of a strike minute by
    minute), counts against the greatest velocity. Sucrose in the condensate of pan vapour: 20-100 mg/kg (from memory).

    Where the vapour goes to a jet condenser, lead ``carried`` to the seal tank or the drain that its water goes to.
    Operator's handles: steam, level, vacuum, a mesh. Measured: sugar trace in condenser water or condensate.
    """

    kind = "pan separator"

    massecuite = inlet(Massecuite)
    kept = outlet(Massecuite)

    cross_section = setting("m²", 40.0, "cross-section in which the vapour rises, of all pans", limits=(0.1, 500.0))
    liquid_density = setting(
        "kg/m³", 1430.0, "density of the mother liquor, of which its root counts", limits=(1200.0, 1550.0)
    )
    fastest_on_mean = setting("1", 1.5, "fastest evaporation of a strike on its mean", limits=(1.0, 4.0))

    def _boiled(self) -> Massecuite:
        return self.massecuite

    def _kept(self) -> Massecuite:
        return self.kept

    def equations(self) -> Equations:
        """Those of every separator; crystal stays, with its colour."""
        yield from super().equations()
        yield "crystals stay crystals", self.massecuite.crystal, self.kept.crystal
        yield "crystals keep their colour", self.massecuite.crystal_colour, self.kept.crystal_colour

    def _density(self) -> Num:
        return self.liquid_density

    def _fastest(self) -> Num:
        return self.fastest_on_mean * self.velocity

    def estimate(self) -> Mapping[str, float]:
        """As every separator; what is decided behind it goes on to the pan: the pressure, and massecuite asked for."""
        behind, kept = float(self.cleaned.pressure), self.kept
        guess = {**super().estimate(), f"{self.cleaned.prefix}.pressure": behind}
        guess |= {f"{self.vapour.prefix}.pressure": behind + float(self.pressure_drop)}
        if float(self.massecuite.flow) <= NOTHING < float(kept.flow):
            guess |= {f"{s.prefix}.water": float(kept.flow) for s in (self.massecuite, kept)}
        return guess
