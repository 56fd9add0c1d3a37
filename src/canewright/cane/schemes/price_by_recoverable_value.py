"""Schemes that pay for sucrose less what non-sucrose and fibre carry away."""

from __future__ import annotations

from canewright.analysis import cane
from canewright.cane.exact import Exact
from canewright.cane.schemes.declaring import Kind, Readings, Scheme, Terms, declare
from canewright.cane.schemes.readings import BRIX_IN_CANE, FIBRE, POL_IN_CANE, READABLE, constant, per_hundred

CANE_READ = {name: READABLE[name] for name in (POL_IN_CANE, BRIX_IN_CANE, FIBRE)}
CANE_STEP = (
    "S = pol in cane and N = brix in cane - pol in cane, by direct analysis, else from first juice and fibre; "
    "pro rata to the mill balance where the agreement has one"
)


def _recoverable_value(readings: Readings, t: Terms) -> Exact:
    sucrose = readings[POL_IN_CANE]
    found: Exact = cane.recoverable_value(sucrose, readings[BRIX_IN_CANE] - sucrose, readings[FIBRE], t["d"], t["c"])
    return found


RV = declare(
    Scheme(
        "recoverable value",
        1,
        Kind.PRICE,
        "Sucrose less what non-sucrose and fibre carry away, at one price per tonne of recoverable value.",
        "Kadwa, Cane payment in the SA sugar industry explained, 2018; growers' notice of August 2019",
        "read",
        "RV",
        "%",
        CANE_READ,
        (
            constant("rv_price", "$/t", "price of recoverable value", "0", "100000", "4209.94 in August 2019 (read)"),
            constant("d", "1", "sucrose lost per non-sucrose", "0", "1", "0.400022 in August 2019 (read)"),
            constant("c", "1", "sucrose lost per fibre", "0", "0.2", "about 0.02 (from memory)"),
        ),
        (
            CANE_STEP,
            "RV = S - d N - c F",
            "price = price of recoverable value x RV / 100",
        ),
        _recoverable_value,
        lambda quality, t: per_hundred(quality, t["rv_price"]),
    )
)


def _crystal(readings: Readings, t: Terms) -> Exact:
    sucrose = readings[POL_IN_CANE]
    found: Exact = cane.estimated_recoverable_crystal(
        sucrose, readings[BRIX_IN_CANE] - sucrose, readings[FIBRE], t["a"], t["b"], t["c"]
    )
    return found


ERC = declare(
    Scheme(
        "estimated recoverable crystal",
        1,
        Kind.PRICE,
        "Crystal that a standard factory recovers, at one price per tonne of it.",
        "South African cane payment before RV, one historical set of constants",
        "from memory",
        "ERC",
        "%",
        CANE_READ,
        (
            constant("crystal_price", "$/t", "price of recoverable crystal", "0", "100000"),
            constant("a", "1", "share of sucrose recoverable", "0.8", "1", "0.978, one season (from memory)"),
            constant("b", "1", "loss per non-sucrose", "0", "1", "0.535, one season (from memory)"),
            constant("c", "1", "loss per fibre", "0", "0.2", "0.018, one season (from memory)"),
        ),
        (
            CANE_STEP,
            "ERC = a S - b N - c F",
            "price = price of crystal x ERC / 100",
        ),
        _crystal,
        lambda quality, t: per_hundred(quality, t["crystal_price"]),
    )
)
