"""The bench inspection of a unit for the next shift: as any other, and after its pass the unit is sealed."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import ClassVar

from cribdesk.crib.records import Inspection, Unit
from cribdesk.crib.refusal import NotMadeWhole
from cribdesk.crib.serviceable import Serviceable, condition
from cribdesk.crib.words import clock
from cribdesk.desk.facts import standing_of
from cribdesk.desk.inspection import FinishInspection, fetch_unit
from cribdesk.desk.operation import Context, Outcome
from cribdesk.desk.ports import Work
from cribdesk.desk.readiness import SEAL, good_until


@dataclass(frozen=True, kw_only=True)
class PreStage(FinishInspection):
    """A bench inspection for the next shift ended. Only a unit that is ready after it gets its seal."""

    code: ClassVar[str] = "pre-stage"
    words: ClassVar[str] = "Inspecting for the next shift"

    def run(self, work: Work, context: Context) -> Outcome:
        """Keeps the run as the bench does; after a pass the seal prints, where the unit is ready by it."""
        unit = fetch_unit(work, self.unit_id)
        if self.run_made.procedure.kind != "bench":
            raise NotMadeWhole(unit.label, "a seal takes a bench inspection")
        outcome = super().run(work, context)
        if self.run_made.verdict != "pass":
            return outcome
        found = condition(standing_of(work, context.house, work.get(Unit, unit.id), context.moment))
        if found.state is not Serviceable.READY:
            words = f"{outcome.sentence} No seal: {found.state.value}, {'; '.join(found.why)}."
            return replace(outcome, sentence=words)
        made = work.latest(Inspection, unit_id=unit.id)
        assert made is not None
        until = clock(good_until(context.house, made.ended_at), context.house.zone)
        words = f"{unit.label} passed and sealed, good until {until}."
        return Outcome(words, outcome.subjects, (*outcome.papers, (SEAL, str(made.id))))
