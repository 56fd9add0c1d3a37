"""An agreement with faults: each told by line, field, what was found and what is accepted."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest

from cane.agreements import SEASON, agreement
from canewright.cane.rounding import Half
from canewright.cane.season import Per, Relative
from canewright.cane.season_reading import SeasonFaults, read_season

GOOD = SEASON.format(relative="additive", more="")


def faults(text: str) -> list[str]:
    with pytest.raises(SeasonFaults) as refused:
        read_season(text)
    return [str(f) for f in refused.value.faults]


def test_a_season_reads_as_written() -> None:
    more = """
[rounding]
quality = 2
price = 4
half = "up"
[[levies]]
name = "research levy"
rate = "0.35"
[[levies]]
name = "growers' fund"
rate = "0.01"
per = "$ of value"
to = 2031-06-10
[[adjustments]]
name = "dirty cane"
kind = "penalty"
reading = "extraneous matter"
free = "6"
rate = "0.45"
most = "2.00"
[[recoveries]]
name = "planting loan"
grower = "Heron Flats"
amount = "100.00"
period = 2
[mill]
recovery = "90"
sugar_price = "430"
"""
    season = agreement("multiplicative", more)
    assert (season.name, season.currency, len(season.periods)) == ("2031", "$", 3)
    assert season.rounding.half is Half.UP
    assert season.rounding.price == 4
    assert season.schemes["main"].relative is Relative.MULTIPLICATIVE
    assert season.levies[1].per is Per.VALUE
    assert season.levies[1].last == dt.date(2031, 6, 10)
    assert season.adjustments[0].sign == -1
    assert season.final_known()
    told = season.holding(season.periods[1])
    assert told["recovery 1"] == "planting loan, 100.00 $ from Heron Flats"
    assert told["levy 2"].startswith("growers' fund, 0.01 $ per value")
    assert told["bonus or penalty 1"].startswith("dirty cane, penalty of 0.45 $/t for each % of extraneous")


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ('constant = "0.578"\n[schemes.main.final]', "[schemes.main.final]",
         "line 11: schemes.main.terms 1.constant: found nothing; accepted: constant of the agreement"),
        ('sugar_price = "420.00"', "sugar_price = 420.5",
         "line 13: schemes.main.terms 1.sugar_price: found 420.5; accepted: price of sugar"),
        ('sugar_price = "420.00"', 'sugar_price = "abc"', "found 'abc'; accepted: price of sugar"),
        ('sugar_price = "420.00"', 'sugar_prize = "420"', "did you mean 'sugar_price'?"),
        ('"classic CCS price"', '"clasic CCS price"', "did you mean 'classic CCS price'?"),
        ('relative = "additive"', 'version = 3\nrelative = "additive"', "schemes.main.version: found 3; accepted: 1"),
        ('relative = "additive"', 'relative = "sideways"', "schemes.main.relative: found 'sideways'"),
        ('season_mean = "13.20"', "", "season_mean: found nothing; accepted: the expected mean quality"),
        ("last_day = 2031-06-22", "last_day = 2031-05-22", "season.last_day: found '2031-05-22'; accepted: a day from"),
        ("first_day = 2031-06-02", 'first_day = "2 June"', "season.first_day: found 2 June; accepted: a day without"),
        ("to = 2031-06-15", "to = 2031-06-14", "whole weeks from 2031-06-02"),
        ("from = 2031-06-16", "from = 2031-06-17", "accepted: 2031-06-16, the day after the period before"),
        ("to = 2031-06-22", "to = 2031-06-29", "accepted: the whole season, 2031-06-02 to 2031-06-22"),
        ('advance = "0.70"', 'advance = "1.70"', "periods 1.advance: found '1.70'; accepted: a decimal number"),
        ('scheme = "main"', 'scheme = "mian"', "agreements 1.scheme: found 'mian'; accepted: did you mean 'main'?"),
        ('growers = "all"', "growers = []", 'accepted: "all" or a list of growers'),
        ("[[periods]]", "[[perods]]", "did you mean 'periods'?"),
        ('name = "2031"', "name = 2031", "season.name: found 2031; accepted: a text in quotes"),
    ],
)  # fmt: skip
def test_every_bad_line_is_told(old: str, new: str, says: str) -> None:
    assert old in GOOD
    told = faults(GOOD.replace(old, new, 1))
    assert any(says in each for each in told), told
    assert all(each.startswith("line ") for each in told)


@pytest.mark.parametrize(
    ("more", "says"),
    [
        ('[[agreements]]\nscheme = "main"', "agreements 2.from: found '2031-06-02'; accepted: no day that agreement 1"),
        (
            '[[levies]]\nname = "x"\nrate = "1"\nper = "t of mud"',
            "levies 1.per: found 't of mud'; accepted: did",
        ),
        ('[[adjustments]]\nname = "x"\nkind = "fine"\nrate = "1"', "adjustments 1.kind: found 'fine'"),
        ('[[adjustments]]\nname = "x"\nkind = "bonus"\nrate = "1"\nreading = "mud"', "adjustments 1.reading"),
        ('[[recoveries]]\nname = "x"\ngrower = "y"\namount = "1"\nperiod = 9', "the number of a period, 1 to 3"),
        ("[rounding]\nmoney = 12", "rounding.money: found 12; accepted: a whole number of decimals from 0 to 9"),
        ('[mill]\nrecovery = "0"\nsugar_price = "1"', "mill.recovery: found '0'"),
        ('[[mill_balances]]\npol = "47"', "did you mean 'pol in cane'?"),
    ],
)
def test_faults_of_further_tables(more: str, says: str) -> None:
    told = faults(SEASON.format(relative="none", more=more))
    assert any(says in each for each in told), told


def test_a_scheme_before_its_time() -> None:
    text = GOOD.replace("classic CCS price", "fair price with a floor").replace("2031-", "2021-")
    assert any("is in force from 2024-02-22" in each for each in faults(text))


def test_nothing_and_nonsense() -> None:
    told = faults("")
    for field in ("season.name", "season.first_day", "schemes", "agreements", "periods"):
        assert any(f": {field}:" in each for each in told), field
    assert "not a valid TOML file" in faults("[season\n")[0]


def test_named_growers_come_before_all_and_gaps_are_gaps() -> None:
    more = '[[agreements]]\ngrowers = ["Long Reach"]\nscheme = "main"\nfrom = 2031-06-09\n'
    season = agreement("none", more)
    day = dt.date(2031, 6, 10)
    assert season.scheme_for("Long Reach", day) is season.schemes["main"]
    gapped = read_season(
        SEASON.format(relative="none", more="").replace('scheme = "main"\n', 'scheme = "main"\nto = 2031-06-09\n')
    )
    assert gapped.scheme_for("Long Reach", day) is None


def test_the_agreement_in_the_documents_reads() -> None:
    page = (Path(__file__).parents[2] / "docs" / "payment.md").read_text(encoding="utf-8")
    season = read_season(page.split("```toml\n")[1].split("```")[0])
    assert season.schemes["main"].scheme.name == "classic CCS price"
    assert len(season.periods) == 2
    assert season.mill is not None
