"""Every fault of a plant description names line, field, what was found and what is accepted."""

from __future__ import annotations

from pathlib import Path

import pytest

from canewright.plant.description import DescriptionFaults, Fault, read_description, read_file
from canewright.plant.plant import NotSquare, Plant
from plant.milling_train import ANALYSIS, METER, TEXT, line_of, replaced

DRAIN = """
[stations.drain]
kind = "imbibition"
"""


def faults_of(text: str) -> list[Fault]:
    """Every fault of a description that must be refused."""
    with pytest.raises(DescriptionFaults) as refused:
        read_description(text)
    assert [f.line for f in refused.value.faults] == sorted(f.line for f in refused.value.faults)
    assert str(refused.value) == "\n".join(str(f) for f in refused.value.faults)
    return refused.value.faults


def the_fault(text: str, piece: str = "") -> Fault:
    """The one fault of a description, on the line that holds this piece of text."""
    found = faults_of(text)
    assert len(found) == 1, "\n".join(str(f) for f in found)
    if piece:
        assert found[0].line == line_of(text, piece), str(found[0])
    return found[0]


def test_the_described_train_has_no_fault() -> None:
    described = read_description(TEXT + METER + ANALYSIS)
    assert described.name == "reference train"
    assert [m.tag for m in described.meters] == ["cane scale", "bagasse moisture"]
    assert described.meters[0].standard_uncertainty(5000.0) == pytest.approx(10.0)
    assert described.meters[1].standard_uncertainty(50.0) == pytest.approx(0.5)
    assert (described.cut_hour, described.zone) == (6, "UTC")


# --- stations ---------------------------------------------------------------------------------------------------------


def test_unknown_station_kind_suggests_the_nearest() -> None:
    fault = the_fault(replaced('kind = "juice screen"', 'kind = "juice scren"'), "juice scren")
    assert fault.field == "stations.screen.kind"
    assert fault.found == "'juice scren'"
    assert fault.accepted.startswith("did you mean 'juice screen'? known: ")
    assert "mill" in fault.accepted


def test_a_station_without_a_kind() -> None:
    fault = the_fault(replaced('[stations.screen]\nkind = "juice screen"', "[stations.screen]"), "[stations.screen]")
    assert (fault.field, fault.found) == ("stations.screen.kind", "nothing")


def test_a_station_of_unknown_kind_does_not_make_its_neighbours_faulty() -> None:
    text = replaced('kind = "juice screen"', 'kind = "juicer"') + METER.replace("cane.cane", "screen.screened")
    assert the_fault(text).field == "stations.screen.kind"


def test_unknown_setting_suggests_the_nearest() -> None:
    text = replaced("imbibition_coefficient = 0.84", "imbibition_coeficient = 0.84")
    fault = the_fault(text, "imbibition_coeficient")
    assert fault.field == "stations.mill 2.imbibition_coeficient"
    assert "did you mean 'imbibition_coefficient'?" in fault.accepted


def test_setting_outside_its_limits() -> None:
    fault = the_fault(replaced("on_fibre = 220", "on_fibre = 2200"), "2200")
    assert (fault.field, fault.found, fault.accepted) == (
        "stations.imbibition.on_fibre", "2200", "a number from 20 to 500",
    )  # fmt: skip


@pytest.mark.parametrize(
    ("written", "found"), [('"220"', "'220'"), ("true", "true"), ("nan", "nan"), ("[220]", "[220]")]
)
def test_something_else_where_a_number_belongs(written: str, found: str) -> None:
    fault = the_fault(replaced("on_fibre = 220", f"on_fibre = {written}"), f"on_fibre = {written}")
    assert (fault.found, fault.accepted) == (found, "a number from 20 to 500")


