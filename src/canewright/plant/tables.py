"""The tables of a plant description that no equation needs: prices, day sheet, cane terms and advice."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal, InvalidOperation
from typing import Any

from canewright.plant.faults import Reader, field_name, limits_text, nearest
from canewright.plant.measures import MEASURABLE
from canewright.plant.standing import ASSUMED, read_standing
from canewright.plant.station import Result
from canewright.plant.streams import Power, Stream
from canewright.plant.toml_lines import Path

KINDS = ("income", "cost")
PRICE_KEYS = ("price", ASSUMED)
BETTER = ("higher", "lower")
FIBRE = (5.0, 30.0)
"""Fibre of a class of cane that is accepted, %."""

Outlets = Mapping[str, type[Stream]]
Results = Mapping[str, Result]
Movable = Mapping[str, tuple[float, float]]


def read_tables(reader: Reader, outlets: Outlets, results: Results, movable: Movable) -> None:
    """Check every one of these tables; faults go to the reader.

    ``movable`` holds the limits of everything that a person can set, by name.
    """
    _prices(reader, outlets, results)
    _products(reader, outlets)
    _sheet(reader)
    _cane(reader)
    _advice(reader, outlets, results, movable)


# --- money ------------------------------------------------------------------------------------------------------------


def price_in(table: Mapping[str, Any]) -> float:
    """The price in an entry of the price list, the site's own or assumed."""
    return float(next(table[key] for key in PRICE_KEYS if key in table))


def _prices(reader: Reader, outlets: Outlets, results: Results) -> None:
    for i, table in enumerate(reader.array("prices")):
        path: Path = ("prices", i)
        reader.known(path, table, {"what", "stream", "kind", *PRICE_KEYS, "because", "unit", "says"})
        reader.words((*path, "what"), table.get("what"))
        if table.get("kind") not in KINDS:
            reader.fault((*path, "kind"), table.get("kind"), "income or cost")
        standing = read_standing(reader, path, table, own="price")
        reader.number((*path, standing.key), table.get(standing.key), 0.0, 1e6)
        stream = str(table.get("stream"))
        if stream not in outlets and stream not in results:
            reader.fault((*path, "stream"), table.get("stream"), nearest(stream, [*outlets, *results]))
            continue
        wanted = _money_unit(outlets.get(stream), results.get(stream))
        if wanted is None:
            reader.fault((*path, "stream"), stream, "a stream, or a station's result that is a flow or a power")
        elif table.get("unit") != wanted:
            reader.fault((*path, "unit"), table.get("unit"), f"{wanted} for {stream}")


def _money_unit(stream: type[Stream] | None, result: Result | None) -> str | None:
    """The unit of the price of a stream or of a result; None for a result that no price can be put on."""
    if result is None:
        return "$/MWh" if stream is not None and issubclass(stream, Power) else "$/t"
    if result.unit == "kW":
        return "$/kWh"
    return f"$/{result.unit.removesuffix('/h')}" if result.unit.endswith("/h") else None


def _products(reader: Reader, outlets: Outlets) -> None:
    for name, table in reader.table("products").items():
        path: Path = ("products", name)
        if not isinstance(table, dict):
            reader.fault(path, table, f'a table [products."{name}"] with stream and limits')
            continue
        stream = table.get("stream")
        if not isinstance(stream, str) or stream not in outlets:
            reader.fault((*path, "stream"), stream, nearest(str(stream), outlets))
            continue
        fits = _quantities(outlets[stream])
        for key, pair in table.items():
            if key in {"stream", "says"}:
                continue
            if key not in fits:
                reader.fault((*path, key), key, nearest(key, fits))
            else:
                _pair(reader, (*path, key), pair, MEASURABLE[key].low, MEASURABLE[key].high)


def _quantities(stream: type[Stream]) -> list[str]:
    return [k for k, m in MEASURABLE.items() if issubclass(stream, m.of)]


