"""What the program administrator has to see: a worker's refusal or wish as it was said, and the answer to it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import ClassVar

from cribdesk.crib.records import Notice, NoticeKind, Person, Role, SealLook, Unit
from cribdesk.crib.refusal import AlreadyOnFile, Unknown, WrongFigure
from cribdesk.crib.words import clock
from cribdesk.desk.facts import SEAL_CLEAR, hair_seen
from cribdesk.desk.operation import Context, Operation, Outcome, fetch
from cribdesk.desk.ports import Work

AT_THE_COUNTER = (
    NoticeKind.REFUSED,
    NoticeKind.SIZE,
    NoticeKind.HAIR,
    NoticeKind.WANTS_POWERED,
    NoticeKind.OTHER,
)
"""What a worker says at the counter; the other kinds come of inspections and calibrations."""

SAID = {
    NoticeKind.REFUSED: "refused to wear it",
    NoticeKind.SIZE: "has the wrong size",
    NoticeKind.HAIR: "has facial hair at the seal",
    NoticeKind.WANTS_POWERED: "asks for a powered respirator",
    NoticeKind.OTHER: "said something else",
}


@dataclass(frozen=True, kw_only=True)
class RecordRefusal(Operation):
    """A worker refuses a unit, cannot wear it, or asks for another kind; no medical detail is asked."""

    person_id: int
    kind: NoticeKind
    unit_id: int | None = None
    detail: str = ""
    offered: str = ""

    code: ClassVar[str] = "refusal"
    words: ClassVar[str] = "Recording a refusal"

    def run(self, work: Work, context: Context) -> Outcome:
        """Keeps it for the program administrator; the unit stays where it is."""
        if self.kind not in AT_THE_COUNTER:
            raise WrongFigure("What it is", "this kind comes of an inspection or a calibration")
        if self.kind is NoticeKind.OTHER and not self.detail.strip():
            raise WrongFigure("In words", "say what it is")
        if SEAL_CLEAR in self.offered:
            raise WrongFigure("Offered instead", "that the seal is clear again is said by its own command")
        person = fetch(work, Person, self.person_id, "This person")
        unit = fetch(work, Unit, self.unit_id, "This unit") if self.unit_id else None
        work.save(
            Notice(
                kind=self.kind,
                person_id=person.id,
                unit_id=unit.id if unit else None,
                detail=self.detail.strip(),
                offered=self.offered.strip(),
                at=context.moment,
                by_id=context.clerk.id,
            )
        )
        about = f", {unit.label}" if unit else ""
        sentence = f"{person.label} {SAID[self.kind]}{about}. The program administrator sees it."
        return Outcome(sentence, (person.label, *((unit.label,) if unit else ())))


@dataclass(frozen=True, kw_only=True)
class SayClear(Operation):
    """The seal of somebody with facial hair was looked at again, and is clear."""

    person_id: int

    code: ClassVar[str] = "seal-clear"
    words: ClassVar[str] = "Recording a clear seal"

    def run(self, work: Work, context: Context) -> Outcome:
        """Writes it beside today's notice, as a look that found nothing: tight-fitting units go out to them again."""
        person = fetch(work, Person, self.person_id, "This person")
        seen = hair_seen(work, context.house, person, context.moment)
        notice = work.latest(Notice, person_id=person.id, kind=NoticeKind.HAIR)
        if seen is None or notice is None:
            raise WrongFigure("Seal", f"no facial hair was noted today at the seal of {person.label}")
        work.take(notice)
        work.save(SealLook(person_id=person.id, at=context.moment, by_id=context.clerk.id))
        told = f"{SEAL_CLEAR}, {clock(context.moment, context.house.zone)}"
        work.save(replace(notice, offered=f"{notice.offered}; {told}" if notice.offered else told))
        return Outcome(f"The seal of {person.label} was looked at and is clear again.", (person.label,))


@dataclass(frozen=True, kw_only=True)
class SeeNotice(Operation):
    """The program administrator has seen a notice, and says what follows."""

    notice_id: int
    answer: str

    code: ClassVar[str] = "see-notice"
    words: ClassVar[str] = "Answering a notice"
    may: ClassVar[tuple[Role, ...]] = (Role.PROGRAM,)

    def run(self, work: Work, context: Context) -> Outcome:
        """Keeps the answer with it, once. What is said there is personal: the entry has it as a digest."""
        try:
            notice = work.get(Notice, self.notice_id)
        except LookupError:
            raise Unknown("This notice") from None
        if notice.seen_at is not None:
            raise AlreadyOnFile("An answer to this notice")
        if not self.answer.strip():
            raise WrongFigure("Answer", "say what follows from it")
        work.take(notice)
        work.save(
            replace(notice, seen_at=context.moment, seen_by=context.clerk.id, answer=self.answer.strip())
        )
        person = work.first(Person, id=notice.person_id) if notice.person_id else None
        unit = work.first(Unit, id=notice.unit_id) if notice.unit_id else None
        subjects = tuple(one.label for one in (person, unit) if one)
        whose = f" of {person.label}" if person else f" about {unit.label}" if unit else ""
        return Outcome(f"Notice{whose} seen and answered: {notice.kind.value}.", subjects)