@pytest.mark.parametrize(
    ("written", "field", "accepted"),
    [
        ("{ value = 220, uncertainty = -1 }", "on_fibre.uncertainty", "a number of at least 0"),
        ('{ value = 220, uncertainty = "5 %" }', "on_fibre.uncertainty", "a number of at least 0"),
        ("{ value = 220, limit = [1, 2] }", "on_fibre.limit", "did you mean 'limits'?"),
        ("{ value = 220, limits = 300 }", "on_fibre.limits", "two numbers in square brackets, lowest and highest"),
        ("{ value = 220, limits = [100, 900] }", "on_fibre.limits", "a number from 100 to 500"),
        ("{ value = 220, limits = [300, 400] }", "on_fibre", "a number from 300 to 400"),
    ],
)
def test_a_setting_with_uncertainty_or_limits_that_make_no_sense(written: str, field: str, accepted: str) -> None:
    fault = the_fault(replaced("on_fibre = 220", f"on_fibre = {written}"), "on_fibre")
    assert fault.field == f"stations.imbibition.{field}"
    assert fault.accepted.startswith(accepted)


def test_unknown_section_and_a_section_that_is_no_table() -> None:
    text = replaced('kind = "juice screen"', 'kind = "juice screen"\nsection = "mil"')
    fault = the_fault(text, 'section = "mil"')
    assert (fault.field, fault.found) == ("stations.screen.section", "'mil'")
    assert fault.accepted.startswith("did you mean 'mill'?")
    fault = the_fault(replaced("[sections.mill]\nhours = 24", "[sections.mill]\nhours = 25"), "hours = 25")
    assert (fault.field, fault.accepted) == ("sections.mill.hours", "a number from 0 to 24")
    fault = the_fault(replaced("[sections.mill]\nhours = 24", "[sections]\nmill = 24"), "mill = 24")
    assert (fault.field, fault.accepted) == ("sections.mill", "a table [sections.mill] with hours = 24")


@pytest.mark.parametrize("name", ["outside", "mill.6", " "])
def test_a_station_name_that_cannot_be_used(name: str) -> None:
    text = TEXT.replace("[connections]", f'[stations."{name}"]\nkind = "grid"\n\n[connections]')
    named = [f for f in faults_of(text) if f.field == f"stations.{name}" and "full stop" in f.accepted]
    assert len(named) == 1


def test_an_unknown_table_and_an_unknown_choice() -> None:
    fault = the_fault(TEXT + "\n[conections]\na = 1\n", "[conections]")
    assert (fault.field, fault.found) == ("conections", "'conections'")
    assert fault.accepted.startswith("did you mean 'connections'?")


# --- connections ------------------------------------------------------------------------------------------------------


def test_an_inlet_connected_twice_names_both_lines() -> None:
    text = replaced('"mill 4.feed" = "mill 3.bagasse"', '"mill 4.feed" = ["mill 3.bagasse", "mill 3.bagasse"]')
    found = faults_of(text)
    at = line_of(text, '"mill 4.feed"')
    said = {(f.field, f.found, f.line) for f in found}
    assert said == {
        ("connections.mill 4.feed", f"connected 2 times (lines {at}, {at})", at),
        ("connections.mill 3.bagasse", f"connected 2 times (lines {at}, {at})", at),
    }


def test_a_stream_led_to_two_places_names_both_lines() -> None:
    text = replaced(
        '"outside.bagasse" = "mill 5.bagasse"', '"outside.bagasse" = "mill 5.bagasse"\n"outside.x" = "mill 5.bagasse"'
    )
    fault = the_fault(text, '"outside.x"')
    first, second = line_of(text, '"outside.bagasse"'), line_of(text, '"outside.x"')
    assert fault.found == f"connected 2 times (lines {first}, {second})"
    assert fault.accepted == "one connection; a splitter or draw shares a stream out"


def test_ends_that_are_not_connected_say_the_line_to_write() -> None:
    text = replaced('"outside.bagasse" = "mill 5.bagasse"\n', "")
    fault = the_fault(text, '[stations."mill 5"]')
    assert fault.found == "outlet 'mill 5.bagasse' not connected"
    assert '"outside.where" = "mill 5.bagasse"' in fault.accepted
    found = faults_of(replaced('"mill 3.feed" = "mill 2.bagasse"\n', ""))
    assert [f.found for f in found] == ["outlet 'mill 2.bagasse' not connected", "inlet 'mill 3.feed' not connected"]
    assert '"mill 3.feed" = "station.outlet"' in found[1].accepted


