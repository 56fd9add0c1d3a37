"""Descriptions of strikes: every bad line told, what contradicts named with quantity and limit."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from canewright.pans.description import TEMPLATES, Described, StrikeRefused, read, template, templates
from canewright.pans.settings import FEED, SETTINGS, declared
from canewright.plant.faults import DescriptionFaults
from canewright.quantity import unit
from pans.strikes import described, reworded

REFINED = (TEMPLATES / "refined.toml").read_text(encoding="utf-8")


def test_the_four_grades_come_along() -> None:
    assert {template(name).grade for name in templates()} == {"raw A", "raw B", "raw C", "refined"}


def test_every_setting_has_a_unit_of_the_trade_and_a_usual_value_within_its_limits() -> None:
    for keys in (*SETTINGS.values(), FEED):
        for key, one in keys.items():
            assert one.low <= one.usual <= one.high, key
            assert one.says, key
            if one.unit not in {"IU", "t/t"}:
                unit(one.unit)


@pytest.mark.parametrize(
    ("old", "new", "line", "says"),
    [
        ("full = 40", 'full = "forty"', "line 10: pan.full", "accepted: a number from 1 to 300"),
        ("full = 40", "ful = 40", "line 10: pan.ful", "did you mean 'full'"),
        ("[vapour]", "[vapor]", "line 16: vapor", "did you mean 'vapour'"),
        ('kind = "slurry"', 'kind = "sugar"', "seed.kind", "slurry"),
        ("brix = 72", "brix = 99", "feeds 1.brix", "a number from 20 to 85"),
        ("[[feeds]]", "[[fed]]", "fed", "did you mean 'feeds'"),
        ('grade = "refined"', 'grade = "D"', "strike.grade", "raw A"),
        ('name = "refined strike"', 'name = ""', "strike.name", "a text in quotes"),
        ("full = 40", "full = ", "file", "a TOML text"),
        ("pressure = 20", "pressure = 7", "vapour.pressure: found 7 kPa", "that the condenser holds, 8 kPa"),
        ("footing = 14", "footing = 44", "pan.footing: found 44 m³", "below the full pan of 40 m³"),
        ("footing = 14", "footing = 9", "pan.footing: found 9 m³", "covers the calandria, 12 m³"),
        ("supersaturation = 1.10", "supersaturation = 0.97", "seed.supersaturation: found 0.97", "above 1"),
        ("supersaturation = 1.10", "supersaturation = 1.25", "seed.supersaturation", "limit of false grain, 1.2"),
        ("size = 0.015", "size = 0.3", "seed.size: found 0.3 mm", "0.005 to 0.08 mm for a seed of slurry"),
        ("steam_pressure = 120", "steam_pressure = 31", "vapour.steam_pressure", "it condenses at 69.9 °C"),
        ("brix_full = 87", "brix_full = 93", "control.brix_full", "below the dry substance at the drop, 89.5 %"),
        ("brix = 79.5", "brix = 88", "control.brix", "at most that of the full pan, 87 %"),
        ("purity = 99.4", "purity = 99.4\nreducing_sugars = 80", "feeds 1.reducing_sugars", "at most 70 %"),
        ("steam_seeded = 15", "steam_seeded = 60\nsteam_full = 40", "control.steam_seeded", "at most the opening"),
    ],
)
def test_a_bad_line_is_named_with_what_was_found_and_what_is_accepted(old: str, new: str, line: str, says: str) -> None:
    with pytest.raises(DescriptionFaults) as refused:
        reworded("refined", (old, new))
    assert line in str(refused.value)
    assert says in str(refused.value)


def test_a_seed_as_large_as_the_product_is_refused() -> None:
    with pytest.raises(DescriptionFaults, match=r"seed.size: found 0.28 mm; accepted: a seed smaller than .* 0.2 mm"):
        reworded("raw-a", ("size = 0.85", "size = 0.2"))


def test_a_magma_without_liquor_is_refused() -> None:
    with pytest.raises(
        DescriptionFaults, match=r"seed.liquor: found 0 t/t; accepted: the liquor that comes with a seed"
    ):
        reworded("raw-a", ("liquor = 0.7", "liquor = 0"))


def test_a_feed_that_ends_above_the_full_pan_is_refused() -> None:
    with pytest.raises(
        DescriptionFaults, match=r"feeds 1.until: found 60 m³; accepted: a volume between footing and full"
    ):
        reworded("raw-b", ("until = 26", "until = 60"))


def test_every_fault_is_told_at_once() -> None:
    with pytest.raises(DescriptionFaults) as refused:
        reworded("refined", ("full = 40", "full = -1"), ("brix = 72", "brix = 99"), ("mass = 0.8", "mass = true"))
    assert len(refused.value.faults) == 3


def test_no_feed_and_too_many_feeds_are_refused() -> None:
    with pytest.raises(DescriptionFaults, match="0 feeds"):
        read('[strike]\nname = "one"\ngrade = "refined"\n')
    with pytest.raises(DescriptionFaults, match="4 feeds"):
        read('[strike]\nname = "one"\ngrade = "refined"\n' + "[[feeds]]\nbrix = 70\n" * 4)


def test_unknown_names_and_values_outside_limits_are_refused_when_changed() -> None:
    with pytest.raises(StrikeRefused, match=r"no setting is called 'seed.mas'; accepted: seed.mass"):
        template("refined").with_values({"seed.mas": 1.0})
    with pytest.raises(StrikeRefused, match=r"pan.full .*: found 900 m³; accepted: 1 to 300 m³"):
        described("refined", pan__full=900.0)
    with pytest.raises(StrikeRefused, match=r"no strike is called 'refind'; accepted: did you mean 'refined'"):
        template("refind")


@settings(max_examples=200)
@given(st.text(max_size=400))
def test_any_text_is_read_or_refused_in_words(text: str) -> None:
    try:
        assert isinstance(read(text), Described)
    except DescriptionFaults as refused:
        told = refused.faults
        assert told


@settings(max_examples=60)
@given(
    name=st.sampled_from(sorted(template("refined").values)),
    value=st.one_of(st.integers(-(10**6), 10**6), st.booleans(), st.text(max_size=5), st.just([1.0])),
)
def test_any_value_of_any_setting_is_read_or_refused_in_words(name: str, value: object) -> None:
    table, _, key = name.partition(".")
    head = "[[feeds]]" if table == "feed 1" else f"[{table}]"
    shown = {True: "true", False: "false"}.get(value, value) if isinstance(value, bool) else repr(value)
    if isinstance(value, str):
        shown = '"' + "".join(c for c in value if c.isalnum()) + '"'
    lines = [line for line in REFINED.splitlines() if not line.startswith(f"{key} =")]
    at = lines.index(head) + 1 if head in lines else None
    text = "\n".join(
        [*lines, head, f"{key} = {shown}"] if at is None else [*lines[:at], f"{key} = {shown}", *lines[at:]]
    )
    try:
        limits = declared(name)
        found = read(text).values[name]
        assert limits.low <= found <= limits.high
    except DescriptionFaults as refused:
        told = refused.faults
        assert told
