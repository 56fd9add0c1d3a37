"""A strike described in a TOML text: pan, feeds, seed, control, limits; every fault named by line and field.

What contradicts is refused before anything is boiled: a seed as large as the product, seeding below saturation, a
vacuum that the condenser does not hold, a footing that does not fit the pan.
"""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path as FilePath

from canewright.pans import pan
from canewright.pans.settings import CHOICES, FEED, GRADES, SEED_SIZES, SETTINGS, declared, feed_name
from canewright.plant.faults import DescriptionFaults, Fault, Reader, nearest
from canewright.plant.toml_lines import LinedToml, Path, TomlSyntax, read_lined
from canewright.properties.steam import saturation_temperature
from canewright.quantity import noting_breaches

TEMPLATES = FilePath(__file__).with_name("templates")
MOST_FEEDS = 3
LEAST_DIFFERENCE = 5.0
"""K between steam and boiling massecuite below which a pan hardly boils (common practice, no source)."""


class StrikeRefused(ValueError):
    """A strike that cannot be boiled as asked; the message names the quantity, what was found and the limit."""


@dataclass(frozen=True)
class Described:
    """A strike as described: every setting by its full name, the choices made, and where each stands in the text."""

    name: str
    grade: str
    says: str
    feeds: int
    values: Mapping[str, float]
    choices: Mapping[str, str]
    lined: LinedToml = field(default_factory=lambda: LinedToml({}), compare=False, repr=False)

    def with_values(self, changes: Mapping[str, float]) -> Described:
        """The same strike with other settings.

        Raises StrikeRefused naming a setting that is none, or lies outside its limits; DescriptionFaults where the
        settings contradict.
        """
        for name, value in changes.items():
            if name not in self.values:
                raise StrikeRefused(f"no setting is called '{name}'; accepted: {closest(name, self.values)}")
            limits = declared(name)
            if not limits.low <= value <= limits.high:
                raise StrikeRefused(
                    f"{name} ({limits.says}): found {value:g} {_shown(limits.unit)}; accepted: {limits.low:g} to "
                    f"{limits.high:g} {_shown(limits.unit)}"
                )
        changed = replace(self, values={**self.values, **changes})
        reader = Reader(self.lined)
        check(changed, reader)
        if reader.faults:
            raise DescriptionFaults(reader.faults)
        return changed


def closest(name: str, known: Iterable[str]) -> str:
    """The settings whose names are nearest to one that is none."""
    near = difflib.get_close_matches(name, sorted(known), n=3, cutoff=0.0)
    return f"{', '.join(near)}, or another that canewright strike settings lists"


def _shown(unit: str) -> str:
    return "" if unit == "1" else unit


def templates() -> list[str]:
    """Names of the strikes that come with canewright."""
    return sorted(path.stem for path in TEMPLATES.glob("*.toml"))


def template(name: str) -> Described:
    """A strike that comes with canewright. Raises StrikeRefused naming those there are."""
    if name not in templates():
        raise StrikeRefused(f"no strike is called '{name[:60]}'; accepted: {nearest(name, templates())}")
    return read((TEMPLATES / f"{name}.toml").read_text(encoding="utf-8"))


def read(text: str) -> Described:
    """A strike from its description.

    Raises DescriptionFaults listing every fault with its line.
    """
    try:
        lined = read_lined(text)
    except TomlSyntax as problem:
        raise DescriptionFaults([Fault(1, "file", str(problem), "a TOML text")]) from None
    reader = Reader(lined)
    reader.known((), lined.data, {"strike", "feeds", *SETTINGS})
    strike = reader.table("strike")
    reader.known(("strike",), strike, {"name", "grade", "says"})
    name = reader.words(("strike", "name"), strike.get("name"))
    grade = strike.get("grade", GRADES[0])
    if grade not in GRADES:
        reader.fault(("strike", "grade"), grade, nearest(str(grade), GRADES))
    values, choices = _tables(reader)
    feeds = _feeds(reader, values)
    made = Described(name, str(grade), str(strike.get("says", "")), feeds, values, choices, lined)
    if not reader.faults:
        check(made, reader)
    if reader.faults:
        raise DescriptionFaults(reader.faults)
    return made


def _tables(reader: Reader) -> tuple[dict[str, float], dict[str, str]]:
    values: dict[str, float] = {}
    choices: dict[str, str] = {}
    for title, keys in SETTINGS.items():
        given, words = reader.table(title), CHOICES.get(title, {})
        reader.known((title,), given, {*keys, *words})
        for key, setting in keys.items():
            low, high = setting.low, setting.high
            values[f"{title}.{key}"] = (
                reader.number((title, key), given[key], low, high) if key in given else setting.usual
            )
        for key, choice in words.items():
            picked = given.get(key, choice.options[0])
            if picked not in choice.options:
                reader.fault((title, key), picked, nearest(str(picked), choice.options))
            choices[f"{title}.{key}"] = str(picked)
    return values, choices


def _feeds(reader: Reader, values: dict[str, float]) -> int:
    listed = reader.array("feeds")
    if not 1 <= len(listed) <= MOST_FEEDS:
        reader.say(("feeds",), f"{len(listed)} feeds", f"1 to {MOST_FEEDS} tables, each beginning with [[feeds]]")
    for i, given in enumerate(listed):
        path: Path = ("feeds", i)
        reader.known(path, given, FEED)
        for key, setting in FEED.items():
            value = given.get(key, setting.usual)
            values[feed_name(i + 1, key)] = reader.number((*path, key), value, setting.low, setting.high)
    return len(listed)


