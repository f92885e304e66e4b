"""How many units are ready and sealed for the crew that comes, how many it needs, and what could be made ready."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from datetime import datetime, timedelta

from cribdesk.crib.records import Battery, BatteryPlace, Custody, Print, Where
from cribdesk.crib.serviceable import Serviceable, is_current
from cribdesk.crib.shift import Turn, coming_turn, turn_after, turn_at, turn_before, turns
from cribdesk.crib.words import count, day, joined
from cribdesk.desk.house import House
from cribdesk.desk.ports import Records
from cribdesk.desk.settings import read_needed
from cribdesk.desk.standings import Member, fleet

WEEKS = 4
"""How many weeks back the issues of the same shift are counted (common practice, no source)."""

WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")

SEAL = "ready_seal"
"""The paper that says a unit was inspected for the next shift."""


@dataclass(frozen=True)
class Needed:
    """How many units a shift needs, how that was reached, and by model where issues tell it."""

    units: int
    how: str
    by_model: tuple[tuple[str, int], ...] = ()
    known: bool = True  # nothing went out, and the site set no number: none is made up


@dataclass(frozen=True)
class Readiness:
    """The crew that comes: what it needs, what stands sealed for it, and what is nearest to that.

    `issued` went out for it already. `unsealed` are inspected in time, `to_inspect` need an inspection and no more,
    `to_clean` are to be cleaned first. `packs` are charged and here, of `packs_needed` for units still to go out.
    """

    turn: Turn
    needed: Needed
    issued: tuple[Member, ...]
    sealed: tuple[Member, ...]
    unsealed: tuple[Member, ...]
    to_inspect: tuple[Member, ...]
    to_clean: tuple[Member, ...]
    packs: int
    charging: int
    packs_needed: int

    @property
    def short(self) -> int:
        """How many units are missing yet."""
        return max(0, self.needed.units - len(self.issued) - len(self.sealed))

    @property
    def packs_short(self) -> int:
        """How many charged packs are missing yet."""
        return max(0, self.packs_needed - self.packs)


def early(house: House) -> timedelta:
    """How long before its start a shift is issued for."""
    return timedelta(minutes=int(house.settings["early_minutes"]))


def good_until(house: House, inspected: datetime) -> datetime:
    """Until when an inspection made then serves for the short check: the end of the shift after it, at most.

    A bench inspection is current for its own shift and the next (a house rule); one made between two shifts counts
    for the one that is over. Where the shift after the next is issued for before the next ends, it ends there.
    """
    begun = turns(house.plan, house.zone, house.today(inspected))
    own = [one for one in begun if one.start - early(house) <= inspected][-1]
    following = turn_after(house.plan, house.zone, own)
    after = turn_after(house.plan, house.zone, following)
    return min(following.end, after.start - early(house))


def crew_that_comes(house: House, moment: datetime) -> Turn:
    """The next shift to start."""
    return coming_turn(house.plan, house.zone, moment)


def in_time_for(house: House, turn: Turn) -> datetime:
    """From when on an inspection is current when that shift begins."""
    return turn_before(house.plan, house.zone, turn).start - early(house)


def readiness(reader: Records, house: House, moment: datetime) -> Readiness:
    """Everything about the crew that comes, in some fifteen queries."""
    turn = crew_that_comes(house, moment)
    units = fleet(reader, house, moment)
    since = in_time_for(house, turn)
    groups: dict[str, list[Member]] = {name: [] for name in ("sealed", "unsealed", "to_inspect", "to_clean")}
    current = [one for one in units if _lies_here(one) and one.standing and is_current(one.standing, since)]
    seals = _sealed(reader, current)
    for one in units:
        if one in current:
            groups["sealed" if one.unit.id in seals else "unsealed"].append(one)
        elif _lies_here(one) and one.condition is not None and one.condition.state is not Serviceable.ON_HOLD:
            groups["to_clean" if one.condition.dirty else "to_inspect"].append(one)
    needed = needed_for(reader, house, turn, units)
    issued = _issued_for(house, units, turn, moment)
    packs, charging = _packs(reader)
    still = _packs_needed(house, units, needed, len(issued))
    return Readiness(
        turn, needed, issued, tuple(groups["sealed"]), tuple(groups["unsealed"]), tuple(groups["to_inspect"]),
        tuple(groups["to_clean"]), packs=packs, charging=charging, packs_needed=still,
    )  # fmt: skip


def needed_for(reader: Records, house: House, turn: Turn, units: tuple[Member, ...] = ()) -> Needed:
    """How many units that shift needs: as the site has set it, else by the last four same weekdays.

    The highest number of issues at the same shift on those days counts (common practice, no source).
    """
    fixed = read_needed(house.settings["needed"]).get(turn.name.lower())
    if fixed is not None:
        return Needed(fixed, f"{count(fixed, 'unit')} for {turn.name}, as set for the site")
    local = turn.start.astimezone(house.zone)
    models = {one.unit.id: one.unit.model for one in units}
    best: tuple[int, Turn, Counter[str]] | None = None
    told = []
    for weeks in range(1, WEEKS + 1):
        then = _same_turn(house, turn, local - timedelta(days=7 * weeks))
        if then is None:
            continue
        found = _issues(reader, house, then)
        told.append(str(len(found)))
        if best is None or len(found) > best[0]:
            best = len(found), then, Counter(models.get(one.unit_id, "") for one in found)
    weekday = WEEKDAYS[local.weekday()]
    if best is None or not best[0]:
        how = f"nothing went out at {turn.name} on the last {WEEKS} {weekday}s; set a number under Settings"
        return Needed(0, how, known=False)
    on = day(best[1].start.astimezone(house.zone).date(), local.date())
    how = f"the most issues at {turn.name} on the last {WEEKS} {weekday}s ({joined(told)}): {on}"
    return Needed(best[0], how, tuple(sorted(best[2].items())))


def _same_turn(house: House, turn: Turn, then: datetime) -> Turn | None:
    """The shift of that name that began on that day."""
    found = turns(house.plan, house.zone, then.date())
    same = (one for one in found if one.name == turn.name and one.start.astimezone(house.zone).date() == then.date())
    return next(same, None)


def _issues(reader: Records, house: House, turn: Turn) -> list[Custody]:
    """What went out for that shift, the time it is issued for early included; what was assigned left out."""
    found = reader.within(Custody, "issued_at", turn.start - early(house), turn.end, assigned=False)
    return [one for one in found if turn_at(house.plan, house.zone, one.issued_at, early(house)) == turn]


def _issued_for(house: House, units: tuple[Member, ...], turn: Turn, moment: datetime) -> tuple[Member, ...]:
    if moment < turn.start - early(house):
        return ()
    return tuple(
        one
        for one in units
        if one.custody is not None
        and not one.custody.assigned
        and turn_at(house.plan, house.zone, one.custody.issued_at, early(house)) == turn
    )


def _lies_here(one: Member) -> bool:
    return one.custody is None and one.unit.where in (Where.RACK, Where.BENCH)


def _sealed(reader: Records, current: list[Member]) -> set[int]:
    """The units whose last pass has its seal printed, in one query."""
    passes = {str(one.standing.last_pass.id): one.unit.id for one in current if one.standing and one.standing.last_pass}
    return {passes[one.of] for one in reader.find(Print, paper=SEAL, of=sorted(passes), failed="")}


def _packs(reader: Records) -> tuple[int, int]:
    """How many packs are charged and lie here, and how many are on a charger."""
    here = reader.find(Battery, place=(BatteryPlace.SHELF, BatteryPlace.CHARGER))
    good = [one for one in here if not one.faulty]
    charged = sum(1 for one in good if one.charged_at is not None)
    return charged, sum(1 for one in good if one.charged_at is None and one.place is BatteryPlace.CHARGER)


def _packs_needed(house: House, units: tuple[Member, ...], needed: Needed, issued: int) -> int:
    """A charged pack for each unit still to go out that takes one; where models are not known, for each."""
    models = house.models
    if not any(model.battery_models for model in models.values()):
        return 0
    with_pack = needed.units
    if needed.by_model:
        with_pack = sum(n for code, n in needed.by_model if code not in models or models[code].battery_models)
    elif units and all(one.unit.model in models and not models[one.unit.model].battery_models for one in units):
        with_pack = 0
    return max(0, with_pack - issued)