def test_a_stream_of_the_wrong_sort() -> None:
    text = replaced('"imbibition.source" = "water.water"', '"imbibition.source" = "screen.screened"')
    text = text.replace('"outside.mixed juice" = "screen.screened"', '"outside.water" = "water.water"')
    fault = the_fault(text, '"imbibition.source"')
    assert fault.field == "connections.imbibition.source"
    assert fault.found.startswith("juice from screen.screened, which carries sucrose")
    assert fault.accepted == "a stream that fits water"


def test_water_cannot_stand_for_power() -> None:
    text = replaced('"preparation.power" = "board.branches"', '"preparation.power" = "water.water"')
    found = [f for f in faults_of(text) if f.field == "connections.preparation.power"]
    assert found[0].found.startswith("water from water.water")
    assert found[0].accepted == "a stream that fits power"


@pytest.mark.parametrize(
    ("old", "new", "found", "accepted"),
    [
        ('"mill 2.feed"', '"mil 2.feed"', "'mil 2.feed'", "station.inlet with one of the described stations:"),
        ('"mill 2.feed"', '"mill 2.fed"', "'mill 2.fed'", "inlets of mill 2: did you mean 'feed'?"),
        ('= "mill 1.bagasse"', '= "mill 1.bagass"', "'mill 1.bagass'", "outlets of mill 1: did you mean 'bagasse'?"),
        ('= "mill 1.bagasse"', '= "outside.bagasse"', "'outside.bagasse'", "station.outlet with one of the described"),
        ('= "mill 1.bagasse"', "= 7", "7", "station.outlet with one of the described stations"),
    ],
)  # fmt: skip
def test_an_end_that_does_not_exist(old: str, new: str, found: str, accepted: str) -> None:
    first = faults_of(replaced(old, new))
    mine = [f for f in first if f.found == found]
    assert len(mine) == 1, "\n".join(str(f) for f in first)
    assert mine[0].accepted.startswith(accepted)


def test_an_end_without_quotes() -> None:
    text = replaced('"screen.raw" = ["mill 1.juice", "mill 2.juice"]', 'screen.raw = ["mill 1.juice", "mill 2.juice"]')
    found = [f for f in faults_of(text) if f.field == "connections.screen"]
    assert found[0].accepted == 'quotes around it: "screen.raw" = ...'


# --- meters -----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("old", "new", "field", "found", "accepted"),
    [
        ('"cane.cane"', '"cane.can"', "stream", "'cane.can'", "did you mean 'cane.cane'?"),
        ('stream = "cane.cane"\n', "", "stream", "nothing", ""),
        ('"mass"', '"mas"', "quantity", "'mas'", "did you mean 'mass'?"),
        ('"mass"', '"pressure"', "quantity", "'pressure'", ""),
        ('"mass"', '"power"', "quantity", "'power'", ""),
        ('"mass"', '"mass"\nunit = "kg"', "unit", "'kg'", "t for mass"),
        ('"0.2 %"', "0", "uncertainty", "0", "a number above zero in the unit of the"),
        ('"0.2 %"', "-1", "uncertainty", "-1", "a number above zero"),
        ('"0.2 %"', '"-1 %"', "uncertainty", "'-1 %'", "a number above zero"),
        ('"0.2 %"', '"inf %"', "uncertainty", "'inf %'", "a number above zero"),
        ('"0.2 %"', "inf", "uncertainty", "inf", "a number above zero"),
        ('"0.2 %"', "true", "uncertainty", "true", "a number above zero"),
        ('"0.2 %"', '"a little"', "uncertainty", "'a little'", "a number above zero"),
        ('uncertainty = "0.2 %"\n', "", "uncertainty", "nothing", "a number above zero"),
        ('"0.2 %"', '"0.2 %"\nfile = "lab"', "file", "'lab'", "meters, laboratory or stocks"),
        ('"0.2 %"', '"0.2 %"\nfile = "stocks"', "quantity", "'mass'", "'over the day' of a stock change"),
        ('"0.2 %"', '"0.2 %"\nplausible = 5', "plausible", "5", "two numbers in square brackets"),
        ('"0.2 %"', '"0.2 %"\nplausible = [9, 5]', "plausible", "5", "a number from 9 to 200000"),
        ('"0.2 %"', '"0.2 %"\nplausibel = [5, 9]', "plausibel", "'plausibel'", "did you mean 'plausible'?"),
        ('"cane scale"', '""', "tag", "''", "a text in quotes"),
        ('"cane scale"', "7", "tag", "7", "a text in quotes"),
    ],
)  # fmt: skip
def test_a_meter_that_cannot_be_used(old: str, new: str, field: str, found: str, accepted: str) -> None:
    assert METER.count(old) == 1
    text = TEXT + METER.replace(old, new)
    fault = the_fault(text)
    assert fault.line >= line_of(text, "[[meters]]")
    assert fault.field == f"meters 1.{field}"
    assert fault.found == found
    assert fault.accepted.startswith(accepted)


