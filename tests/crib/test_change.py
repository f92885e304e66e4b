"""The next consumable change: hours, days, dates, the earliest first."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from math import ceil

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cribdesk.crib.change import due_within, next_change, outlook
from cribdesk.crib.words import NBSP
from tests.crib.given import ADDED, NOW, TODAY, fitted, standing, unit, with_part
from tests.procedure.house import models


def part(code: str, **changes: object):  # type: ignore[no-untyped-def]
    """The outlook of one position at seven hours a day."""
    found = outlook(with_part(standing(), code, **changes), 7.0)
    return next(one for one in found if one.position == code)


def test_along_the_air_path() -> None:
    """Inlet first, face last, every position of the model."""
    assert [one.position for one in outlook(standing(), 7.0)] == [one.code for one in models()["WL1"].positions]


def test_by_the_rule_of_thumb() -> None:
    """60 h for a pre-filter, 41 worn: 19 left, which is 2 more days at 7 h, so it falls due on the third."""
    one = part("pre-filter", worn_before_hours=41.0)
    assert (one.worn_hours, one.life_hours, one.early, one.middle, one.late) == (41, 60, 19, 19, 19)
    assert one.due_on == TODAY + timedelta(days=2)
    assert one.why == f"41{NBSP}h worn; the rule of thumb is 60{NBSP}h"
    assert one.basis == "rule of thumb, common practice, no source"


def test_by_the_calendar_where_it_ends_first() -> None:
    """A date, or days since it was fitted, before the hours run out."""
    one = part("pre-filter", expires_on=date(2026, 11, 26))
    assert one.due_on == one.last_day == date(2026, 11, 26)
    assert one.why.startswith("good until 26 Nov 2026")


def test_without_a_limit() -> None:
    """Nothing known: nothing said, and it is never the next."""
    model = models()["WL1"]
    unlimited = tuple(replace(one, thumb_hours=None, max_days=None) for one in model.positions)
    bare = replace(model, positions=unlimited)
    found = outlook(replace(standing(), model=bare), 7.0)
    assert next_change(found) is None
    assert all(one.due_on is None and one.middle is None for one in found)


def test_none_fitted() -> None:
    """An empty position says so and never falls due."""
    there = standing()
    empty = replace(there, fitted=tuple(one for one in there.fitted if one.position != "belt"))
    one = next(one for one in outlook(empty, 7.0) if one.position == "belt")
    assert (one.fitted, one.why, one.due_on) == (None, "none fitted", None)


def test_the_next_change_is_the_first_to_fall_due() -> None:
    """New, the outer cover lens with its 40 h is the first."""
    found = next_change(outlook(standing(), 7.0))
    assert found is not None
    assert found.position == "outer-cover-lens"
    worn = next_change(outlook(with_part(standing(), "pre-filter", worn_before_hours=59.0), 7.0))
    assert worn is not None
    assert worn.position == "pre-filter"


@given(st.floats(0, 400), st.floats(0, 400), st.integers(1, 24))
def test_hours_left_and_the_day_it_falls_due(before: float, meter: float, a_day: int) -> None:
    """Worn is what it brought plus the meter; due on the day in which the hours run out, today when they have."""
    there = with_part(standing(unit=unit(worn_hours=meter)), "spark-arrestor", worn_before_hours=before)
    one = outlook(there, float(a_day))[0]
    assert one.worn_hours == pytest.approx(before + meter)
    left = 250 - before - meter
    assert one.middle == pytest.approx(left)
    days = 0 if left <= 0 else ceil(left / a_day) - 1
    assert one.due_on is not None
    assert abs((one.due_on - TODAY).days - days) <= 1  # a float's last digit at a whole day


@given(st.floats(0, 300), st.floats(0, 40))
def test_due_within_grows_with_the_hours_planned(worn: float, planned: float) -> None:
    """What falls due within so many hours falls due within more."""
    one = part("pre-filter", worn_before_hours=worn)
    if due_within(one, planned, TODAY):
        assert due_within(one, planned + 1, TODAY)
    assert due_within(one, planned, TODAY) == (60 - worn < planned)


def test_the_meter_counts_from_when_it_was_fitted() -> None:
    """A part fitted at 100 h of the unit's meter has worn what the meter made since, and keeps it when removed."""
    one = replace(fitted()[0], fitted_at_hours=100.0, worn_before_hours=12.0)
    assert one.worn(130.0) == 42.0
    removed = replace(one, removed_at=NOW, removed_at_hours=120.0)
    assert removed.worn(500.0) == 32.0
    assert one.fitted_at == ADDED
