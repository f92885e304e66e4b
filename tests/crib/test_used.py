"""The bench's first step by what was in the air; the rows' basis stands in the table itself.

29 CFR 1910.1025(h)(2)(i) forbids compressed air where lead accumulates, as the agency's own page restates it.
"""

from __future__ import annotations

import pytest

from cribdesk.crib.used import GENERATOR, UNKNOWN, caution_words, first_step, read_handling
from tests.procedure.house import text_of

TABLE = read_handling(text_of("tables", "used_filter_handling.csv"))
WORST = TABLE[0]


@pytest.mark.parametrize(
    ("agents", "worst", "names"),
    [
        ("lead", "lead", ("lead",)),
        ("Lead fume, cadmium dust", "cadmium", ("cadmium", "lead")),
        ("Cr(VI)", "chromium(VI)", ("chromium(VI)",)),
        ("lead chromate", "chromium(VI)", ("chromium(VI)", "lead")),
        ("manganese and iron oxide", "manganese and other welding fume", ("manganese and other welding fume",)),
        ("beryllium; Pb", "beryllium", ("beryllium", "lead")),
        ("welding fume", "manganese and other welding fume", ("manganese and other welding fume",)),
    ],
)
def test_the_worst_agent_decides(agents: str, worst: str, names: tuple[str, ...]) -> None:
    """In whatever order they stand, with or without fume and dust."""
    row = next(one for one in TABLE if one.agent == worst)
    found = first_step(agents, TABLE)
    assert (found.step, found.basis, found.agents) == (row.first_step, row.told_basis, names)


STRANGE = ["thorium", "welding fume of stainless steel", "lead, something green", "leaded", "beads"]


@pytest.mark.parametrize("agents", STRANGE)
def test_what_is_not_in_the_table_is_treated_as_the_strictest(agents: str) -> None:
    """Also beside a known one, and where a word only looks like one."""
    found = first_step(agents, TABLE)
    assert found.step == WORST.first_step
    assert "not known" in found.stream


def test_nothing_entered_is_strictest_too_and_says_so() -> None:
    """An empty field is no clean area."""
    found = first_step("  ", TABLE)
    assert (found.step, found.said) == (WORST.first_step, False)
    assert caution_words(found).startswith("What is in the air is not entered: Not known")


def test_the_stream_names_every_agent() -> None:
    """The suggested words for the bag, worst first."""
    assert first_step("lead, cadmium", TABLE).stream == "Used filters, cadmium and lead"


def test_every_metal_forbids_compressed_air_and_asks_for_a_respirator() -> None:
    """29 CFR 1910.1025(h)(2)(i) and its like for the others; shaking and dry brushing raise the same dust."""
    for row in TABLE:
        assert "no compressed air" in row.first_step.lower()
        assert "no shaking" in row.first_step.lower()
        assert "gloves" in row.first_step.lower()
        if row.strictness >= 30:
            assert "respirator" in row.first_step
            assert "HE filter" in row.first_step


def test_each_row_says_how_far_its_basis_is_known() -> None:
    """Verified, restated, or from memory: none stands without it."""
    assert all(row.status for row in TABLE)
    assert {row.agent for row in TABLE} >= {"lead", "cadmium", "chromium(VI)", "beryllium", UNKNOWN}
    assert "40 CFR 262.11" in GENERATOR


def test_what_was_not_seen_in_its_source_is_said_with_the_basis() -> None:
    """A row from memory, or whose paragraph is, shows it wherever the basis stands; one that was seen does not."""
    shown = {row.agent: row.told_basis for row in TABLE}
    assert shown["chromium(VI)"] == "29 CFR 1910.1026(j) (from memory)"
    assert shown["cadmium"] == "29 CFR 1910.1027(k) (paragraph from memory)"
    for row in TABLE:
        assert (row.told_basis == row.basis) is ("memory" not in row.status)
    assert first_step("chromium(VI)", TABLE).basis.endswith("(from memory)")


HEAD = "agent,words,strictness,first_step,stream,basis,status\n"


@pytest.mark.parametrize(
    ("rows", "words"),
    [
        ("lead,lead,x,s,l,b,m\n", "strictness is a whole number"),
        ("lead,lead,5,,l,b,m\n", "first step and its basis"),
        ("lead,,5,s,l,b,m\n", "words that lead goes by"),
        ("lead,lead,5,s,l,b,m\n", "for what is unknown"),
        ("unknown,,5,s,l,b,m\nlead,lead,9,s,l,b,m\n", "for what is unknown"),
    ],
)
def test_a_table_that_cannot_be_is_told(rows: str, words: str) -> None:
    """By its line, or by the row it lacks."""
    with pytest.raises(ValueError, match=words):
        read_handling(HEAD + rows)


def test_without_the_row_nothing_is_guessed() -> None:
    """A table without the strictest row is no table."""
    with pytest.raises(LookupError):
        first_step("lead", [one for one in TABLE if one.agent != UNKNOWN])
