"""Equations in general: solve, reconcile, advise, many scenarios, diagnosis. Knows nothing of sugar."""

from canewright.engine.advise import Advice, Programme, advise
from canewright.engine.limits import Limit, Move
from canewright.engine.model import Law, Model, Variable
from canewright.engine.reconcile import Measured, NotDetermined, Reconciliation, Suspicion, reconcile
from canewright.engine.solve import Helps, NotSolved, Solution, predict, predict_many
from canewright.engine.structure import Imbalance, structural_imbalance

__all__ = [
    "Advice",
    "Helps",
    "Imbalance",
    "Law",
    "Limit",
    "Measured",
    "Model",
    "Move",
    "NotDetermined",
    "NotSolved",
    "Programme",
    "Reconciliation",
    "Solution",
    "Suspicion",
    "Variable",
    "advise",
    "predict",
    "predict_many",
    "reconcile",
    "structural_imbalance",
]
