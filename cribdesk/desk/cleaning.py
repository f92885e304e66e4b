"""Cleaning as its own guided procedure: one unit, or a tray of many in one run."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from cribdesk.crib.records import Cleaning, Unit
from cribdesk.crib.refusal import NotMadeWhole, WrongFigure
from cribdesk.crib.words import count
from cribdesk.desk.inspection import check_run, fail_hold, fetch_unit, must_be_in_hand, not_before, save_run
from cribdesk.desk.operation import Context, Operation, Outcome
from cribdesk.desk.ports import Work
from cribdesk.procedure.run import Run


@dataclass(frozen=True, kw_only=True)
class FinishCleaning(Operation):
    """A cleaning run ended, for every unit of the tray. `product` as the wash was made up with."""

    unit_ids: tuple[int, ...]
    run_made: Run
    product: str = ""

    code: ClassVar[str] = "clean"
    words: ClassVar[str] = "Cleaning"

    def run(self, work: Work, context: Context) -> Outcome:
        """Keeps the run for each unit; a unit is cleaned only when the run passed."""
        if not self.unit_ids or len(set(self.unit_ids)) != len(self.unit_ids):
            raise WrongFigure("Tray", "scan each unit once")
        units = [fetch_unit(work, unit_id) for unit_id in sorted(self.unit_ids)]
        made = self.run_made
        if made.verdict is None or made.procedure.kind != "cleaning":
            raise NotMadeWhole(units[0].label, "its cleaning has not ended")
        tags = [tag for unit in units for tag in self._one(work, context, unit)]
        labels = tuple(unit.label for unit in units)
        what = labels[0] if len(labels) == 1 else count(len(labels), "unit")
        words = {"pass": "cleaned", "fail": f"not cleaned: {made.fault_words}"}.get(
            made.verdict, f"not cleaned, broken off: {made.broken_off or 'no reason given'}"
        )
        return Outcome(f"{what} {words.rstrip('.')}.", labels + tuple(tags), tuple(("tag", tag) for tag in tags))

    def _one(self, work: Work, context: Context, unit: Unit) -> list[str]:
        made = self.run_made
        must_be_in_hand(work, unit)
        model = context.house.model_of(unit)
        wanted = context.house.procedure_of(model, "cleaning")
        if wanted is None or wanted.code != made.procedure.code:
            raise NotMadeWhole(unit.label, "it is cleaned by another procedure")
        if made.verdict != "broken off":
            check_run(made, unit, made.model, context)
        inspection = save_run(work, context, unit, made)
        if made.verdict == "fail":
            return [fail_hold(work, context, unit, model, made, inspection).tag]
        if made.verdict == "pass":
            work.save(
                Cleaning(
                    unit_id=unit.id,
                    inspection_id=inspection.id,
                    by_id=context.clerk.id,
                    at=not_before(work, unit, context.moment),
                    product=self.product or _product(made),
                    tray=f"{len(self.unit_ids)} units" if len(self.unit_ids) > 1 else "",
                )
            )
        return []


def _product(run: Run) -> str:
    """The product as it was chosen in the run."""
    chosen = [asked.answer for asked in run.asked if asked.kind == "choice" and not asked.replaced]
    return chosen[0] if chosen else ""
