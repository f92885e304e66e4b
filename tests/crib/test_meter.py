"""What a meter's calibrations and checks say of its readings; minimum airflow by 42 CFR 84.179(a), 170 L/min."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest

from cribdesk.crib.meter import corrected, correction_words, error_at, findings, found_wrong, still_passes
from cribdesk.crib.records import Calibration, Instrument, MeterCheck
from tests.crib.given import NOW

METER = Instrument(
    id=1, label="M000001", name="Flow meter", uncertainty_lpm=3.0, calibrated_on=date(2026, 1, 1),
    calibrated_until=date(2027, 1, 1),
)  # fmt: skip
FLOOR = 170.0
"""42 CFR 84.179(a): least airflow of a loose-fitting powered respirator at its certification."""


def calibration(on: date, error: float = 0.0) -> Calibration:
    """A calibration of that day."""
    return Calibration(instrument_id=1, made_on=on, good_until=on + timedelta(days=365), found_error_lpm=error)


def check(at: datetime, read: float | None, good: bool) -> MeterCheck:
    """A check against 190 L/min."""
    return MeterCheck(
        instrument_id=1, reference_lpm=190.0, read_lpm=read, good=good, wording_id=1, answers="{}", at=at, by_id=1
    )


@pytest.mark.parametrize(
    ("reading", "error", "passes"),
    [(176, 9, False), (179, 9, True), (178.9, 9, False), (176, 6, True), (171, -9, True), (None, 4, False),
     (None, 0, True), (None, -4, True)],
)  # fmt: skip
def test_a_reading_less_the_error_must_reach_the_floor(reading: float | None, error: float, passes: bool) -> None:
    """At the floor it passes, a tenth under it does not; a ball cannot be corrected; too little is never unsafe."""
    assert still_passes(reading, error, FLOOR) is passes


def test_a_guard_band_asks_for_more_of_an_old_reading_too() -> None:
    """With a meter of 3 L/min standard uncertainty 170 + 4.93 is needed: JCGM 106:2012, z = 1.645 for 95 %."""
    assert still_passes(184, 9, FLOOR, 4.9346)
    assert not still_passes(183, 9, FLOOR, 4.9346)
    assert still_passes(160, -9, FLOOR, 4.9346), "too little was never unsafe"


def test_without_a_minimum_nothing_passes_on_a_wrong_meter() -> None:
    """Where no minimum is known nothing can be said, so it does not stand."""
    assert not still_passes(300.0, 1.0, None)
    assert still_passes(300.0, 0.0, None)


def test_tenths_do_not_miss_by_a_floats_last_digit() -> None:
    """170.3 less 0.3 is 170 exactly, and 3.3 less 3 is no more than 0.3."""
    assert corrected(170.3, 0.3) == 170.0
    assert still_passes(170.3, 0.3, FLOOR)
    assert not found_wrong(0.3, 0.1 + 0.2)


def test_the_words_name_reading_error_and_what_flowed() -> None:
    """The reading stands as it was entered."""
    assert correction_words(176, 9) == "read 176, meter read 9 too much: 167"
    assert correction_words(176, -9) == "read 176, meter read 9 too little: 185"
    assert correction_words(None, 4) == "meter read 4 too much"
    assert correction_words(176, 0) == ""


def test_a_finding_speaks_from_the_last_good_check_on() -> None:
    """A later good calibration or daily check bounds it; one that was wrong itself does not."""
    first, wrong = date(2026, 3, 1), date(2026, 9, 1)
    good_check = check(datetime(2026, 6, 1, 6, tzinfo=UTC), 191.0, True)
    (alone,) = findings(METER, [calibration(first), calibration(wrong, 9.0)], [], UTC)
    assert (alone.since, alone.until) == (datetime(2026, 3, 1, tzinfo=UTC), datetime(2026, 9, 2, tzinfo=UTC))
    (bounded,) = findings(METER, [calibration(first), calibration(wrong, 9.0)], [good_check], UTC)
    assert bounded.since == good_check.at
    twice = findings(METER, [calibration(first, 5.0), calibration(wrong, 9.0)], [], UTC)
    assert [one.error_lpm for one in twice] == [5.0, 9.0]
    assert twice[0].since == twice[1].since
    assert twice[1].since < datetime(1900, 1, 1, tzinfo=UTC)


def test_what_is_read_after_the_certificate_was_entered_is_read_right() -> None:
    """On the day of the calibration itself: an hour before its entry the reading is in doubt, an hour after not."""
    entered = datetime(2026, 9, 1, 10, tzinfo=UTC)
    made = replace(calibration(date(2026, 9, 1), 9.0), entered_at=entered)
    found = findings(METER, [made], [], UTC)
    assert error_at(found, entered - timedelta(hours=1)) == 9.0
    assert error_at(found, entered + timedelta(hours=1)) == 0.0
    late = replace(made, entered_at=entered + timedelta(days=3))
    assert findings(METER, [late], [], UTC)[0].until == datetime(2026, 9, 2, tzinfo=UTC)


def test_an_error_within_the_uncertainty_is_a_good_check() -> None:
    """3 with a standard uncertainty of 3 is no finding; 3.1 is."""
    assert findings(METER, [calibration(date(2026, 9, 1), 3.0)], [], UTC) == ()
    assert len(findings(METER, [calibration(date(2026, 9, 1), 3.1)], [], UTC)) == 1


def test_a_bad_daily_check_counts_by_its_figure() -> None:
    """Read less reference; without a figure it tells no error."""
    (one,) = findings(METER, [calibration(date(2026, 3, 1))], [check(NOW, 199.5, False)], UTC)
    assert one.error_lpm == 9.5
    assert findings(METER, [], [check(NOW, None, False)], UTC) == ()


def test_a_reading_takes_the_worst_error_that_speaks_of_it() -> None:
    """Outside every finding it is right."""
    found = findings(METER, [calibration(date(2026, 3, 1), 5.0), calibration(date(2026, 9, 1), 9.0)], [], UTC)
    assert error_at(found, datetime(2026, 2, 1, tzinfo=UTC)) == 9.0
    assert error_at(found, datetime(2026, 6, 1, tzinfo=UTC)) == 9.0
    assert error_at(found, datetime(2026, 10, 1, tzinfo=UTC)) == 0.0
