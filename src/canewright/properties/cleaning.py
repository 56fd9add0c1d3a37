"""When to clean a heating surface that scales: the coefficient over a run and its stop, and the best run.

Cleaning uses hot caustic and acid in closed vessels: site procedure, and permits for entry.
"""

from __future__ import annotations

from canewright.properties.ranges import AMOUNT, DECLINE_PRESENT, HEAT_COEFFICIENT, HOURS_PRESENT
from canewright.quantity import Num, argument, formula
from canewright.quantity.maths import sqrt

SOURCE = (
    "Coulson and Richardson, Chemical Engineering vol. 2, section 14.6: 1/U² = a t + b, equations 14.11-14.13 (read), "
    "with b = 1/U₀² and a = b times the rate"
)
RATE = argument("1/h", "constant of the decline", *DECLINE_PRESENT, symbol="r")
STOP = argument("h", "stop for emptying, cleaning and filling", *HOURS_PRESENT, symbol="θ")


@formula(
    result=argument("kW/m²/K", "mean coefficient over run and stop", *AMOUNT, symbol="U_m"),
    clean=argument("kW/m²/K", "coefficient of the clean surface", *HEAT_COEFFICIENT, symbol="U₀"),
    rate=RATE,
    run=argument("h", "hours from cleaning to cleaning", *HOURS_PRESENT, symbol="τ"),
    stop=STOP,
    equation="U_m = 2 U₀ (√(1 + r τ) − 1) / (r (τ + θ))",
    source=SOURCE,
    status="derived",
    example=(2.0, 0.01, 300.0, 24.0),
    gives=1.2345679,
    caveat="At one temperature difference; in a row the other bodies take over part of what a scaled one leaves.",
)
def mean_coefficient_between_cleanings(clean: Num, rate: Num, run: Num, stop: Num) -> Num:
    """What a scaling surface passes on average, with the time when it stands counted."""
    return 2.0 * clean * (sqrt(1.0 + rate * run) - 1.0) / (rate * (run + stop))


@formula(
    result=argument("h", "hours from cleaning to cleaning", *AMOUNT, symbol="τ"),
    rate=RATE,
    stop=STOP,
    equation="τ = θ + 2 √(θ / r)",
    source=SOURCE + "; greatest mean of that law",
    status="derived",
    example=(0.01, 24.0),
    gives=121.979590,
    caveat="For the most evaporation; where a cleaning costs money of its own the best run is longer.",
)
def best_run_between_cleanings(rate: Num, stop: Num) -> Num:
    """Run that gives the most evaporation between two cleanings."""
    return stop + 2.0 * sqrt(stop / rate)
