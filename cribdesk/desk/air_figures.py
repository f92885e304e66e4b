"""How the figures of a finding were reached: its average over 8 h and its highest short-term level.

Samples of 15 minutes or less tell short-term levels; longer ones of one day and series make an average. Time of the
shift that nobody sampled counts like the sampled time (house rule), where the finding states no average. Below
detection: the detection limit counts. The higher of what is stated and what samples tell is held against the limits.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import groupby

from cribdesk.compute.exposure import STANDARD_SHIFT_HOURS
from cribdesk.crib.concentration import IN_ONE_MG, IN_ONE_PPM, Amount, amount, plain
from cribdesk.crib.records import Assessment, Sample
from cribdesk.crib.words import count, date_words, hours
from cribdesk.desk.protection import SHORT_MINUTES, sampled_average

STATED = "as the finding states it"


@dataclass(frozen=True)
class Average:
    """The average over 8 h of one day's samples of one series, and how it was reached."""

    taken_on: date
    series: str
    sampled_hours: float
    amount: Amount
    how: str


@dataclass(frozen=True)
class Figures:
    """What is held against the limits; None where the finding tells no such figure. `how` in words.

    `averages` are those of the samples, the highest first, also where a stated figure is higher.
    """

    shift: Amount | None
    short: Amount | None
    shift_how: str
    short_how: str
    averages: tuple[Average, ...] = ()


def figures_of(made: Assessment, samples: Sequence[Sample], exposed_hours: float | None = None) -> Figures:
    """The figures of a finding, each the higher of what it states and what its samples tell."""
    stated = amount(made.concentration_ng_m3, made.concentration_ppb)
    short_stated = amount(made.short_ng_m3, made.short_ppb)
    averages = _averages(samples, None if stated else exposed_hours or STANDARD_SHIFT_HOURS)
    shorts = [one for one in samples if one.minutes <= SHORT_MINUTES]
    highest = max(shorts, key=lambda one: (sample_amount(one).figure, one.id), default=None)
    shift, how = _higher(stated, averages[0].amount if averages else None, averages[0].how if averages else "")
    told = _highest(highest, len(shorts)) if highest else ""
    short, short_how = _higher(short_stated, sample_amount(highest) if highest else None, told)
    return Figures(shift, short, how, short_how, tuple(averages))


def _higher(stated: Amount | None, sampled: Amount | None, how: str) -> tuple[Amount | None, str]:
    if sampled is None or (stated is not None and stated.figure >= sampled.figure):
        return stated, STATED if stated else ""
    return sampled, how


def sample_amount(one: Sample) -> Amount:
    """What was measured; not detected: the detection limit."""
    found = amount(one.value_ng_m3, one.value_ppb)
    assert found is not None, "a sample has a value"
    return found


def long_samples(samples: Iterable[Sample]) -> list[Sample]:
    """Those that tell of a shift, not of a short-term level."""
    return [one for one in samples if one.minutes > SHORT_MINUTES]


def _averages(samples: Sequence[Sample], exposed_hours: float | None) -> list[Average]:
    def key(one: Sample) -> tuple[date, str]:
        return one.taken_on, one.series

    groups = groupby(sorted(long_samples(samples), key=lambda one: (key(one), one.id)), key)
    found = [_average(on, series, list(group), exposed_hours) for (on, series), group in groups]
    return sorted(found, key=lambda one: -one.amount.figure)


def _average(on: date, series: str, group: list[Sample], exposed_hours: float | None) -> Average:
    parts = [(sample_amount(one).figure, one.minutes / 60) for one in group]
    sampled = sum(length for _, length in parts)
    rest = max(0.0, (exposed_hours or 0.0) - sampled)
    figure = _like(group[0], sampled_average(parts, exposed_hours))
    terms = " + ".join(f"{hours(length)} at {plain(level)}" for level, length in parts)
    more = f"; the other {hours(rest)} of the exposed time count like the sampled" if rest else ""
    whose = f", series {series}" if series else ""
    return Average(on, series, sampled, figure, f"({terms}) of {date_words(on)}{whose}, over 8 h{more}")


def _like(one: Sample, figure: float) -> Amount:
    if one.value_ng_m3 is None:
        return Amount(ppb=round(figure * IN_ONE_PPM))
    return Amount(ng_m3=round(figure * IN_ONE_MG))


def _highest(one: Sample, number: int) -> str:
    found = "" if one.detected else ", below detection: the detection limit counts"
    return f"the highest of {count(number, 'short sample')}, {one.minutes} min on {date_words(one.taken_on)}{found}"
