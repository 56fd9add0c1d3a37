"""The day's totals by trade name: what a plant's streams carry over the running hours of a factory day.

A plant description gives the streams their roles (cane, mixed juice, bagasse, ...). Totals add over days, so every
figure for a week or a season is the same formula of the sums.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from canewright.plant.assembly import Assembly
from canewright.plant.measures import brix_flow, pol_flow
from canewright.plant.streams import Liquor, Stream
from canewright.quantity import Num

ROLES: dict[str, str] = {
    "cane": "cane that enters preparation",
    "imbibition": "imbibition water to the mills",
    "first juice": "juice of the first mill",
    "last juice": "juice of the last mill",
    "bagasse": "final bagasse",
    "bagasse burnt": "bagasse that leaves for boilers and stack, without bagacillo",
    "mixed juice": "mixed juice as weighed",
    "filter cake": "filter cake",
    "clear juice": "clear juice",
    "syrup": "evaporator syrup",
    "raw sugar": "raw sugar to store",
    "final molasses": "final molasses",
    "mill loss": "undetermined loss of the mill",
    "boiling house loss": "undetermined loss of the boiling house",
    "boiler steam": "steam from the boilers",
    "exhaust to evaporator": "exhaust steam to the evaporator",
    "process steam": "exhaust and let-down steam to the process in all",
    "exhaust to refinery": "exhaust steam to the refinery",
    "generated power": "power generated",
    "exported power": "power exported",
    "imported power": "power imported",
    "melted raw": "raw sugar melted",
    "affined sugar": "affined sugar",
    "melt liquor": "melt liquor",
    "clarified liquor": "clarified liquor",
    "filtered liquor": "filtered liquor",
    "fine liquor": "liquor from carbon",
    "refined sugar": "refined sugar to the silo",
    "refinery molasses": "refinery molasses",
    "refinery loss": "undetermined loss of the refinery",
}
"""Roles that a plant description may give to its streams; figures that need an absent role are left out."""


@dataclass(frozen=True)
class Totals:
    """Totals of the day in some reading, by role."""

    assembly: Assembly
    values: Mapping[str, Num]

    def stream(self, role: str) -> Stream:
        """The stream with a role."""
        return self.assembly.stream(self.assembly.description.roles[role], self.values)

    def hours(self, role: str) -> Num:
        """Running hours of the section of a role's stream."""
        return self.assembly.hours(self.assembly.description.roles[role], self.values)

    def mass(self, role: str) -> Num:
        """Mass, t."""
        return self.stream(role).flow * self.hours(role)

    def part(self, role: str, component: str) -> Num:
        """Mass of one component, t."""
        return self.stream(role).component(component) * self.hours(role)

    def solids(self, role: str) -> Num:
        """True sugar solids, t."""
        return self.stream(role).solids * self.hours(role)

    def pol(self, role: str) -> Num:
        """Pol, t."""
        return pol_flow(self._sugar(role), self.assembly.links(self.values)) * self.hours(role)

    def brix(self, role: str) -> Num:
        """Refractometer solids, t."""
        return brix_flow(self._sugar(role), self.assembly.links(self.values)) * self.hours(role)

    def colour(self, role: str) -> Num:
        """Colour, IU·t."""
        return self._sugar(role).total_colour * self.hours(role)

    def energy(self, role: str) -> Num:
        """Electrical energy, kWh."""
        return self.stream(role).power * self.hours(role)

    def _sugar(self, role: str) -> Liquor:
        stream = self.stream(role)
        if not isinstance(stream, Liquor):
            raise TypeError(f"the stream of role '{role}' carries no sugar")
        return stream
