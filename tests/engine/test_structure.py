"""Do equations and unknowns match? Small examples worked by hand."""

from __future__ import annotations

from canewright.engine import structural_imbalance
from engine.small_models import model_of, variable


def test_matched_system_is_fine() -> None:
    model = model_of(
        [variable("a"), variable("b")], [variable("s")], ["a", "b"],
        lambda v: [(v["a"] + v["b"], v["s"]), (v["b"], 1.0)],
    )  # fmt: skip
    assert structural_imbalance(model).fine


def test_too_many_equations_are_named() -> None:
    model = model_of(
        [variable("a")], [], ["a is one", "a is two"], lambda v: [(v["a"], 1.0), (v["a"], 2.0)]
    )  # fmt: skip
    found = structural_imbalance(model)
    assert not found.fine
    assert len(found.surplus_laws) == 1
    assert {law.sentence for law in found.overdetermined} == {"a is one", "a is two"}
    assert found.loose_unknowns == ()


def test_loose_unknowns_are_named() -> None:
    model = model_of(
        [variable("a"), variable("b"), variable("c")], [], ["sum", "c is one"],
        lambda v: [(v["a"] + v["b"], 1.0), (v["c"], 1.0)],
    )  # fmt: skip
    found = structural_imbalance(model)
    assert len(found.loose_unknowns) == 1
    assert {u.name for u in found.underdetermined} == {"a", "b"}
    assert found.surplus_laws == ()


def test_square_but_lopsided_system_names_both_sides() -> None:
    """Two equations fight over one unknown while another has none: the count matches, the plant does not."""
    model = model_of(
        [variable("a"), variable("b")], [], ["a is one", "a is two"], lambda v: [(v["a"], 1.0), (v["a"], 2.0)]
    )
    found = structural_imbalance(model)
    assert {u.name for u in found.loose_unknowns} == {"b"}
    assert {law.sentence for law in found.overdetermined} == {"a is one", "a is two"}


def test_setting_does_not_count_as_unknown() -> None:
    model = model_of([variable("a")], [variable("s")], ["setting is one"], lambda v: [(v["s"], 1.0)])
    found = structural_imbalance(model)
    assert [law.sentence for law in found.surplus_laws] == ["setting is one"]
    assert [u.name for u in found.loose_unknowns] == ["a"]
