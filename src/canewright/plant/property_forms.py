"""The table ``[properties]``: which published form of each property the plant works with, and its constants."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Protocol

from canewright.plant.faults import Reader, is_number, nearest
from canewright.plant.station import Station
from canewright.plant.toml_lines import Path
from canewright.properties.choices import DEFAULTS, ChoiceUnknown, Form, choices, form


class Picking(Protocol):
    """A station as given, as far as its choices go."""

    @property
    def kind(self) -> type[Station]:
        """The station's kind."""

    @property
    def choices(self) -> Mapping[str, str]:
        """The options picked for it."""


def read_forms(reader: Reader, stations: Mapping[str, Picking]) -> dict[str, Form]:
    """The plant's form of every property that it can choose; the default where nothing is said.

    Faults go to the reader: an unknown property, form or constant, a constant that is wanting or outside its range, and
    a station that picks a form whose constants the plant does not give.
    """
    table = reader.table("properties")
    reader.known(("properties",), table, DEFAULTS)
    found = {about: _form(reader, about, table[about]) if about in table else DEFAULTS[about] for about in DEFAULTS}
    for name, station in stations.items():
        for key, option in station.kind.options().items():
            picked = station.choices.get(key)
            if option.about and picked in option.options:
                _has_constants(reader, ("stations", name, key), found[option.about], str(picked))
    return found


def _form(reader: Reader, about: str, given: Any) -> Form:
    path: Path = ("properties", about)
    table = given if isinstance(given, dict) else {"form": given}
    name = table.get("form")
    names = [each.name for each in choices(about)]
    if name not in names:
        reader.fault((*path, "form") if isinstance(given, dict) else path, name, nearest(str(name), names))
        return DEFAULTS[about]
    constants = {key: value for key, value in table.items() if key != "form"}
    for key, value in constants.items():
        if not is_number(value):
            reader.fault((*path, key), value, "a number")
            return DEFAULTS[about]
    try:
        return form(about, str(name), constants)
    except ChoiceUnknown as error:
        reader.say(path, str(error), _accepted(about, str(name)))
        return DEFAULTS[about]


def _accepted(about: str, name: str) -> str:
    chosen = next(each for each in choices(about) if each.name == name)
    wanted = chosen.constants(about)
    if not wanted:
        return f'"{about}" = "{name}", without constants'
    return f'"{about}" = {{ form = "{name}", {", ".join(f"{key} = ..." for key in wanted)} }}'


def _has_constants(reader: Reader, path: Path, plants: Form, picked: str) -> None:
    if picked == plants.choice.name or picked not in [each.name for each in choices(plants.about)]:
        return
    try:
        form(plants.about, picked)
    except ChoiceUnknown as error:
        reader.say(path, str(error), f"the form with its constants in [properties]: {_accepted(plants.about, picked)}")
