"""A heating surface that scales: its coefficient falls from cleaning to cleaning."""

from __future__ import annotations

from canewright.plant.station import Equations, Station, choice, result, setting
from canewright.plant.streams import PERCENT
from canewright.properties.heat_transfer import fouled_coefficient, fouled_coefficient_by_root
from canewright.quantity import Num, constant

ONE = constant(1.0, "1")
HOURS = constant(24.0, "h/d")


class ScalingSurface(Station):
    """Scale adds to the resistance of a clean surface what cleaning left, and more with each day since.

    Evenly ``1/U = 1/U0 + left + growth days``; or slackening, ``U0 / sqrt(1 + 2 U0 growth days)``, which falls as fast
    on the first day. Neither growth has a published figure that fits another plant: it is fitted to the coefficients of
    closed days (0.005-0.03 m²K/kW a day, own guess) and is nothing until then.
    """

    scaling = choice("even", "slackening", says="how scale grows between cleanings")
    in_service = setting("%", 100.0, "surface in service; 0 while the vessel is out for cleaning", limits=(0.0, 100.0))
    scale_left = setting("m²·K/kW", 0.0, "resistance that the last cleaning left", limits=(0.0, 3.0))
    scale_growth = setting("m²·K/kW/d", 0.0, "resistance that scale adds in a day", limits=(0.0, 0.5))
    days_since_cleaning = setting("d", 0.0, "days since the surface was cleaned", limits=(0.0, 80.0))
    working_coefficient = result("kW/m²/K", 2.0, "coefficient of the surface as it is", limits=(0.0, 20.0))

    def _scaled(self, clean: Num) -> Equations:
        """The coefficient of the surface as it is, from that of the clean one."""
        yield "scale lowers the coefficient", self.working_coefficient, self._fallen(clean)

    def _fallen(self, clean: Num) -> Num:
        cleaned = clean / (ONE + clean * self.scale_left)
        growth, hours = self.scale_growth / HOURS, HOURS * self.days_since_cleaning
        if self.scaling == "even":
            return fouled_coefficient(cleaned, growth, hours)
        return fouled_coefficient_by_root(cleaned, 2.0 * cleaned * growth, hours)

    def _serving(self, area: Num) -> Num:
        """Surface in service, m²."""
        return self.in_service / PERCENT * area
