"""The program as a whole: evaluations of it and what was done about them, and who asked for the register of use."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from typing import ClassVar

from cribdesk.crib.records import ProgramEvaluation, Role
from cribdesk.crib.refusal import AlreadyOnFile, Unknown, WrongFigure
from cribdesk.crib.words import date_words, in_sentence
from cribdesk.desk.operation import Context, Operation, Outcome
from cribdesk.desk.ports import Work
from cribdesk.desk.use_register import EVERYTHING, PAPER, RegisterAsked, about_words

LOOKED_AT = (
    "fit, and whether it hinders the work",
    "selection for the hazards",
    "use under the conditions of the workplace",
    "maintenance, cleaning, storage",
    "training",
    "the written program",
)
"""What an evaluation looks at: the first four are what users are asked about, 29 CFR 1910.134(l)(2)(i)-(iv)."""


@dataclass(frozen=True, kw_only=True)
class RecordEvaluation(Operation):
    """One evaluation of the program: what was looked at, what was found, and, where it is set right, how and when."""

    made_on: date
    what: str
    finding: str
    fix: str = ""
    fixed_on: date | None = None

    code: ClassVar[str] = "evaluation"
    words: ClassVar[str] = "Recording a program evaluation"
    may: ClassVar[tuple[Role, ...]] = (Role.PROGRAM,)

    def run(self, work: Work, context: Context) -> Outcome:
        """Keeps it. A day to come, a fix before the finding or a day without a fix is no record."""
        today = context.house.today(context.moment)
        for name, words in (("What was looked at", self.what), ("Finding", self.finding)):
            if not words.strip():
                raise WrongFigure(name, "it is empty")
        if self.made_on > today:
            raise WrongFigure("Evaluated on", "it lies in the future")
        _check_fix(self.fix, self.fixed_on, self.made_on, today)
        work.save(
            ProgramEvaluation(
                made_on=self.made_on,
                what=self.what.strip(),
                finding=self.finding.strip(),
                fix=self.fix.strip(),
                fixed_on=self.fixed_on,
                by_id=context.clerk.id,
            )
        )
        state = "set right" if self.fixed_on else "to be set right" if self.fix.strip() else "nothing planned yet"
        return Outcome(f"Evaluation of the program kept, {in_sentence(self.what.strip())}: {state}.", ())


@dataclass(frozen=True, kw_only=True)
class FixFinding(Operation):
    """What an evaluation found is set right, or is planned to be: `fixed_on` is the day it was."""

    evaluation_id: int
    fix: str
    fixed_on: date | None = None

    code: ClassVar[str] = "fix-finding"
    words: ClassVar[str] = "Setting a finding right"
    may: ClassVar[tuple[Role, ...]] = (Role.PROGRAM,)

    def run(self, work: Work, context: Context) -> Outcome:
        """Keeps it with the evaluation, once; a plan may be said anew until it is done."""
        try:
            found = work.get(ProgramEvaluation, self.evaluation_id)
        except LookupError:
            raise Unknown("This evaluation") from None
        if found.fixed_on is not None:
            raise AlreadyOnFile("What was done about this finding")
        if not self.fix.strip():
            raise WrongFigure("What is done about it", "it is empty")
        _check_fix(self.fix, self.fixed_on, found.made_on, context.house.today(context.moment))
        work.take(found)
        work.save(replace(found, fix=self.fix.strip(), fixed_on=self.fixed_on))
        done = f"set right {date_words(self.fixed_on)}" if self.fixed_on else "planned"
        return Outcome(f"Finding of {date_words(found.made_on)}, {in_sentence(found.what)}: {done}.", ())


@dataclass(frozen=True, kw_only=True)
class AskRegister(Operation):
    """The register of use is asked for: of a label, or of everything. The journal keeps that, and by whom."""

    of: str
    first: date
    last: date

    code: ClassVar[str] = "register"
    words: ClassVar[str] = "Asking for the register of use"
    may: ClassVar[tuple[Role, ...]] = (Role.PROGRAM,)

    def run(self, work: Work, context: Context) -> Outcome:
        """Writes the entry alone: the register itself is derived from what stands."""
        if self.last < self.first:
            raise WrongFigure("To", "it lies before the first day")
        if self.first > context.house.today(context.moment):
            raise WrongFigure("From", "it lies in the future")
        asked = RegisterAsked(self.of, self.first, self.last)
        try:
            RegisterAsked.read(asked.address())
            about_words(work, context.house, self.of)
        except LookupError:
            raise Unknown(f"What is labelled {self.of}") from None
        whole = self.of == EVERYTHING
        sentence = f"Register of use asked for: {'everything' if whole else self.of}, {asked.period()}."
        return Outcome(sentence, () if whole else (self.of,), ((PAPER, asked.address()),))


def _check_fix(fix: str, fixed_on: date | None, made_on: date, today: date) -> None:
    if fixed_on is None:
        return
    if not fix.strip():
        raise WrongFigure("What is done about it", "say it, where it is set right")
    if fixed_on < made_on:
        raise WrongFigure("Set right on", "it lies before the evaluation")
    if fixed_on > today:
        raise WrongFigure("Set right on", "it lies in the future")
