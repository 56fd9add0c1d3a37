"""Published and hand-computed checks of the laboratory and control formulas.

Each case says where the number comes from: ``read`` at the source, ``from memory``, ``derived`` (balance or algebra) or
``own`` (made-up input, published formula).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import pytest

from canewright.analysis import (
    boiling_house as bh,
)
from canewright.analysis import (
    brix,
    cane,
    cane_measures,
    colour,
    milling,
    precision,
    raw_sugar,
    refinery,
    stock,
    sugar,
)
from canewright.analysis import (
    exhaustion as ex,
)
from canewright.analysis import (
    mill_volumes as mv,
)
from canewright.analysis import (
    polarimetry as polar,
)
from canewright.properties.sucrose import sucrose_density
from canewright.quantity import Num


@dataclass(frozen=True)
class Case:
    """A calculation, its expected result, the tolerance, and where it comes from."""

    name: str
    calculate: Callable[[], Num]
    expected: float
    tolerance: float
    source: str
    status: str


SCALE = "ICUMSA general definitions, normal sugar solution"
WILEY = "Wiley, Principles and Practice of Agricultural Analysis, vol. 3, sections 79-80"
OIV = "OIV-MA-AS2-02, Table I"
GOST = "GOST refractometer temperature table, 10 °C row"
WORKBOOK = "mill-house basic-data training workbook, worked figures"
FARMNOTE = "Engelke, Farmnote 712/25, Department of Agriculture, Western Australia"
PAYMENT = "Queensland cane-growers' organisation, Cane payment information"
JAMAICA = "Jamaican industry page, Basics of the core sampling system"
WONG = "Wong Sak Hoi, PhD thesis (Mauritius), p. 77"
SURVEY = "White and Verret, Understanding the Final Molasses Survey, 2007, slide 3"
BENTO = "Bento, Raw Sugar - Yield - Refining, E0102, 2011"
EU = "EU Regulation 1308/2013, Annex III B"
THOMPSON = "Thompson, Fry and Hasrajani, Thoughts on Refinery Boiling Schemes, 2005, Table 1"
HUGOT = "Hugot, Handbook of Cane Sugar Engineering, 3rd ed. 1986"
SASTA = "SASTA Laboratory Manual, 5th ed. 2009"
COLOUR = "transcription of the ICUMSA white sugar colour method, section 3"
ICUMSA_ASH = "ICUMSA conductivity ash methods GS2/3-17 and GS1/3/4/7/8-13"
DENSITY = "ICUMSA SPS-4 density coefficients in a public transcription"
BALANCE = "mass balance of the reference mill: 10 000 t cane, fibre 14, pol 13.5, brix 15.8, 2800 t imbibition"

LABORATORY = (
    Case("density 15 brix 20 °C", lambda: sucrose_density(15.0, 20.0), 1059.162, 0.002, DENSITY, "read"),
    Case("density 60 brix 20 °C", lambda: sucrose_density(60.0, 20.0), 1286.611, 0.002, DENSITY, "read"),
    Case("brix of density 1.04", lambda: brix.brix_from_relative_density(1.04), 9.9934, 5e-4, "NBS table fit", "read"),
    Case("brix of density 1.06", lambda: brix.brix_from_relative_density(1.06), 14.7404, 5e-4, "NBS table fit", "read"),
    Case("589.440 nm", lambda: polar.rotation_of_normal_solution(589.440), 34.626, 0.001, "OIML R 14 annex A", "read"),
    Case("587.0 nm", lambda: polar.rotation_of_normal_solution(587.0), 34.934, 0.001, "OIML R 14", "from memory"),
    Case("pol, air", lambda: polar.pol_from_polarimeter(50.0, 15.0), 12.2856, 5e-4, SCALE, "derived"),
    Case("pol, vacuo", lambda: polar.pol_from_polarimeter_vacuo(50.0, 15.0), 12.2814, 5e-4, SCALE, "derived"),
    Case("pol, air, 18.2", lambda: polar.pol_from_polarimeter(60.4, 18.2), 14.6489, 5e-4, SCALE, "derived"),
    Case("pol, vacuo, 18.2", lambda: polar.pol_from_polarimeter_vacuo(60.4, 18.2), 14.6441, 5e-4, SCALE, "derived"),
    Case(
        "pol, 100 made to 110 mL",
        lambda: polar.pol_from_polarimeter(polar.undiluted_reading(50.0, 100.0, 110.0, 200.0), 15.0),
        13.5142,
        6e-4,
        SCALE,
        "derived",
    ),
    Case("pol factor", lambda: polar.pol_from_polarimeter(1.0, 0.0), 0.260735, 1e-6, SCALE, "derived"),
    Case("filter cake pol", lambda: polar.pol_of_slurry(3.20, 200.0, 50.0), 3.328, 1e-6, SCALE, "own"),
    # the source prints 33.09834 for this case; its own coefficient gives 33.09636, so the print does not close
    Case("quartz, old form", lambda: polar.quartz_value(33.0, 20.0, 1.46e-4, 0.0), 33.09636, 1e-5, WILEY, "read"),
    Case("quartz sugar value", lambda: polar.reading_from_angle(33.0, 34.67, 200.0), 95.18, 0.005, WILEY, "read"),
    Case(
        "sugar solution at 26.5 °C",
        lambda: polar.reading_at_20(98.20, 26.5, 3.1e-4),
        98.398,
        5e-4,
        "NBS C440",
        "from memory",
    ),
    Case("bagasse pol", lambda: polar.pol_of_bagasse(0.172, 0.240, 50.0, 10.0), 1.7899, 1e-4, SASTA, "derived"),
    Case("refractometer 10 brix 15 °C", lambda: brix.corrected_brix(10.0, 15.0) - 10.0, -0.32, 0.02, OIV, "read"),
    Case("refractometer 25 brix 15 °C", lambda: brix.corrected_brix(25.0, 15.0) - 25.0, -0.35, 0.02, OIV, "read"),
    Case("refractometer 50 brix 15 °C", lambda: brix.corrected_brix(50.0, 15.0) - 50.0, -0.38, 0.02, OIV, "read"),
    Case("refractometer 10 brix 10 °C", lambda: brix.corrected_brix(10.0, 10.0) - 10.0, -0.59, 0.02, OIV, "read"),
    Case("refractometer 20 brix 10 °C", lambda: brix.corrected_brix(20.0, 10.0) - 20.0, -0.65, 0.02, OIV, "read"),
    Case("refractometer 40 brix 10 °C", lambda: brix.corrected_brix(40.0, 10.0) - 40.0, -0.72, 0.02, OIV, "read"),
    # the OIV table prints -0.75 here, 0.023 from the fit, which follows the other published table at this point
    Case("refractometer 60 brix 10 °C", lambda: brix.corrected_brix(60.0, 10.0) - 60.0, -0.76, 0.02, GOST, "read"),
    Case("molasses 1:5", lambda: brix.undiluted_brix(14.10, 100.0, 500.0), 84.60, 1e-9, "mass balance", "derived"),
    Case(
        "molasses dry substance",
        lambda: brix.dry_substance_from_brix(82.0, 36.0),
        79.51,
        0.005,
        "Rein 2007",
        "from memory",
    ),
    Case(
        "Lane and Eynon",
        lambda: sugar.lane_eynon_reducing_sugars(51.3, 17.60, 20.0),
        14.574,
        0.001,
        "Chen and Chou 1993",
        "from memory",
    ),
    Case("ash of white", lambda: sugar.conductivity_ash_white(32.0, 1.5), 0.018885, 1e-6, ICUMSA_ASH, "from memory"),
    Case("ash of raw", lambda: sugar.conductivity_ash_raw(182.0, 2.0, 50.0), 0.3240, 1e-6, ICUMSA_ASH, "from memory"),
    Case("colour 10 cm 50 brix", lambda: colour.icumsa_colour(0.120, 10.0, 50.0), 19.518, 0.005, COLOUR, "read"),
    Case("colour 1 cm 30 brix", lambda: colour.icumsa_colour(0.455, 1.0, 30.0), 1345.7, 0.1, COLOUR, "read"),
    Case(
        "turbidity",
        lambda: colour.turbidity(colour.icumsa_colour(0.152, 10.0, 50.0), colour.icumsa_colour(0.120, 10.0, 50.0)),
        5.205,
        0.001,
        "ICUMSA GS2/3-18, abstract",
        "read",
    ),
    Case("safety factor", lambda: sugar.safety_factor(98.80, 0.20), 0.16667, 1e-5, SASTA, "from memory"),
    Case("dilution indicator", lambda: sugar.dilution_indicator(98.80, 0.20), 20.0, 1e-5, SASTA, "from memory"),
    Case("dilution indicator, poor", lambda: sugar.dilution_indicator(97.90, 0.55), 35.484, 5e-4, SASTA, "from memory"),
    Case(
        "s_R of raw pol",
        lambda: precision.standard_deviation_of_limit(0.27),
        0.0964,
        5e-4,
        "ICUMSA GS1-2 (2022)",
        "read",
    ),
    Case(
        "s_r of raw pol",
        lambda: precision.standard_deviation_of_limit(0.16),
        0.05714,
        1e-5,
        "ICUMSA GS1-2 (2022)",
        "read",
    ),
)

CANE = (
    Case("direct fibre of cane", lambda: cane.direct_fibre(70.0, 5.20, 2.0, 25.0), 15.4011, 1e-4, SASTA, "derived"),
    Case("direct brix of cane", lambda: cane.direct_brix(5.20, 15.40107, 2.0, 25.0), 14.5989, 1e-4, SASTA, "derived"),
    Case("direct pol of cane", lambda: cane.direct_pol(4.55, 15.40107, 2.0, 25.0), 12.7741, 1e-4, SASTA, "derived"),
    Case("fibre, 20 % free water", lambda: cane.direct_fibre(70.0, 5.20, 2.0, 20.0), 15.3584, 1e-4, SASTA, "derived"),
    Case("fibre, 10 % free water", lambda: cane.direct_fibre(70.0, 5.20, 2.0, 10.0), 15.2737, 1e-4, SASTA, "derived"),
    Case(
        "direct fibre of bagasse", lambda: cane.direct_fibre(50.0, 0.240, 10.0, 25.0), 47.5025, 1e-4, SASTA, "derived"
    ),
    Case(
        "direct brix of bagasse", lambda: cane.direct_brix(0.240, 47.5025, 10.0, 25.0), 2.4975, 1e-4, SASTA, "derived"
    ),
    Case("direct pol of bagasse", lambda: cane.direct_pol(0.172, 47.5025, 10.0, 25.0), 1.7899, 1e-4, SASTA, "derived"),
    Case("pol in cane", lambda: cane.pol_in_cane(19.5, 14.2), 15.7560, 1e-4, FARMNOTE, "read"),
    Case("brix in cane", lambda: cane.brix_in_cane(22.1, 14.2), 18.2988, 1e-4, FARMNOTE, "read"),
    Case("CCS", lambda: cane.ccs(22.1, 19.5, 14.2), 14.4846, 1e-4, FARMNOTE, "read"),
    Case("CCS, second case", lambda: cane.ccs(20.5, 18.2, 14.0), 13.6055, 1e-9, FARMNOTE, "read"),
    Case("CCS, third case", lambda: cane.ccs(21.0, 18.0, 15.0), 12.990, 1e-9, FARMNOTE, "read"),
    Case("price", lambda: cane.classic_cane_price(400.0, 13.5, 0.578), 34.778, 0.001, PAYMENT, "read"),
    Case("price at 13.6055", lambda: cane.classic_cane_price(400.0, 13.6055, 0.578), 35.1578, 1e-9, PAYMENT, "read"),
    Case("grower's two thirds", lambda: cane.grower_share(12.0, 90.0), 2 / 3, 1e-9, PAYMENT, "read"),
    Case(
        "RV",
        lambda: cane.recoverable_value(13.0, 2.2, 15.0, 0.400022, 0.020),
        11.8200,
        1e-4,
        "Kadwa 2018; d of August 2019",
        "read",
    ),
    Case(
        "RV, second case",
        lambda: cane.recoverable_value(13.5, 2.4, 15.2, 0.400022, 0.020),
        12.2359472,
        1e-6,
        "Kadwa 2018",
        "read",
    ),
    Case(
        "ERC",
        lambda: cane.estimated_recoverable_crystal(13.0, 2.2, 15.0, 0.978, 0.535, 0.018),
        11.267,
        5e-4,
        "one historical set",
        "from memory",
    ),
    Case("Jamaica C at 14", lambda: cane_measures.press_juice_factor(14.0), 0.9584, 1e-9, JAMAICA, "read"),
    Case("Jamaica C at 18", lambda: cane_measures.press_juice_factor(18.0), 0.9408, 1e-9, JAMAICA, "read"),
    Case("JRCS", lambda: cane_measures.jamaica_recoverable_sugar(16.0, 14.0, 85.0), 11.91743, 1e-5, JAMAICA, "read"),
    Case(
        "JRCS at 18 fibre",
        lambda: cane_measures.jamaica_recoverable_sugar(16.0, 18.0, 85.0),
        10.9654,
        1e-4,
        JAMAICA,
        "read",
    ),
    Case(
        "ATR",
        lambda: cane_measures.total_recoverable_sugar(18.5, 65.0, 145.0, 9.6316, 9.15),
        133.63802,
        1e-4,
        "São Paulo",
        "from memory",
    ),
    Case(
        "ATR, older",
        lambda: cane_measures.total_recoverable_sugar(18.5, 65.0, 145.0, 9.5263, 9.05),
        132.17701,
        1e-4,
        "São Paulo",
        "from memory",
    ),
    Case(
        "Louisiana",
        lambda: cane_measures.louisiana_recoverable_sugar(16.0, 18.0, 14.0),
        137.9775,
        5e-3,
        "Legendre 1992",
        "from memory",
    ),
    Case("java ratio", lambda: cane.java_ratio(15.46, 18.25), 84.71, 0.005, WORKBOOK, "read"),
    Case("absolute juice pol", lambda: cane.in_absolute_juice(15.46, 12.58), 17.68, 0.005, WORKBOOK, "read"),
    Case("absolute juice brix", lambda: cane.in_absolute_juice(18.07, 12.58), 20.67, 0.005, WORKBOOK, "read"),
    Case(
        "from first juice",
        lambda: cane.absolute_juice_brix_from_first_juice(21.2, 12.58),
        20.67,
        0.005,
        WORKBOOK,
        "read",
    ),
)

_BAGASSE = milling.bagasse_from_fibre(10000.0, 14.0, milling.bagasse_fibre(50.0, 1.80, 72.0))
_JUICE = milling.mixed_juice_by_balance(10000.0, 2800.0, _BAGASSE)
_POL_JUICE = 1350.0 - 0.018 * _BAGASSE
_BRIX_JUICE = 1580.0 - 0.025 * _BAGASSE
_ABSOLUTE = cane.in_absolute_juice(15.8, 14.0)
_E = milling.extraction(_POL_JUICE, 1350.0)
_READ_E = milling.extraction_from_fibre_ratio(15.46, 12.58, 1.89, 51.47)

MILL = (
    Case("extraction by fibre ratio", lambda: _READ_E, 97.0120, 0.001, WORKBOOK, "read"),
    Case("Mittal", lambda: milling.reduced_extraction_mittal(_READ_E, 12.58), 97.0310, 0.001, WORKBOOK, "read"),
    Case("Deerr", lambda: milling.reduced_extraction_deerr(_READ_E, 12.58), 97.0337, 0.001, HUGOT, "from memory"),
    Case("milling loss", lambda: milling.milling_loss(1.89, 51.47), 3.6720, 5e-4, WORKBOOK, "read"),
    Case("bagasse", lambda: _BAGASSE, 2947.3684, 0.001, BALANCE, "own"),
    Case("mixed juice", lambda: _JUICE, 9852.6316, 0.001, BALANCE, "own"),
    Case("pol of mixed juice", lambda: 100 * _POL_JUICE / _JUICE, 13.1635, 5e-4, BALANCE, "own"),
    Case("brix of mixed juice", lambda: 100 * _BRIX_JUICE / _JUICE, 15.2885, 5e-4, BALANCE, "own"),
    Case("pol extraction", lambda: _E, 96.0702, 5e-4, BALANCE, "own"),
    Case("brix extraction", lambda: milling.extraction(_BRIX_JUICE, 1580.0), 95.3364, 5e-4, BALANCE, "own"),
    Case("Deerr, reference mill", lambda: milling.reduced_extraction_deerr(_E, 14.0), 96.5514, 5e-4, HUGOT, "own"),
    Case("Mittal, reference mill", lambda: milling.reduced_extraction_mittal(_E, 14.0), 96.4912, 5e-4, HUGOT, "own"),
    Case(
        "lost absolute juice",
        lambda: milling.lost_absolute_juice(0.025 * _BAGASSE, _ABSOLUTE, 1400.0),
        28.6476,
        5e-4,
        BALANCE,
        "own",
    ),
    Case("milling loss, reference mill", lambda: milling.milling_loss(1.80, 47.5), 3.7895, 5e-4, BALANCE, "own"),
    Case("imbibition", lambda: milling.imbibition_on_fibre(2800.0, 1400.0), 200.0, 5e-4, BALANCE, "own"),
    Case("dilution", lambda: milling.dilution_water(_JUICE, _BRIX_JUICE, _ABSOLUTE), 1653.6975, 0.001, BALANCE, "own"),
    Case(
        "water balance",
        lambda: (7020.0 + 2800.0 - 0.50 * _BAGASSE - (_JUICE - _BRIX_JUICE)) / 10000.0,
        0.0,
        1e-9,
        BALANCE,
        "own",
    ),
    Case(
        "to-date extraction", lambda: milling.extraction(_POL_JUICE + 729.6, 2118.0), 95.6821, 1e-4, "definition", "own"
    ),
    Case("preparation index", lambda: milling.preparation_index(14.05, 15.60), 90.06, 0.005, HUGOT, "from memory"),
    Case("overall time efficiency", lambda: milling.time_efficiency(143.7, 168.0), 85.536, 0.001, SASTA, "own"),
    Case(
        "available time efficiency", lambda: milling.time_efficiency(143.7, 168.0 - 17.0), 95.166, 0.001, SASTA, "own"
    ),
    Case("mechanical time efficiency", lambda: milling.time_efficiency(143.7, 148.9), 96.508, 0.001, SASTA, "own"),
    Case("no-void density", lambda: mv.no_void_density(14.0, 1065.0, 1530.0), 1112.33, 0.01, HUGOT, "own"),
    Case(
        "filling ratio",
        lambda: mv.filling_ratio(
            mv.no_void_volume_rate(420.0, mv.no_void_density(14.0, 1065.0, 1530.0)),
            mv.escribed_volume_rate(2.134, 0.22, 0.55),
        ),
        0.4062,
        1e-4,
        HUGOT,
        "own",
    ),
    Case(
        "reabsorption",
        lambda: mv.reabsorption_factor(123.789, mv.no_void_density(47.5, 1010.0, 1530.0), 2.134, 0.042, 0.22),
        1.4479,
        1e-4,
        HUGOT,
        "own",
    ),
)

_S = bh.sugar_purity(98.80, 0.20)
_J = 100 * _POL_JUICE / _BRIX_JUICE
_BHR = bh.boiling_house_recovery(1169.792, _POL_JUICE)
_SJM = bh.sjm_recovery(_S, _J, 36.0)
_LOST = bh.undetermined_loss(_POL_JUICE, 5.25, 1169.792, 104.346)

BOILING_HOUSE = (
    Case("mixed juice purity", lambda: _J, 86.1006, 5e-4, BALANCE, "own"),
    Case("SJM 98.8/85/35", lambda: bh.sjm_recovery(98.8, 85.0, 35.0), 91.0935, 5e-4, WONG, "read"),
    Case("SJM 99/86.1/36", lambda: bh.sjm_recovery(99.0, 86.1, 36.0), 91.4385, 5e-4, WONG, "read"),
    Case("Winter-Carp 85", lambda: bh.winter_carp_recovery(85.0), 92.9412, 1e-4, JAMAICA, "read"),
    Case("Winter-Carp 80", lambda: bh.winter_carp_recovery(80.0), 90.0, 1e-4, JAMAICA, "read"),
    Case(
        "virtual purity", lambda: bh.virtual_molasses_purity(100.0, 82.0, 88.5), 34.3784, 1e-4, "SJM algebra", "derived"
    ),
    Case(
        "Gundu Rao form",
        lambda: bh.reduced_recovery_gundu_rao(82.0, 88.5),
        90.7549,
        1e-4,
        "Indian practice",
        "from memory",
    ),
    Case("reduced recovery", lambda: bh.reduced_recovery(99.0, 86.1, 89.2), 88.1274, 1e-4, "SJM algebra", "derived"),
    Case(
        "Gundu Rao at 99",
        lambda: bh.reduced_recovery_gundu_rao(86.1, 89.2),
        88.1945,
        1e-4,
        "Indian practice",
        "from memory",
    ),
    Case("undetermined", lambda: _LOST, 17.5594, 1e-4, BALANCE, "own"),
    Case("undetermined % pol", lambda: 100 * _LOST / _POL_JUICE, 1.3539, 1e-4, BALANCE, "own"),
    Case("recovery", lambda: _BHR, 90.1958, 1e-4, BALANCE, "own"),
    Case("overall recovery", lambda: bh.overall_recovery(_E, _BHR), 86.6513, 1e-4, BALANCE, "own"),
    Case("SJM, reference mill", lambda: _SJM, 91.4401, 1e-4, BALANCE, "own"),
    Case("efficiency", lambda: bh.boiling_house_efficiency(_BHR, _SJM), 98.6393, 1e-4, BALANCE, "own"),
    Case("virtual, reference mill", lambda: bh.virtual_molasses_purity(100.0, _J, _BHR), 37.7850, 1e-4, BALANCE, "own"),
    Case("reduced, reference mill", lambda: bh.reduced_recovery(100.0, _J, _BHR), 89.2824, 1e-4, BALANCE, "own"),
    Case(
        "South African target", lambda: ex.target_purity_south_african(0.8), 35.2813, 1e-3, "exponential", "from memory"
    ),
    Case("Rein's target", lambda: ex.target_purity_rein(0.8), 35.1986, 1e-3, "Rein 2007", "from memory"),
    Case("Australian", lambda: ex.expected_purity_australian(0.8), 42.3950, 1e-3, "BSES manual", "from memory"),
    Case(
        "older South African",
        lambda: ex.target_purity_older_south_african(1.5),
        34.6850,
        1e-3,
        "study abstract",
        "read",
    ),
    Case("target against survey", lambda: ex.target_purity_south_african(0.94), 34.4, 0.25, SURVEY, "read"),
    Case("Rein's against survey", lambda: ex.target_purity_rein(0.94), 34.4, 0.32, SURVEY, "read"),
    Case("crystal % solids", lambda: ex.crystal_on_solids(85.0, 68.0), 53.125, 1e-6, "sugar balance", "derived"),
    Case(
        "crystal % massecuite", lambda: ex.crystal_content(85.0, 68.0, 92.0), 48.875, 1e-6, "sugar balance", "derived"
    ),
    Case("exhaustion", lambda: ex.exhaustion(85.0, 68.0), 62.5, 1e-6, "sugar balance", "derived"),
    Case("exhaustion of C", lambda: ex.exhaustion(62.0, 36.0), 65.524, 5e-4, "sugar balance", "derived"),
    Case(
        "yield of C sugar",
        lambda: ex.sugar_yield_on_solids(62.0, 36.0, 84.0),
        54.1667,
        1e-4,
        "purity balance",
        "derived",
    ),
    Case("mixing to 74", lambda: stock.pearson_share(86.0, 68.0, 74.0), 1 / 3, 1e-9, "purity balance", "derived"),
    Case("mixing to 71", lambda: stock.pearson_share(83.5, 61.0, 71.0), 0.44444, 1e-5, "purity balance", "derived"),
    Case("seed", lambda: stock.seed_mass(50.0, 34.0, 10.0, 200.0), 2.125, 1e-6, "cube law", "derived"),
    Case("net titre", lambda: raw_sugar.raw_yield_by_ash(98.90, 0.22, 0.25, 5.0, 1.0, 0.0), 97.55, 1e-9, BENTO, "read"),
)


def _tank() -> Num:
    return stock.solids_in_tank(120.0, 65.0, 20.0)


REFINERY = (
    Case(
        "stock, sugar",
        lambda: stock.sugar_in_stock(_tank(), 86.0, 99.0, 36.0, 0.2),
        81.664,
        0.002,
        "balance",
        "derived",
    ),
    Case(
        "stock, molasses",
        lambda: stock.molasses_in_stock(_tank(), 86.0, 99.0, 36.0, 85.0),
        24.930,
        0.002,
        "balance",
        "derived",
    ),
    Case(
        "massecuite 1",
        lambda: refinery.strike_massecuite_colour(200.0, 1.0, 1.05, 0.5, 10.0),
        210.0,
        0.5,
        THOMPSON,
        "read",
    ),
    Case("sugar 1", lambda: refinery.strike_sugar_colour(200.0, 1.0, 1.05, 0.5, 10.0), 21.0, 0.5, THOMPSON, "read"),
    Case(
        "run-off 1", lambda: refinery.strike_run_off_colour(200.0, 1.0, 1.05, 0.5, 10.0), 399.0, 0.5, THOMPSON, "read"
    ),
    Case("run-off purity 1", lambda: refinery.strike_run_off_purity(99.4, 1.0, 0.5), 98.8, 0.05, THOMPSON, "read"),
    Case(
        "coating",
        lambda: refinery.coating_syrup_share(30.0, 40000.0, 2000.0),
        0.04929,
        1e-5,
        "colour balance",
        "derived",
    ),
    Case(
        "mixed colour",
        lambda: colour.mixed_colour(100.0, 800.0, 12.0, 2500.0),
        982.14,
        0.01,
        "colour balance",
        "derived",
    ),
    Case("yield, 2P-100", lambda: raw_sugar.raw_yield(98.5, 50.0), 97.0, 1e-6, BENTO, "read"),
    Case("yield, less 0.5", lambda: raw_sugar.raw_yield_with_loss(98.5, 0.5), 96.5, 1e-6, BENTO, "read"),
    Case("yield, q 40", lambda: raw_sugar.raw_yield(98.5, 40.0), 97.5, 1e-6, BENTO, "derived"),
    Case("yield SA", lambda: raw_sugar.raw_yield_by_ash(98.5, 0.25, 0.30, 4.5, 1.0, 0.7), 96.375, 1e-6, BENTO, "read"),
    Case("yield UK", lambda: raw_sugar.raw_yield_by_ash(98.5, 0.25, 0.30, 3.0, 2.0, 0.0), 97.15, 1e-6, BENTO, "read"),
    Case(
        "yield Australia",
        lambda: raw_sugar.raw_yield_by_ash(98.5, 0.25, 0.30, 5.0, 1.0, 0.0),
        96.95,
        1e-6,
        BENTO,
        "read",
    ),
    Case("yield EU", lambda: raw_sugar.raw_yield_by_ash(98.5, 0.25, 0.30, 4.0, 2.0, 1.0), 95.90, 1e-6, EU, "read"),
    Case("EU ash points", lambda: raw_sugar.eu_ash_points(0.0270), 15.0, 1e-9, EU, "read"),
    Case("EU type points", lambda: raw_sugar.eu_type_points(4.5), 9.0, 1e-9, EU, "read"),
    Case("EU solution points", lambda: raw_sugar.eu_solution_points(45.0), 6.0, 1e-9, EU, "read"),
)

EVERY = (*LABORATORY, *CANE, *MILL, *BOILING_HOUSE, *REFINERY)


@pytest.mark.parametrize("case", EVERY, ids=lambda each: each.name)
def test_published(case: Case) -> None:
    assert float(case.calculate()) == pytest.approx(case.expected, abs=case.tolerance, rel=0)


def test_density_tables_agree_to_a_hundredth() -> None:
    """The NBS fit and the density equation: the two tables differ by less than 0.01 brix at 1.06 (both read)."""
    low, high = 10.0, 20.0
    from canewright.properties.sucrose import apparent_specific_gravity

    for _ in range(60):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if apparent_specific_gravity(middle) < 1.06 else (low, middle)
    assert low == pytest.approx(14.734, abs=0.001)
    assert brix.brix_from_relative_density(1.06) == pytest.approx(low, abs=0.01)


def test_colour_removals_multiply() -> None:
    """Removals of 55, 45 and 60 % on 1200 IU leave 118.8 IU, 90.1 % in all (own case)."""
    left = 1200.0
    for removal in (55.0, 45.0, 60.0):
        left = float(colour.colour_after_removal(left, removal))
    assert left == pytest.approx(118.8, abs=1e-9)
    assert colour.colour_removal(1200.0, left, 1.0, 1.0) == pytest.approx(90.1, abs=1e-9)


def test_molasses_estimate_closes() -> None:
    """Reference mill: sugar and molasses expected at 1.35 % undetermined (own case; pol balance closes)."""
    lost = 0.0135 * _POL_JUICE
    solids = _BRIX_JUICE - 5.25 - 12.0 - lost
    pol = _POL_JUICE - 5.25 - lost
    mixed = 100 * pol / solids
    made = stock.sugar_in_stock(solids, mixed, _S, 36.0, 0.20)
    molasses = stock.molasses_in_stock(solids, mixed, _S, 36.0, 85.0)
    assert made == pytest.approx(1184.0375, abs=0.001)
    assert molasses == pytest.approx(341.0442, abs=0.001)


def test_undetermined_uncertainty() -> None:
    """Reference mill: 0.4 % and 0.25 % on juice, 0.1 and 0.05 on sugar, 0.5 and 1.0 on molasses, 15 on cake (own)."""
    parts = {"juice": (0.4, 0.25), "sugar": (0.1, 0.05), "molasses": (0.5, 1.0), "cake": (15.0, 0.0)}
    pols = {"juice": _POL_JUICE, "sugar": 1169.792, "molasses": 104.346, "cake": 5.25}
    each = {name: pols[name] * precision.combined_uncertainty(parts[name]) / 100 for name in parts}
    assert each["juice"] == pytest.approx(6.118, abs=0.001)
    assert precision.combined_uncertainty(each.values()) == pytest.approx(6.4123, abs=0.001)


def test_eu_grade_by_points() -> None:
    """Each limit met but the total of 30 is not; 13 points are too many for extra-white (EU 1308/2013, read)."""
    assert raw_sugar.eu_limits_exceeded("standard white", 15.0, 9.0, 6.0) == ["total 30 points, at most 22"]
    assert raw_sugar.eu_limits_exceeded("extra-white", 6.0, 4.0, 3.0) == ["total 13 points, at most 8"]
    assert raw_sugar.eu_limits_exceeded("standard white", 10.0, 6.0, 4.0) == []


def test_published_limits_of_colour() -> None:
    """ICUMSA GS9/1/2/3-8 (2011), abstract, precision table (read): 200 to 500 IU."""
    found = next(p for p in precision.PUBLISHED if p.determination == "colour at pH 7" and p.low == 200.0)
    assert found.within_laboratory == pytest.approx(8.2, abs=0.05)
    assert found.between_laboratories == pytest.approx(24.3, abs=0.05)


def test_default_uncertainty_names_the_known() -> None:
    assert precision.default_uncertainty("cane mass", 10000.0) == pytest.approx(15.0)
    assert precision.default_uncertainty("bagasse pol", 1.8) == 0.10
    with pytest.raises(KeyError, match="bagasse pol"):
        precision.default_uncertainty("bagass pol", 1.8)
