"""A flow meter found wrong: which units' passes rest on it, what is held, and the corrections beside readings."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from cribdesk.crib.flow import round_up, sure_from
from cribdesk.crib.hold import METER
from cribdesk.crib.meter import (
    Finding,
    MeterErrors,
    correction_words,
    error_at,
    finding_of,
    findings,
    found_wrong,
    still_passes,
)
from cribdesk.crib.records import (
    AWAY,
    Calibration,
    Custody,
    Hold,
    Inspection,
    Instrument,
    MeterCheck,
    Notice,
    NoticeKind,
    Reading,
    Unit,
    Verdict,
    Where,
)
from cribdesk.crib.serviceable import COUNTS_AS_INSPECTION, why_not_checked
from cribdesk.crib.words import count, in_sentence, number
from cribdesk.desk.air import guard_of
from cribdesk.desk.call_in import note_call_in
from cribdesk.desk.facts import standing_of
from cribdesk.desk.house import House
from cribdesk.desk.inspection import hold_anew
from cribdesk.desk.operation import Context
from cribdesk.desk.ports import Records, Work
from cribdesk.procedure.record import from_json


@dataclass(frozen=True)
class Rests:
    """A unit whose standing pass rests on a reading of the meter; `reading_lpm` is None where a ball was read.

    `factor` is what flowed for what was shown, in the air of that day; `guard_lpm` the band that a sure pass keeps.
    """

    unit: Unit
    reading_lpm: float | None
    minimum_lpm: float | None
    guard_lpm: float = 0.0
    factor: float = 1.0

    def really(self, error_lpm: float) -> float:
        """By how much less flowed with the meter wrong by so much, in the air of that day."""
        return error_lpm * self.factor

    def stands(self, error_lpm: float) -> bool:
        """Whether its pass still stands with the meter wrong by so much."""
        return still_passes(self.reading_lpm, self.really(error_lpm), self.minimum_lpm, self.guard_lpm)


@dataclass(frozen=True)
class Found:
    """What became of the units: words for the sentence, what was touched, what prints."""

    words: str
    subjects: tuple[str, ...] = ()
    papers: tuple[tuple[str, str], ...] = ()


def would_find(records: Records, house: House, meter: Instrument, made: Calibration | MeterCheck) -> Finding | None:
    """What this calibration or check tells of the readings before it; None where it found no error.

    It need not be saved yet.
    """
    calibrations = records.find(Calibration, instrument_id=meter.id)
    checks = records.find(MeterCheck, instrument_id=meter.id)
    if isinstance(made, Calibration):
        known = [one for one in calibrations if one.id != made.id]
        return finding_of(meter, made, known, checks, house.zone)
    return finding_of(meter, made, calibrations, [one for one in checks if one.id != made.id], house.zone)


def errors_of(records: Records, house: House, meter_ids: Iterable[int | None]) -> MeterErrors:
    """By how much readings of these meters were wrong; three queries, one more where one was ever found wrong."""
    ids = sorted({one for one in meter_ids if one})
    meters = {one.id: one for one in records.find(Instrument, id=ids)} if ids else {}
    calibrations = records.find(Calibration, instrument_id=ids) if ids else []
    bad = records.find(MeterCheck, instrument_id=ids, good=False) if ids else []
    wrong = {one.instrument_id for one in bad if one.read_lpm is not None}
    wrong |= {
        one.instrument_id
        for one in calibrations
        if found_wrong(one.found_error_lpm, meters[one.instrument_id].uncertainty_lpm)
    }
    checks = records.find(MeterCheck, instrument_id=sorted(wrong)) if wrong else []
    found = {
        id_: findings(
            meters[id_],
            [one for one in calibrations if one.instrument_id == id_],
            [one for one in checks if one.instrument_id == id_],
            house.zone,
        )
        for id_ in wrong
    }
    return lambda meter_id, at: error_at(found.get(meter_id or 0, ()), at)


def resting_on(records: Records, house: House, meter: Instrument, finding: Finding, now: datetime) -> list[Rests]:
    """Every unit whose standing pass rests on a reading that the finding speaks of, by id.

    A pass stands while nothing was done to the unit since that asks for a new one; a unit that is out stands on the
    pass it left with.
    """
    made = records.find(Reading, instrument_id=meter.id)
    unit_ids = sorted({one.unit_id for one in made if finding.since <= one.at <= finding.until})
    found = []
    for unit in records.find(Unit, id=unit_ids):
        passed = records.latest(Inspection, unit_id=unit.id, verdict=Verdict.PASS, kind=COUNTS_AS_INSPECTION)
        if passed is None or unit.where is Where.SCRAPPED or not _stands(records, house, unit, now):
            continue
        last: dict[str, Reading] = {}
        for one in records.find(Reading, inspection_id=passed.id):
            if one.flow_lpm is not None or one.ball:
                last[one.quantity] = one  # the last one of a step decided it
        model = house.models.get(unit.model)
        minimum = model.flow_minimum_lpm if model else None
        guard = guard_of(house, minimum, meter.uncertainty_lpm) or 0.0
        found += [
            Rests(unit, one.flow_lpm, minimum, guard, _factor(passed, one))
            for one in last.values()
            if one.instrument_id == meter.id and finding.since <= one.at <= finding.until
        ][:1]
    return found


def _factor(passed: Inspection, reading: Reading) -> float:
    """What flowed for what the meter showed; 1 for a reading from before the air was asked."""
    for asked in reversed(from_json(passed.answers).asked):
        if asked.step == reading.quantity and asked.actual is not None and asked.value and not asked.replaced:
            return asked.actual / asked.value
    return 1.0


def _stands(records: Records, house: House, unit: Unit, now: datetime) -> bool:
    """Of a model that has no file nothing can be said: its pass counts as standing, so that it is looked at."""
    return unit.model not in house.models or not why_not_checked(standing_of(records, house, unit, now))


def act_on(work: Work, context: Context, meter: Instrument, finding: Finding | None) -> Found:
    """Holds every unit whose pass no longer stands with the meter as wrong as it was found, and tells the office."""
    if finding is None:
        return Found("")
    looked = resting_on(work, context.house, meter, finding, context.moment)
    much = f"{number(abs(finding.error_lpm))} L/min"
    if finding.error_lpm < 0:
        words = f"It had read {much} too little: {_rest(looked)}, none of them is unsafe for it."
        _tell(work, context, meter, words)
        return Found(words)
    work.take(*(one.unit for one in looked))
    failing = [one for one in looked if not one.stands(finding.error_lpm)]
    tags = [(one.unit, _hold(work, context, meter, one, finding.error_lpm)) for one in failing]
    standing = len(looked) - len(failing)
    words = f"It had read {much} too much: {_rest(looked)}, {len(failing)} on hold, {standing} still pass."
    _tell(work, context, meter, words)
    subjects = tuple(label for unit, hold in tags for label in (unit.label, hold.tag))
    papers = tuple(paper for unit, hold in tags for paper in _paper(work, context, unit, hold))
    return Found(words, subjects, papers)


def _rest(looked: list[Rests]) -> str:
    verb = "rests" if len(looked) == 1 else "rest"
    return f"{count(len(looked), 'unit')} {verb} on it since its last good check"


def _hold(work: Work, context: Context, meter: Instrument, one: Rests, error: float) -> Hold:
    needed = _needed(one)
    seen = "the ball was read" if one.reading_lpm is None else ""
    parts = (seen, correction_words(one.reading_lpm, one.really(error)))
    words = f"{meter.label}: {', '.join(part for part in parts if part)}"
    return hold_anew(work, context, one.unit, METER, f"{words}{needed}")


def _needed(one: Rests) -> str:
    if one.minimum_lpm is None:
        return ""
    if not one.guard_lpm:
        return f"; at least {number(one.minimum_lpm)} is needed"
    least = number(round_up(sure_from(one.minimum_lpm, one.guard_lpm)), 1).removesuffix(".0")
    return f"; {least} is needed to be sure"


def _paper(work: Work, context: Context, unit: Unit, hold: Hold) -> tuple[tuple[str, str], ...]:
    """A tag for one in hand; one that somebody has is called in, with its slip; one far away gets it at its return."""
    if work.first(Custody, unit_id=unit.id, returned_at=None) is not None:
        note_call_in(work, context, unit, f"on hold: {in_sentence(METER.words)}: {hold.detail}")
        return (("call_in_slip", hold.tag),)
    return () if unit.where in AWAY else (("tag", hold.tag),)


def _tell(work: Work, context: Context, meter: Instrument, words: str) -> None:
    work.save(
        Notice(
            kind=NoticeKind.METER,
            instrument_id=meter.id,
            detail=f"{meter.label}: {words[:1].lower()}{words[1:]}",
            at=context.moment,
            by_id=context.clerk.id,
        )
    )
