"""May this person take this unit, with this battery, into this area now? All reasons at once, worst first."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime
from zoneinfo import ZoneInfo

from cribdesk.crib.change import PartOutlook
from cribdesk.crib.clearance import BASIS, NAMES, ClearanceState, factor_by_fit, needed, until_words
from cribdesk.crib.concentration import needed as needed_words
from cribdesk.crib.enough import protection_reasons
from cribdesk.crib.lasting import lasting_reasons
from cribdesk.crib.model import UnitModel
from cribdesk.crib.protection import AreaProtection, Respirator, Weighing, needed_factor
from cribdesk.crib.records import (
    FAULT,
    Area,
    Battery,
    BatteryPlace,
    ClearanceKind,
    Custody,
    Instrument,
    Person,
    SealLook,
    Unit,
    Where,
)
from cribdesk.crib.refusal import WORST_FIRST, Level, Reason
from cribdesk.crib.rules import NO_RULES, RuleSet
from cribdesk.crib.run_time import RunOutlook
from cribdesk.crib.serviceable import Condition, Serviceable, Standing, condition, used_part_came
from cribdesk.crib.wearer import seal_reasons, work_limit_reasons
from cribdesk.crib.words import count, date_words, day, joined, when

HOUSE = "house rule"


@dataclass(frozen=True)
class Held:
    """A unit that a person holds now."""

    unit: str
    area: str
    due_at: datetime | None
    overdue: bool


@dataclass(frozen=True)
class Protection:
    """The unit as protection, what its area asks, and under what the two are weighed."""

    area: AreaProtection
    respirator: Respirator
    with_: Weighing


@dataclass(frozen=True)
class Facts:
    """Everything `reasons` needs. `person`, `battery` and `area` are None while they are not on the counter.

    `holder` is who has the unit now; `meters` the crib's flow meters in calibration today; `planned_hours`
    the hours to be worn until `due_at`, which is the next bench inspection of a unit that is `assigned`;
    `charged_hours` since the battery left the charger. `sheet_given` is when the person got the information sheet,
    `hair_at` when facial hair was seen at the seal today and not since gone, `seal` the last look at it while that
    counts. `run_time`: how long the pack lasts. `work_limits` are codes, `worn_today_hours` what the wearer wore today
    already.
    `protection` is None while no area is on the counter.
    """

    unit: Unit
    model: UnitModel
    standing: Standing
    custody: Custody | None
    holder: Person | None
    outlook: tuple[PartOutlook, ...]
    person: Person | None
    clearances: tuple[ClearanceState, ...]
    holds_now: tuple[Held, ...]
    battery: Battery | None
    battery_in_use: bool
    area: Area | None
    due_at: datetime
    planned_hours: float
    needs_full_check: bool
    meters: tuple[Instrument, ...]
    today: date
    zone: ZoneInfo
    assigned: bool = False
    sheet_given: date | None = None
    hair_at: datetime | None = None
    unchecked_meters: frozenset[int] = frozenset()
    run_time: RunOutlook | None = None
    seal: SealLook | None = None
    work_limits: tuple[str, ...] = ()
    worn_today_hours: float = 0.0
    protection: Protection | None = None

    @property
    def required(self) -> bool:
        """Whether a respirator is required where it goes; while that is not known it counts as required.

        Over a limit it is required whatever the area is marked as.
        """
        over = self.protection is not None and self.protection.area.over_limit
        return self.area is None or self.area.required or over

    @property
    def confined(self) -> bool | None:
        """Whether the area is a confined space; None while none is on the counter."""
        return self.protection.area.confined if self.protection else None

    @property
    def rules(self) -> RuleSet:
        """The rule set that the issue is weighed by."""
        return self.protection.with_.rules if self.protection else NO_RULES


def reasons(facts: Facts, moment: datetime) -> tuple[Reason, ...]:
    """Every reason for and against the issue, stops first, then cautions, then what is fine."""
    found = [
        *_where(facts, moment),
        *_serviceable(facts),
        *_protection(facts),
        *_person(facts),
        *_clearances(facts),
        *work_limit_reasons(facts),
        *seal_reasons(facts, moment),  # a question: what nobody can mend at the counter comes before it
        *_holds_now(facts, moment),
        *_battery(facts),
        *_meter(facts),
        *lasting_reasons(facts),
    ]
    weighed = [facts.rules.weighed(reason) for reason in found]
    return tuple(sorted(weighed, key=lambda reason: WORST_FIRST.index(reason.level)))


def stops(found: tuple[Reason, ...]) -> tuple[Reason, ...]:
    """The stops among them."""
    return tuple(reason for reason in found if reason.level is Level.STOP)


def cautions(found: tuple[Reason, ...]) -> tuple[Reason, ...]:
    """The cautions among them."""
    return tuple(reason for reason in found if reason.level is Level.CAUTION)


def takes_back_own(facts: Facts) -> bool:
    """Whether the person wore the unit last: then it may go straight back after the full check."""
    last = facts.standing.last_custody
    return last is not None and facts.person is not None and last.person_id == facts.person.id


def at_hand(unit: Unit) -> bool:
    """Whether the unit is here, where it can be handed over."""
    return unit.where in (Where.RACK, Where.BENCH)


def _where(facts: Facts, moment: datetime) -> Iterator[Reason]:
    unit = facts.unit
    if at_hand(unit):
        return
    if facts.custody is not None:
        holder = facts.holder.name if facts.holder else "somebody"
        since = when(facts.custody.issued_at, facts.zone, moment)
        yield Reason(Level.STOP, "unit-out", f"{unit.label} is out with {holder}", f"Since {since}.", HOUSE)
        return
    detail = {
        Where.SCRAPPED: "It is never issued again.",
        Where.EMERGENCY: "It is kept for its named purpose.",
        Where.SENT_OUT: "It has to come back and pass at the bench first.",
        Where.MISSING: "Found, it has to pass at the bench first.",
    }.get(unit.where, "It is not at the counter.")
    yield Reason(Level.STOP, "unit-elsewhere", f"{unit.label}: {unit.where.value}", detail, HOUSE)


def _serviceable(facts: Facts) -> Iterator[Reason]:
    state = condition(facts.standing)
    if facts.custody is not None:
        return
    if state.state is Serviceable.READY:
        yield Reason(Level.FINE, "ready", "Ready", "", "29 CFR 1910.134(h)(3)")
        return
    if state.state is Serviceable.ON_HOLD:
        for words in state.why:
            basis = "29 CFR 1910.134(h)(4)"
            yield Reason(Level.STOP, "on-hold", f"On hold: {words}", "The bench releases it.", basis, words)
        return
    yield _not_ready(facts, state)


def _not_ready(facts: Facts, state: Condition) -> Reason:
    why = state.why[0]
    if takes_back_own(facts) and facts.standing.away is None and not used_part_came(facts.standing):
        return Reason(
            Level.CAUTION,
            "own-unit",
            "Not ready, but it is the wearer's own",
            f"{why.capitalize()}. The same wearer may take it straight back after the full check.",
            "29 CFR 1910.134(h)(1)(i); house rule",
        )
    remedy = "Clean it, then inspect it." if state.dirty else "Inspect it at the bench first."
    return Reason(Level.STOP, "not-ready", f"Not ready: {why}", remedy, "29 CFR 1910.134(h)(1)(ii), (h)(3)")


def _person(facts: Facts) -> Iterator[Reason]:
    person = facts.person
    if person is None:
        return
    against = badge_reason(person, facts.today, "It is refused for issue, accepted for return.")
    if against is not None:
        yield against
    elif person.ends_on and not facts.assigned and facts.due_at.astimezone(facts.zone).date() > person.ends_on:
        # what is assigned has no time: it comes on the list of badges that end
        words = f"The badge ends {day(person.ends_on, facts.today)}, before it is due back"
        yield Reason(Level.STOP, "due-after-badge", words, "Choose an earlier time with F6.", HOUSE)


def badge_reason(person: Person, today: date, detail: str) -> Reason | None:
    """What stands against a badge itself."""
    if not person.active:
        words = "This badge is no longer active"
        return Reason(Level.STOP, "badge-dead", words, "Ask the program administrator.", HOUSE)
    if person.ends_on and person.ends_on < today:
        return Reason(Level.STOP, "badge-ended", f"Badge ended {day(person.ends_on, today)}", detail, HOUSE)
    return None


def _clearances(facts: Facts) -> Iterator[Reason]:
    if facts.person is None:
        return
    wanted = needed(facts.model, facts.required)
    for state in facts.clearances:
        if state.kind not in wanted:
            continue
        bound = fit_bound(state, facts.model, facts.protection)
        reason = bound or clearance_reason(state, facts.unit, facts.model, facts.today)
        yield facts.rules.by_interval(reason, state.kind.value)
    if wanted and not facts.required:
        yield from _voluntary(facts)
    elif ClearanceKind.FIT_TEST not in wanted and wanted:
        yield Reason(Level.FINE, "fit-test", "Fit test not needed", "", "29 CFR 1910.134(f)(1)")


def fit_bound(state: ClearanceState, model: UnitModel, protection: Protection | None) -> Reason | None:
    """A fit test by taste or smell, or of no known method, carries a negative-pressure facepiece to factor 10 only."""
    bound = factor_by_fit(model, state) if state.kind is ClearanceKind.FIT_TEST else None
    needed_there = needed_factor(protection.area) if protection else None
    if not state.stands or bound is None or needed_there is None or needed_there <= bound:
        return None
    how = f"{state.method.partition(':')[0]}ly" if state.method else "in a way that nobody noted"
    words = f"Fit tested {how}: good for factor {bound}, {needed_words(needed_there)} needed"
    detail = "A test by an instrument is needed, or a powered unit."
    return Reason(Level.STOP, "fit-test", words, detail, "29 CFR 1910.134(f)(6), (f)(7)")


def _voluntary(facts: Facts) -> Iterator[Reason]:
    """Where no respirator is required the wearer gets the information for voluntary users, once, before the first."""
    basis = "29 CFR 1910.134(c)(2)(i)"
    if facts.sheet_given is None:
        words = "Information sheet: not given"
        detail = "Not required here, so worn by choice: hand the sheet over and record it."
        yield Reason(Level.STOP, "information-sheet", words, detail, basis)
    else:
        given = date_words(facts.sheet_given)
        yield Reason(Level.FINE, "information-sheet", "Information sheet given", given, basis)
    words = "Not required here: training and fit test not asked for"
    yield Reason(Level.FINE, "voluntary", words, "", "29 CFR 1910.134(c)(2)(ii)")


def clearance_reason(state: ClearanceState, unit: Unit, model: UnitModel, today: date) -> Reason:
    """How one kind of clearance weighs, for a unit of that model."""
    name, basis = NAMES[state.kind], BASIS[state.kind]
    code = state.kind.value.replace(" ", "-")
    if state.stands:
        words = {"medical": "Medically cleared", "training": "Trained"}.get(state.kind.value, "Fit tested")
        return Reason(Level.FINE, code, words, until_words(state, today), basis)
    if state.given_on is None:
        detail = "None on file."
        if state.kind is ClearanceKind.FIT_TEST:
            size = f", size {unit.size}" if unit.size else ""
            detail = f"None on file for {model.short_name}{size}."
            if state.other_sizes:
                detail += f" Tested with size {joined(state.other_sizes)}: take a unit of that size."
        return Reason(Level.STOP, code, f"{name}: none", f"{detail} {_who(state.kind)}", basis)
    if not state.cleared:
        return Reason(Level.STOP, code, f"{name}: not cleared", _who(state.kind), basis)
    if not state.proven:
        detail = "Without the employer's proof on file it does not stand. The program administrator enters it."
        return Reason(Level.STOP, code, f"{name}: no proof of the employer", detail, f"{basis}; {HOUSE}")
    assert state.until is not None
    ago = (today - state.until).days
    words = f"{name} ended {count(ago, 'day')} ago"
    return Reason(Level.STOP, code, words, f"Ran until {day(state.until, None)}. {_who(state.kind)}", basis)


def _who(kind: ClearanceKind) -> str:
    if kind is ClearanceKind.MEDICAL:
        return "The health professional decides; the program administrator enters it."
    return "If it was done and not entered, the program administrator can enter it."


def _holds_now(facts: Facts, moment: datetime) -> Iterator[Reason]:
    for held in facts.holds_now:
        if held.unit == facts.unit.label or not held.overdue or held.due_at is None:
            continue
        due = when(held.due_at, facts.zone, moment)
        where = f", {held.area}" if held.area else ""
        yield Reason(
            Level.CAUTION, "overdue", f"Still holds {held.unit}, overdue", f"Due back {due}{where}.", HOUSE, held.unit
        )


def _battery(facts: Facts) -> Iterator[Reason]:
    battery = facts.battery
    if battery is None or not facts.model.battery_models:
        return
    if battery.model not in facts.model.battery_models:
        words = f"{battery.label} is no battery for {facts.model.short_name}"
        yield Reason(Level.STOP, "battery-model", words, "Take an approved pack.", "maker's instructions, unit model")
    elif battery.faulty:
        words = f"{battery.label} has a fault: {battery.note.removeprefix(FAULT).strip(': ')}"
        yield Reason(Level.STOP, "battery-fault", words, "Take another pack; the bench looks at this one.", HOUSE)
    elif facts.battery_in_use:
        words = f"{battery.label} is in use: in another unit, or out"
        yield Reason(Level.STOP, "battery-elsewhere", words, "Take another pack.", HOUSE)
    elif battery.place in (BatteryPlace.SENT_OUT, BatteryPlace.MISSING, BatteryPlace.SCRAPPED):
        words = f"{battery.label} is not here: {battery.place.value}"
        yield Reason(Level.STOP, "battery-elsewhere", words, "Take another pack.", HOUSE)
    elif battery.charged_at is None:
        yield Reason(
            Level.CAUTION,
            "battery-charge",
            f"{battery.label} was not seen on a charger since its last use",
            "Look at its bars in the check; take another pack when in doubt.",
            HOUSE,
        )
    else:
        yield Reason(Level.FINE, "battery", "Battery charged", "", HOUSE)


def _meter(facts: Facts) -> Iterator[Reason]:
    if facts.model.flow_minimum_lpm is None or not facts.needs_full_check:
        return
    if facts.meters:
        last = max(meter.calibrated_until for meter in facts.meters)
        yield Reason(Level.FINE, "meter", "Flow meter in calibration", f"until {date_words(last)}", HOUSE)
    else:
        yield Reason(
            Level.STOP,
            "meter",
            "No flow meter in calibration",
            "The full check needs one. Calibrate a meter, or take a unit inspected at the bench this shift.",
            "house rule; maker's instructions",
        )


def _protection(facts: Facts) -> Iterator[Reason]:
    """Whether the unit is enough for the area, once one is chosen."""
    if facts.area is None:
        return
    if facts.protection is None or not facts.rules.rules:
        yield NO_RULE_SET
    else:
        yield from protection_reasons(facts.protection.area, facts.protection.respirator, facts.protection.with_)


NO_RULE_SET = Reason(
    Level.STOP,
    "no-rules",
    "The rule set of this site has no file: nothing can be judged",
    "Put the file back in resources/rules, or choose another in the settings.",
    HOUSE,
)