# --- what contradicts -------------------------------------------------------------------------------------------------


def check(strike: Described, reader: Reader) -> None:
    """Note everything in a description that contradicts something else in it."""
    for one in (_fits, _seeds, _boils, _controls, _analyses):
        one(strike.values, strike, reader)


def _say(reader: Reader, name: str, value: float, accepted: str) -> None:
    table, _, key = name.partition(".")
    path: Path = ("feeds", int(table.removeprefix("feed ")) - 1, key) if table.startswith("feed ") else (table, key)
    reader.say(path, f"{value:g} {_shown(declared(name).unit)}".rstrip(), accepted)


def _fits(v: Mapping[str, float], strike: Described, reader: Reader) -> None:
    if v["pan.footing"] >= v["pan.full"]:
        _say(reader, "pan.footing", v["pan.footing"], f"a footing below the full pan of {v['pan.full']:g} m³")
    if v["pan.footing"] < v["pan.least"]:
        accepted = f"a footing that covers the calandria, {v['pan.least']:g} m³ or more"
        _say(reader, "pan.footing", v["pan.footing"], accepted)
    for i in range(1, strike.feeds):
        upto = v[feed_name(i, "until")]
        if not v["pan.footing"] < upto < v["pan.full"]:
            accepted = f"a volume between footing and full pan, {v['pan.footing']:g} to {v['pan.full']:g} m³"
            _say(reader, feed_name(i, "until"), upto, accepted)


def _seeds(v: Mapping[str, float], strike: Described, reader: Reader) -> None:
    kind = strike.choices["seed.kind"]
    low, high = SEED_SIZES[kind]
    if not low <= v["seed.size"] <= high:
        _say(reader, "seed.size", v["seed.size"], f"{low:g} to {high:g} mm for a seed of {kind}")
    if v["seed.size"] >= v["drop.size"]:
        accepted = f"a seed smaller than the product's wanted size of {v['drop.size']:g} mm (drop.size)"
        _say(reader, "seed.size", v["seed.size"], accepted)
    if v["seed.supersaturation"] <= 1.0:
        _say(reader, "seed.supersaturation", v["seed.supersaturation"], "above 1: below saturation the seed dissolves")
    if v["seed.supersaturation"] >= v["false_grain.limit"]:
        accepted = f"below the limit of false grain, {v['false_grain.limit']:g} (false_grain.limit)"
        _say(reader, "seed.supersaturation", v["seed.supersaturation"], accepted)
    if kind == "magma" and v["seed.liquor"] == 0.0:
        _say(reader, "seed.liquor", 0.0, "the liquor that comes with a seed magma, above 0 t/t")


def _boils(v: Mapping[str, float], strike: Described, reader: Reader) -> None:
    if v["vapour.pressure"] < v["vapour.least_pressure"]:
        accepted = f"an absolute pressure that the condenser holds, {v['vapour.least_pressure']:g} kPa or more"
        _say(reader, "vapour.pressure", v["vapour.pressure"], accepted)
    steam = float(saturation_temperature(v["vapour.steam_pressure"]))
    with noting_breaches():
        boils = float(pan.liquor_boils_at(v, 1, v["vapour.pressure"]))
    if steam - boils < LEAST_DIFFERENCE:
        accepted = (
            f"steam at least {LEAST_DIFFERENCE:g} K hotter than the liquor boils: it condenses at {steam:.1f} °C, the "
            f"feed boils at {boils:.1f} °C under {v['vapour.pressure']:g} kPa"
        )
        _say(reader, "vapour.steam_pressure", v["vapour.steam_pressure"], accepted)


def _controls(v: Mapping[str, float], strike: Described, reader: Reader) -> None:
    if v["control.brix"] > v["control.brix_full"]:
        accepted = f"at most that of the full pan, {v['control.brix_full']:g} % (control.brix_full)"
        _say(reader, "control.brix", v["control.brix"], accepted)
    by_brix = strike.choices["drop.by"] == "brix"
    if by_brix and v["control.brix_full"] >= v["drop.brix"]:
        accepted = f"below the dry substance at the drop, {v['drop.brix']:g} % (drop.brix)"
        _say(reader, "control.brix_full", v["control.brix_full"], accepted)
    if by_brix and v["drop.hold_brix"] and not v["control.brix_full"] < v["drop.hold_brix"] < v["drop.brix"]:
        accepted = f"between {v['control.brix_full']:g} and {v['drop.brix']:g} %, or 0"
        _say(reader, "drop.hold_brix", v["drop.hold_brix"], accepted)
    if v["control.steam_seeded"] > v["control.steam_full"]:
        accepted = f"at most the opening with much surface, {v['control.steam_full']:g} %"
        _say(reader, "control.steam_seeded", v["control.steam_seeded"], accepted)


def _analyses(v: Mapping[str, float], strike: Described, reader: Reader) -> None:
    for i in range(1, strike.feeds + 1):
        reducing, ash = v[feed_name(i, "reducing_sugars")], v[feed_name(i, "ash")]
        if reducing + ash > 100.0:
            accepted = f"with {ash:g} % ash at most {100.0 - ash:g} % of the non-sucrose"
            _say(reader, feed_name(i, "reducing_sugars"), reducing, accepted)
