"""Reckoning a day: readings to meters, meters to a reconciled state, the state to figures that explain themselves."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from canewright.accounts.measuring import MeasuredDay
from canewright.accounts.specifications import Specification, specifications_for
from canewright.accounts.totals import Totals
from canewright.accounts.trees import stored_tree
from canewright.engine.model import Values
from canewright.intervals import TIMES
from canewright.plant.assembly import hours_name
from canewright.plant.diagnosis import Diagnosis, diagnose
from canewright.plant.measures import MEASURABLE
from canewright.plant.metering import COMMON_PART
from canewright.plant.plant import Plant, Reconciled, State
from canewright.plant.streams import Power
from canewright.quantity import Figure, Num, noting_breaches
from canewright.quantity.figure import Source

NOT_RUN = 0.05
"""Hours that stand for a section that did not run, so that its flows keep a meaning."""
PRIOR_ONLY = 0.95
"""Share of a figure's variance owed to priors beyond which it rests on priors only."""
PARTLY_PRIOR = 0.25
"""Share beyond which a figure is said to rest partly on priors."""
WIDER = 10.0
"""How many times wider priors are taken to be when asking what readings check without them."""
NOT_KNOWN = 0.30
"""Relative uncertainty beyond which a figure is called not known."""


@dataclass(frozen=True)
class FigureOfDay:
    """A figure of the day sheet with what it is made of: totals of the day and their covariance."""

    specification: Specification
    figure: Figure
    totals: tuple[float, ...]
    covariance: tuple[tuple[float, ...], ...]
    common: tuple[tuple[float, ...], ...]
    prior_share: float

    @property
    def standing(self) -> str:
        """known, partly priors, priors only, not known, or impossible."""
        value, u = self.figure.value, self.figure.uncertainty
        if value is None or u is None:
            return "not known"
        if value - TIMES * u > self.specification.most:
            return "impossible"
        if abs(value) > 0 and u > NOT_KNOWN * abs(value) and not self.specification.loss_of:
            return "not known"
        if self.prior_share > PRIOR_ONLY:
            return "priors only"
        return "partly priors" if self.prior_share > PARTLY_PRIOR else "known"

    def to_json(self, leaves: Sequence[Figure]) -> dict[str, Any]:
        """Plain data for the store; the tree points at the day's leaves."""
        return {
            "name": self.specification.name,
            "group": self.specification.group,
            "unit": self.specification.unit,
            "decimals": self.specification.decimals,
            "value": self.figure.value,
            "uncertainty": self.figure.uncertainty,
            "standing": self.standing,
            "prior_share": self.prior_share,
            "loss": bool(self.specification.loss_of),
            "totals": list(self.totals),
            "covariance": [list(row) for row in self.covariance],
            "common": [list(row) for row in self.common],
            "tree": stored_tree(self.figure, leaves),
        }


@dataclass(frozen=True)
class Reckoning:
    """A reckoned day before it is closed."""

    day: dt.date
    plant: Plant
    measured: MeasuredDay
    predicted: State
    reconciled: Reconciled
    figures: tuple[FigureOfDay, ...]
    leaves: tuple[Figure, ...] = ()
    suspect: str | None = None
    without_suspect: tuple[FigureOfDay, ...] = ()
    next_suspect: str | None = None
    again: Reconciled | None = None
    diagnosis: Diagnosis = field(default_factory=Diagnosis)

    @property
    def trusted(self) -> Reconciled:
        """The reconciliation to act on: without the first suspect, where there is one."""
        return self.again if self.again is not None else self.reconciled


def day_settings(plant: Plant, measured: MeasuredDay) -> dict[str, float]:
    """Settings known for the day: running hours, with a token for a section that stood."""
    settings = dict(measured.settings)
    for section in plant.description.sections:
        name = hours_name(section)
        if settings.get(name, 1.0) < NOT_RUN:
            settings[name] = NOT_RUN
    return settings


