"""Line numbers and faults of a TOML text."""

from __future__ import annotations

from cribdesk.crib.toml_text import line_index, parse


def test_nested_tables_have_their_own_lines() -> None:
    """A table inside an array of tables belongs to the last one opened, also in the line index."""
    lines = line_index(
        '[[step]]\ncode = "a"\n[[step.remedy]]\nkind = "clean"\n'
        '[[step]]\n[[step.remedy]]\n[[step.remedy]]\nkind = "change"\n'
    )
    assert lines["step", 0, "code"] == 2
    assert lines["step", 0, "remedy", 0, "kind"] == 4
    assert lines["step", 1, "remedy", 1] == 7
    assert lines["step", 1, "remedy", 1, "kind"] == 8


def test_what_stands_inside_a_long_value_is_no_key() -> None:
    """Keys inside multi-line texts and arrays are not taken for keys of the table."""
    text = 'a = """\nb = 1\n[c]\n"""\nd = [\n  "x = 1", # y = [\n]\ne = 2\n'
    assert set(line_index(text)) == {("a",), ("d",), ("e",)}


def test_a_missing_key_is_told_at_its_table() -> None:
    """Where the key itself has no line, the table's stands in, and the place names the code."""
    top, book = parse('x = 1\n[[part]]\ncode = "valve"\n', "f.toml")
    top.sections("part")[0].text("name")
    assert str(book.faults[0]) == "f.toml, line 2, part 1 (valve), name: this key is missing."
