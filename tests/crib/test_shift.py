"""Shifts by the wall clock, held against what zoneinfo says of Europe/Vienna."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cribdesk.crib.shift import Shift, read_plan, turn_at, turn_before, turns

VIENNA = ZoneInfo("Europe/Vienna")
PLAN = read_plan("Day 06:00-14:30, Late 14:30-22:00, Night 22:00-06:00")
EARLY = timedelta(minutes=60)


def night_of(on: date) -> timedelta:
    """How long the night shift that begins on a day lasts."""
    night = next(one for one in turns(PLAN, VIENNA, on) if one.name == "Night" and _local(one.start).date() == on)
    return night.end - night.start


def _local(moment: datetime) -> datetime:
    return moment.astimezone(VIENNA)


@pytest.mark.parametrize(
    ("on", "hours"), [(date(2026, 3, 28), 7), (date(2026, 10, 24), 9), (date(2026, 3, 27), 8), (date(2026, 11, 24), 8)]
)
def test_a_night_is_seven_or_nine_hours_when_the_clock_changes(on: date, hours: int) -> None:
    """Summer time begins in the night to 29 March 2026 and ends in the night to 25 October 2026."""
    assert night_of(on) == timedelta(hours=hours)
    offsets = {datetime.combine(on + timedelta(days=n), time(12), VIENNA).utcoffset() for n in (0, 1)}
    assert (len(offsets) == 2) == (hours != 8)  # zoneinfo's own word on the change


@given(st.datetimes(datetime(2025, 1, 1), datetime(2027, 12, 31), timezones=st.just(UTC)))
def test_every_moment_has_a_turn(moment: datetime) -> None:
    """It runs, or begins within the hour, at the wall clock the plan names; the one before began earlier."""
    turn = turn_at(PLAN, VIENNA, moment, EARLY)
    assert turn.start - EARLY <= moment < turn.end
    shift = next(one for one in PLAN if one.name == turn.name)
    assert _local(turn.start).time() == shift.start
    assert _local(turn.end).time() == shift.end
    before = turn_before(PLAN, VIENNA, turn)
    assert before.start < turn.start
    assert before.end == turn.start  # this plan leaves no gap


@pytest.mark.parametrize(
    ("local", "name"),
    [
        ("2026-11-25T04:59", "Night"), ("2026-11-25T05:00", "Day"), ("2026-11-25T13:29", "Day"),
        ("2026-11-25T13:30", "Late"), ("2026-11-25T21:00", "Night"), ("2026-11-25T23:59", "Night"),
    ],
)  # fmt: skip
def test_who_is_at_the_counter(local: str, name: str) -> None:
    """Within an hour of its start it is the coming crew's shift."""
    moment = datetime.fromisoformat(local).replace(tzinfo=VIENNA).astimezone(UTC)
    assert turn_at(PLAN, VIENNA, moment, EARLY).name == name


def test_a_gap_goes_to_the_next_shift() -> None:
    """Outside every shift units are issued for the next one, also over a weekend of one shift a day."""
    plan = read_plan("Day 08:00-12:00")
    turn = turn_at(plan, VIENNA, datetime(2026, 11, 25, 20, 0, tzinfo=UTC), EARLY)
    assert _local(turn.start) == datetime(2026, 11, 26, 8, 0, tzinfo=VIENNA)


def test_one_shift_round_the_clock_a_day_back() -> None:
    """A shift of one a day: the one before it began a day earlier."""
    plan = read_plan("Day 08:00-12:00")
    turn = turn_at(plan, VIENNA, datetime(2026, 11, 25, 9, 0, tzinfo=UTC), EARLY)
    assert turn.start - turn_before(plan, VIENNA, turn).start == timedelta(days=1)


def test_a_plan_is_read_in_the_order_of_its_starts() -> None:
    """Rows in any order, one-digit hours."""
    assert read_plan("B 14:30-22:00, A 6:00-14:30") == (
        Shift("A", time(6), time(14, 30)),
        Shift("B", time(14, 30), time(22)),
    )


@pytest.mark.parametrize("text", ["", "Day", "Day 6-14", "Day 25:00-26:00", "Day 06:00-06:00", "06:00-14:00"])
def test_a_plan_that_is_none(text: str) -> None:
    """What is wrong is said, with the row."""
    with pytest.raises(ValueError, match=r"is no shift|is none|no length"):
        read_plan(text)
