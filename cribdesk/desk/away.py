"""Units neither here nor with their wearer: missing or stolen, sent for repair, lent; and how they come back."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from typing import ClassVar

from cribdesk.crib.label import Kind
from cribdesk.crib.records import AWAY, GONE, Away, AwayKind, Custody, Unit, Where
from cribdesk.crib.refusal import IsAway, NotAway, WrongFigure
from cribdesk.crib.words import date_words
from cribdesk.desk.inspection import FOUND_SHELF, end_away, fetch_unit, must_be_in_hand, not_before
from cribdesk.desk.operation import Context, Operation, Outcome
from cribdesk.desk.ports import Work
from cribdesk.desk.ready_only import must_be_ready
from cribdesk.desk.sealed import leave_cabinet

BACK_SHELF = "bench, back from outside"
BACK_WORDS = "it has to pass at the bench before it is ready"


@dataclass(frozen=True, kw_only=True)
class MarkMissing(Operation):
    """A unit is missing, or known to be stolen; who had it keeps the custody. `said` is who says so, and the rest."""

    unit_id: int
    stolen: bool = False
    said: str = ""

    code: ClassVar[str] = "missing"
    words: ClassVar[str] = "Recording a missing unit"

    def run(self, work: Work, context: Context) -> Outcome:
        """Writes it down once; one that was missing may turn out to be stolen."""
        unit = fetch_unit(work, self.unit_id)
        kind = AwayKind.STOLEN if self.stolen else AwayKind.MISSING
        there = work.first(Away, unit_id=unit.id, ended_at=None)
        if unit.where in AWAY and there is not None and there.kind is kind:
            raise IsAway(unit.label, f"{kind.value} already")
        leave(work, context, unit, _away(work, context, unit, kind, detail=self.said.strip()))
        work.save(replace(unit, where=Where.MISSING, place="stolen" if self.stolen else ""))
        out = work.first(Custody, unit_id=unit.id, returned_at=None) is not None
        held = "; whoever has it on their name answers for it" if out else ""
        return Outcome(f"{unit.label} is {kind.value}{held}.", (unit.label,))


@dataclass(frozen=True, kw_only=True)
class Found(Operation):
    """A missing or stolen unit turned up and lies here."""

    unit_id: int
    found_where: str = ""

    code: ClassVar[str] = "found"
    words: ClassVar[str] = "Recording a found unit"

    def run(self, work: Work, context: Context) -> Outcome:
        """To the bench; one that somebody still has on their name is taken back instead."""
        unit = fetch_unit(work, self.unit_id)
        must_be_in_hand(work, unit)
        if unit.where is not Where.MISSING:
            raise NotAway(unit.label, "missing", unit.where.value)
        _keep_open(work, context, unit, AwayKind.MISSING)
        work.save(replace(unit, where=Where.BENCH, place=FOUND_SHELF))
        place = f", {self.found_where.strip()}" if self.found_where.strip() else ""
        return Outcome(f"{unit.label} turned up{place}; {BACK_WORDS}.", (unit.label,))


@dataclass(frozen=True, kw_only=True)
class SendOut(Operation):
    """A unit goes away for repair, with what is wrong and how it was decontaminated: by whom, how, when.

    `loaner` is what we got meanwhile: the label of a unit of ours, or words for one of theirs.
    """

    unit_id: int
    goes_to: str
    wrong: str
    cleaned_by: str
    cleaned_how: str
    cleaned_on: date
    due_on: date
    loaner: str = ""

    code: ClassVar[str] = "send-out"
    words: ClassVar[str] = "Sending a unit for repair"

    def run(self, work: Work, context: Context) -> Outcome:
        """It leaves with its repair note. No note of decontamination, no way out."""
        unit = fetch_unit(work, self.unit_id)
        must_be_here(work, unit)
        said = {"Goes to": self.goes_to, "What is wrong": self.wrong, "Decontaminated by": self.cleaned_by,
                "Decontaminated how": self.cleaned_how}  # fmt: skip
        for what, words in said.items():
            if not words.strip():
                raise WrongFigure(what, "say it; the note goes with the unit")
        if self.cleaned_on > context.house.today(context.moment):
            raise WrongFigure("Decontaminated on", f"{date_words(self.cleaned_on)} is still to come")
        _still_to_come(self.due_on, context)
        loaner = self._loaner(work, unit)
        away = replace(
            _away(work, context, unit, AwayKind.REPAIR, detail=self.wrong.strip()),
            goes_to=self.goes_to.strip(),
            decontaminated=f"{self.cleaned_how.strip()}, by {self.cleaned_by.strip()}, {date_words(self.cleaned_on)}",
            due_on=self.due_on,
            loaner=self.loaner.strip(),
            loaner_id=loaner.id if loaner else None,
        )
        leave(work, context, unit, away)
        work.save(replace(unit, where=Where.SENT_OUT, place=away.goes_to))
        sentence = f"{unit.label} sent for repair to {away.goes_to}, due back {date_words(self.due_on)}."
        return Outcome(sentence, (unit.label,), (("repair_note", unit.label),))

    def _loaner(self, work: Work, unit: Unit) -> Unit | None:
        """The unit of ours that is named by its label; anything else stands as words."""
        text = self.loaner.strip()
        found = work.first(Unit, label=text) if text[:1] == Kind.UNIT.value else None
        if found is not None and (found.id == unit.id or found.where in GONE):
            raise WrongFigure("Loaner", f"{found.label} cannot stand in: it is {found.where.value}")
        return found


@dataclass(frozen=True, kw_only=True)
class Lend(Operation):
    """A ready unit goes to another crib: in transit until it is scanned there."""

    unit_id: int
    goes_to: str
    due_on: date

    code: ClassVar[str] = "lend"
    words: ClassVar[str] = "Lending a unit"

    def run(self, work: Work, context: Context) -> Outcome:
        """It leaves, where it is ready: at the other crib nobody knows what it lacks."""
        unit = fetch_unit(work, self.unit_id)
        must_be_here(work, unit)
        if not self.goes_to.strip():
            raise WrongFigure("Lent to", "say which crib")
        _still_to_come(self.due_on, context)
        must_be_ready(work, context, unit, "Only a ready unit is lent.")
        goes_to = self.goes_to.strip()
        away = replace(_away(work, context, unit, AwayKind.LENT), goes_to=goes_to, due_on=self.due_on)
        leave(work, context, unit, away)
        work.save(replace(unit, where=Where.SENT_OUT, place=f"lent to {goes_to}"))
        sentence = f"{unit.label} lent to {goes_to}, in transit; due back {date_words(self.due_on)}."
        return Outcome(sentence, (unit.label,))


@dataclass(frozen=True, kw_only=True)
class ArrivedThere(Operation):
    """A lent unit is at the other crib: scanned at their counter, or on their word; `said` is whose."""

    unit_id: int
    said: str = ""

    code: ClassVar[str] = "arrived-there"
    words: ClassVar[str] = "Recording an arrival"

    def run(self, work: Work, context: Context) -> Outcome:
        """It is in transit no more."""
        unit = fetch_unit(work, self.unit_id)
        away = work.first(Away, unit_id=unit.id, ended_at=None)
        if away is None or away.kind is not AwayKind.LENT or unit.where is not Where.SENT_OUT:
            raise NotAway(unit.label, "lent", unit.where.value)
        if away.arrived_at is not None:
            raise IsAway(unit.label, f"at {away.goes_to} already")
        scanned = is_their_counter(context.counter, away.goes_to)
        if not scanned and not self.said.strip():
            raise WrongFigure("Arrived there", f"this is no counter of {away.goes_to}; say who there has it in hand")
        work.take(away)
        work.save(replace(away, arrived_at=max(context.moment, away.since), arrived_word=self.said.strip()))
        how = "scanned there" if scanned else "on their word"
        return Outcome(f"{unit.label} arrived at {away.goes_to}, {how}.", (unit.label,))


@dataclass(frozen=True, kw_only=True)
class Arrive(Operation):
    """A unit is back from repair or from another crib and lies here."""

    unit_id: int

    code: ClassVar[str] = "arrive"
    words: ClassVar[str] = "Taking a unit in again"

    def run(self, work: Work, context: Context) -> Outcome:
        """To the bench: what was done to it nobody here saw."""
        unit = fetch_unit(work, self.unit_id)
        if unit.where is not Where.SENT_OUT:
            raise NotAway(unit.label, "sent out", unit.where.value)
        away = _keep_open(work, context, unit, AwayKind.REPAIR)
        work.save(replace(unit, where=Where.BENCH, place=BACK_SHELF))
        origin = f" from {away.goes_to}" if away.goes_to else ""
        loaner = f" Its loaner goes back: {away.loaner}." if away.loaner else ""
        return Outcome(f"{unit.label} back{origin}; {BACK_WORDS}.{loaner}", (unit.label,))


def is_their_counter(counter: str, crib: str) -> bool:
    """Whether a counter of this store stands in that crib: its name begins with the crib's, whatever the case."""
    return f"{counter.casefold()} ".startswith(f"{crib.strip().casefold()} ")


def must_be_here(work: Work, unit: Unit) -> None:
    """Raises for a unit that somebody has, or that is away already."""
    must_be_in_hand(work, unit)
    if unit.where in AWAY:
        raise IsAway(unit.label, unit.where.value)


def leave(work: Work, context: Context, unit: Unit, away: Away) -> None:
    """The unit is away in this way from now on; an older one that no inspection ended goes on in it."""
    leave_cabinet(work, context, unit)
    end_away(work, context, unit, f"then {away.kind.value}")
    work.save(away)


def _away(work: Work, context: Context, unit: Unit, kind: AwayKind, detail: str = "") -> Away:
    since = not_before(work, unit, context.moment)
    return Away(unit_id=unit.id, kind=kind, detail=detail, since=since, by_id=context.clerk.id)


def _keep_open(work: Work, context: Context, unit: Unit, kind: AwayKind) -> Away:
    """What it was away by; made now for one that was written down before such records were kept."""
    there = work.first(Away, unit_id=unit.id, ended_at=None)
    return there if there is not None else work.save(_away(work, context, unit, kind))


def _still_to_come(due: date, context: Context) -> None:
    if due < context.house.today(context.moment):
        raise WrongFigure("Due back", f"{date_words(due)} is past")
