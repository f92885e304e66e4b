"""The look at the wearer's face before something tight-fitting goes out."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from cribdesk.crib.records import Notice, NoticeKind, Person, SealLook, Unit
from cribdesk.crib.refusal import WrongKind
from cribdesk.desk.operation import Context, Operation, Outcome, fetch
from cribdesk.desk.ports import Work


@dataclass(frozen=True, kw_only=True)
class LookAtSeal(Operation):
    """Nothing lies between skin and seal; or facial hair, or `under_seal` eyeglass temples, straps, anything else.

    29 CFR 1910.134(g)(1)(i) and (ii).
    """

    person_id: int
    unit_id: int
    hair: bool = False
    under_seal: bool = False

    code: ClassVar[str] = "seal-look"
    words: ClassVar[str] = "Looking at the seal"

    def run(self, work: Work, context: Context) -> Outcome:
        """Keeps what was seen; hair is a notice too, which holds for the day and goes to the program administrator."""
        person = fetch(work, Person, self.person_id, "This person")
        unit = fetch(work, Unit, self.unit_id, "This unit")
        if not context.house.model_of(unit).tight_fitting:
            raise WrongKind(f"A look at the seal of {unit.label}", "It is loose-fitting and has none")
        work.save(
            SealLook(
                person_id=person.id, unit_id=unit.id, hair=self.hair, under_seal=self.under_seal,
                at=context.moment, by_id=context.clerk.id,
            )
        )  # fmt: skip
        if self.hair:
            work.save(
                Notice(
                    kind=NoticeKind.HAIR, person_id=person.id, unit_id=unit.id, at=context.moment,
                    by_id=context.clerk.id,
                )
            )  # fmt: skip
        return Outcome(f"Seal of {person.label}: {self._seen()}.", (person.label, unit.label))

    def _seen(self) -> str:
        seen = [words for there, words in ((self.hair, "facial hair"), (self.under_seal, "something lies under it"))
                if there]  # fmt: skip
        return f"{' and '.join(seen)}; nothing tight-fitting goes out" if seen else "nothing lies under it"
