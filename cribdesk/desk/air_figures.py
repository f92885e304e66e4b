"""How the figures of a finding are reached: its average over 8 h and its highest short-term level.

Samples of 15 minutes or less tell short-term levels; longer ones of one day and series make an average. Time of the
shift that nobody sampled counts like the sampled time (house rule), where the finding states no average. Below
detection: the detection limit counts. The higher of what is stated and what samples tell is held against the limits.
A short-term level is never lower than what was found over a longer time: the highest quarter of an hour cannot be.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import groupby

from cribdesk.compute.exposure import STANDARD_SHIFT_HOURS, time_weighted_average
from cribdesk.crib.concentration import IN_ONE_MG, IN_ONE_PPM, Amount, amount, plain
from cribdesk.crib.records import Assessment, Sample
from cribdesk.crib.words import count, date_words, hours

SHORT_MINUTES = 15
"""A sample no longer than this tells of a short-term level: 29 CFR 1910.1000(a)(1)."""

HOUR = 60
STATED = "as the finding states it"


@dataclass(frozen=True)
class Average:
    """The average over 8 h of one day's samples of one series. `parts` are its (concentration, hours).

    `level` is exact, in the unit of the table of limits; `amount` is as it is shown; `rest_hours` nobody sampled.
    """

    taken_on: date
    series: str
    parts: tuple[tuple[float, float], ...]
    level: float
    amount: Amount
    rest_hours: float

    @property
    def sampled_hours(self) -> float:
        """How long the samples took together."""
        return sum(length for _, length in self.parts)

    @property
    def how(self) -> str:
        """How it was reached, in words."""
        terms = " + ".join(f"{hours(length)} at {plain(level)}" for level, length in self.parts)
        rest = self.rest_hours
        more = f"; the other {hours(rest)} of the exposed time count like the sampled" if rest else ""
        whose = f", series {self.series}" if self.series else ""
        return f"({terms}) of {date_words(self.taken_on)}{whose}, over 8 h{more}"


@dataclass(frozen=True)
class Figures:
    """What is held against the limits; None where the finding tells no such figure. `how` in words.

    `average` is what `shift` shows, exactly: in the unit of the table of limits. `averages` are those of the samples,
    the highest first, also where a stated figure is higher. `sampled_on` is the day of the last sample, `highest` the
    highest of every figure there is, for what is immediately dangerous.
    """

    shift: Amount | None
    short: Amount | None
    shift_how: str
    short_how: str
    averages: tuple[Average, ...] = ()
    average: float | None = None
    highest: float | None = None
    sampled_on: date | None = None


def figures_of(made: Assessment, samples: Sequence[Sample], exposed_hours: float | None = None) -> Figures:
    """The figures of a finding, each the higher of what it states and what its samples tell."""
    stated = amount(made.concentration_ng_m3, made.concentration_ppb)
    averages = _averages(samples, None if stated else exposed_hours or STANDARD_SHIFT_HOURS)
    shift, how, average = stated, STATED if stated else "", stated.figure if stated else None
    if averages and (average is None or averages[0].level > average):
        shift, how, average = averages[0].amount, averages[0].how, averages[0].level
    short, short_how = _short(made, samples, stated)
    known = [average, short.figure if short else None, *(sample_amount(one).figure for one in samples)]
    return Figures(
        shift, short, how, short_how, tuple(averages), average,
        highest=max((one for one in known if one is not None), default=None),
        sampled_on=max((one.taken_on for one in samples), default=None),
    )  # fmt: skip


def _short(made: Assessment, samples: Sequence[Sample], average: Amount | None) -> tuple[Amount | None, str]:
    """The highest short-term level, where there is one; no lower than what was found over a longer time."""
    stated = amount(made.short_ng_m3, made.short_ppb)
    shorts = [one for one in samples if one.minutes <= SHORT_MINUTES]
    known = [(stated, STATED)] if stated else []
    known += [(sample_amount(one), _highest(one, len(shorts))) for one in shorts]
    if not known:
        return None, ""
    known += [(average, "the average over 8 h is higher than any short-term level: it counts")] if average else []
    known += [(sample_amount(one), _longer(one)) for one in long_samples(samples)]
    return max(known, key=lambda one: one[0].figure)


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
    return sorted(found, key=lambda one: -one.level)


def _average(on: date, series: str, group: list[Sample], exposed_hours: float | None) -> Average:
    parts = tuple((sample_amount(one).figure, one.minutes / HOUR) for one in group)
    level = sampled_average(parts, exposed_hours)
    rest = max(0.0, (exposed_hours or 0.0) - sum(length for _, length in parts))
    return Average(on, series, parts, level, _like(group[0], level), rest)


def sampled_average(
    intervals: Sequence[tuple[float, float]], exposed_hours: float | None = STANDARD_SHIFT_HOURS
) -> float:
    """The 8-hour average of one day's samples; exposed time that was not sampled counts as the mean of what was.

    With `exposed_hours` None the time that was not sampled counts as clean, as 29 CFR 1910.1000(d)(1)(i) has it: for
    who knows that it was.
    """
    sampled = sum(taken for _, taken in intervals)
    rest = max(0.0, (exposed_hours or 0.0) - sampled)
    whole = list(intervals)
    if rest and sampled:
        whole.append((time_weighted_average(intervals, sampled), rest))
    return time_weighted_average(whole)


def average_of_short(level: float, exposed_hours: float | None) -> float:
    """What a short-term level comes to as an average over 8 h where nothing else is known: it held all the time.

    On a day longer than 8 h the sum is still divided by 8: 29 CFR 1910.1000(d)(1)(i).
    """
    return level * max(STANDARD_SHIFT_HOURS, exposed_hours or 0.0) / STANDARD_SHIFT_HOURS


def _like(one: Sample, figure: float) -> Amount:
    if one.value_ng_m3 is None:
        return Amount(ppb=round(figure * IN_ONE_PPM))
    return Amount(ng_m3=round(figure * IN_ONE_MG))


def _highest(one: Sample, number: int) -> str:
    return f"the highest of {count(number, 'short sample')}, {one.minutes} min on {_when(one)}"


def _longer(one: Sample) -> str:
    return f"a sample of {one.minutes} min on {_when(one)}, higher than any short-term level: it counts"


def _when(one: Sample) -> str:
    found = "" if one.detected else ", below detection: the detection limit counts"
    return f"{date_words(one.taken_on)}{found}"
