"""A run as it stands: immutable, with everything that was asked in it."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime

from cribdesk.crib.model import UnitModel
from cribdesk.procedure.answers import Asked
from cribdesk.procedure.limits import figure, limit_figures
from cribdesk.procedure.model import PASS, Procedure, Step, asked_of, limit_of
from cribdesk.procedure.paths import ABOVE, End, Node, Place
from cribdesk.procedure.weigh import NO_BAND, Band

BROKEN_OFF = "broken off"


@dataclass(frozen=True)
class Standing:
    """Where a run stands. All but `node` belongs to the step in hand and starts anew with the next one.

    `readings` are those of the present attempt as they count, `band` their guard band; `averaging` says
    that one good reading no longer decides alone; `helped` that a remedy was done since the step was last
    asked; `skipped` names the remedies that could not be done; `value` is the last answer in words.
    """

    node: Node
    retest: int = 0
    readings: tuple[float, ...] = ()
    band: Band = NO_BAND
    averaging: bool = False
    helped: bool = False
    skipped: tuple[str, ...] = ()
    value: str = ""
    remark: str = ""


@dataclass(frozen=True)
class Run:
    """One run through a procedure. `by` is the label of the person, `trail` the standings that 'back' can
    return to, `taken_back` the steps at which a not-good answer was taken back once already."""

    procedure: Procedure
    model: UnitModel
    started: datetime
    by: str
    standing: Standing
    asked: tuple[Asked, ...] = ()
    trail: tuple[Standing, ...] = ()
    taken_back: frozenset[str] = field(default_factory=frozenset)
    broken_off: str | None = None
    ended: datetime | None = None

    @property
    def verdict(self) -> str | None:
        """None while it runs, then 'pass', 'fail' or 'broken off'."""
        if self.broken_off is not None:
            return BROKEN_OFF
        node = self.standing.node
        return node.verdict if isinstance(node, End) else None

    @property
    def asking(self) -> bool:
        """Whether a step's question stands open, not a remedy and not the end."""
        node = self.standing.node
        return isinstance(node, Place) and node.shown == "ask"

    @property
    def not_good(self) -> bool:
        """Whether any answer so far was not good, out of limits or outside its window; once true it stays
        so, also when the answer was taken back or a remedy helped."""
        return any(not asked.good for asked in self.asked)

    @property
    def fault(self) -> str | None:
        """The hold reason's code when the run failed."""
        node = self.standing.node
        return node.fault if isinstance(node, End) and node.verdict != PASS else None

    @property
    def fault_words(self) -> str:
        """Why it failed, as full sentences for the tag; empty unless it failed."""
        node = self.standing.node
        if not isinstance(node, End) or node.verdict == PASS:
            return ""
        step = self.procedure.step(node.step)
        words = node.words or (step.fail_above_words if node.side == ABOVE else step.fail_words)
        low, high, limit = limit_figures(limit_of(step, self.model))
        sentence = words.format(
            value=self.standing.value, low=low, high=high, limit=limit, ladder=self._ladder_words()
        )
        remark = self.standing.remark.strip()
        return f"{sentence} {remark[0].upper()}{remark[1:].rstrip('.')}." if remark else sentence

    def _ladder_words(self) -> str:
        """'after the whole ladder' only where the whole ladder was really done."""
        skipped = self.standing.skipped
        if skipped:
            return f"after the ladder without: {', '.join(skipped)}"
        return "after the whole ladder" if self.standing.retest else "at once"

    @property
    def numbered(self) -> tuple[Step, ...]:
        """The steps of this run that have a number of their own, in order."""
        steps = self.procedure.steps
        return tuple(step for step in steps if asked_of(step, self.model) and not step.continues)

    def number(self, step: Step) -> int:
        """The step's number, from 1; a continuing step has that of the step before it."""
        index = self.procedure.steps.index(step)
        while self.procedure.steps[index].continues:
            index -= 1
        return self.numbered.index(self.procedure.steps[index]) + 1

    def standing_answers(self, step: str) -> tuple[Asked, ...]:
        """The answers of a step that were not taken back, remedies among them, oldest first."""
        return tuple(asked for asked in self.asked if asked.step == step and not asked.replaced)


def reading_words(value: float, unit: str) -> str:
    """'158 L/min'."""
    return f"{figure(value)} {unit}".rstrip()
