"""What was found of flow meters, read for readings old and new, and whether a pass still stands on such a reading."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from cribdesk.crib.flow import PASS, decide, round_up, sure_from
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
from cribdesk.crib.records import Calibration, Instrument, MeterCheck, Reading, Unit
from cribdesk.crib.words import number
from cribdesk.desk.air import flowed, guard_of
from cribdesk.desk.house import House
from cribdesk.desk.ports import Records
from cribdesk.procedure.answers import Asked
from cribdesk.procedure.run import Run

DIGITS = 3
"""A flow weighed again must agree to the millilitre."""

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

    def words(self, meter: Instrument, error_lpm: float) -> str:
        """'M000001V: read 176, meter read 9 too much: 167; at least 170 is needed'."""
        seen = "the ball was read" if self.reading_lpm is None else ""
        parts = (seen, correction_words(self.reading_lpm, self.really(error_lpm)))
        return f"{meter.label}: {', '.join(part for part in parts if part)}{self._needed()}"

    def _needed(self) -> str:
        if self.minimum_lpm is None:
            return ""
        if not self.guard_lpm:
            return f"; at least {number(self.minimum_lpm)} is needed"
        least = number(round_up(sure_from(self.minimum_lpm, self.guard_lpm)), 1).removesuffix(".0")
        return f"; {least} is needed to be sure"


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


def factor_of(asked: Iterable[Asked], reading: Reading) -> float:
    """What flowed for what the meter showed; 1 for a reading from before the air was asked."""
    for one in reversed(tuple(asked)):
        if one.step == reading.quantity and one.actual is not None and one.value and not one.replaced:
            return one.actual / one.value
    return 1.0


def overtaken(records: Records, house: House, unit: Unit, run: Run, meters: Iterable[Instrument]) -> str:
    """Why a passed run no longer stands: a meter of it was found wrong meanwhile; '' where it stands."""
    by_label = {one.label: one for one in meters}
    error = errors_of(records, house, (one.id for one in by_label.values()))
    last = {one.step: one for one in run.asked if one.instrument in by_label and not one.replaced}
    for asked in last.values():  # the last one of a step decided it
        meter = by_label[asked.instrument]
        wrong = error(meter.id, asked.moment)
        minimum = run.model.flow_minimum_lpm
        guard = guard_of(house, minimum, meter.uncertainty_lpm) or 0.0
        factor = asked.actual / asked.value if asked.actual is not None and asked.value else 1.0
        rests = Rests(unit, asked.counts, minimum, guard, factor)
        if not rests.stands(wrong):
            return rests.words(meter, wrong)
    return ""


def ill_weighed(house: House, run: Run, meters: Mapping[str, Instrument]) -> str:
    """Why the airflow of a passed run was not weighed by today's rules; '' where it was.

    A number stands on the air it was read in, its meter's scale and uncertainty, and lies beyond the guard band; a ball
    on air in which its mark holds.
    """
    for asked in run.asked:
        if asked.kind == "reading" and asked.instrument and asked.good and not asked.replaced:
            ball = asked.value is None
            why = _ill_ball(run, asked) if ball else _ill_number(house, run, asked, meters[asked.instrument])
            if why:
                return why
    return ""


def _ill_ball(run: Run, asked: Asked) -> str:
    held = run.model.ball_range_c
    if asked.temperature_c is None:
        return "the ball was read without the air's temperature"
    return "" if held and held[0] <= asked.temperature_c <= held[1] else "the ball was read in air its mark is not for"


def _ill_number(house: House, run: Run, asked: Asked, meter: Instrument) -> str:
    if asked.temperature_c is None or asked.actual is None or asked.value is None or asked.counts is None:
        return "its airflow was read without the air's temperature"
    model = house.models.get(run.model.code, run.model)
    scale, minimum = meter.calibration_kg_m3, model.flow_minimum_lpm
    try:
        flow = flowed(house, model, asked.value, asked.temperature_c, asked.pressure_hpa, scale)
    except ValueError:
        return "its airflow was read in air the maker's chart does not know"
    if round(flow - asked.actual, DIGITS) or asked.uncertainty != meter.uncertainty_lpm:
        return "its airflow was weighed for another meter or other air"
    guard = guard_of(house, minimum, meter.uncertainty_lpm)
    if guard and minimum and decide(asked.counts, minimum, guard) != PASS:
        return "its airflow was weighed without the guard band"
    return ""