def reckon(plant: Plant, measured: MeasuredDay) -> Reckoning:
    """Reconcile a measured day and work out every figure that the plant's roles allow.

    Where a reading is suspect the figures are worked out once more without the first suspect, so that a person sees
    what hangs on it; the published figures keep every reading.

    Raises NotSolved when no state is near the readings.
    """
    settings = day_settings(plant, measured)
    predicted = plant.predict(settings)
    reconciled = plant.reconcile(measured.values, settings, predicted, determinations=measured.determinations)
    rows = _rows(plant, measured, reconciled)
    figures, leaves = figures_of(plant, reconciled, rows), tuple(figure for figure, _, _ in rows)
    suspect, diagnosis = _first_suspect(reconciled), diagnose(plant, reconciled)
    if suspect is None:
        return Reckoning(measured.day, plant, measured, predicted, reconciled, figures, leaves, diagnosis=diagnosis)
    rest = {tag: value for tag, value in measured.values.items() if tag != suspect}
    same = {m.name: m.uncertainty for m in reconciled.result.measured}
    again = plant.reconcile(rest, settings, reconciled.state, same)
    without = figures_of(plant, again, _rows(plant, measured, again))
    return Reckoning(
        measured.day, plant, measured, predicted, reconciled, figures, leaves, suspect, without, _first_suspect(again),
        again, diagnosis,
    )  # fmt: skip


def _first_suspect(reconciled: Reconciled) -> str | None:
    return next((s.name for s in reconciled.result.suspicions if s.flagged), None)


Rows = Sequence[tuple[Figure, float, bool]]
"""What estimates rest on: the figure of a reading or a prior, its uncertainty, and whether it is a prior."""


def figures_of(plant: Plant, reconciled: Reconciled, children: Rows) -> tuple[FigureOfDay, ...]:
    """Every figure with its uncertainty, its tree, and its totals with their covariance."""
    specifications = specifications_for(plant.description.roles)
    result = reconciled.result
    spans: list[slice] = []

    def everything(values: Values) -> list[Num]:
        totals = Totals(plant.assembly, values)
        found: list[Num] = []
        for s in specifications:
            parts = list(s.totals(totals))
            spans.append(slice(len(found) + 1, len(found) + 1 + len(parts)))
            found += [s.combine(*parts), *parts]
        return found

    with noting_breaches():
        expressions = reconciled.expressions(everything)
        value, slope = result.gradient(expressions)
        _, sd = result.uncertainty(expressions)
    weights, answers = slope @ result.influence, slope @ result.response
    covariance = slope @ result.covariance @ slope.T
    lasting = np.sqrt(np.array([1.0 if is_prior else COMMON_PART for _, _, is_prior in children]))
    common = (weights * lasting) @ (weights * lasting).T
    made = []
    for s, span in zip(specifications, spans, strict=True):
        i = span.start - 1
        figure, prior_share = _figure(s, (value[i], sd[i]), weights[i], answers[i], children)
        totals = tuple(value[span].tolist())
        made.append(FigureOfDay(s, figure, totals, _block(covariance, span), _block(common, span), prior_share))
    return tuple(made)


def _block(whole: np.ndarray, span: slice) -> tuple[tuple[float, ...], ...]:
    return tuple(tuple(row) for row in whole[span, span].tolist())


def _rows(plant: Plant, measured: MeasuredDay, reconciled: Reconciled) -> Rows:
    """What every estimate of this reconciliation rests on, in the order of its weighted rows."""
    found = [(measured.figures[m.name], m.uncertainty, False) for m in reconciled.result.measured]
    for name, value, sd in zip(
        reconciled.result.free, reconciled.result.prior, reconciled.result.prior_uncertainty, strict=True
    ):
        if math.isfinite(sd):
            variable = plant.model.variables[plant.model.index[name]]
            prior = Figure(
                f"prior: {name}", float(value), variable.unit, float(sd), "prior of the plant description",
                note=variable.says,
            )  # fmt: skip
            found.append((prior, float(sd), True))
    return found


