"""Stores kept by a ledger and watched waters in a plant description: read, and refused in plain words."""

from __future__ import annotations

import pytest

from canewright.plant.description import Description, DescriptionFaults, read_description
from canewright.plant.stocktaking import Ledger, Movement, Trace, ledgers_of, movements_of, traces_of
from exams.detection import DEMO_PLANT

TABLES = """
[movements]
"rakes received" = "0.1 %"

[[ledgers]]
store = "raw sugar store"
opening = 3000
receipts = ["raw sugar weight", "rakes received"]
issues = ["melt weight"]
survey = 2.7

[[traces]]
sample = "pan condenser water"
stream = "pan condenser.warm"
limit = 20
to_boilers = true
"""


def described(tables: str) -> Description:
    """The demo plant with further tables."""
    return read_description(DEMO_PLANT.read_text(encoding="utf-8") + tables)


def test_ledgers_and_waters_are_read() -> None:
    data = described(TABLES).data
    assert movements_of(data) == (Movement("rakes received", 0.1),)
    (ledger,) = ledgers_of(data)
    assert ledger == Ledger("raw sugar store", 3000.0, ("raw sugar weight", "rakes received"), ("melt weight",), 2.7)
    assert traces_of(data) == (Trace("pan condenser water", "pan condenser.warm", 20.0, True),)


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ('"0.1 %"', "0.1", "an uncertainty in % of the mass"),
        ('"rakes received" = "0.1 %"', '"melt weight" = "0.1 %"', "a name that no meter has"),
        ("opening = 3000", "opening = -1", "ledgers 1.opening: found -1"),
        ('issues = ["melt weight"]', 'issues = ["melt wait"]', "did you mean 'melt weight'"),
        ("survey = 2.7", "", "ledgers 1.survey: found nothing"),
        ('issues = ["melt weight"]', "issues = []", "a list of weighers"),
        ("limit = 20", "limit = 0", "traces 1.limit"),
        ('"pan condenser.warm"', '"pan A.massecuite"', "traces 1.stream"),
        ("to_boilers = true", "to_boilers = 1", "true or false"),
        ("survey = 2.7", "survey = 2.7\nlevel = 3", "ledgers 1.level"),
    ],
)
def test_what_is_wrong_is_named(old: str, new: str, says: str) -> None:
    with pytest.raises(DescriptionFaults) as refused:
        described(TABLES.replace(old, new))
    assert says in str(refused.value)