def test_a_meter_on_a_stream_that_cannot_have_the_quantity_lists_what_it_can_tell() -> None:
    fault = the_fault(TEXT + METER.replace("cane.cane", "water.water.1").replace('"mass"', '"refractometer brix"'))
    assert fault.accepted == "one of mass, mass flow, temperature (what water.water.1 can tell)"


def test_a_result_over_the_day_must_be_a_flow() -> None:
    fault = the_fault(TEXT + METER.replace("cane.cane", "mill 1.liquid_share").replace('"mass"', '"over the day"'))
    assert fault.accepted.startswith("'itself': this result is in 1")
    fault = the_fault(TEXT + METER.replace("cane.cane", "mill 1.liquid_share"))
    assert fault.accepted == "one of itself, over the day"


def test_a_tag_used_twice_is_named_on_both_lines() -> None:
    text = TEXT + METER + METER.replace('"mass"', '"mass flow"')
    found = faults_of(text)
    lines = [i for i, line in enumerate(text.splitlines(), start=1) if line == "[[meters]]"]
    assert [f.field for f in found] == ["meters 1.tag", "meters 2.tag"]
    assert found[0].found == f"'cane scale' 2 times (meters of lines {lines[0]}, {lines[1]})"
    assert found[0].accepted == "a tag used once"


def test_one_laboratory_result_cannot_serve_two_meters() -> None:
    second = ANALYSIS.replace('"bagasse moisture"', '"again"').replace("mill 5", "mill 4")
    found = faults_of(TEXT + ANALYSIS + second)
    assert [f.found for f in found] == ["moisture of sample 'bagasse' more than once"] * 2


# --- targets and roles ------------------------------------------------------------------------------------------------

TARGET = """
[[targets]]
stream = "screen.screened"
quantity = "refractometer brix"
value = 15
moves = "imbibition.on_fibre"
"""


@pytest.mark.parametrize(
    ("old", "new", "field", "accepted"),
    [
        ('"screen.screened"', '"screen.screend"', "stream", "did you mean 'screen.screened'?"),
        ('"refractometer brix"', '"brix"', "quantity", ""),
        ('"refractometer brix"', '"power"', "quantity", ""),
        ("value = 15", 'value = "15"', "value", "a number from 5 to 100"),
        ("value = 15", "value = 115", "value", "a number from 5 to 100"),
        ("value = 15\n", "", "value", "a number from 5 to 100"),
        ('"imbibition.on_fibre"', '"imbibition.on_fiber"', "moves", "did you mean 'imbibition.on_fibre'?"),
        ("value = 15", "value = 15\nsize = 1", "size", ""),
    ],
)
def test_a_target_that_cannot_be_used(old: str, new: str, field: str, accepted: str) -> None:
    fault = the_fault(TEXT + TARGET.replace(old, new))
    assert fault.field == f"targets 1.{field}"
    assert fault.accepted.startswith(accepted)


def test_two_targets_cannot_move_one_setting_nor_hold_one_quantity() -> None:
    twice = TARGET.replace("screen.screened", "mill 1.juice")
    assert {f.accepted for f in faults_of(TEXT + TARGET + twice)} == {"a setting moved by one target"}
    held = TARGET.replace("imbibition.on_fibre", "cane.sucrose")
    assert {f.accepted for f in faults_of(TEXT + TARGET + held)} == {"one target for it"}


