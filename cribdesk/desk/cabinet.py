"""Cabinets for emergencies and points of use: entering one, what lies in it, its seal, the monthly certification."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import timedelta
from typing import ClassVar

from cribdesk.crib.hold import DIRTY, USED
from cribdesk.crib.label import Kind
from cribdesk.crib.records import Cabinet, Certification, Hold, Inspection, Role, Unit, Verdict, Where
from cribdesk.crib.refusal import LabelTaken, NamedForDanger, WrongFigure
from cribdesk.crib.words import date_words
from cribdesk.desk.away import must_be_here
from cribdesk.desk.inspection import HOLD_SHELF, fetch_unit, must_be_in_hand, not_before, place_hold
from cribdesk.desk.numbering import fresh_label
from cribdesk.desk.operation import Context, Operation, Outcome, fetch
from cribdesk.desk.ports import Work
from cribdesk.desk.ready_only import must_be_ready
from cribdesk.desk.sealed import cabinet_of, leave_cabinet, open_seal

EVERY = timedelta(days=31)
"""A certification holds so long: at least monthly, 29 CFR 1910.134(h)(3)(i)(B)."""

OFFICE = (Role.PROGRAM, Role.SYSTEM, Role.TECHNICIAN)


@dataclass(frozen=True, kw_only=True)
class AddCabinet(Operation):
    """A cabinet is entered. `for_danger` says whether its units might be used in an IDLH atmosphere or the like."""

    cabinet_name: str
    cabinet_place: str
    purpose: str
    for_danger: bool
    seal: str = ""

    code: ClassVar[str] = "add-cabinet"
    words: ClassVar[str] = "Entering a cabinet"
    may: ClassVar[tuple[Role, ...]] = OFFICE

    def run(self, work: Work, context: Context) -> Outcome:
        """Saves it under a fresh label; none for what a filtering respirator may not be used for."""
        name, purpose = self.cabinet_name.strip(), self.purpose.strip()
        if not name:
            raise WrongFigure("Cabinet", "the name is empty")
        if not purpose:
            raise WrongFigure("Purpose", "name what its units may be used for")
        if self.for_danger:
            raise NamedForDanger()
        if work.first(Cabinet, name=name):
            raise LabelTaken(name, "a cabinet in this store")
        cabinet = work.save(
            Cabinet(
                label=fresh_label(work, Kind.CABINET),
                name=name,
                place=self.cabinet_place.strip(),
                purpose=purpose,
                seal=self.seal.strip(),
            )
        )
        sentence = f"Cabinet {name} entered as {cabinet.label}, for {purpose}."
        return Outcome(sentence, (cabinet.label,))


@dataclass(frozen=True, kw_only=True)
class PutInCabinet(Operation):
    """A ready unit is put into a cabinet, which is sealed again: `seal` is the new number."""

    unit_id: int
    cabinet_id: int
    seal: str

    code: ClassVar[str] = "put-in-cabinet"
    words: ClassVar[str] = "Putting a unit into a cabinet"

    def run(self, work: Work, context: Context) -> Outcome:
        """Whoever takes it from there has no time to check it: only a ready one goes in."""
        unit = fetch_unit(work, self.unit_id)
        must_be_here(work, unit)
        cabinet = fetch(work, Cabinet, self.cabinet_id, "This cabinet")
        work.take(cabinet)
        if not cabinet.active:
            raise WrongFigure(cabinet.name, "this cabinet is out of use")
        if unit.where is Where.EMERGENCY and unit.place == cabinet.name:
            raise WrongFigure(unit.label, f"it lies in {cabinet.name} already")
        if context.house.procedure_of(context.house.model_of(unit), "monthly") is None:
            raise WrongFigure(unit.label, "its model has no monthly inspection, so it cannot be certified")
        must_be_ready(work, context, unit)
        seal = _sealed(self.seal)
        leave_cabinet(work, context, unit)
        work.save(replace(unit, where=Where.EMERGENCY, place=cabinet.name))
        work.save(replace(cabinet, seal=seal))
        sentence = f"{unit.label} put into cabinet {cabinet.name}, seal {seal}."
        return Outcome(sentence, (unit.label, cabinet.label))


@dataclass(frozen=True, kw_only=True)
class Certify(Operation):
    """The monthly certification of a unit in its cabinet, on its monthly inspection passed today."""

    unit_id: int
    seal: str
    findings: str = "none"
    action: str = "none"

    code: ClassVar[str] = "certify"
    words: ClassVar[str] = "Certifying a unit"

    def run(self, work: Work, context: Context) -> Outcome:
        """Keeps the five items of 29 CFR 1910.134(h)(3)(iv)(A); its tag prints for the compartment."""
        unit = fetch_unit(work, self.unit_id)
        must_be_in_hand(work, unit)
        cabinet = cabinet_of(work, unit)
        if cabinet is None:
            raise WrongFigure(unit.label, f"it lies in no cabinet of this store: {unit.place or unit.where.value}")
        work.take(cabinet)
        inspection = work.latest(Inspection, unit_id=unit.id, kind="monthly")
        today = context.house.today(context.moment)
        stands = inspection is not None and inspection.verdict is Verdict.PASS and inspection.instrument_good
        if inspection is None or not stands or context.house.today(inspection.ended_at) != today:
            raise WrongFigure(unit.label, "no monthly inspection of it was passed today")
        if cabinet.opened_at is not None and inspection.started_at < cabinet.opened_at:
            raise WrongFigure(unit.label, "the seal was broken after its monthly inspection; inspect it again")
        must_be_ready(work, context, unit)
        for what, words in (("Findings", self.findings), ("Remedial action", self.action)):
            if not words.strip():
                raise WrongFigure(what, "say it, or 'none'")
        seal = _sealed(self.seal)
        made = Certification(
            cabinet_id=cabinet.id,
            unit_id=unit.id,
            inspection_id=inspection.id,
            made_on=today,
            by_id=inspection.by_id,
            findings=self.findings.strip(),
            action=self.action.strip(),
            identity=unit.serial or unit.label,
            seal=seal,
            at=not_before(work, unit, context.moment),
        )
        work.save(made)
        work.save(replace(cabinet, seal=seal))
        sentence = f"{unit.label} in {cabinet.name} certified, seal {seal}; next due {date_words(today + EVERY)}."
        return Outcome(sentence, (unit.label, cabinet.label), (("certification_tag", unit.label),))


@dataclass(frozen=True, kw_only=True)
class BreakSeal(Operation):
    """A cabinet's seal was found broken, or broken to take a unit: what was certified in it counts no more."""

    cabinet_id: int
    why: str = ""

    code: ClassVar[str] = "break-seal"
    words: ClassVar[str] = "Recording a broken seal"

    def run(self, work: Work, context: Context) -> Outcome:
        """Each unit in it is due for its monthly inspection and certification again."""
        cabinet = fetch(work, Cabinet, self.cabinet_id, "This cabinet")
        seal = open_seal(work, context, cabinet)
        units = work.find(Unit, where=Where.EMERGENCY, place=cabinet.name)
        left = f"; to be certified again: {', '.join(one.label for one in units)}" if units else "; nothing is in it"
        why = f", {self.why.strip()}" if self.why.strip() else ""
        sentence = f"Seal {seal or 'of no number'} of cabinet {cabinet.name} broken{why}{left}."
        return Outcome(sentence, (cabinet.label, *(one.label for one in units)))


