"""Sucrose that a liquor can hold, by the plant's forms of solubility."""

from __future__ import annotations

from collections.abc import Mapping

from canewright.plant.streams import PERCENT
from canewright.properties.choices import Form
from canewright.quantity import Num


def saturated_sucrose_to_water(forms: Mapping[str, Form], temperature: Num, non_sucrose_to_water: Num) -> Num:
    """Sucrose per water in the saturated liquor, t/t, at a temperature, °C, and non-sucrose per water, t/t."""
    pure = forms["solubility"](temperature=temperature)
    coefficient = forms["solubility coefficient"](non_sucrose_to_water=non_sucrose_to_water)
    return pure / (PERCENT - pure) * coefficient