def test_a_role_for_a_stream_that_is_not_there() -> None:
    fault = the_fault(replaced('bagasse = "mill 5.bagasse"', 'bagasse = "mill 6.bagasse"'), 'bagasse = "mill 6')
    assert (fault.field, fault.found) == ("roles.bagasse", "'mill 6.bagasse'")
    assert fault.accepted.startswith("did you mean 'mill 5.bagasse'?")
    assert the_fault(replaced('bagasse = "mill 5.bagasse"', "bagasse = 5")).found == "5"


# --- the plant's own table --------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("line", "field", "accepted"),
    [
        ("cut_hour = 24", "cut_hour", "a whole hour of the clock from 0 to 23"),
        ("cut_hour = 6.5", "cut_hour", "a whole hour of the clock from 0 to 23"),
        ('cut_hour = "06:00"', "cut_hour", "a whole hour of the clock from 0 to 23"),
        ("cut_hour = true", "cut_hour", "a whole hour of the clock from 0 to 23"),
        ('season_start = "2031-06-02"', "season_start", "a date without quotes such as 2031-06-02"),
        ("season_start = 2031-06-02T06:00:00", "season_start", "a date without quotes such as 2031-06-02"),
        ('zone = "Mars/Base"', "zone", "a time zone such as Australia/Brisbane, Etc/GMT-10 or UTC"),
        ('zone = "../../etc/passwd"', "zone", "a time zone"),
        ('zone = ""', "zone", "a time zone"),
        ("zone = 10", "zone", "a time zone"),
        ('cut = "6"', "cut", "did you mean 'cut_hour'?"),
    ],
)
def test_cut_hour_season_and_zone(line: str, field: str, accepted: str) -> None:
    fault = the_fault(replaced('name = "reference train"', f'name = "reference train"\n{line}'), line)
    assert fault.field == f"plant.{field}"
    assert fault.accepted.startswith(accepted)


@pytest.mark.parametrize(
    "name", ["plant", "sections", "links", "connections", "roles", "products", "sheet", "cane", "advice"]
)
def test_a_number_where_a_table_belongs(name: str) -> None:
    body = TEXT.replace(f"[{name}]", f"[away.{name}]").replace(f"[{name}.", f"[away.{name}.")
    found = [f for f in faults_of(f"{name} = 3\n{body}") if f.field == name and f.found == "3"]
    assert len(found) == 1
    assert found[0].line == 1
    assert (found[0].found, found[0].accepted) == ("3", f"a table [{name}]")


@pytest.mark.parametrize("name", ["meters", "targets", "prices"])
def test_a_table_where_an_array_of_tables_belongs(name: str) -> None:
    fault = the_fault(f"{TEXT}\n[{name}]\nx = 1\n", f"[{name}]")
    assert (fault.field, fault.accepted) == (name, f"tables, each beginning with [[{name}]]")


# --- the file itself --------------------------------------------------------------------------------------------------


def test_an_empty_file_says_what_is_missing() -> None:
    found = faults_of("")
    assert [f.field for f in found] == ["sections", "stations"]
    assert all(f.found == "nothing" and f.line == 1 for f in found)


@pytest.mark.parametrize(
    ("text", "line", "said"),
    [
        ("[plant]\nname = Ostrimere\n", 2, "Invalid value"),
        ("[stations.mill 1]\n", 1, "Expected ']'"),
        ('[stations.a]\nkind = "mill"\n[stations.a]\n', 3, "Cannot declare"),
        ("[plant]\nname = 'x'\nname = 'y'\n", 3, "Cannot overwrite a value"),
        ("[plant]\nname = [1, 2\n", 3, "Unclosed array"),
        ("x = " + "[" * 5000, 1, "nested too deeply"),
        ("x = " + "9" * 5000, 1, "digits"),
    ],
)
def test_not_toml_names_the_line_and_shows_it(text: str, line: int, said: str) -> None:
    fault = the_fault(text)
    assert fault.line == line
    assert said in fault.found
    assert "stand in quotes" in fault.accepted


