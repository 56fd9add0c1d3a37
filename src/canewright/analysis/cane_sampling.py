"""Keeping one grower's juice apart from the next: lag from tip to sampler, mixing, and the cane that a sample needs.

The parcel moves as plug flow on the carriers and then through one well-mixed stage (juice tray and chute).
"""

from __future__ import annotations

from canewright.analysis.declaring import percent, plain
from canewright.properties.ranges import AMOUNT, CANE_QUALITY, FLOW, FLOW_PRESENT, PART, SIGNED
from canewright.quantity.formula import argument, formula
from canewright.quantity.maths import Num, exp

DERIVED = "derived: plug flow followed by one well-mixed stage of time constant τ"
# the ranges below belong to a cane carrier and its sampler alone
_START = argument("s", "from the boundary at the sampler to the first juice taken", 0.0, 1200.0, symbol="d")
_WINDOW = argument("s", "time over which juice is taken", 5.0, 1800.0, symbol="w")
_MIXING = argument("s", "time constant of mixing in tray and chute", 1.0, 300.0, symbol="τ")


@formula(
    result=argument("s", "lag from tipping to the sampler", *AMOUNT),
    equation="lag = 60 L / v",
    source="derived: length over speed while the carrier runs; stops add their own time",
    status="derived",
    caveat="several carriers in a row: add their lags; audit it with two unlike parcels",
    example=(40.0, 8.0),
    gives=300.0,
    length=argument("m", "length of carrier from tip to sampler", 0.0, 300.0, symbol="L"),
    speed=argument("m/min", "speed of the carrier while it runs", 0.5, 60.0, symbol="v"),
)
def carrier_lag(length: Num, speed: Num) -> Num:
    """Time cane takes from tipping to the juice sampler."""
    return 60.0 * length / speed


@formula(
    result=plain("share of the parcel before in the sample", *PART, "φ"),
    equation="φ = (τ/w) e^(-d/τ) (1 - e^(-w/τ))",
    source=DERIVED,
    status="derived",
    caveat="the sample begins after the boundary has passed; at most 0.02 is a usual aim (common practice, no source)",
    example=(60.0, 180.0, 25.0),
    gives=0.0125903090,
    start=_START,
    window=_WINDOW,
    mixing=_MIXING,
)
def share_of_neighbour(start: Num, window: Num, mixing: Num) -> Num:
    """Share of the parcel before in a sample begun after the boundary."""
    return mixing / window * exp(-start / mixing) * (1.0 - exp(-window / mixing))


@formula(
    result=plain("share of the parcel before in the sample", *PART, "φ"),
    equation="φ = [e + τ (1 - e^(-a/τ))] / (e + a)",
    source=DERIVED,
    status="derived",
    caveat="for a lag set too short: the sample begins e seconds before the boundary reaches the sampler",
    example=(15.0, 165.0, 25.0),
    gives=0.2220332822,
    early=argument("s", "time over which juice is taken before the boundary has come", 0.0, 1800.0, symbol="e"),
    after=argument("s", "time over which juice is taken after it", 5.0, 1800.0, symbol="a"),
    mixing=_MIXING,
)
def share_of_neighbour_early(early: Num, after: Num, mixing: Num) -> Num:
    """Share of the parcel before in a sample begun too early."""
    return (early + mixing * (1.0 - exp(-after / mixing))) / (early + after)


@formula(
    result=percent("error of CCS by a wrong lag", *SIGNED),
    equation="error = (e/w)(CCS of the neighbour - CCS)",
    source="derived: the share e/w of the sample is the neighbour's; mixing left out",
    status="derived",
    example=(20.0, 180.0, 15.5, 13.0),
    gives=0.277777778,
    error=argument("s", "error of the lag", 0.0, 600.0, symbol="e"),
    window=_WINDOW,
    neighbour=percent("CCS of the neighbour", *CANE_QUALITY, "CCSn", "CCS"),
    own=percent("CCS of the consignment", *CANE_QUALITY, "CCS", "CCS"),
)
def ccs_error_of_lag(error: Num, window: Num, neighbour: Num, own: Num) -> Num:
    """Error of a consignment's CCS when the lag is wrong by some seconds."""
    return error / window * (neighbour - own)


@formula(
    result=argument("t", "least consignment with a sample of its own", *AMOUNT),
    equation="m = ṁ (d + w + guard) / 3600",
    source="derived: crushing goes on while the boundary passes, juice is taken and the guard time runs",
    status="derived",
    example=(420.0, 60.0, 180.0, 30.0),
    gives=31.5,
    rate=argument("t/h", "crushing rate", *FLOW, symbol="ṁ"),
    start=_START,
    window=_WINDOW,
    guard=argument("s", "time kept clear before the next boundary", 0.0, 1200.0),
)
def least_sampled_mass(rate: Num, start: Num, window: Num, guard: Num) -> Num:
    """Least consignment that can have a juice sample of its own."""
    return rate * (start + window + guard) / 3600.0


@formula(
    result=argument("min", "time a consignment takes to crush", *AMOUNT),
    equation="t = 60 m / ṁ",
    source="derived: mass over rate",
    status="derived",
    example=(36.0, 420.0),
    gives=5.142857143,
    mass=argument("t", "mass of the consignment", 0.0, 1000.0, symbol="m"),
    rate=argument("t/h", "crushing rate", *FLOW_PRESENT, symbol="ṁ"),
)
def crushing_time(mass: Num, rate: Num) -> Num:
    """Time a consignment takes to crush."""
    return 60.0 * mass / rate
