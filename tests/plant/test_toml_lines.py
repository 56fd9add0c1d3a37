"""Every key of a TOML text is found on the line where it stands, however it is written."""

from __future__ import annotations

import pytest

from canewright.plant.toml_lines import TomlSyntax, read_lined


def test_plain_tables_and_keys() -> None:
    lined = read_lined("# a remark\n[plant]\nname = 'x'\n\n[sections.mill]\nhours = 24\n")
    assert lined.line("plant") == 2
    assert lined.line("plant", "name") == 3
    assert lined.line("sections") == 5
    assert lined.line("sections", "mill") == 5
    assert lined.line("sections", "mill", "hours") == 6


def test_an_unknown_path_has_the_line_of_its_nearest_parent() -> None:
    lined = read_lined("a = 1\n[b]\nc = 2\n")
    assert lined.line("b", "missing", 3) == 2
    assert lined.line("nowhere") == 1
    assert lined.line() == 1


def test_quoted_keys_may_hold_full_stops_spaces_and_escapes() -> None:
    lined = read_lined('[stations."mill 1"]\n"a.b" = 1\n\'c.d\' = 2\n"q\\"uote" = 3\n"caf\\u00e9" = 4\n')
    assert lined.data["stations"]["mill 1"] == {"a.b": 1, "c.d": 2, 'q"uote': 3, "café": 4}
    assert lined.line("stations", "mill 1") == 1
    assert lined.line("stations", "mill 1", "a.b") == 2
    assert lined.line("stations", "mill 1", "c.d") == 3
    assert lined.line("stations", "mill 1", 'q"uote') == 4
    assert lined.line("stations", "mill 1", "café") == 5


def test_dotted_keys_give_a_line_to_each_part() -> None:
    lined = read_lined('[a]\nx.y = 1\nx . "z w" = 2\n')
    assert lined.data == {"a": {"x": {"y": 1, "z w": 2}}}
    assert lined.line("a", "x") == 2
    assert lined.line("a", "x", "y") == 2
    assert lined.line("a", "x", "z w") == 3


def test_arrays_of_tables_count_and_hold_their_own_tables() -> None:
    lined = read_lined(
        "[[m]]\nx = 1\n[[m]]\nx = 2\n[m.sub]\ny = 3\n[[m.deep]]\nz = 4\n[[m.deep]]\nz = 5\n[[m]]\nx = 6\n"
    )
    assert lined.data["m"][1] == {"x": 2, "sub": {"y": 3}, "deep": [{"z": 4}, {"z": 5}]}
    assert [lined.line("m", i) for i in range(3)] == [1, 3, 11]
    assert lined.line("m", 1, "x") == 4
    assert lined.line("m", 1, "sub", "y") == 6
    assert lined.line("m", 1, "deep", 0, "z") == 8
    assert lined.line("m", 1, "deep", 1, "z") == 10
    assert lined.line("m", 2, "x") == 12


def test_a_nested_array_of_tables_begins_again_under_each_parent() -> None:
    lined = read_lined("[[a]]\n[[a.b]]\nx = 1\n[[a]]\n[[a.b]]\nx = 2\n")
    assert lined.data == {"a": [{"b": [{"x": 1}]}, {"b": [{"x": 2}]}]}
    assert lined.line("a", 0, "b", 0, "x") == 3
    assert lined.line("a", 1, "b", 0, "x") == 6


@pytest.mark.parametrize("quote", ['"""', "'''"])
def test_what_looks_like_a_key_inside_a_long_text_is_not_one(quote: str) -> None:
    lined = read_lined(f"says = {quote}\n[not a table]\nnot = 'a key'\n{quote}\nafter = 1\n")
    assert lined.line("says") == 1
    assert lined.line("after") == 5
    assert ("not",) not in lined.lines


def test_values_over_several_lines_are_skipped() -> None:
    text = (
        "a = [\n  1, # one ] here\n  'b = ]',\n  [2, 3],\n]\nafter = { x = 1, 'y z' = [ 2 ] }\n"
        'last = "a # no remark" # b\n'
    )
    lined = read_lined(text)
    assert lined.data["a"] == [1, "b = ]", [2, 3]]
    assert lined.line("after") == 6
    assert lined.line("last") == 7
    assert ("b",) not in lined.lines


def test_keys_of_inline_tables_have_the_line_of_the_value_they_stand_in() -> None:
    lined = read_lined("[s]\nfibre = { value = 14.0, uncertainty = 0.6 }\n")
    assert lined.line("s", "fibre", "uncertainty") == 2


def test_a_text_that_ends_in_an_escaped_quote_or_backslash() -> None:
    lined = read_lined('a = "x\\""\nb = "y\\\\"\nc = \'z\\\'\nd = 1\n')
    assert lined.data == {"a": 'x"', "b": "y\\", "c": "z\\", "d": 1}
    assert [lined.line(k) for k in "abcd"] == [1, 2, 3, 4]


def test_a_long_text_that_ends_with_quotes_of_its_own() -> None:
    lined = read_lined('a = """one\n"two" three""""\nb = 1\n')
    assert lined.data["a"] == 'one\n"two" three"'
    assert lined.line("b") == 3


def test_other_line_ends_and_indents() -> None:
    lined = read_lined("[a]\r\n  x = 1\r\n\t[a.b]\r\n\ty = 2\r\n")
    assert lined.line("a", "x") == 2
    assert lined.line("a", "b", "y") == 4


@pytest.mark.parametrize("separator", ["\u2028", "\x85", "\x0c"])
def test_only_line_feeds_end_a_line(separator: str) -> None:
    """Characters that some editors show as a break do not count as one in TOML."""
    text = f"a = 'x{separator}y'\nb = 1\n" if separator != "\x0c" else "a = 'xy'\nb = 1\n"
    assert read_lined(text).line("b") == 2


def test_not_toml_names_the_line() -> None:
    with pytest.raises(TomlSyntax, match="line 2"):
        read_lined("a = 1\nb = \n")