def test_not_utf_8_names_the_line(tmp_path: Path) -> None:
    path = tmp_path / "plant.toml"
    path.write_bytes("[plant]\nname = 'Zuckermühle'\n".encode("latin-1"))
    with pytest.raises(DescriptionFaults) as refused:
        read_file(path)
    assert [str(f) for f in refused.value.faults] == [
        "line 2: file: found byte 0xfc that is not UTF-8 text; accepted: text saved as UTF-8"
    ]


def test_the_mark_that_some_editors_put_first_is_passed_over(tmp_path: Path) -> None:
    path = tmp_path / "plant.toml"
    path.write_bytes(b"\xef\xbb\xbf" + TEXT.encode())
    assert read_file(path).name == "reference train"


def test_many_faults_are_told_at_once() -> None:
    text = TEXT.replace("moisture = 54", "moisture = 540").replace("on_fibre = 220", "on_fiber = 220")
    assert [f.field for f in faults_of(text)] == [
        "stations.mill 1.moisture", "stations.mill 3.moisture", "stations.imbibition.on_fiber",
    ]  # fmt: skip


# --- prices, day sheet, cane and advice -------------------------------------------------------------------------------

PRICE = """
[[prices]]
what = "mixed juice"
stream = "screen.screened"
kind = "income"
price = 30
unit = "$/t"
"""


@pytest.mark.parametrize(
    ("old", "new", "field", "accepted"),
    [
        ('what = "mixed juice"\n', "", "what", "a text in quotes"),
        ('"screen.screened"', '"screen.screned"', "stream", "did you mean 'screen.screened'?"),
        ('stream = "screen.screened"\n', "", "stream", ""),
        ('"screen.screened"', '"mill 1.liquid_share"', "stream", "a stream, or a station's result that is a flow"),
        ('"screen.screened"', '"grid.power"', "unit", "$/MWh for grid.power"),
        ('"income"', '"gain"', "kind", "income or cost"),
        ("price = 30", 'price = "30"', "price", "a number from 0 to 1e+06"),
        ("price = 30", "price = -30", "price", "a number from 0 to 1e+06"),
        ('"$/t"', '"$"', "unit", "$/t for screen.screened"),
        ('"$/t"', '"$/t"\ncurrency = "$"', "currency", ""),
    ],
)
def test_a_price_that_cannot_be_used(old: str, new: str, field: str, accepted: str) -> None:
    fault = the_fault(TEXT + PRICE.replace(old, new))
    assert fault.field == f"prices 1.{field}"
    assert fault.accepted.startswith(accepted)


@pytest.mark.parametrize(
    ("lines", "field", "found", "accepted"),
    [
        ("[sheet]\ntarget = 1", "sheet.target", "'target'", "did you mean 'targets'?"),
        ('[sheet.targets]\n"pol extraction" = "96"', "sheet.targets.pol extraction", "'96'", "a number"),
        ('[sheet.better]\n"pol extraction" = "more"', "sheet.better.pol extraction", "'more'", "higher or lower"),
        ('[sheet.opening_stocks]\n"stack" = -5', "sheet.opening_stocks.stack", "-5", "a number from 0 to 1e+06"),
        ("[sheet]\ntargets = 5", "sheet.targets", "5", "a table [sheet.targets]"),
        ("[cane]\nseason = 2031", "cane.season", "2031", "a text in quotes"),
        ('[cane]\nsugar_price = "400"', "cane.season", "nothing", "the season these terms hold for"),
        ('[cane]\nseason = "1"\nsugar_price = 400.1', "cane.sugar_price", "400.1", "a decimal number in quotes"),
        ('[cane]\nseason = "1"\nsugar_price = "much"', "cane.sugar_price", "'much'", "a decimal number in quotes"),
        ('[cane]\nseason = "1"\nsugar_price = "NaN"', "cane.sugar_price", "'NaN'", "a decimal number in quotes"),
        ('[cane]\nseason = "1"\nsugar_price = "-4"', "cane.sugar_price", "'-4'", "a decimal number in quotes"),
        ('[cane]\nconstant = "x"', "cane.constant", "'x'", "a decimal number in quotes"),
        ('[cane]\nprice = "4"', "cane.price", "'price'", "did you mean 'sugar_price'?"),
        ("[cane.fibre_classes]\ngreen = 0.14", "cane.fibre_classes.green", "0.14", "a number from 5 to 30"),
        ("[advice]\nmove = 1", "advice.move", "'move'", "did you mean 'moves'?"),
        ("[advice]\nmoves = 1", "advice.moves", "1", "tables, each beginning with [[advice.moves]]"),
        ("[products]\nx = 1", "products.x", "1", 'a table [products."x"]'),
        ('[products.x]\nstream = "a.b"', "products.x.stream", "'a.b'", ""),
        ('[products.x]\nstream = "screen.screened"\nbrix = [1, 2]', "products.x.brix", "'brix'", ""),
        ('[products.x]\nstream = "screen.screened"\npol = 12', "products.x.pol", "12", "two numbers, lowest and"),
        ('[products.x]\nstream = "screen.screened"\npol = [12, 9]', "products.x.pol", "9", "a number from 12 to"),
    ],
)  # fmt: skip
def test_tables_that_no_equation_needs_are_checked_too(lines: str, field: str, found: str, accepted: str) -> None:
    fault = the_fault(f"{TEXT}\n{lines}\n")
    assert (fault.field, fault.found) == (field, found)
    assert fault.accepted.startswith(accepted)


