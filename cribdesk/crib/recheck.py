"""May this person keep the unit that is out with them? What stands against it today, and since when."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta

from cribdesk.crib.clearance import ClearanceState, needed
from cribdesk.crib.enough import protection_reasons
from cribdesk.crib.model import UnitModel
from cribdesk.crib.protection import STOPS
from cribdesk.crib.reasons import HOUSE, NO_RULE_SET, Protection, badge_reason, clearance_reason, fit_bound
from cribdesk.crib.records import GONE, Area, Custody, Hold, Person, Unit, WorkLimit
from cribdesk.crib.refusal import Level, Reason
from cribdesk.crib.rules import NO_RULES
from cribdesk.crib.serviceable import Serviceable, Standing, calendar_limit, condition
from cribdesk.crib.wearer import SEAL
from cribdesk.crib.words import day
from cribdesk.crib.work_limit import Wear, limit_reasons

RANK = (
    "on-hold", "no-model", *STOPS, "facial-hair", "medical", "work-limit", "fit-test", "training", "badge-dead",
    "badge-ended", "bench-due",
)  # fmt: skip
"""Codes of what stands against keeping a unit, worst first: first what the wearer breathes through (a house rule)."""


@dataclass(frozen=True)
class Holding:
    """Everything `against_keeping` needs of one open custody.

    `standing` is None where the unit's model has no file; `bench_by` the last day on which an assigned unit may go
    without its bench inspection, None where none is asked for. `area` as it stands now, `protection` as it is weighed
    now: None where it went out for no area. `work_limits` are those that stand; `out_hours` worn since it went out;
    `hair_at` when facial hair was seen at the seal today, and not since gone.
    """

    unit: Unit
    model: UnitModel | None
    standing: Standing | None
    custody: Custody
    person: Person
    clearances: tuple[ClearanceState, ...]
    area: Area | None
    bench_by: date | None
    today: date
    protection: Protection | None = None
    work_limits: tuple[WorkLimit, ...] = ()
    out_hours: float = 0.0
    hair_at: datetime | None = None


@dataclass(frozen=True)
class Against:
    """One reason against keeping the unit, and since when it stands; None where that is not known."""

    reason: Reason
    since: datetime | date | None

    @property
    def words(self) -> str:
        """The reason, as lists and slips say it."""
        return self.reason.words


def against_keeping(holding: Holding) -> tuple[Against, ...]:
    """Every reason why the wearer may not keep the unit, worst first; none while all is well.

    None either where nobody has it in hand: there is nobody to call it in from.
    """
    if holding.unit.where in GONE:
        return ()
    found = [
        *_unit(holding), *_protection(holding), *_face(holding), *_clearances(holding), *_limits(holding),
        *_badge(holding), *_bench(holding),
    ]  # fmt: skip
    rules = holding.protection.with_.rules if holding.protection else NO_RULES
    weighed = (replace(one, reason=rules.weighed(one.reason)) for one in found)
    return tuple(sorted(weighed, key=lambda one: RANK.index(one.reason.code)))


def severity(against: tuple[Against, ...]) -> int:
    """How bad the worst of them is: the lower the worse."""
    return min((RANK.index(one.reason.code) for one in against), default=len(RANK))


def _unit(holding: Holding) -> Iterator[Against]:
    standing = holding.standing
    if standing is None:
        words = f"Model {holding.unit.model} has no file: nothing can be said of it"
        detail = "Put the file back in resources/units."
        yield Against(Reason(Level.STOP, "no-model", words, detail, HOUSE), None)
        return
    state = condition(standing)
    if state.state is not Serviceable.ON_HOLD:
        return
    for number, words in enumerate(state.why):
        hold = standing.holds[number] if number < len(standing.holds) else None
        since = hold.found_at if hold else _part_since(standing, state.parts[number - len(standing.holds)])
        basis = "29 CFR 1910.134(h)(4)"
        detail = "Nobody uses it until the bench has released it."
        yield Against(Reason(Level.STOP, "on-hold", f"On hold: {words}", detail, basis, _subject(hold, words)), since)


def _subject(hold: Hold | None, words: str) -> str:
    return hold.tag if hold else words


def _part_since(standing: Standing, code: str) -> date | None:
    """The first day on which the calendar's limit of a part is past; None where it is another limit."""
    position = standing.model.position(code)
    fitted = next((one for one in standing.fitted if one.position == code), None)
    last = calendar_limit(position, fitted) if position and fitted else None
    return last + timedelta(days=1) if last and last < standing.today else None


def _protection(holding: Holding) -> Iterator[Against]:
    """What the area asks now: it came to need more than the unit gives, or its assessment stands no more."""
    protection = holding.protection
    if protection is None:
        return
    if not protection.with_.rules.rules:
        yield Against(NO_RULE_SET, None)
        return
    found = protection_reasons(protection.area, protection.respirator, protection.with_)
    changed, made = protection.area.changed_on, {one.subject: one.made_on for one in protection.area.findings}
    for reason in found:
        if reason.level is Level.STOP:
            since = changed if reason.code == "process-changed" else made.get(reason.subject)
            yield Against(reason, since)


def _face(holding: Holding) -> Iterator[Against]:
    """Hair at the seal of what is out already: the seal holds no better than at an issue."""
    if holding.model is not None and holding.model.tight_fitting and holding.hair_at is not None:
        detail = "Nothing tight-fitting is worn with it. Once the seal is clear, say so under More."
        yield Against(Reason(Level.STOP, "facial-hair", "Facial hair at the seal", detail, SEAL), holding.hair_at)


def _clearances(holding: Holding) -> Iterator[Against]:
    """A lapse, a 'not cleared', a proof that is not there; what the area asks for now counts, not what it once did."""
    if holding.model is None:
        return
    over = holding.protection is not None and holding.protection.area.over_limit
    wanted = needed(holding.model, holding.area is None or holding.area.required or over)
    for state in holding.clearances:
        if state.kind not in wanted:
            continue
        bound = fit_bound(state, holding.model, holding.protection)
        if bound is not None:
            yield Against(bound, None)
        elif not state.stands:
            reason = clearance_reason(state, holding.unit, holding.model, holding.today)
            yield Against(reason, _lapsed_on(state))


def _limits(holding: Holding) -> Iterator[Against]:
    """A work limit that what is out breaks now: by its kind, by where it is, by the hours it is out already."""
    if holding.model is None:
        return
    confined = holding.protection.area.confined if holding.protection else None
    wear = Wear(holding.model, holding.out_hours, 0.0, holding.custody.assigned, confined)
    given = {one.code: one.given_on for one in holding.work_limits}
    for reason in limit_reasons(tuple(given), wear):
        if reason.level is Level.STOP:
            yield Against(reason, given[reason.subject])


def _lapsed_on(state: ClearanceState) -> date | None:
    if not state.cleared:
        return state.given_on
    return state.until + timedelta(days=1) if state.ended and state.until else None


def _badge(holding: Holding) -> Iterator[Against]:
    person = holding.person
    reason = badge_reason(person, holding.today, "What went out on it comes back.")
    if reason is not None:
        ended = person.active and person.ends_on is not None
        yield Against(reason, person.ends_on + timedelta(days=1) if ended and person.ends_on else None)


def _bench(holding: Holding) -> Iterator[Against]:
    if holding.bench_by is None or holding.bench_by >= holding.today:
        return
    words = f"Bench inspection was due {day(holding.bench_by, holding.today)}"
    detail = "An assigned unit comes to the bench regularly."
    yield Against(Reason(Level.STOP, "bench-due", words, detail, HOUSE), holding.bench_by + timedelta(days=1))
