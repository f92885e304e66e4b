"""What a flow meter's calibrations and daily checks say of the readings made with it.

A finding is a check that told by how much the meter read wrong. It speaks of every reading since the meter's last good
check. Readings stay as they were entered: the corrected value is the reading less the error, derived, never stored.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta, tzinfo

from cribdesk.crib.flow import PASS, decide
from cribdesk.crib.records import Calibration, Instrument, MeterCheck
from cribdesk.crib.words import number

EVER = datetime.min.replace(tzinfo=UTC)
_ROUND = 6  # a difference of two figures must not miss its limit by a float's last digit


@dataclass(frozen=True)
class Finding:
    """By how much a meter read too much (below zero: too little), of readings from `since` to `until`."""

    error_lpm: float
    since: datetime
    until: datetime


@dataclass(frozen=True)
class _Check:
    """One calibration or daily check: the first moment it speaks for, the last reading it speaks of, what it found."""

    begins: datetime
    until: datetime
    error_lpm: float | None
    good: bool


def found_wrong(error_lpm: float, uncertainty_lpm: float) -> bool:
    """Whether a calibration's error is more than the meter's own standard uncertainty (a house rule)."""
    return round(abs(error_lpm) - uncertainty_lpm, _ROUND) > 0


def findings(
    meter: Instrument, calibrations: Iterable[Calibration], checks: Iterable[MeterCheck], zone: tzinfo
) -> tuple[Finding, ...]:
    """Every time the meter was found wrong by a figure, oldest first, each from its last good check on.

    A calibration is known by its day alone: one that was good speaks from the beginning of that day, one that found
    an error speaks of that whole day too. Both are on the safe side. What was read after it was entered was read with
    the meter set right: of that it does not speak.
    """
    ordered = sorted(_all(meter, calibrations, checks, zone), key=lambda one: (one.until, one.good))
    found = (_finding(one, ordered[:index]) for index, one in enumerate(ordered))
    return tuple(one for one in found if one is not None)


def finding_of(
    meter: Instrument,
    made: Calibration | MeterCheck,
    calibrations: Iterable[Calibration],
    checks: Iterable[MeterCheck],
    zone: tzinfo,
) -> Finding | None:
    """What one calibration or check tells, the others given; None where it found the meter good, or no figure."""
    (one,) = _all(meter, [made], (), zone) if isinstance(made, Calibration) else _all(meter, (), [made], zone)
    return _finding(one, [other for other in _all(meter, calibrations, checks, zone) if other.until < one.until])


def _finding(one: _Check, before: Iterable[_Check]) -> Finding | None:
    if one.good or not one.error_lpm:
        return None
    return Finding(one.error_lpm, max((other.begins for other in before if other.good), default=EVER), one.until)


def _all(
    meter: Instrument, calibrations: Iterable[Calibration], checks: Iterable[MeterCheck], zone: tzinfo
) -> Iterable[_Check]:
    for one in calibrations:
        begins, until = day_of(one.made_on, zone)
        if one.entered_at is not None and one.entered_at >= begins:
            until = min(until, one.entered_at)
        yield _Check(begins, until, one.found_error_lpm, not found_wrong(one.found_error_lpm, meter.uncertainty_lpm))
    for check in checks:
        error = None if check.read_lpm is None else check.read_lpm - check.reference_lpm
        yield _Check(check.at, check.at, error, check.good)


def day_of(day: date, zone: tzinfo) -> tuple[datetime, datetime]:
    """The day's first moment and the next day's."""
    return datetime.combine(day, time(), zone), datetime.combine(day + timedelta(days=1), time(), zone)


def error_at(found: Iterable[Finding], at: datetime) -> float:
    """By how much a reading of that moment was wrong; the most where two findings speak of it, 0 where none does."""
    errors = [one.error_lpm for one in found if one.since <= at <= one.until]
    return max(errors, default=0.0)


def corrected(reading_lpm: float, error_lpm: float) -> float:
    """What really flowed."""
    return round(reading_lpm - error_lpm, _ROUND)


def still_passes(
    reading_lpm: float | None, error_lpm: float, minimum_lpm: float | None, guard_lpm: float = 0.0
) -> bool:
    """Whether a reading that passed still does, by the same decision that a new one is put to.

    A ball has no figure that could be corrected, and where no minimum is known nothing can be said: neither passes
    once the meter read too much.
    """
    if error_lpm <= 0:
        return True
    if reading_lpm is None or minimum_lpm is None:
        return False
    return decide(corrected(reading_lpm, error_lpm), minimum_lpm, guard_lpm) == PASS


def correction_words(reading_lpm: float | None, error_lpm: float) -> str:
    """'read 176, meter read 9 too much: 167'; nothing where the meter was right."""
    if not error_lpm:
        return ""
    side = "too much" if error_lpm > 0 else "too little"
    if reading_lpm is None:
        return f"meter read {number(abs(error_lpm))} {side}"
    really = number(corrected(reading_lpm, error_lpm))
    return f"read {number(reading_lpm)}, meter read {number(abs(error_lpm))} {side}: {really}"


MeterErrors = Callable[[int | None, datetime], float]
"""By how much a reading of that meter (its id), made then, was wrong."""
