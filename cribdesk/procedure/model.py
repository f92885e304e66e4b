"""An inspection procedure: steps, their limits, and the ladder of remedies behind every not-good answer."""

from __future__ import annotations

from dataclasses import dataclass

from cribdesk.crib.model import UnitModel
from cribdesk.procedure.limits import LIMITS, Limit

STEP_KINDS = ("look", "action", "reading", "timed", "choice")
REMEDY_KINDS = ("set-up", "clean", "change", "swap-battery", "look-inside")
CONDITIONS = ("powered", "tight_fitting", "battery_models", "alarm_window_s", "alarm_vibrates", "shade_range")
"""What a step's `only_if` may name: the step is left out where the model has none of it."""
LIMIT_NAMES = ("flow_minimum_lpm", "flow_plausible_lpm")
WINDOW_NAMES = ("alarm_window_s",)
FAIL_FIELDS = ("value", "low", "high", "limit", "ladder")
PASS, FAIL, NEXT, REMEDY = "pass", "fail", "next", "remedy"

Figure = float | str | None
"""A limit's figure: a number, or the name of a figure of the unit model."""


NO_FILTER = "no-filter"
FINDINGS = {NO_FILTER: "No filter was in it"}
"""What may be found at a remedy that ends the run at once, whatever could be mended: code and words."""


@dataclass(frozen=True)
class Remedy:
    """One rung of a ladder: what is tried after a not-good answer, and whether the step is asked again.

    `title` heads its page, `words` tell what to do, `short` stands on the track once it is done. `finding` is what may
    be found there that fails the unit at once, with its hold reason and its sentence for the tag.
    """

    kind: str
    position: str | None
    title: str
    words: str
    short: str
    then_retest: bool
    finding: str = ""
    finding_fail: str = ""
    finding_words: str = ""


@dataclass(frozen=True)
class Option:
    """One answer of a choice and where it leads: 'next', 'pass', 'remedy', 'fail', or a step's code."""

    text: str
    leads_to: str


@dataclass(frozen=True)
class Step:
    """One thing asked. `continues` marks a further page of the step before it, or another way to do
    it behind a choice: same number, no row of its own.

    `tries` is how often it may be asked before the ladder (readings: averaged; timed: a plain repeat).
    `ladder` answers what is not good or too low; `above_ladder` a reading above the plausible band.
    `fail` and `fail_above` are hold reason codes; `fail_words` a full sentence for the tag, in which
    {value}, {low}, {high}, {limit}, {ladder} are filled in.
    """

    code: str
    kind: str
    title: str
    question: str
    instruction: str
    good: str = ""
    bad: tuple[str, ...] = ()
    picture: str | None = None
    position: str | None = None
    only_if: str | None = None
    continues: bool = False
    then: str = NEXT
    quantity: str = ""
    unit: str = ""
    instrument: str = ""
    allows_ball: bool = False
    limit_kind: str | None = None
    low: Figure = None
    high: Figure = None
    window: str | None = None
    signals: bool = False
    options: tuple[Option, ...] = ()
    tries: int = 1
    ladder: tuple[Remedy, ...] = ()
    above_ladder: tuple[Remedy, ...] = ()
    fail: str = ""
    fail_words: str = ""
    fail_short: str = ""
    fail_above: str = ""
    fail_above_words: str = ""


@dataclass(frozen=True)
class Procedure:
    """A whole procedure as its TOML text says; `digest` is the SHA-256 of that text in hex."""

    code: str
    name: str
    kind: str
    revision: int
    file: str
    text: str
    digest: str
    steps: tuple[Step, ...]

    def step(self, code: str) -> Step:
        """The step of that code; KeyError when there is none."""
        for step in self.steps:
            if step.code == code:
                return step
        raise KeyError(code)


def asked_of(step: Step, model: UnitModel) -> bool:
    """Whether the step is asked of units of this model ('only_if')."""
    return step.only_if is None or bool(getattr(model, step.only_if))


def limit_of(step: Step, model: UnitModel) -> Limit | None:
    """The step's limit with the model's figures in it; None where the step has no limit.

    Raises ValueError when the model lacks a figure that the step names.
    """
    if step.limit_kind is None:
        return None
    if step.window is not None:
        window = getattr(model, step.window)
        if window is None:
            raise ValueError(f"Model {model.code} has no {step.window}.")
        return LIMITS[step.limit_kind].make(window[0], window[1], step.unit)
    low, high = (_figure(value, model) for value in (step.low, step.high))
    return LIMITS[step.limit_kind].make(low, high, step.unit)


def _figure(value: Figure, model: UnitModel) -> float | None:
    if not isinstance(value, str):
        return value
    figure: float | None = getattr(model, value)
    if figure is None:
        raise ValueError(f"Model {model.code} has no {value}.")
    return figure


def signals_of(step: Step, model: UnitModel) -> tuple[str, ...]:
    """What an alarm of this model does when it comes; empty for a plain clock."""
    if not step.signals:
        return ()
    return ("sounds", "vibrates") if model.alarm_vibrates else ("sounds",)
