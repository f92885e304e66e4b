"""A flow meter found wrong: which units' passes rest on it, and what is held."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from cribdesk.crib.hold import METER
from cribdesk.crib.meter import Finding
from cribdesk.crib.records import (
    AWAY,
    Custody,
    Hold,
    Inspection,
    Instrument,
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
from cribdesk.desk.meter_errors import Rests, errors_of, factor_of, would_find
from cribdesk.desk.operation import Context
from cribdesk.desk.ports import Records, Work
from cribdesk.procedure.record import from_json


@dataclass(frozen=True)
class Found:
    """What became of the units: words for the sentence, what was touched, what prints."""

    words: str
    subjects: tuple[str, ...] = ()
    papers: tuple[tuple[str, str], ...] = ()


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
            Rests(unit, one.flow_lpm, minimum, guard, factor_of(from_json(passed.answers).asked, one))
            for one in last.values()
            if one.instrument_id == meter.id and finding.since <= one.at <= finding.until
        ][:1]
    return found


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
    return hold_anew(work, context, one.unit, METER, one.words(meter, error))


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


__all__ = ["Found", "Rests", "act_on", "errors_of", "resting_on", "would_find"]
