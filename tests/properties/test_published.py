"""Published figures that are more than one value of one formula; those that are lie in ``src/canewright/published``."""

from __future__ import annotations

from math import log

import pytest

from canewright.properties.kinetics import inversion_rate
from canewright.properties.sucrose import sucrose_density, water_density


@pytest.mark.parametrize(("brix", "pounds"), [(0.0, 8.322), (5.0, 8.486)])
def test_pounds_per_gallon_in_air(brix: float, pounds: float) -> None:
    """Chen (1992), Cane Sugar Handbook, from NBS Circular C440 (read): weight against brass, US gallon, 20 °C."""
    ours = (sucrose_density(brix, 20.0) - 1.2) / (1 - 1.2 / 8400) * 3.785411784e-3 / 0.45359237
    assert ours == pytest.approx(pounds, abs=0.001)


def test_activation_energy_of_inversion() -> None:
    """Tombari et al. (2007), abstract (read): 109.2 kJ/mol; from the rates with the density taken out."""
    rates = [inversion_rate(t, 7.0, 0.0, 0.0) / water_density(t) for t in (80.0, 110.0)]
    energy = 8.314462e-3 * log(rates[1] / rates[0]) / (1 / 353.15 - 1 / 383.15)
    assert energy == pytest.approx(109.2, abs=1.0)


def test_clear_juice_loses_too_little_to_see() -> None:
    """Van Hengel (1962), South African sugar technologists (read): laboratory control cannot see 0.1 % per hour."""
    assert 100.0 * inversion_rate(100.0, 7.0, 15.0, 85.0) < 0.1 < 100.0 * inversion_rate(100.0, 6.0, 15.0, 85.0)