MOVE = """
[[advice.moves]]
setting = "imbibition.on_fibre"
low = 150
high = 300
step = 20
"""
LIMIT = """
[[advice.limits]]
says = "brix of mixed juice"
stream = "screen.screened"
quantity = "refractometer brix"
low = 13
high = 17
probability = 0.95
"""


@pytest.mark.parametrize(
    ("old", "new", "field", "accepted"),
    [
        ('"imbibition.on_fibre"', '"imbibition.on_fiber"', "moves 1.setting", "did you mean 'imbibition.on_fibre'?"),
        ('setting = "imbibition.on_fibre"\n', "", "moves 1.setting", ""),
        ("low = 150\n", "", "moves 1.low", "a number from 20 to 500"),
        ("high = 300", "high = 900", "moves 1.high", "a number from 150 to 500"),
        ("high = 300", "high = 100", "moves 1.high", "a number from 150 to 500"),
        ("step = 20", "step = 0", "moves 1.step", "the largest change from today, above zero"),
        ("step = 20", "step = 400", "moves 1.step", "a number from 0 to 150"),
        ('"screen.screened"', '"screen.mixed"', "limits 1.stream", ""),
        ('"refractometer brix"', '"brix"', "limits 1.quantity", ""),
        ("low = 13", 'low = "13"', "limits 1.low", "a number"),
        ("high = 17", "high = 12", "limits 1.high", "a number of at least 13"),
        ("low = 13\nhigh = 17\n", "", "limits 1", "low or high, or both"),
        ("probability = 0.95", "probability = 95", "limits 1.probability", "a number from 0.5 to 0.999"),
        ('"brix of mixed juice"', "5", "limits 1.says", "a text in quotes"),
        ("probability = 0.95", "sure = 0.95", "limits 1.sure", ""),
    ],
)
def test_advice_that_cannot_be_used(old: str, new: str, field: str, accepted: str) -> None:
    assert (MOVE + LIMIT).count(old) == 1
    fault = the_fault(TEXT + (MOVE + LIMIT).replace(old, new))
    assert fault.field == f"advice.{field}"
    assert fault.accepted.startswith(accepted)


def test_what_a_target_moves_is_no_move_of_advice_but_the_target_is() -> None:
    fault = the_fault(TEXT + TARGET + MOVE)
    assert fault.field == "advice.moves 1.setting"
    moved = MOVE.replace('"imbibition.on_fibre"', '"target.screen.screened refractometer brix"')
    moved = moved.replace("150", "12").replace("300", "18").replace("20", "1")
    assert read_description(TEXT + TARGET + moved).targets[0].name == "target.screen.screened refractometer brix"


# --- equations and unknowns -------------------------------------------------------------------------------------------


