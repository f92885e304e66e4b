"""What is kept of run times, read for a card, a list and an issue: cheap, out of derived rows alone."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from cribdesk.crib.model import UnitModel
from cribdesk.crib.records import Battery, BatteryPlace, Custody, Fitted, Person, Unit
from cribdesk.crib.run_time import (
    BATTERY,
    UNIT,
    Advice,
    Pair,
    RunFit,
    RunOutlook,
    RunTime,
    Share,
    Shares,
    filter_hours,
)
from cribdesk.crib.words import when
from cribdesk.desk.house import House
from cribdesk.desk.ports import FILLED, Records

A_DAY_HOURS = 24.0
"""Out for longer, the wearer charges the pack on the way: nothing is said of whether it lasts."""


def of_unit(
    records: Records,
    house: House,
    unit: Unit,
    model: UnitModel,
    battery: Battery | None,
    fitted: Sequence[Fitted],
    moment: datetime,
) -> RunTime | None:
    """A unit with the pack in it, in one query; one more where a swap is to be named. None: nothing is known yet."""
    if not model.battery_models:
        return None
    fits, shares = records.run_times([battery.id] if battery else [], [unit.id])
    code = battery.model if battery else next((one for one in model.battery_models if one in fits), "")
    if code not in fits:
        return None
    share = shares.get((UNIT, unit.id, code))
    pair = Pair(
        fits[code],
        shares.get((BATTERY, battery.id, code)) if battery else None,
        share,
        battery.cycles if battery else 0,
        filter_hours(model, fitted, unit.worn_hours) or 0.0,
    )
    swap = ""
    if pair.advice() is Advice.EITHER:
        swap = _telling(records, pair, battery)
    return RunTime(
        pair, battery.label if battery else "", unit.label, model.speeds, model.code, swap,
        _since(share, house, moment),
    )  # fmt: skip


def of_battery(records: Records, battery: Battery) -> RunTime | None:
    """A pack by itself, in one query."""
    return among(*records.run_times([battery.id], []), battery)


def among(fits: dict[str, RunFit], shares: Shares, battery: Battery) -> RunTime | None:
    """A pack by itself, out of what was read for many."""
    share = shares.get((BATTERY, battery.id, battery.model))
    if battery.model not in fits or share is None:
        return None
    return RunTime(Pair(fits[battery.model], share, None, battery.cycles, 0.0), battery.label, "", (), "")


def _telling(records: Records, pair: Pair, battery: Battery | None) -> str:
    """The pack known best that is here: with it in the unit, what the unit takes shows."""
    found = records.find(Battery, id=list(pair.fit.known), place=[BatteryPlace.SHELF, BatteryPlace.CHARGER])
    order = {id_: at for at, id_ in enumerate(pair.fit.known)}
    here = [one for one in found if not one.faulty and (battery is None or one.id != battery.id)]
    return min(here, key=lambda one: order[one.id]).label if here else ""


def _since(share: Share | None, house: House, moment: datetime) -> str:
    """'Runs shorter since Tue 3 Nov', or nothing."""
    if share is None or share.since is None:
        return ""
    return f"Runs {'longer' if share.longer else 'shorter'} than before since {when(share.since, house.zone, moment)}."


def outlook_of(
    records: Records,
    unit: Unit,
    model: UnitModel,
    fitted: Sequence[Fitted],
    battery: Battery | None,
    person: Person | None,
    planned: float,
    span_hours: float,
) -> RunOutlook | None:
    """Whether the pack on the counter lasts the hours planned, in two queries; None where nobody can tell.

    At the speed the wearer ran such a unit at last; where that is not known, at the one that takes most.
    """
    if battery is None or battery.model not in model.battery_models or not 0 < span_hours <= A_DAY_HOURS:
        return None
    fits, shares = records.run_times([battery.id], [unit.id])
    fit = fits.get(battery.model)
    if fit is None:
        return None
    pair = Pair(
        fit,
        shares.get((BATTERY, battery.id, battery.model)),
        shares.get((UNIT, unit.id, battery.model)),
        battery.cycles,
        (filter_hours(model, fitted, unit.worn_hours) or 0.0) + planned,
    )
    lasting = {speed: lasts for speed in model.speeds if (lasts := pair.lasts(f"{model.code} {speed}")) is not None}
    if not lasting:
        return None
    last = records.latest(Custody, person_id=person.id, returned_at=FILLED) if person else None
    speed = last.speed if last is not None and last.speed in lasting else min(lasting, key=lambda one: lasting[one])
    chance = pair.chance_short(f"{model.code} {speed}", planned)
    assert chance is not None
    return RunOutlook(speed if len(model.speeds) > 1 else "", lasting[speed], chance)
