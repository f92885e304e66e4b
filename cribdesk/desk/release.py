"""Ending a hold: by its own proof, and by somebody qualified for it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import ClassVar

from cribdesk.crib.hold import PROOF_WORDS, QUALIFIED, hold_words
from cribdesk.crib.label import Kind, is_valid
from cribdesk.crib.proof import proof_of
from cribdesk.crib.records import Battery, Hold, Recall, RecallHold, Unit
from cribdesk.crib.refusal import NoInstruction, NoProof, NotQualified, WrongFigure
from cribdesk.crib.serviceable import Standing
from cribdesk.crib.words import count
from cribdesk.desk.facts import standing_of
from cribdesk.desk.inspection import back_to_rack, fetch_unit
from cribdesk.desk.operation import Context, Operation, Outcome, fetch
from cribdesk.desk.ports import Records, Work

OFFICE_PROOF = "program administrator"


def proof_there(records: Records, hold: Hold, standing: Standing) -> str:
    """The proof that clears the hold, in words, or nothing; a named battery is looked for in the unit."""
    if hold.proof != "battery gone":
        return proof_of(hold, standing)
    there = records.first(Battery, unit_id=standing.unit.id)
    if there is None:
        return "no battery is in the unit"
    names_one = any(is_valid(word.strip(".,;:")) for word in hold.detail.split() if word[:1] == Kind.BATTERY)
    return "that battery is not in the unit" if names_one and there.label not in hold.detail else ""


@dataclass(frozen=True, kw_only=True)
class ReleaseHold(Operation):
    """One hold ends. `word` is what the program administrator gives where the proof is their word."""

    hold_id: int
    word: str = ""

    code: ClassVar[str] = "release"
    words: ClassVar[str] = "Releasing a hold"

    def run(self, work: Work, context: Context) -> Outcome:
        """Ends it where its proof is there; the unit is ready only when no hold is left and the rest is."""
        hold = fetch(work, Hold, self.hold_id, "This hold")
        unit = fetch_unit(work, hold.unit_id)
        work.take(hold)
        model = context.house.model_of(unit)
        words = hold_words(model, hold)
        if hold.released_at is not None:
            raise WrongFigure(hold.tag, "this hold was released already")
        roles = QUALIFIED[hold.proof]
        if not context.clerk.has(*roles):
            raise NotQualified("Releasing this hold", tuple(role.value for role in roles))
        proof = self._proof(work, context, unit, hold)
        if not proof:
            raise NoProof(unit.label, words, PROOF_WORDS[hold.proof])
        work.save(
            replace(hold, released_at=context.moment, released_by=context.clerk.id, released_on=proof)
        )
        left = work.find(Hold, unit_id=unit.id, released_at=None)
        back_to_rack(work, context, unit)
        after = f"{count(len(left), 'hold')} left" if left else "no hold left"
        sentence = f"Hold {hold.tag} of {unit.label} released: {proof}; {after}."
        return Outcome(sentence, (unit.label, hold.tag))

    def _proof(self, work: Work, context: Context, unit: Unit, hold: Hold) -> str:
        if hold.proof == OFFICE_PROOF:
            self._must_name_notices(work, unit, hold)
            return self.word.strip()
        return proof_there(work, hold, standing_of(work, context.house, unit, context.moment))

    def _must_name_notices(self, work: Work, unit: Unit, hold: Hold) -> None:
        """A unit its maker recalled is released by the maker's own instruction, so the word names the notice."""
        links = work.find(RecallHold, hold_id=hold.id)
        for recall in work.find(Recall, id=sorted({one.recall_id for one in links})):
            if recall.notice.casefold() not in self.word.casefold():
                raise NoInstruction(unit.label, recall.notice)
