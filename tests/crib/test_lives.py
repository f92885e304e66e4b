"""What a record of a fitted part tells about lives: the table of rules, and every way a record is doubted."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from cribdesk.crib.lives import (
    BY_ITS_WEARER,
    RULES,
    SLACK_HOURS,
    Doubt,
    End,
    Use,
    clock_doubt,
    end_of,
    known_to_the_hour,
    life_of,
)
from cribdesk.desk.hand_out import BY_WEARER

START = datetime(2026, 3, 2, 6, 0, tzinfo=UTC)


@pytest.mark.parametrize(
    ("why", "position", "end"),
    [
        ("", "pre-filter", End.CHANGED),
        ("Pre-filter", "pre-filter", End.CHANGED),
        ("Cover lenses, retainer", "outer-cover-lens", End.CHANGED),
        ("repair", "blower", End.CHANGED),
        ("cracked", "outer-cover-lens", End.CHANGED),
        ("replaced by the one of U000009P", "belt", End.CHANGED),
        ("Airflow", "particulate-filter", End.CHANGED),
        ("Airflow", "pre-filter", End.RUNNING),
        ("by the calendar", "seal", End.RUNNING),
        ("along with the outer cover lens", "pre-filter", End.RUNNING),
        ("recalled lot", "pre-filter", End.RUNNING),
        ("unit scrapped", "blower", End.RUNNING),
        ("swapped with U000009P", "blower", End.MOVED),
        ("robbed for U000009P", "belt", End.MOVED),
        ("changed by its wearer", "pre-filter", End.CHANGED),
        ("  By The Calendar ", "seal", End.RUNNING),
    ],
)
def test_why_a_part_came_out(why: str, position: str, end: End) -> None:
    """Every reason the desk and the sample store write, and a text nobody listed: that one counts as an end."""
    assert end_of(why, position) is end


def test_every_rule_is_reached() -> None:
    """No rule of the table stands behind another one that already took its words."""
    for rule in RULES:
        assert end_of(f"{rule.begins} more", rule.position or "belt") is rule.end


def uses(*hours: float, dust: float | None = None) -> list[Use]:
    """Uses a day apart."""
    return [Use(START + timedelta(days=number), one, dust) for number, one in enumerate(hours, 1)]


def test_an_end_lies_within_the_last_use() -> None:
    """62 h in all, the last use 5 h of them: found between 57 and 62."""
    life, doubt = life_of(End.CHANGED, 62.0, 62.0, 900.0, uses(30, 27, 5))
    assert life is not None
    assert (life.hours, life.last, life.loading, doubt) == (62, 5, 62, None)


def test_hours_are_held_against_the_clock() -> None:
    """A day of slack: round figures are said. A clock set back is another doubt, whatever the hours."""
    assert clock_doubt(100.0 + SLACK_HOURS, 100.0) is None
    assert clock_doubt(100.1 + SLACK_HOURS, 100.0) is Doubt.TOO_MANY
    assert clock_doubt(5.0, -1.0) is Doubt.SET_BACK


@pytest.mark.parametrize(("there", "area"), [(8.0, 3), (7.9, None)])
def test_a_life_tells_of_one_area_where_it_was_mostly_worn_there(there: float, area: int | None) -> None:
    """8 of 10 h are enough; a little less, and it tells of the model alone."""
    worn = [Use(START, there, None, 3), Use(START, 10.0 - there, None, 4)]
    life, _ = life_of(End.CHANGED, 10.0, 10.0, 900.0, worn)
    assert life is not None
    assert life.area_id == area


def test_loading_counts_dust_where_it_is_assessed() -> None:
    """10 h at twice the average dust, 10 h where nothing is assessed, 10 h at half: 20 + 10 + 5."""
    known = [*uses(10, dust=2.0), *uses(10), *uses(10, dust=0.5)]
    life, _ = life_of(End.CHANGED, 30.0, 30.0, 900.0, known)
    assert life is not None
    assert (life.loading, life.known, life.last_loading) == (35, 20, 5)


def test_a_use_that_began_before_the_part_was_fitted_gives_it_no_more_than_it_wore() -> None:
    """Fitted on the way, 3 h worn of a use of 8: the end lies in those 3, and less dust never loads below none."""
    life, _ = life_of(End.CHANGED, 3.0, 3.0, 900.0, uses(8, dust=0.5))
    assert life is not None
    assert (life.hours, life.last, life.loading) == (3, 3, 0)


@pytest.mark.parametrize(
    ("end", "worn", "since", "elapsed", "doubt"),
    [
        (End.CHANGED, -1.0, -1.0, 100.0, Doubt.NEGATIVE),
        (End.RUNNING, 4.0, -2.0, 100.0, Doubt.NEGATIVE),
        (End.CHANGED, 0.0, 0.0, 100.0, Doubt.NEVER_USED),
        (End.RUNNING, 9999.0, 9999.0, 100.0, Doubt.TOO_MANY),
        (End.CHANGED, 100.0 + SLACK_HOURS + 0.1, 100.0 + SLACK_HOURS + 0.1, 100.0, Doubt.TOO_MANY),
    ],
)
def test_what_cannot_be_is_left_out(end: End, worn: float, since: float, elapsed: float, doubt: Doubt) -> None:
    """Negative hours, a change of what was never used, more hours than the clock allows: no life, and it is said."""
    assert life_of(end, worn, since, elapsed, ()) == (None, doubt)


def test_a_clock_set_back_keeps_the_hours() -> None:
    """Removed before it was fitted by the clock: the meter's hours stand, the dust counts as average."""
    life, doubt = life_of(End.CHANGED, 40.0, 40.0, -3.0, uses(40, dust=3.0))
    assert life is not None
    assert (life.hours, life.loading, life.last, doubt) == (40, 40, 0, Doubt.SET_BACK)


def test_never_used_and_still_fitted_is_no_doubt() -> None:
    """A new part says nothing yet, and nothing is wrong with it."""
    life, doubt = life_of(End.RUNNING, 0.0, 0.0, 5.0, ())
    assert life is not None
    assert (life.hours, doubt) == (0, None)


def test_hours_a_part_brought_are_not_doubted() -> None:
    """A blower with 800 h fitted a day ago: only what it wore here is held against the clock."""
    life, doubt = life_of(End.RUNNING, 806.0, 6.0, 24.0, uses(6))
    assert life is not None
    assert (life.hours, doubt) == (806, None)


def test_what_the_wearer_changed_is_known_to_the_hour() -> None:
    """It was changed when it was due, out there; every other end was found at a look. The desk writes these words."""
    assert BY_WEARER == BY_ITS_WEARER
    assert known_to_the_hour(BY_WEARER)
    assert not known_to_the_hour("Pre-filter")
