"""Pan-floor arithmetic and stock: mixing to a purity, seed, and stock in process as sugar and molasses.

Alcohol seed slurry is flammable: keep it from ignition and follow the local code.
"""

from __future__ import annotations

from canewright.analysis.declaring import brix, percent, plain, purity, tonnes
from canewright.properties.ranges import (
    AMOUNT,
    BRIX_OF_MOLASSES,
    COLD_LIQUOR_TEMPERATURE,
    CRYSTAL_OF_MASSECUITE,
    MASS,
    MOISTURE_OF_SUGAR,
    PART,
    PURITY_OF_MOLASSES,
    PURITY_OF_STOCK,
    PURITY_OF_SUGAR,
    SUGAR_SOLUTION,
    VOLUME,
)
from canewright.properties.sucrose import sucrose_density
from canewright.quantity.formula import argument, formula
from canewright.quantity.maths import Num

STOCK_BALANCE = "solids and pol balance of the stock (SJM with standard purities)"


@formula(
    result=plain("share of the richer material on solids", *PART),
    equation="share = (T - qB) / (qA - qB)",
    source="purity balance (Pearson square, Cobenze)",
    status="derived",
    caveat="on solids; outside 0 to 1 the target cannot be mixed; equal purities give none",
    example=(86.0, 68.0, 74.0),
    gives=0.3333333333,
    rich_purity=purity("purity of the richer", 61.0, 100.0, "qA", ""),
    poor_purity=purity("purity of the poorer", 20.0, 85.0, "qB", ""),
    target=purity("purity wanted", *PURITY_OF_STOCK, "T", ""),
)
def pearson_share(rich_purity: Num, poor_purity: Num, target: Num) -> Num:
    """Share of the richer of two materials that gives the wanted purity."""
    return (target - poor_purity) / (rich_purity - poor_purity)


@formula(
    result=argument("kg", "seed crystal", *AMOUNT),
    equation="seed = 1000 · strike · (crystal/100) · (Ls/Lp)³",
    source="constant number of crystals",
    status="derived",
    caveat="no false grain and no crystal lost; sizes as mean linear size of both",
    example=(50.0, 34.0, 10.0, 200.0),
    gives=2.125,
    strike=tonnes("massecuite at drop", 0.1, 500.0),
    crystal=percent("crystal % massecuite", *CRYSTAL_OF_MASSECUITE),
    seed_size=argument("µm", "size of the seed", 1.0, 500.0, symbol="Ls"),
    product_size=argument("µm", "size of the product", 50.0, 3000.0, symbol="Lp"),
)
def seed_mass(strike: Num, crystal: Num, seed_size: Num, product_size: Num) -> Num:
    """Mass of seed for a strike by the cube law."""
    ratio = seed_size / product_size
    return 1000.0 * strike * crystal / 100.0 * ratio * ratio * ratio


@formula(
    result=tonnes("solids", *AMOUNT),
    equation="solids = V ρ(B, t) B / 10⁵",
    source=STOCK_BALANCE,
    status="derived",
    caveat="density of pure sucrose solution; massecuite with air or crystal needs its own density",
    example=(120.0, 65.0, 20.0),
    gives=102.691299,
    volume=argument("m³", "volume", *VOLUME, symbol="V"),
    brix=brix("brix", *SUGAR_SOLUTION),
    temperature=argument("°C", "temperature", *COLD_LIQUOR_TEMPERATURE, symbol="t"),
)
def solids_in_tank(volume: Num, brix: Num, temperature: Num) -> Num:
    """Solids in a tank of juice, syrup or run-off."""
    return volume * sucrose_density(brix, temperature) * brix / 1e5


STOCK_SOLIDS = tonnes("solids in stock", *MASS)
STOCK_PURITY = purity("purity of the stock", *PURITY_OF_STOCK, "J", "")
SUGAR_PURITY = purity("standard purity of sugar", *PURITY_OF_SUGAR, "S", "")
MOLASSES_PURITY = purity("standard purity of molasses", *PURITY_OF_MOLASSES, "M", "")


@formula(
    result=tonnes("sugar", *AMOUNT),
    equation="sugar = solids (J - M) / (S - M) / (1 - moisture/100)",
    source=STOCK_BALANCE,
    status="derived",
    caveat="stock errors pass fully into the undetermined loss of a short period",
    example=(102.691, 86.0, 99.0, 36.0, 0.20),
    gives=81.6641219,
    solids=STOCK_SOLIDS,
    stock_purity=STOCK_PURITY,
    sugar_purity=SUGAR_PURITY,
    molasses_purity=MOLASSES_PURITY,
    moisture=percent("moisture of sugar", *MOISTURE_OF_SUGAR),
)
def sugar_in_stock(solids: Num, stock_purity: Num, sugar_purity: Num, molasses_purity: Num, moisture: Num) -> Num:
    """Sugar expected from stock in process."""
    share = (stock_purity - molasses_purity) / (sugar_purity - molasses_purity)
    return solids * share / (1.0 - moisture / 100.0)


@formula(
    result=tonnes("molasses", *AMOUNT),
    equation="molasses = solids (S - J) / (S - M) · 100 / brix",
    source=STOCK_BALANCE,
    status="derived",
    example=(102.691, 86.0, 99.0, 36.0, 85.0),
    gives=24.9296546,
    solids=STOCK_SOLIDS,
    stock_purity=STOCK_PURITY,
    sugar_purity=SUGAR_PURITY,
    molasses_purity=MOLASSES_PURITY,
    molasses_brix=brix("brix of molasses", *BRIX_OF_MOLASSES),
)
def molasses_in_stock(
    solids: Num, stock_purity: Num, sugar_purity: Num, molasses_purity: Num, molasses_brix: Num
) -> Num:
    """Molasses expected from stock in process."""
    share = (sugar_purity - stock_purity) / (sugar_purity - molasses_purity)
    return solids * share * 100.0 / molasses_brix
