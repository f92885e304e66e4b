"""A check as a person makes it: looks, reads, times, does the remedies, each with the time it takes."""

from __future__ import annotations

from collections.abc import Callable, Generator
from dataclasses import dataclass
from datetime import timedelta

from clockwork import Pause
from hands import Hands
from nature import Nature, TrueUnit

from cribdesk.crib.records import Instrument, Lot, Person, StockItem
from cribdesk.desk import air
from cribdesk.desk.bench import ChangePart
from cribdesk.desk.equipment import PutBattery
from cribdesk.desk.inspection import HoldUnfinished
from cribdesk.procedure.answers import (
    Answer,
    Chosen,
    Good,
    Measured,
    NotGood,
    RemedyDone,
    RemedyNotPossible,
    Timed,
)
from cribdesk.procedure.page import Page
from cribdesk.procedure.run import Run, answer, break_off, page, start

HELD_AT_ONCE = ("hand-over", "pre-use", "bench", "monthly")
SECONDS = {"look": 6.0, "action": 45.0, "reading": 22.0, "timed": 0.0, "choice": 4.0, "remedy": 60.0}
"""Seconds a page takes a practised hand, about."""

INDOORS_C = (16.0, 16.0, 17.0, 19.0, 21.0, 23.0, 25.0, 24.0, 22.0, 19.0, 17.0, 16.0)
"""The crib's air by month, as its thermometer shows it (invented)."""

SHORT = {"hand-over": 0.6, "return-look": 0.7, "cleaning": 1.6}