def refused_as_unmatched(text: str) -> str:
    with pytest.raises(NotSquare) as refused:
        Plant.from_text(text)
    return str(refused.value)


def test_a_flow_that_nobody_decides_is_named() -> None:
    text = replaced(
        "[connections]", '[stations.spare]\nkind = "water supply"\n\n[connections]\n"outside.drain" = "spare.water"'
    )
    said = refused_as_unmatched(text)
    assert said == (
        "nothing determines water of spare.water.1 (at stations spare): lead the stream to a station that decides it, "
        "or take the source out"
    )


def test_two_stations_that_decide_one_flow_are_named() -> None:
    text = replaced('"imbibition.source" = "water.water"', '"imbibition.source" = "drain.water"')
    text = text.replace("[connections]", f'{DRAIN}\n[connections]\n"drain.cane" = "imbibition.passed"')
    text = text.replace(
        '"mill 1.feed" = "imbibition.passed"', '"mill 1.feed" = "drain.passed"\n"drain.source" = "water.water"'
    )
    said = refused_as_unmatched(text)
    assert said.startswith("too much is said, 1 equation(s) more than unknowns, by: ")
    assert "imbibition is its share of fibre" in said
    assert "drain" in said
    assert "two stations decide the same flow" in said


def test_a_target_that_its_setting_cannot_reach_is_named_by_line() -> None:
    target = TARGET.replace("screen.screened", "cane.cane").replace("refractometer brix", "mass flow")
    target = target.replace("imbibition.on_fibre", "mill 5.moisture").replace("15", "400")
    text = TEXT + target
    assert refused_as_unmatched(text) == (
        f"line {line_of(text, '[[targets]]')}: the target on mass flow of cane.cane cannot be held: mill 5.moisture, "
        "which it moves, does not change it; move a setting that does, or drop the target"
    )


def test_a_target_that_its_setting_can_reach_is_held() -> None:
    plant = Plant.from_text(TEXT + TARGET)
    state = plant.predict()
    assert state.measured("screen.screened", "refractometer brix") == pytest.approx(15.0, abs=1e-9)
    assert 200.0 < state.values["imbibition.on_fibre"] < 300.0


# --- anything at all --------------------------------------------------------------------------------------------------

REST = """
[sheet]
further_stocks = ["yard"]
opening_stocks = { yard = 100 }
[cane]
season = "2031"
sugar_price = "400"
constant = "0.578"
[cane.fibre_classes]
green = 14
[products.juice]
stream = "screen.screened"
pol = [1, 20]
[links]
rotation_of_reducing_sugars = 0.3
"""
EVERYTHING = TEXT + METER + ANALYSIS + TARGET + PRICE + LIMIT + MOVE.replace("imbibition.on_fibre", "cane.rate") + REST


@pytest.mark.parametrize("junk", ["[]", "{}", "{ a = 1 }", "[[1, 2]]", "true", "nan", '"x"', "2031-06-02"])
def test_whatever_stands_for_a_value_is_read_or_told_and_nothing_else(junk: str) -> None:
    """Each value of a whole description replaced: either it is accepted or a fault says where it stands."""
    text = EVERYTHING.replace("low = 150\nhigh = 300", "low = 150\nhigh = 500")
    lines = text.split("\n")
    read_description(text)
    told: list[Fault] = []
    for i, line in enumerate(lines):
        if "=" not in line or line.startswith(("[", "#")):
            continue
        key = line[: line.index("=")]
        try:
            read_description("\n".join([*lines[:i], f"{key}= {junk}", *lines[i + 1 :]]))
        except DescriptionFaults as found:
            told += found.faults
    assert len(told) > 60
    assert all(f.line >= 1 and f.field and f.found and f.accepted for f in told)


def test_a_fraction_typed_for_per_cent_is_told() -> None:
    """2.15 for 215 % and 0.65 for 65 % would otherwise pass as very small numbers."""
    assert the_fault(replaced("on_fibre = 220", "on_fibre = 2.15")).accepted.startswith("a number from 20 to 500")
    fault = the_fault(TEXT + TARGET.replace("value = 15", "value = 0.15"))
    assert (fault.field, fault.found) == ("targets 1.value", "0.15")
