"""Properties of matter in the mill and refinery: water and steam, sucrose liquors, crystal, air, bagasse.

Importing the package declares every property formula in the catalogue.
"""

from canewright.properties import (
    air,
    bagasse,
    boiling,
    choices,
    cleaning,
    condensing,
    crystal,
    crystallising,
    entrainment,
    heat_transfer,
    kinetics,
    massecuite,
    saturation,
    settling,
    steam,
    sucrose,
    thermal,
)

__all__ = [
    "air",
    "bagasse",
    "boiling",
    "choices",
    "cleaning",
    "condensing",
    "crystal",
    "crystallising",
    "entrainment",
    "heat_transfer",
    "kinetics",
    "massecuite",
    "saturation",
    "settling",
    "steam",
    "sucrose",
    "thermal",
]
