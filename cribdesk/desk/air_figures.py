"""The figures of a finding: its average over 8 h and its highest short-term level, stated or out of its samples.

Samples of 15 minutes or less tell short-term levels; longer ones of one day and series make an average. Time of the
shift that nobody sampled counts like the sampled time (house rule; never as clean). Below detection: the detection
limit counts.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import groupby

from cribdesk.compute.exposure import time_weighted_average
from cribdesk.crib.concentration import IN_ONE_MG, IN_ONE_PPM, Amount, amount, plain
from cribdesk.crib.records import Assessment, Sample
from cribdesk.crib.words import count, date_words, hours

SHORT_MINUTES = 15
"""A short-term limit is an average over 15 minutes: 29 CFR 1910.1000(a)(1), where it cannot be read at once."""
SHIFT_MINUTES = 480


@dataclass(frozen=True)
class Average:
    """The average over 8 h of one day's samples of one series, and how it was reached."""

    taken_on: date
    series: str
    sampled_minutes: int
    exposed_minutes: int
    amount: Amount
    how: str


@dataclass(frozen=True)
class Figures:
    """What is held against the limits; None where the finding tells no such figure. `how` in words.

    `averages` are those of the samples, the highest first, also where a stated figure leads.
    """

    shift: Amount | None
    short: Amount | None
    shift_how: str
    short_how: str
    averages: tuple[Average, ...] = ()


def figures_of(made: Assessment, samples: Sequence[Sample], exposed_minutes: int | None = None) -> Figures:
    """The figures of a finding. A stated one leads; without it the highest that its samples tell."""
    averages = _averages(samples, exposed_minutes or SHIFT_MINUTES)
    stated = amount(made.concentration_ng_m3, made.concentration_ppb)
    short_stated = amount(made.short_ng_m3, made.short_ppb)
    shorts = [one for one in samples if one.minutes <= SHORT_MINUTES]
    highest = max(shorts, key=lambda one: (sample_amount(one).figure, one.id), default=None)
    shift, how = (stated, "as the finding states it") if stated else (None, "")
    if shift is None and averages:
        shift, how = averages[0].amount, averages[0].how
    short, short_how = (short_stated, "as the finding states it") if short_stated else (None, "")
    if short is None and highest is not None:
        short, short_how = sample_amount(highest), _highest(highest, len(shorts))
    return Figures(shift, short, how, short_how, tuple(averages))


def sample_amount(one: Sample) -> Amount:
    """What was measured; not detected: the detection limit."""
    found = amount(one.value_ng_m3, one.value_ppb)
    assert found is not None, "a sample has a value"
    return found


def long_samples(samples: Iterable[Sample]) -> list[Sample]:
    """Those that tell of a shift, not of a short-term level."""
    return [one for one in samples if one.minutes > SHORT_MINUTES]


def _averages(samples: Sequence[Sample], exposed: int) -> list[Average]:
    def key(one: Sample) -> tuple[date, str]:
        return one.taken_on, one.series

    groups = groupby(sorted(long_samples(samples), key=lambda one: (key(one), one.id)), key)
    found = [_average(on, series, list(group), exposed) for (on, series), group in groups]
    return sorted(found, key=lambda one: -one.amount.figure)


def _average(on: date, series: str, group: list[Sample], exposed: int) -> Average:
    sampled = sum(one.minutes for one in group)
    parts = [(sample_amount(one).figure, one.minutes / 60) for one in group]
    rest = max(0, exposed - sampled)
    mean = sum(level * length for level, length in parts) / (sampled / 60)
    average = time_weighted_average([*parts, (mean, rest / 60)] if rest else parts)
    figure = _like(group[0], average)
    terms = " + ".join(f"{hours(length)} at {plain(level)}" for level, length in parts)
    more = f"; the other {hours(rest / 60)} of the exposed time count like the sampled" if rest else ""
    whose = f", series {series}" if series else ""
    how = f"({terms}) of {date_words(on)}{whose}, over 8 h{more}"
    return Average(on, series, sampled, exposed, figure, how)


def _like(one: Sample, figure: float) -> Amount:
    if one.value_ng_m3 is None:
        return Amount(ppb=round(figure * IN_ONE_PPM))
    return Amount(ng_m3=round(figure * IN_ONE_MG))


def _highest(one: Sample, number: int) -> str:
    found = "" if one.detected else ", below detection: the detection limit counts"
    return f"the highest of {count(number, 'short sample')}, {one.minutes} min on {date_words(one.taken_on)}{found}"
