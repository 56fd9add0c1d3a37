"""Errors that readings share: read, refused, and counted once where independent errors would be counted twice."""

from __future__ import annotations

import numpy as np
import pytest

from accounts.small_mill import TEXT
from accounts.whole_days import readings_of
from canewright.plant.description import DescriptionFaults, read_description
from canewright.plant.plant import Plant, Reconciled

BOTH = '["cane scale", "juice scale"]'


def _plant(*lines: str) -> Plant:
    return Plant.from_text(TEXT + "\n[[common_errors]]\n" + "\n".join(lines))


def _weighers(uncertainty: str) -> Plant:
    return _plant('name = "one weigher"', f"meters = {BOTH}", f"uncertainty = {uncertainty}")


def _read(plant: Plant) -> dict[str, float]:
    return readings_of(plant, plant.predict())


def _cane(found: Reconciled) -> tuple[float, float]:
    ((value, u),) = found.with_uncertainty(lambda v: [v["cane.cane.fibre"]])
    return value, u


def test_prediction_does_not_feel_a_common_error() -> None:
    with_it, without = _weighers('"1 %"'), Plant.from_text(TEXT)
    assert _read(with_it) == pytest.approx(_read(without), rel=1e-9)


def test_readings_that_are_all_high_together_give_the_common_error() -> None:
    """Both weighers 0.8 % high: the water meter and the analyses say so, as far as the prior lets them."""
    plant = _weighers('"1 %"')
    read = _read(plant)
    high = {tag: y * (1.008 if tag in ("cane scale", "juice scale") else 1.0) for tag, y in read.items()}
    found = plant.reconcile(high)
    ((size, u),) = found.with_uncertainty(lambda v: [v["common error.one weigher"]])
    assert 0.0 < size <= 0.8
    assert 0.0 < u < 1.0
    assert found.result.objective < Plant.from_text(TEXT).reconcile(high).result.objective


def test_a_common_error_in_the_unit_shifts_every_reading_alike() -> None:
    plant = _plant('name = "zero"', 'meters = ["juice pol", "bagasse pol"]', "uncertainty = 0.2")
    assembly = plant.assembly
    values = {**plant.predict().values, "common error.zero": 0.15}
    for meter in plant.description.meters:
        moved = float(assembly.read(meter, values)) - float(assembly.measured(meter.stream, meter.quantity, values))
        assert moved == pytest.approx(0.15 if meter.tag in {"juice pol", "bagasse pol"} else 0.0, abs=1e-9)


def test_a_shared_error_leaves_a_ratio_that_two_errors_would_spoil() -> None:
    """Juice per cane feels two gains of 3 % far more than one that both weighers share."""
    shared = _weighers('"3 %"')
    each = [
        f'name = "{k}"\nmeters = ["{tag}"]\nuncertainty = "3 %"' for k, tag in enumerate(("cane scale", "juice scale"))
    ]
    apart = _plant(each[0], "[[common_errors]]", each[1])
    read = _read(shared)

    def spreads(plant: Plant) -> list[float]:
        juice, cane = "screen.screened.sucrose", "cane.cane.fibre"
        pairs = plant.reconcile(read).with_uncertainty(lambda v: [v[juice] / v[cane], v[cane]])
        return [u / value for value, u in pairs]

    (ratio, mass), (ratio_apart, mass_apart) = spreads(shared), spreads(apart)
    assert ratio < 0.8 * ratio_apart
    assert mass < mass_apart


def test_its_uncertainty_is_that_of_a_full_covariance() -> None:
    """Released alone against two readings with a shared part: the closed form of generalised least squares.

    Var = (1ᵀ V⁻¹ 1 + 1/p²)⁻¹ with V = s² 11ᵀ + diag(u²) for two readings of one rate with prior p (textbook identity).
    """
    plant = _plant('name = "one weigher"', 'meters = ["cane scale"]', "uncertainty = 20.0")
    read = {"cane scale": _read(plant)["cane scale"]}
    found = plant.reconcile(read)
    names = list(found.result.free)
    cane, shared = names.index("cane.rate"), names.index("common error.one weigher")
    model = found.result.model
    scale = model.nominal[[model.index[n] for n in names]]
    covariance = found.result.covariance * np.outer(scale, scale)
    meter = next(m for m in plant.description.meters if m.tag == "cane scale")
    u = meter.standard_uncertainty(read["cane scale"])
    prior = dict(zip(names, found.result.prior_uncertainty, strict=True))["cane.rate"]
    hours = plant.description.sections["mill"]
    whole = 1.0 / (hours**2 / (20.0**2 + u**2) + 1.0 / prior**2)
    assert covariance[cane, cane] == pytest.approx(whole, rel=1e-6)
    assert covariance[shared, shared] == pytest.approx(
        1.0 / (1.0 / 20.0**2 + 1.0 / (u**2 + (hours * prior) ** 2)), rel=1e-6
    )


ONE = ['name = "w"', f"meters = {BOTH}", 'uncertainty = "1 %"']


@pytest.mark.parametrize(
    ("lines", "says"),
    [
        (['name = "w"', 'meters = ["cane scal"]', 'uncertainty = "1 %"'], "did you mean 'cane scale'"),
        (['name = "w"', 'meters = ["cane scale", "juice pol"]', "uncertainty = 1"], "meters of one unit"),
        (['name = "w"', "meters = []", 'uncertainty = "1 %"'], "a list of meters"),
        (['name = "w"', f"meters = {BOTH}", "uncertainty = 0"], "a number above zero"),
        (['name = "w"', 'meters = ["cane scale", "cane scale"]', 'uncertainty = "1 %"'], "each meter once"),
        ([f"meters = {BOTH}", 'uncertainty = "1 %"'], "a text in quotes"),
        ([*ONE, "[[common_errors]]", *ONE], "a name used once"),
    ],
)
def test_a_wrong_common_error_is_told_with_what_is_accepted(lines: list[str], says: str) -> None:
    with pytest.raises(DescriptionFaults) as refused:
        read_description(TEXT + "\n[[common_errors]]\n" + "\n".join(lines))
    told = [str(fault) for fault in refused.value.faults]
    assert any(says in one for one in told), told
    assert all(one.startswith("line ") for one in told)