def _figure(
    s: Specification, estimate: tuple[float, float], weights: np.ndarray, answers: np.ndarray, children: Rows
) -> tuple[Figure, float]:
    """The figure with its tree, and the share of its variance that priors bring.

    Shares come from the straight lines behind the uncertainty, derivatives from the exact answer of the optimum.
    """
    value, sd = estimate
    total = float(np.sum(weights**2))
    if not math.isfinite(value):
        return Figure(s.name, None, s.unit, None, s.formula, note="no value: nothing flowed", decimals=s.decimals), 0.0
    shares = weights**2 / total if total > 0 else np.zeros_like(weights)
    inputs = [
        (float(share), Source(figure, float(answer / u), float(share)))
        for answer, share, (figure, u, _) in zip(answers, shares, children, strict=True)
    ]
    inputs.sort(key=lambda pair: -pair[0])
    prior = float(sum(x for x, (_, _, is_prior) in zip(shares, children, strict=True) if is_prior))
    figure = Figure(
        s.name, float(value), s.unit, float(sd) if math.isfinite(sd) else None,
        f"{s.formula}, from the reconciled state", tuple(source for _, source in inputs), decimals=s.decimals,
    )  # fmt: skip
    return figure, prior


def meters_of(reckoning: Reckoning) -> list[dict[str, Any]]:
    """Each meter: what it read, what the rest makes of it, how well it is checked, and how suspect it is."""
    result = reckoning.reconciled.result
    _, sd = result.uncertainty(result.expressions)
    suspicion = {s.name: s for s in result.suspicions}
    alone = result.redundancy_with(WIDER)
    known = {m.tag: m for m in reckoning.plant.description.meters}
    rows = []
    for m, estimate, u in zip(result.measured, result.estimates.tolist(), sd.tolist(), strict=True):
        one = suspicion.get(m.name)
        rows.append(
            {
                "tag": m.name,
                "stream": known[m.name].stream,
                "quantity": known[m.name].quantity,
                "unit": known[m.name].unit,
                "read": m.value,
                "uncertainty": m.uncertainty,
                "reconciled": estimate,
                "reconciled_uncertainty": u,
                "redundancy": result.redundancy[m.name],
                "redundancy_of_readings": alone[m.name],
                "test": one.test if one else None,
                "level": one.level if one else None,
                "flagged": bool(one and one.flagged),
                "bias": one.bias if one else None,
                "bias_uncertainty": one.bias_uncertainty if one else None,
                "implied": one.implied if one else None,
                "least_seen": reckoning.diagnosis.least_seen.get(m.name),
            }
        )
    return rows


SHOWN = (
    "mass flow", "dry substance", "true purity", "refractometer brix", "apparent purity", "pol", "colour", "moisture",
    "fibre",
)  # fmt: skip
"""Quantities of streams that are kept with their uncertainty, beside the variables that streams carry."""


def _quantities(reckoning: Reckoning) -> dict[str, dict[str, dict[str, float]]]:
    """Value and uncertainty of the shown quantities of every stream that has them."""
    assembly, reconciled = reckoning.plant.assembly, reckoning.reconciled
    wanted = [
        (name, quantity)
        for name, kind in assembly.streams.items()
        for quantity in SHOWN
        if issubclass(kind, MEASURABLE[quantity].of) and not issubclass(kind, Power)
    ]

    def everything(values: Values) -> list[Num]:
        return [assembly.measured(name, quantity, values) for name, quantity in wanted]

    found: dict[str, dict[str, dict[str, float]]] = {}
    with noting_breaches(), np.errstate(all="ignore"):
        pairs = reconciled.with_uncertainty(everything)
    for (name, quantity), (value, u) in zip(wanted, pairs, strict=True):
        if math.isfinite(value) and math.isfinite(u):
            found.setdefault(name, {})[quantity] = {"value": value, "uncertainty": u}
    return found


def state_to_json(reckoning: Reckoning) -> dict[str, Any]:
    """The reconciled state with uncertainties, shown quantities of streams, and the predicted state, by name."""
    return {
        "quantities": _quantities(reckoning),
        "values": dict(reckoning.reconciled.state.values),
        "uncertainty": _finite(reckoning.reconciled.result.variable_uncertainty),
        "predicted": dict(reckoning.predicted.values),
    }


def _finite(values: Mapping[str, float]) -> dict[str, float | None]:
    return {k: (v if math.isfinite(v) else None) for k, v in values.items()}
