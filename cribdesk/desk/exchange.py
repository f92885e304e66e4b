"""Exchanging a bad unit in one go: it comes back and is held; the normal issue of another one follows."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import ClassVar

from cribdesk.crib.records import Battery, BatteryPlace, Custody, RunEnd, Unit
from cribdesk.crib.refusal import WrongFigure
from cribdesk.desk.facts import planned_hours
from cribdesk.desk.hold import chosen_reason
from cribdesk.desk.inspection import hold_anew
from cribdesk.desk.operation import Context, Operation, Outcome
from cribdesk.desk.ports import Work
from cribdesk.desk.return_ import TakeBack
from cribdesk.desk.still_out import fetch_out
from cribdesk.desk.swap import hours_of_pack, save_run_of


@dataclass(frozen=True, kw_only=True)
class ExchangeUnit(Operation):
    """A bad unit comes in from its wearer and is held with what is wrong.

    Its pack stays in it, or, `pack_along`, comes out to go with the unit that goes out instead.
    """

    unit_id: int
    reason: str
    detail: str = ""
    pack_along: bool = False

    code: ClassVar[str] = "exchange"
    words: ClassVar[str] = "Exchanging a unit"

    def run(self, work: Work, context: Context) -> Outcome:
        """Ends the custody, hours by the clock, and holds the unit: whoever stops here leaves nothing half."""
        unit, custody, holder = fetch_out(work, self.unit_id)
        reason, detail = chosen_reason(work, unit, context.house.model_of(unit), self.reason, self.detail)
        if self.pack_along and reason.proof == "battery gone":
            raise WrongFigure("Battery", "one with a fault goes along with no other unit")
        along = self._pack(work, unit, custody)
        back = TakeBack(operation_id=self.operation_id, unit_id=unit.id).run(work, context)
        if along is not None:
            self._take_out(work, context, unit, custody, along)
        unit = work.get(Unit, unit.id)
        hold = hold_anew(work, context, unit, reason, detail)
        said = f"{reason.words.lower()}: {hold.detail}" if hold.detail else reason.words.lower()
        went = f" Its pack {along.label} is out of it." if along is not None else ""
        sentence = f"{unit.label} back from {holder.label}, on hold: {said}. Tag {hold.tag}.{went}"
        tags = dict.fromkeys([*back.papers, ("tag", hold.tag)])
        subjects = (unit.label, holder.label, hold.tag, *((along.label,) if along else ()))
        return Outcome(sentence, subjects, tuple(tags))

    def _pack(self, work: Work, unit: Unit, custody: Custody) -> Battery | None:
        """The pack that comes out, where one is to go along."""
        if not self.pack_along:
            return None
        pack = work.first(Battery, unit_id=unit.id)
        if pack is None or pack.id != custody.battery_id:
            raise WrongFigure("Battery", "its pack is not in it")
        if pack.faulty:
            raise WrongFigure("Battery", "one with a fault goes along with no other unit")
        return pack

    def _take_out(self, work: Work, context: Context, unit: Unit, custody: Custody, pack: Battery) -> None:
        """The pack's run ends here; another begins with the unit it goes into."""
        worn = hours_of_pack(work, context.house, custody, context.moment)
        out = planned_hours(context.house, custody.issued_at, context.moment)
        save_run_of(
            work, context.house, unit, custody, pack, worn, RunEnd.STOPPED, context.moment,
            meter_hours=unit.worn_hours + out,
        )  # fmt: skip
        work.take(pack)
        work.save(replace(pack, place=BatteryPlace.SHELF, unit_id=None, slot_id=None, charged_at=None))
