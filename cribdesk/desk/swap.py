"""Swapping a pack while its unit stays out, and the hours each pack of a custody ran."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime
from typing import ClassVar

from cribdesk.crib.records import (
    Battery,
    BatteryPlace,
    BatteryRun,
    BatterySwap,
    Custody,
    Fitted,
    RunEnd,
    Unit,
)
from cribdesk.crib.refusal import BatteryNotFree, NotSeenCharged, OtherPack, WrongFigure
from cribdesk.crib.run_time import filter_hours
from cribdesk.crib.runs import shared
from cribdesk.crib.words import hours
from cribdesk.desk.equipment import in_here, put_in
from cribdesk.desk.facts import planned_hours
from cribdesk.desk.house import House
from cribdesk.desk.operation import Context, Operation, Outcome, fetch
from cribdesk.desk.ports import Records, Work
from cribdesk.desk.still_out import fetch_out, must_go_on


@dataclass(frozen=True, kw_only=True)
class SwapBattery(Operation):
    """The flat pack of a unit that is out comes in, a charged one goes out; the unit stays with its wearer.

    `charge_shown` says that a pack not seen on a charger was told as a caution.
    """

    unit_id: int
    flat_id: int
    battery_id: int
    ended: RunEnd
    speed: str = ""
    charge_shown: bool = False

    code: ClassVar[str] = "swap-battery"
    words: ClassVar[str] = "Swapping the battery"

    def run(self, work: Work, context: Context) -> Outcome:
        """Nothing of the custody changes but its pack; the run of the flat one is kept with its hours."""
        unit, custody, holder = fetch_out(work, self.unit_id)
        must_go_on(work, context, unit, custody)
        flat = fetch(work, Battery, self.flat_id, "This battery")
        charged = fetch(work, Battery, self.battery_id, "This battery")
        self._check(work, context, unit, custody, flat, charged)
        worn = hours_of_pack(work, context.house, custody, context.moment)
        work.take(flat)
        note = flat.note if flat.faulty or flat.place is not BatteryPlace.MISSING else ""
        flat = work.save(
            replace(flat, place=BatteryPlace.SHELF, unit_id=None, slot_id=None, charged_at=None, note=note)
        )
        put_in(work, charged, unit)
        out = planned_hours(context.house, custody.issued_at, context.moment)
        save_run_of(
            work, context.house, unit, custody, flat, worn, self.ended, context.moment,
            speed=self.speed, meter_hours=unit.worn_hours + out,
        )  # fmt: skip
        work.save(
            BatterySwap(
                custody_id=custody.id,
                unit_id=unit.id,
                flat_id=flat.id,
                battery_id=charged.id,
                at=context.moment,
                by_id=context.clerk.id,
            )
        )
        work.save(replace(custody, battery_id=charged.id))
        sentence = (
            f"{charged.label} went out to {holder.label} for {unit.label}; {flat.label} is in, to be charged: "
            f"{self.ended.value} after {hours(worn)}."
        )
        return Outcome(sentence, (unit.label, holder.label, charged.label, flat.label))

    def _check(
        self, work: Work, context: Context, unit: Unit, custody: Custody, flat: Battery, charged: Battery
    ) -> None:
        model = context.house.model_of(unit)
        if custody.battery_id is None:
            raise WrongFigure("Battery", f"{unit.label} went out without one")
        if flat.id != custody.battery_id:
            raise OtherPack(flat.label, unit.label, fetch(work, Battery, custody.battery_id, "The battery").label)
        if charged.id == flat.id:
            raise BatteryNotFree(charged.label, "it is the flat pack itself")
        why = not_free(charged, model.battery_models, model.short_name)
        if why:
            raise BatteryNotFree(charged.label, why)
        in_here(work, charged)
        if charged.charged_at is None and not self.charge_shown:
            raise NotSeenCharged(charged.label)
        if self.speed and self.speed not in model.speeds:
            raise WrongFigure("Speed", f"{model.short_name} runs at {' or '.join(model.speeds) or 'one speed'}")


def not_free(battery: Battery, models: tuple[str, ...], model_name: str) -> str:
    """Why the pack as such cannot go out, or nothing; whether it is out already is asked of the store."""
    if battery.model not in models:
        return f"{model_name} takes no pack of model {battery.model}"
    if battery.faulty:
        return battery.note
    if battery.unit_id is not None:
        return "it sits in another unit"
    if battery.place in (BatteryPlace.MISSING, BatteryPlace.SENT_OUT, BatteryPlace.SCRAPPED):
        return battery.place.value
    return ""


def hours_of_pack(records: Records, house: House, custody: Custody, moment: datetime) -> float:
    """Hours worn by the clock since the pack that is in went in: since the issue or the last swap."""
    last = records.latest(BatterySwap, custody_id=custody.id)
    since = last.at if last is not None else custody.issued_at
    return round(planned_hours(house, since, moment), 1) if moment > since else 0.0


def save_run_of(
    work: Work,
    house: House,
    unit: Unit,
    custody: Custody,
    battery: Battery,
    worn_hours: float,
    ended: RunEnd,
    moment: datetime,
    *,
    speed: str = "",
    bars_left: int | None = None,
    meter_hours: float,
) -> BatteryRun:
    """Keeps one run of a pack, with the hours of the filter it pulled through at `meter_hours`."""
    model = house.models.get(unit.model)
    fitted = work.find(Fitted, unit_id=unit.id, removed_at=None)
    return work.save(
        BatteryRun(
            battery_id=battery.id,
            unit_id=unit.id,
            custody_id=custody.id,
            worn_hours=worn_hours,
            ended=ended,
            speed=speed,
            bars_left=bars_left,
            cycles=battery.cycles,
            filter_hours=filter_hours(model, fitted, meter_hours) if model else None,
            ended_at=moment,
        )
    )


def settle_runs(work: Work, context: Context, custody: Custody, worn_hours: float) -> float | None:
    """Shares the hours said at the return among the packs of the custody, by the clock.

    Returns the hours of the last pack, or None where its run was kept already, as when it went along with another unit.
    """
    runs = sorted(work.find(BatteryRun, custody_id=custody.id), key=lambda run: run.id)
    swaps = len(work.find(BatterySwap, custody_id=custody.id))
    weights = [run.worn_hours for run in runs]
    if len(runs) <= swaps:
        assert custody.returned_at is not None
        weights.append(hours_of_pack(work, context.house, custody, custody.returned_at))
    shares = shared(weights, worn_hours)
    for run, share in zip(runs, shares, strict=False):
        if round(run.worn_hours * 60) != round(share * 60):
            work.take(run)
            work.save(replace(run, worn_hours=share))
    return shares[-1] if len(runs) <= swaps else None
