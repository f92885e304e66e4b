"""Whether a unit may be used, one fact changed at a time; and properties over many facts at once."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cribdesk.crib.model import Position
from cribdesk.crib.serviceable import Serviceable, Standing, calendar_limit, condition, is_current, needs_cleaning
from tests.crib.given import ADDED, BENCHED, NOW, TODAY, back, cleaned, hold, passed, standing, unit, with_part
from tests.procedure.house import models

READY, NOT_CHECKED = Serviceable.READY, Serviceable.NOT_CHECKED
DIRTY, HELD = Serviceable.NEEDS_CLEANING, Serviceable.ON_HOLD
HOUR = timedelta(hours=1)


def test_ready() -> None:
    """No hold, never worn, inspected, everything fitted."""
    assert condition(standing()).state is READY
    assert condition(standing()).why == ()


def test_a_return_never_makes_a_unit_ready() -> None:
    """Whatever was inspected and cleaned before, after its wearer it is dirty and not checked."""
    found = condition(standing(last_custody=back(NOW), last_cleaning=cleaned(NOW - HOUR)))
    assert found.state is NOT_CHECKED
    assert found.dirty
    assert found.why == ("back from its wearer, not looked over yet",)


def test_looked_over_it_needs_cleaning() -> None:
    """The look-over turns the word, and makes nothing ready."""
    looked = passed(kind="return-look", ended_at=NOW + HOUR)
    found = condition(standing(last_custody=back(NOW), last_look=looked, last_pass=passed(ended_at=NOW + 2 * HOUR)))
    assert found.state is DIRTY
    old = replace(looked, ended_at=NOW - HOUR)
    assert condition(standing(last_custody=back(NOW), last_look=old)).state is NOT_CHECKED


def test_cleaned_and_inspected_after_its_wearer_it_is_ready() -> None:
    """In this order only: worn, cleaned, inspected."""
    worn, wet, seen = NOW - 3 * HOUR, NOW - 2 * HOUR, NOW - HOUR
    after = passed(started_at=seen, ended_at=seen + timedelta(minutes=4))
    good = standing(last_custody=back(worn), last_cleaning=cleaned(wet), last_pass=after)
    assert condition(good).state is READY
    before_cleaning = replace(good, last_cleaning=cleaned(NOW))
    assert condition(before_cleaning).why == ("not inspected since it was cleaned",)
    before_return = replace(good, last_pass=passed(started_at=worn - HOUR, ended_at=NOW))
    assert condition(before_return).why == ("not inspected since it came back",)


def test_never_inspected() -> None:
    """A new unit waits for its first inspection."""
    assert condition(standing(last_pass=None)).why == ("never inspected",)


def test_a_meter_out_of_calibration_proves_nothing() -> None:
    """The reading was taken, but not with a meter that could be believed."""
    found = condition(standing(last_pass=passed(instrument_good=False)))
    assert found.state is NOT_CHECKED
    assert found.why == ("its last inspection was made with a meter out of calibration",)


@pytest.mark.parametrize("worn", [False, True])
def test_a_part_changed_since_wants_another_inspection(worn: bool) -> None:
    """Named by position, not by code."""
    there = with_part(standing(), "particulate-filter", fitted_at=BENCHED + timedelta(seconds=1))
    found = condition(there)
    assert found.state is NOT_CHECKED
    assert found.why == ("not inspected since a part was changed: Particulate filter",)


def test_every_open_hold_is_a_reason() -> None:
    """Two holds, both told, whatever else is well; where it is does not matter."""
    holds = (hold(detail="Airflow 158 L/min"), hold("dirty", "cleaned"))
    for where in list(type(unit().where)):
        found = condition(standing(unit=unit(where=where), holds=holds))
        assert found.state is HELD
        assert found.why == ("Airflow too low: Airflow 158 L/min", "Dirty beyond a wipe")


@pytest.mark.parametrize("position", [one.code for one in models()["WL1"].positions if one.required])
def test_a_required_position_left_empty(position: str) -> None:
    """Every one of the model's required positions."""
    there = standing()
    found = condition(replace(there, fitted=tuple(one for one in there.fitted if one.position != position)))
    assert found.state is HELD
    assert found.parts == (position,)
    assert found.why[0].endswith(": none fitted")


