"""What a person may answer, and the record of what was asked and answered."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

BALL_PLACES = ("above", "at", "below")
OUTCOMES = ("all", "one", "none", "before", "stays")
"""Of a timed step: all signals came; only one; none; one was there before the start; one does not stop."""


@dataclass(frozen=True)
class Good:
    """The thing looked at is good; the action is done."""


@dataclass(frozen=True)
class NotGood:
    """It is not good, cannot be done, or cannot be read; on a repeated reading: go to the ladder."""

    remark: str = ""


@dataclass(frozen=True)
class Measured:
    """A number read off an instrument. `uncertainty_lpm` is the instrument's own standard uncertainty.

    `actual` is what really flowed, by the air's temperature and pressure; None where that was not asked. `guard_lpm` is
    the band that a sure pass keeps over the minimum; None where the minimum itself decides.
    """

    value: float
    instrument_label: str = ""
    uncertainty_lpm: float | None = None
    temperature_c: float | None = None
    pressure_hpa: float | None = None
    actual: float | None = None
    guard_lpm: float | None = None
    by_chart: bool = False

    @property
    def counts(self) -> float:
        """The figure that is judged."""
        return self.value if self.actual is None else self.actual


@dataclass(frozen=True)
class Ball:
    """Where the ball of a meter without numbers stands. `mark` is the flow its mark stands for, None
    when that is the model's minimum."""

    where: str
    instrument_label: str = ""
    mark: float | None = None
    temperature_c: float | None = None


@dataclass(frozen=True)
class Timed:
    """When the outcome came, in seconds since the clock was started, and which outcome it was."""

    seconds: float
    outcome: str = "all"


@dataclass(frozen=True)
class Chosen:
    """One option of a choice, by its text."""

    option: str


@dataclass(frozen=True)
class RemedyDone:
    """The remedy shown was done; `detail` says with what, as 'lot K2608'."""

    detail: str = ""


@dataclass(frozen=True)
class RemedyNotPossible:
    """The remedy shown cannot be done here and now."""

    remark: str = ""


@dataclass(frozen=True)
class Found:
    """What was found at the remedy shown, by its code: it ends the run, mended or not."""

    finding: str


Answer = Good | NotGood | Measured | Ball | Timed | Chosen | RemedyDone | RemedyNotPossible | Found


@dataclass(frozen=True)
class Asked:
    """One question as it was asked, with the answer it got.

    Of a flow meter's reading `value` is what it showed; `actual` what flowed, in air of `temperature_c` and
    `pressure_hpa`; `needed` the least that passes for sure, where a guard band decided.

    `kind` is the step's kind or 'remedy' (then `remedy_kind` and `position` tell which). `value` is the
    single reading, `mean` the mean that decided where several were taken. `retest` counts the remedies
    tried before it was asked, `tried` the plain repeats. `good` is the answer's own verdict; a reading
    that decides by the mean has the mean's. `replaced` answers were taken back and count no more.
    """

    step: str
    number: int
    kind: str
    title: str
    question: str
    limit: str
    answer: str
    good: bool
    moment: datetime
    elapsed_s: float
    by: str
    value: float | None = None
    mean: float | None = None
    unit: str = ""
    instrument: str = ""
    uncertainty: float | None = None
    actual: float | None = None
    temperature_c: float | None = None
    pressure_hpa: float | None = None
    needed: float | None = None
    retest: int = 0
    tried: int = 0
    remedy_kind: str = ""
    position: str = ""
    finding: str = ""
    replaced: bool = False
    replaced_at: datetime | None = None

    @property
    def counts(self) -> float | None:
        """The figure that decided: the mean where one did, else what really flowed, else what was read."""
        return next((one for one in (self.mean, self.actual, self.value) if one is not None), None)