@dataclass
class Looker:
    """Who makes the check: where, how fast, with which meter. `swap` gives a charged pack's id, or None."""

    hands: Hands
    nature: Nature
    where: str
    clerk: Person
    pace: float
    meter: Instrument | None = None
    meter_error: float = 0.0
    swap: Callable[[], int | None] | None = None
    swapped_to: int | None = None
    break_off_at: int | None = None

    def check(self, unit: TrueUnit, kind: str) -> Generator[Pause, None, Run]:
        """Runs the model's procedure of that kind to its end; remedies are operations of their own."""
        hands = self.hands
        procedure = hands.house.procedure_of(unit.model, kind)
        assert procedure is not None
        run = start(procedure, unit.model, hands.clockwork.now, self.clerk.label)
        held = False
        while run.verdict is None:
            if self.break_off_at is not None and len(run.asked) >= self.break_off_at:
                return break_off(run, hands.clockwork.now, "called away")
            asked = page(run)
            given, seconds = self._answer(unit, asked, kind)
            yield seconds
            if isinstance(given, RemedyDone) and asked.remedy is not None:
                given = self._carry_out(unit, asked, kind)
            run = answer(run, given, hands.clockwork.now, float(round(seconds)))
            if run.not_good and not held and kind in HELD_AT_ONCE:
                held = True
                title = next(one.title for one in reversed(run.asked) if not one.good)
                where, clerk = self.where, self.clerk.id
                hands.do(where, clerk, HoldUnfinished, unit_id=unit.id, procedure=procedure.code, step=title)
        return run

    def _answer(self, unit: TrueUnit, asked: Page, kind: str) -> tuple[Answer, float]:
        chance = self.nature.chance
        seconds = SECONDS[asked.kind] * SHORT.get(kind, 1.0) * self.pace * chance.lognormal(1.0, 0.25)
        if asked.kind == "remedy":
            return self._about_remedy(unit, asked), seconds
        if asked.kind == "choice":
            return Chosen(asked.options[0] if chance.happens(0.7) else asked.options[-1]), seconds
        if asked.kind == "reading":
            return self._read(unit), seconds
        if asked.kind == "timed":
            timed = self._timed(unit, asked)
            return timed, timed.seconds + 3.0
        return (NotGood() if self._wrong(unit, asked.step, kind) else Good()), seconds

    def _read(self, unit: TrueUnit) -> Measured:
        """What the meter shows in the crib's air, weighed as the counter weighs it."""
        meter, house = self.meter, self.hands.house
        assert meter is not None
        celsius = INDOORS_C[house.today(self.hands.clockwork.now).month - 1]
        scale = meter.calibration_kg_m3
        flows = air.flowed(house, unit.model, 1.0, celsius, None, scale)
        shown = self.nature.reading(unit, self.meter_error, 1.0 / flows)
        given = Measured(shown, meter.label, temperature_c=celsius)
        return air.measured(house, unit.model, given, None, meter.uncertainty_lpm, True, scale)

    def _wrong(self, unit: TrueUnit, step: str, kind: str) -> bool:
        if kind == "cleaning":
            return False
        if step == "lens":
            return kind == "hand-over" and self.nature.lens_spattered(unit)
        if kind == "return-look":
            return False
        return bool(self.nature.causes(unit, step))

    def _timed(self, unit: TrueUnit, asked: Page) -> Timed:
        chance, limit = self.nature.chance, asked.limit
        assert limit is not None
        low, high = limit.low or 0.0, limit.high
        if high is None:
            return Timed(round(low + chance.between(1.0, 0.08 * low), 1))
        if unit.mishaps.get("alarm"):
            return Timed(round(high + chance.between(4.0, 15.0), 1), "all")
        middle, reach = (low + high) / 2, (high - low) / 2
        seconds = chance.normal(middle, reach / 4)
        return Timed(round(min(max(seconds, low + 0.1), high - 0.1), 1))

    def _about_remedy(self, unit: TrueUnit, asked: Page) -> Answer:
        """On the airflow's ladder every rung is done; elsewhere the one that helps."""
        remedy = asked.remedy
        assert remedy is not None
        if asked.step in ("airflow", "alarm", "alarm-stops"):
            return RemedyDone()
        wrong = self.nature.causes(unit, asked.step)
        if asked.step == "lens":
            wrong = self.nature.causes(unit, "cover-lenses")
        for kind, position in wrong:
            if kind == remedy.kind and (kind != "change" or position == remedy.position):
                return RemedyDone()
        return RemedyNotPossible("this is not the fault")

    def _carry_out(self, unit: TrueUnit, asked: Page, kind: str) -> Answer:
        remedy = asked.remedy
        assert remedy is not None
        if remedy.kind == "change" and remedy.position:
            lot = change(self, unit, remedy.position, asked.title)
            return RemedyDone(f"lot {lot}") if lot else RemedyNotPossible("none on the shelf")
        if remedy.kind == "swap-battery" and self.swap is not None:
            fresh = self.swap()
            if fresh is None:
                return RemedyNotPossible("no charged pack")
            self.hands.do(self.where, self.clerk.id, PutBattery, unit_id=unit.id, battery_id=fresh)
            self.swapped_to = fresh
        step = "cover-lenses" if asked.step == "lens" else asked.step
        self.nature.mend(unit, step, remedy.kind)
        return RemedyDone()


def change(looker: Looker, unit: TrueUnit, position: str, why: str) -> str:
    """Changes an unlabelled part from the lot that expires first; its code, or nothing where none is there."""
    found = lot_for(looker.hands, unit, position)
    if found is None:
        return ""
    item, lot = found
    looker.hands.do(
        looker.where, looker.clerk.id, ChangePart,
        unit_id=unit.id, position=position, item_id=item.id, lot_id=lot.id, why=why,
    )  # fmt: skip
    looker.nature.fitted(unit, position)
    return lot.code


def lot_for(hands: Hands, unit: TrueUnit, position: str) -> tuple[StockItem, Lot] | None:
    """An approved item and the lot of it to take first."""
    place = unit.model.position(position)
    assert place is not None
    soon = hands.house.today(hands.clockwork.now) + timedelta(days=30)
    with hands.looking() as reader:
        for code in place.items:
            item = reader.first(StockItem, code=code)
            assert item is not None
            lots = [one for one in reader.find(Lot, item_id=item.id) if one.on_hand > 0 and not one.blocked]
            lots = [one for one in lots if one.expires_on is None or one.expires_on > soon]
            if lots:
                return item, min(lots, key=lambda one: (one.expires_on or soon.replace(year=2099), one.id))
    return None


__all__ = ["Looker", "change", "lot_for"]
