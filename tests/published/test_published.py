"""Every published check: those that close still close, those that do not still do not."""

from __future__ import annotations

import subprocess
import sys
from collections import Counter
from collections.abc import Callable
from pathlib import Path

import pytest

from published.checks import OWN, Check, CheckUnreadable, read_file, read_folder, reading

CHECKS = read_folder()
ROOT = Path(__file__).parents[2]
ONE_CASE = """
[source.s]
author = "A"
title = "T"
year = "1"
where = "w"
[[case]]
id = "a"
formula = "ccs_of_cane"
source = "s"
status = "read"
inputs = {inputs}
expected = "{expected}"
{more}
"""
GOOD = '{pol_in_cane = "14 %", brix_in_cane = "17 %"}'


@pytest.mark.parametrize("check", CHECKS, ids=[f"{c.file[:-5]}: {c.name}" for c in CHECKS])
def test_published(check: Check, record_property: Callable[[str, object], None]) -> None:
    """Ours beside the printed figure; the digits agreed go into the record of the run."""
    record_property("digits agreed", f"{check.digits():.1f}")
    says = f"{check.ours():.9g} against {check.expected} ± {check.within:g}: {check.source}"
    if check.should_close:
        assert check.closes(), says
    else:
        assert not check.closes(), f"closes now, which it did not ({check.reason}): {says}"


def test_there_are_enough_and_most_were_read_at_the_source() -> None:
    published = [c for c in CHECKS if c.published]
    statuses = Counter(c.status for c in published)
    assert len(published) >= 120
    assert statuses["read"] > len(published) / 2
    assert sum(not c.published for c in CHECKS) <= 30
    assert len({c.formula for c in published}) >= 60


def test_own_numbers_are_told_apart() -> None:
    assert all((c.status == OWN) == (c.file == "own_numbers.toml") for c in CHECKS)


def test_the_table_in_the_documents_is_up_to_date() -> None:
    done = subprocess.run(
        [sys.executable, str(ROOT / "tools" / "published_table.py"), "--check"],
        check=False, capture_output=True, text=True,
    )  # fmt: skip
    assert done.returncode == 0, done.stdout + done.stderr


def one(folder: Path, inputs: str = GOOD, expected: str = "12.5 %", more: str = "") -> list[Check]:
    path = folder / "one.toml"
    path.write_text(ONE_CASE.replace("{inputs}", inputs).replace("{expected}", expected).replace("{more}", more))
    return read_file(path)


def test_a_case_is_read_worked_and_weighed(tmp_path: Path) -> None:
    (good,) = one(tmp_path)
    assert good.ours() == pytest.approx(12.5)
    assert good.closes()
    assert good.digits() == 9.0
    (wrong,) = one(tmp_path, expected="12.6 %")
    assert not wrong.closes()
    assert wrong.digits() == pytest.approx(2.1, abs=0.01)
    (fraction,) = one(tmp_path, expected="0.125")
    assert fraction.ours() == pytest.approx(0.125)


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"inputs": '{pol_in_cane = "14 %"}'}, "takes brix_in_cane, pol_in_cane"),
        ({"inputs": '{pol_in_cane = "much", brix_in_cane = "17 %"}'}, "does not begin with a number"),
        ({"more": "within = 0.2"}, "must say why"),
        ({"more": "closes = false"}, "has a reason if, and only if"),
        ({"more": 'reason = "none"'}, "has a reason if, and only if"),
        ({"more": "tolerance = 1"}, "tolerance not known"),
        ({"more": "[extra]"}, "'extra' is not known"),
    ],
)
def test_unusable_cases_are_refused(tmp_path: Path, change: dict[str, str], says: str) -> None:
    with pytest.raises(CheckUnreadable, match=says):
        one(tmp_path, **change)


def test_printed_digits_set_the_limit() -> None:
    assert reading("0.1020 %", "here").half_step == pytest.approx(5e-5)
    assert reading("3004", "here").half_step == pytest.approx(0.5)
    assert reading("0.971180894e-3 m³/kg", "here").half_step == pytest.approx(5e-13)