def _pair(reader: Reader, path: Path, pair: object, low: float, high: float) -> None:
    if not isinstance(pair, list) or len(pair) != 2:
        reader.fault(path, pair, "two numbers, lowest and highest")
        return
    first = reader.number(path, pair[0], low, high)
    reader.number(path, pair[1], first, high)


# --- day sheet --------------------------------------------------------------------------------------------------------


def _sheet(reader: Reader) -> None:
    sheet = reader.table("sheet")
    reader.known(("sheet",), sheet, {"targets", "better", "opening_stocks", "further_stocks"})
    further = sheet.get("further_stocks", [])
    if not isinstance(further, list) or not all(isinstance(name, str) for name in further):
        reader.fault(("sheet", "further_stocks"), further, 'a list of names, such as ["cane in the yard"]')
    for name, value in reader.table("sheet", "targets").items():
        reader.number(("sheet", "targets", name), value)
    for name, value in reader.table("sheet", "better").items():
        if value not in BETTER:
            reader.fault(("sheet", "better", name), value, "higher or lower")
    for name, value in reader.table("sheet", "opening_stocks").items():
        reader.number(("sheet", "opening_stocks", name), value, 0.0, 1e6)


# --- cane -------------------------------------------------------------------------------------------------------------


def _cane(reader: Reader) -> None:
    cane = reader.table("cane")
    reader.known(("cane",), cane, {"season", "sugar_price", "constant", "fibre_classes"})
    if "season" in cane:
        reader.words(("cane", "season"), cane["season"])
    elif "sugar_price" in cane:
        reader.fault(("cane", "season"), None, 'the season these terms hold for, such as "2031"')
    _decimal(reader, cane, "sugar_price", Decimal(0), Decimal(100000))
    _decimal(reader, cane, "constant", Decimal(-100), Decimal(100))
    for name, value in reader.table("cane", "fibre_classes").items():
        reader.number(("cane", "fibre_classes", name), value, *FIBRE)


def _decimal(reader: Reader, table: Mapping[str, Any], key: str, low: Decimal, high: Decimal) -> None:
    """Money is decimal: a text, or a whole number; never a binary fraction, which is not what was typed."""
    if key not in table:
        return
    value = table[key]
    accepted = f'a decimal number in quotes from {low} to {high}, such as "400.50"'
    if isinstance(value, bool) or not isinstance(value, (str, int)):
        reader.fault(("cane", key), value, accepted)
        return
    try:
        number = Decimal(str(value))
    except InvalidOperation:
        number = Decimal("NaN")
    if not number.is_finite() or not low <= number <= high:
        reader.fault(("cane", key), value, accepted)


# --- advice -----------------------------------------------------------------------------------------------------------


def _advice(reader: Reader, outlets: Outlets, results: Results, movable: Movable) -> None:
    advice = reader.table("advice")
    reader.known(("advice",), advice, {"moves", "limits", "says", "probability", "do_not_touch", "responses"})
    moves = reader.array("moves", advice, ("advice",))
    for i, table in enumerate(moves):
        _move(reader, ("advice", "moves", i), table, movable)
    _each_handle_once(reader, moves)
    limits = reader.array("limits", advice, ("advice",))
    for i, table in enumerate(limits):
        _limit(reader, ("advice", "limits", i), table, outlets, results)
    if "probability" in advice:
        reader.number(("advice", "probability"), advice["probability"], 0.5, 0.999)
    _do_not_touch(reader, advice.get("do_not_touch", []), movable)
    for i, table in enumerate(reader.array("responses", advice, ("advice",))):
        _response(reader, ("advice", "responses", i), table, [str(t.get("setting")) for t in moves], movable)
    if not reader.faults:
        _no_contradiction(reader, limits)


def _each_handle_once(reader: Reader, moves: list[dict[str, Any]]) -> None:
    """A setting is one handle."""
    names = [t.get("setting") for t in moves]
    for i, name in enumerate(names):
        if name is not None and name in names[:i]:
            reader.fault(("advice", "moves", i, "setting"), name, "each setting in one [[advice.moves]] only")


