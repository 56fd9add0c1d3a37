"""A consignment's CCS from its readings, its uncertainty, and the checks of its sample."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from decimal import Decimal

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from canewright.analysis.cane import ccs
from canewright.analysis.polarimetry import polarimeter_reading
from canewright.cane import (
    ClassFibre,
    Consignment,
    ConsignmentRefused,
    Expectation,
    FigureWithoutValue,
    JuiceSample,
    SampleUncertainty,
    analyse,
    ccs_of_consignment,
    figure_of,
    leaf_derivatives,
    objections,
    transposed,
    why_not_paid_on,
)
from canewright.quantity import Figure

DAY = dt.date(2030, 7, 4)
FIBRE = ClassFibre("early ratoon, green", 14.0, 0.5, 42)


def sample(pol: float, brix: float) -> JuiceSample:
    """A sample whose compensated refractometer shows this brix and whose polarimeter shows this pol."""
    return JuiceSample(brix, float(polarimeter_reading(pol, brix)))


def load(juice: JuiceSample | None, **changes: object) -> Consignment:
    made = Consignment("T1", DAY, "Reed Bank Farm", "B7", Decimal("47.90"), Decimal("11.52"), FIBRE, juice)
    return replace(made, **changes)  # type: ignore[arg-type]


def test_net_mass_is_exact() -> None:
    assert load(None).net == Decimal("36.38")


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"gross": Decimal(10), "tare": Decimal(10)}, "not above tare"),
        ({"gross": Decimal(-1)}, "gross is -1"),
        ({"gross": Decimal("NaN")}, "gross is NaN"),
        ({"tare": 11.5}, "decimal number"),
        ({"grower": "  "}, "grower is empty"),
        ({"fibre": ClassFibre("x", 141.0)}, "accepted 5 to 30 %"),
    ],
)
def test_impossible_consignments_are_refused(changes: dict[str, object], says: str) -> None:
    with pytest.raises(ConsignmentRefused, match=says):
        load(None, **changes)


def test_ccs_from_readings() -> None:
    """P 18.2, B 20.5, F 14 gives 13.6055 (Engelke, Farmnote 712/25, formula read)."""
    found = ccs_of_consignment(load(sample(18.2, 20.5)))
    assert found.value == pytest.approx(13.6055, abs=1e-9)
    assert analyse(sample(18.2, 20.5), 14.0).ccs == pytest.approx(13.6055, abs=1e-9)


def test_sensitivities_and_uncertainty() -> None:
    """dCCS/dP 1.215, dCCS/dB -0.415, dCCS/dF -0.1705; s.d. 0.10, 0.08, 0.5 give 0.15209 (derived)."""
    inputs = [Figure("B", 20.5, "%", 0.08), Figure("P", 18.2, "%", 0.10), Figure("F", 14.0, "%", 0.5)]
    found = figure_of(ccs, inputs)
    slopes = [source.derivative for source in found.inputs]
    assert slopes == pytest.approx([-0.415, 1.215, -0.1705], abs=1e-12)
    assert found.uncertainty == pytest.approx(0.15209, abs=1e-5)


def test_tree_reaches_the_readings_and_shares_add_to_one() -> None:
    found = ccs_of_consignment(load(JuiceSample(20.4, 75.0, 24.0)))
    named = {leaf.name for leaf in found.leaves()}
    assert named == {"refractometer reading", "prism temperature", "polarimeter reading", "fibre % cane"}

    def check(figure: Figure) -> None:
        if figure.inputs:
            assert sum(s.variance_share or 0.0 for s in figure.inputs) == pytest.approx(1.0, abs=1e-12)
        for source in figure.inputs:
            check(source.figure)

    check(found)
    assert Figure.from_json(found.to_json()) == found


def test_uncertainty_follows_shared_readings() -> None:
    """Brix enters pol and CCS: the linear law over the four readings, against 200 000 draws (own)."""
    juice, spread = JuiceSample(20.4, 75.0, 24.0), SampleUncertainty()
    found = ccs_of_consignment(load(juice))
    draw = np.random.default_rng(7)
    count = 200_000
    from canewright.analysis.brix import corrected_brix
    from canewright.analysis.polarimetry import pol_from_polarimeter

    reading = draw.normal(20.4, spread.refractometer or 0.0, count)
    brix = corrected_brix(reading, draw.normal(24.0, spread.temperature or 0.0, count))
    pol = pol_from_polarimeter(draw.normal(75.0, spread.polarimeter or 0.0, count), brix)
    drawn = ccs(brix, pol, draw.normal(14.0, 0.5, count))
    assert found.uncertainty == pytest.approx(float(np.std(drawn)), rel=0.01)


def test_no_uncertainty_is_invented() -> None:
    found = ccs_of_consignment(load(sample(18.2, 20.5), fibre=ClassFibre("new", 14.0, None)))
    assert found.uncertainty is None
    assert all(s.variance_share is None for s in found.inputs)


def test_known_exactly_has_no_spread() -> None:
    exact = SampleUncertainty(0.0, 0.0, 0.0)
    found = ccs_of_consignment(load(sample(18.2, 20.5), uncertainty=exact, fibre=ClassFibre("exact", 14.0, 0.0)))
    assert found.uncertainty == 0.0


def test_a_figure_without_value_is_refused() -> None:
    with pytest.raises(FigureWithoutValue, match="B has no value"):
        figure_of(ccs, [Figure("B", None, "%"), Figure("P", 18.2, "%"), Figure("F", 14.0, "%")])


def test_no_sample_no_own_ccs() -> None:
    with pytest.raises(ConsignmentRefused, match="no juice sample"):
        ccs_of_consignment(load(None))


@given(st.floats(12, 20), st.floats(60, 95), st.floats(8, 20), st.floats(10, 30))
def test_derivatives_are_those_of_small_steps(pol: float, purity: float, fibre: float, temperature: float) -> None:
    brix = 100 * pol / purity
    if brix > 28:
        return
    juice = JuiceSample(brix, float(polarimeter_reading(pol, brix)), temperature)
    found = ccs_of_consignment(load(juice, fibre=ClassFibre("any", fibre)))
    slopes = {name: slope for (name, _), (_, slope) in leaf_derivatives(found).items()}
    h = 1e-4
    up = analyse(replace(juice, refractometer=brix + h), fibre).ccs
    down = analyse(replace(juice, refractometer=brix - h), fibre).ccs
    assert slopes["refractometer reading"] == pytest.approx((up - down) / (2 * h), abs=1e-7)
    up, down = analyse(juice, fibre + h).ccs, analyse(juice, fibre - h).ccs
    assert slopes["fibre % cane"] == pytest.approx((up - down) / (2 * h), abs=1e-7)


def test_impossible_and_unlikely_samples() -> None:
    assert objections(load(None)) == []
    assert objections(load(sample(18.2, 20.5))) == []
    swapped = objections(load(sample(20.5, 18.2)))
    assert [o.impossible for o in swapped] == [True]
    assert "swapped" in swapped[0].says
    poor = objections(load(sample(11.0, 20.0)))
    assert [o.impossible for o in poor] == [False]
    assert "purity is 55.00" in poor[0].says
    beyond = objections(load(JuiceSample(20.5, 760.0)))
    assert beyond[0].impossible
    assert "760" in beyond[0].says


def test_typed_digits_are_proposed_not_applied() -> None:
    """Pol 18.27 keyed 12.87 with brix 20.4 and fibre 14.1: purity 63.09, CCS 7.16195, CCS of the proposal 13.71485."""
    expected = Expectation(13.6, 0.30)
    typed = load(sample(12.87, 20.4), fibre=ClassFibre("any", 14.1))
    found = analyse(sample(12.87, 20.4), 14.1)
    assert found.purity == pytest.approx(63.09, abs=0.005)
    assert found.ccs == pytest.approx(7.16195, abs=1e-4)
    assert "far from 13.60" in objections(typed, expected)[0].says

    def feasible(pol: Decimal) -> bool:
        return float(pol) <= 20.4 and abs(float(ccs(20.4, float(pol), 14.1)) - 13.6) < 0.30

    assert transposed(Decimal("12.87"), feasible) == Decimal("18.27")
    assert ccs(20.4, 18.27, 14.1) == pytest.approx(13.71485, abs=1e-5)
    assert transposed(Decimal("12.87"), lambda _: True) is None
    assert transposed(Decimal("11.1"), lambda _: True) is None


def test_who_may_confirm() -> None:
    unlikely = sample(11.0, 20.0)
    assert "purity" in why_not_paid_on(load(unlikely))
    assert why_not_paid_on(load(replace(unlikely, confirmed_by="shift chemist"))) == ""
    swapped = replace(sample(20.5, 18.2), confirmed_by="shift chemist")
    assert "above brix" in why_not_paid_on(load(swapped))
    assert "air in the tube" in why_not_paid_on(load(replace(sample(18.2, 20.5), rejected_because="air in the tube")))
    assert why_not_paid_on(load(None)) == "no juice sample"


def test_pol_that_the_laboratory_gave_itself_is_taken_as_it_is() -> None:
    """Engelke, Farmnote 712/25 (formula read): 13.6055 at brix 20.50, pol 18.20, fibre 14; sd 0.15209 (derived)."""
    load = Consignment(
        "1", dt.date(2026, 7, 14), "A", "A-1", Decimal("47.50"), Decimal("11.50"), ClassFibre("green", 14.0, 0.5),
        JuiceSample(20.50, None, juice_pol=18.20),
    )  # fmt: skip
    figure = ccs_of_consignment(load)
    assert figure.value == pytest.approx(13.6055, abs=1e-9)
    assert figure.uncertainty == pytest.approx(0.15209, abs=1e-5)
    for polarimeter, pol in ((None, None), (75.0, 18.2)):
        with pytest.raises(ConsignmentRefused, match="either a polarimeter reading or the pol"):
            JuiceSample(20.5, polarimeter, juice_pol=pol)
