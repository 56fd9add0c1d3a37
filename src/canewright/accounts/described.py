"""What the books ask of a plant description beyond its equations: roles and figures that they know."""

from __future__ import annotations

from collections.abc import Iterator

from canewright.accounts.specifications import SPECIFICATIONS
from canewright.accounts.totals import ROLES
from canewright.plant.description import Description, Fault, nearest, outlet_streams
from canewright.plant.faults import field_name
from canewright.plant.streams import Power, Stream
from canewright.plant.toml_lines import Path

POWERS = frozenset({"generated power", "exported power", "imported power"})
MASSES = frozenset({"imbibition", "boiler steam", "exhaust to evaporator", "exhaust to refinery", "process steam"})
"""Roles of which only the mass is asked; every other role but power is asked for its sugar."""
WITH_FIBRE = frozenset({"cane", "bagasse"})


def trade_faults(description: Description) -> list[Fault]:
    """Every role and figure of the description that the books cannot use, in order of line."""
    found = [*_roles(description), *_figures(description)]
    return sorted(found, key=lambda f: f.line)


def _fault(description: Description, path: Path, found: str, accepted: str) -> Fault:
    return Fault(description.lined.line(*path), field_name(path), found, accepted)


def _roles(description: Description) -> Iterator[Fault]:
    types = _stream_types(description)
    for role, stream in description.roles.items():
        if role not in ROLES:
            yield _fault(description, ("roles", role), f"'{role}'", nearest(role, ROLES))
            continue
        lacking = _lacking(role, types[stream])
        if lacking:
            found = f"'{stream}', which has no {lacking}"
            yield _fault(description, ("roles", role), found, f"a stream that can be {ROLES[role]}")


def _stream_types(description: Description) -> dict[str, type[Stream]]:
    return outlet_streams(description.stations, description.connections)


def _lacking(role: str, stream: type[Stream]) -> str:
    """What a stream of this kind lacks to have the role; empty where it lacks nothing."""
    if role in POWERS:
        return "" if issubclass(stream, Power) else "power"
    wanted = ["water"] if role in MASSES else ["sucrose"]
    wanted += ["fibre"] if role in WITH_FIBRE else []
    return ", ".join(w if w != "water" else "mass" for w in wanted if w not in stream.holds)


def _figures(description: Description) -> Iterator[Fault]:
    """Targets and directions of figures that no day sheet of this plant can have."""
    known = {s.name for s in SPECIFICATIONS}
    sheet = description.data.get("sheet", {})
    for table in ("targets", "better"):
        for name in sheet.get(table, {}):
            path: Path = ("sheet", table, name)
            if name not in known:
                yield _fault(description, path, f"'{name}'", nearest(name, known))
                continue
            roles = next(s.roles for s in SPECIFICATIONS if s.name == name)
            absent = [r for r in roles if r not in description.roles]
            if absent:
                said = f"'{name}', which needs the role {', '.join(absent)}"
                yield _fault(description, path, said, "a figure whose roles stand in [roles]")