def test_past_its_date() -> None:
    """Good through its date, not after it."""
    assert condition(with_part(standing(), "seal", expires_on=TODAY)).state is READY
    found = condition(with_part(standing(), "seal", expires_on=date(2026, 11, 24)))
    assert found.state is HELD
    assert found.why == ("Face seal: past its date, yesterday",)


def test_days_since_fitted() -> None:
    """The pre-filter may stay 180 days (a house limit): the 180th day is its last."""
    last = with_part(standing(), "pre-filter", fitted_at=NOW - timedelta(days=180))
    assert condition(last).state is READY
    found = condition(with_part(standing(), "pre-filter", fitted_at=NOW - timedelta(days=181)))
    assert found.state is HELD
    assert found.why == ("Pre-filter: 180 days fitted, ended yesterday",)


def test_worn_hours_at_the_limit() -> None:
    """A limit in hours is reached when it is reached; a rule of thumb holds nothing back."""
    assert all(one.max_hours is None for one in models()["WL1"].positions)
    over_thumb = with_part(standing(), "pre-filter", worn_before_hours=500.0)
    assert condition(over_thumb).state is READY
    position = replace(models()["WL1"].positions[1], max_hours=60.0)
    limited = replace(models()["WL1"], positions=(models()["WL1"].positions[0], position))
    for worn, state in ((59.9, READY), (60.0, HELD)):
        there = with_part(standing(model="WL1"), "pre-filter", worn_before_hours=worn)
        assert condition(replace(there, model=limited)).state is state


@pytest.mark.parametrize(("ago", "current"), [(0, True), (1, False)])
def test_current_for_the_short_check(ago: int, current: bool) -> None:
    """From the house time on, and only while the unit is ready."""
    since = BENCHED + timedelta(seconds=ago)
    assert is_current(standing(), since) is current
    assert not is_current(standing(holds=(hold(),)), since)


def test_the_earlier_of_date_and_days() -> None:
    """A part's own date and the days it may stay: whichever ends first."""
    position = Position("seal", "Seal", True, 1, ("S",), False, None, 10, None)
    part = replace(standing().fitted[0], fitted_at=ADDED, expires_on=ADDED.date() + timedelta(days=4))
    assert calendar_limit(position, part) == ADDED.date() + timedelta(days=4)
    assert calendar_limit(position, replace(part, expires_on=None)) == ADDED.date() + timedelta(days=10)


steps = st.lists(st.sampled_from(["worn", "cleaned", "bench", "pre-use", "changed", "meter"]), max_size=10)


def played(events: list[str]) -> tuple[Standing, bool, bool]:
    """A standing after these events, an hour apart; whether it is clean, and passed since, told by their order."""
    there, clean, seen = standing(), True, True
    for number, event in enumerate(events, 1):
        at = BENCHED + number * HOUR
        if event == "worn":
            there, clean, seen = replace(there, last_custody=back(at)), False, False
        elif event == "cleaned":
            there, clean, seen = replace(there, last_cleaning=cleaned(at)), True, False
        elif event == "changed":
            there, seen = with_part(there, "belt", fitted_at=at), False
        else:
            run = passed(kind="bench" if event == "meter" else event, started_at=at, ended_at=at + timedelta(minutes=4))
            there, seen = replace(there, last_pass=replace(run, instrument_good=event != "meter")), event != "meter"
    return there, clean, seen


@given(steps)
def test_ready_is_clean_and_passed_since(events: list[str]) -> None:
    """Whatever happened in whatever order: ready exactly when clean, and inspected after everything else."""
    there, clean, seen = played(events)
    assert needs_cleaning(there) is not clean
    assert (condition(there).state is READY) == (clean and seen)


@given(steps, st.sampled_from(["airflow", "dirty", "other"]))
def test_a_hold_never_makes_ready(events: list[str], reason: str) -> None:
    """Adding a hold to any standing holds it."""
    there, _, _ = played(events)
    assert condition(replace(there, holds=(*there.holds, hold(reason)))).state is HELD