@dataclass(frozen=True, kw_only=True)
class UsedFromCabinet(Operation):
    """A unit out of a cabinet was used: it lies here, to be cleaned and to pass at the bench."""

    unit_id: int

    code: ClassVar[str] = "used-from-cabinet"
    words: ClassVar[str] = "Taking in a unit used from a cabinet"

    def run(self, work: Work, context: Context) -> Outcome:
        """It is held for both, and what else lies in the cabinet is to be certified again."""
        unit = fetch_unit(work, self.unit_id)
        must_be_in_hand(work, unit)
        if unit.where is not Where.EMERGENCY:
            raise WrongFigure(unit.label, f"it lies in no cabinet but: {unit.where.value}")
        cabinet = leave_cabinet(work, context, unit)
        name = unit.place
        unit = work.save(replace(unit, where=Where.BENCH, place=HOLD_SHELF))
        tags = []
        for reason in (DIRTY, USED):
            if work.first(Hold, unit_id=unit.id, reason=reason.code, released_at=None) is None:
                tags.append(place_hold(work, context, unit, reason, f"used from {name}").tag)
        subjects = (unit.label, *((cabinet.label,) if cabinet else ()), *tags)
        sentence = f"{unit.label} back from cabinet {name}, used: clean it, then inspect it at the bench."
        return Outcome(sentence, subjects, tuple(("tag", tag) for tag in tags[:1]))


def _sealed(seal: str) -> str:
    if not seal.strip():
        raise WrongFigure("Seal", "enter the number of the new seal")
    return seal.strip()