def _do_not_touch(reader: Reader, names: object, movable: Movable) -> None:
    if not isinstance(names, list):
        reader.fault(("advice", "do_not_touch"), names, 'a list of settings, such as ["boiler.pressure"]')
        return
    for name in names:
        if name not in movable:
            reader.fault(("advice", "do_not_touch"), name, nearest(str(name), movable))


def _response(reader: Reader, path: Path, table: Mapping[str, Any], moves: list[str], movable: Movable) -> None:
    """A setting that may go with a handle beyond what the equations say."""
    reader.known(path, table, {"move", "setting", "says"})
    if table.get("move") not in moves:
        reader.fault((*path, "move"), table.get("move"), nearest(str(table.get("move")), moves))
    setting = table.get("setting")
    if not isinstance(setting, str) or setting not in movable:
        reader.fault((*path, "setting"), setting, nearest(str(setting), movable))
    elif setting in moves:
        reader.fault((*path, "setting"), setting, "a setting that is no handle itself")


def _no_contradiction(reader: Reader, limits: list[dict[str, Any]]) -> None:
    """No quantity of a stream is asked to be above one value and below a lower one."""
    asked: dict[tuple[str, str], list[tuple[float, float, Path]]] = {}
    for i, t in enumerate(limits):
        ends = float(t.get("low", "-inf")), float(t.get("high", "inf"))
        asked.setdefault((t["stream"], t["quantity"]), []).append((*ends, ("advice", "limits", i)))
    for name, table in reader.table("products").items():
        for key in table.keys() - {"stream", "says"}:
            low, high = table[key]
            asked.setdefault((table["stream"], key), []).append((low, high, ("products", name, key)))
    for (stream, quantity), every in asked.items():
        low, _, there = max(every, key=lambda e: e[0])
        _, high, here = min(every, key=lambda e: e[1])
        if low > high:
            said = f"{quantity} of {stream} at most {high:g}, but at least {low:g} in {field_name(there)}"
            reader.say(here, said, "specifications that can be met together")


def _move(reader: Reader, path: Path, table: Mapping[str, Any], movable: Movable) -> None:
    reader.known(path, table, {"setting", "low", "high", "step", "says", "tried"})
    name = table.get("setting")
    if not isinstance(name, str) or name not in movable:
        reader.fault((*path, "setting"), name, nearest(str(name), movable))
        return
    lowest, highest = movable[name]
    before = len(reader.faults)
    low = reader.number((*path, "low"), table.get("low"), lowest, highest)
    high = reader.number((*path, "high"), table.get("high"), low, highest)
    if "tried" in table and len(reader.faults) == before:
        _pair(reader, (*path, "tried"), table["tried"], lowest, highest)
    if "step" not in table or len(reader.faults) > before:
        return
    if reader.number((*path, "step"), table["step"], 0.0, high - low) == 0:
        reader.fault((*path, "step"), table["step"], "the largest change from today, above zero")


def _limit(reader: Reader, path: Path, table: Mapping[str, Any], outlets: Outlets, results: Results) -> None:
    reader.known(path, table, {"stream", "quantity", "low", "high", "says", "probability"})
    stream, quantity = str(table.get("stream")), table.get("quantity")
    if stream in results:
        fits = ["itself", "over the day"] if results[stream].unit == "t/h" else ["itself"]
    elif stream in outlets:
        fits = _quantities(outlets[stream])
    else:
        reader.fault((*path, "stream"), table.get("stream"), nearest(stream, [*outlets, *results]))
        return
    if quantity not in fits:
        reader.fault((*path, "quantity"), quantity, nearest(str(quantity), fits))
    if "low" not in table and "high" not in table:
        reader.fault(path, None, "low or high, or both")
    low = reader.number((*path, "low"), table["low"]) if "low" in table else None
    if "high" in table:
        high = reader.number((*path, "high"), table["high"])
        if low is not None and high < low:
            reader.fault((*path, "high"), table["high"], limits_text(low, float("inf")))
    if "says" in table:
        reader.words((*path, "says"), table["says"])
    if "probability" in table:
        reader.number((*path, "probability"), table["probability"], 0.5, 0.999)
