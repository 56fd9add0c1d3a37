"""Growers and payment: consignments, their CCS from raw readings, and settlement by a public scheme."""

from canewright.cane.consignment import (
    ClassFibre,
    Consignment,
    ConsignmentRefused,
    JuiceAnalysis,
    JuiceSample,
    SampleUncertainty,
    analyse,
    ccs_of_consignment,
)
from canewright.cane.propagation import FigureWithoutValue, figure_of, leaf_derivatives
from canewright.cane.rounding import Half, Rounding, rounded
from canewright.cane.sample_checks import Expectation, Objection, objections, transposed, why_not_paid_on
from canewright.cane.scheme import (
    PayLine,
    Price,
    Rung,
    Settlement,
    SettlementRefused,
    formula_price,
    price_per_tonne,
    settle,
    weighted_mean,
)
from canewright.cane.sharing import shared_out

__all__ = [
    "ClassFibre",
    "Consignment",
    "ConsignmentRefused",
    "Expectation",
    "FigureWithoutValue",
    "Half",
    "JuiceAnalysis",
    "JuiceSample",
    "Objection",
    "PayLine",
    "Price",
    "Rounding",
    "Rung",
    "SampleUncertainty",
    "Settlement",
    "SettlementRefused",
    "analyse",
    "ccs_of_consignment",
    "figure_of",
    "formula_price",
    "leaf_derivatives",
    "objections",
    "price_per_tonne",
    "rounded",
    "settle",
    "shared_out",
    "transposed",
    "weighted_mean",
    "why_not_paid_on",
]
