"""The two papers that tell of an inspection: the issue slip and the inspection's own record."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from datetime import datetime, timedelta
from typing import Any

from cribdesk.crib.meter import correction_words
from cribdesk.crib.model import UnitModel
from cribdesk.crib.records import (
    Area,
    Battery,
    Carried,
    Custody,
    Inspection,
    Instrument,
    Person,
    Slip,
    Unit,
    Verdict,
    Wording,
)
from cribdesk.crib.serviceable import COUNTS_AS_INSPECTION
from cribdesk.crib.words import capital, clock, count, date_words
from cribdesk.desk.area_page import exposure_words
from cribdesk.desk.house import House
from cribdesk.desk.meters import errors_of
from cribdesk.desk.ports import Reader
from cribdesk.desk.printing_parts import AT_THE_CRIB, by_id, local, origin, unit_name
from cribdesk.desk.printouts import (
    InspectionRecord,
    IssueSlip,
    OwnCheck,
    RecordedAnswer,
    RecordVerdict,
    SlipCaution,
    SlipReading,
)
from cribdesk.desk.saying import about, inspected_words, name_of
from cribdesk.desk.timeline import names_of
from cribdesk.procedure.answers import Asked
from cribdesk.procedure.record import from_json

MEASURED = ("reading", "timed")
LOOKED_AT = ("look", "action", "choice")
MOST_OWN_CHECKS = 36
"""So many rows the grid has at most: what one half page holds."""
CARRIED = "I have the unit and carry it to its wearer, to nobody else."
PASSES_LOOKED_AT = 30
"""The pass that stood at the issue is sought among so many of the last ones, then among all."""


def issue_slip(reader: Reader, house: House, of: str, moment: datetime) -> IssueSlip:
    """The slip of that label, issued or only prepared to be signed; at most nineteen queries."""
    slip = reader.first(Slip, label=of)
    if slip is None:
        raise LookupError(f"There is no slip {of} in this store.")
    unit = reader.get(Unit, slip.unit_id)
    custody = reader.first(Custody, slip_id=slip.id)
    placed = origin(reader, slip.label)
    people = by_id(reader, Person, slip.person_id, custody.issued_by if custody else None)
    clerks = {} if custody or placed is None else names_of(reader, (placed.clerk,))
    clerk = name_of(people.get(custody.issued_by)) if custody else next(iter(clerks.values()), "the clerk")
    wearer = people[slip.person_id]
    made = custody or slip  # one that is only prepared says what it will be
    battery = reader.first(Battery, id=made.battery_id) if made.battery_id else None
    area = reader.first(Area, id=made.area_id) if made.area_id else None
    issued_at = custody.issued_at if custody else slip.prepared_at
    full, short = _checks(reader, unit, custody, issued_at)
    model = house.models.get(unit.model)
    return IssueSlip(
        slip=slip.label,
        issued_at=local(house, issued_at),
        counter=placed.counter if placed else AT_THE_CRIB,
        clerk=clerk,
        wearer=wearer.label,
        wearer_name=name_of(wearer),
        wearer_about=about(wearer),
        due_back=local(house, made.due_at) if made.due_at else None,
        unit=unit.label,
        unit_model=unit_name(house, unit),
        battery=battery.label if battery else "",
        battery_about=battery.model if battery else "",
        area=area.name if area else "",
        exposure=exposure_words(reader, house, area, unit.model, issued_at, moment) if area else "",
        inspected=capital(inspected_words(full, house, issued_at)) if full else "",
        handed_over=f"checked at hand-over {clock(short.ended_at, house.zone)}" if short else "",
        readings=_readings(full, short),
        cautions=_cautions(custody, clerk, house),
        own_part=tuple(OwnCheck(when, do) for when, do in model.cautions) if model else (),
        **_assigned(reader, house, model, custody, made.due_at is None, full, issued_at),
    )


def _assigned(
    reader: Reader,
    house: House,
    model: UnitModel | None,
    custody: Custody | None,
    assigned: bool,
    full: Inspection | None,
    issued_at: datetime,
) -> dict[str, Any]:
    """What an assigned unit's slip has besides: its next bench inspection, the grid until then, who carried it."""
    if not assigned or model is None:
        return {}
    since = full.ended_at if full is not None else issued_at
    inspect_by = house.today(since) + timedelta(days=house.inspection_days(model))
    days = (inspect_by - house.today(issued_at)).days + 1
    carried = reader.first(Carried, custody_id=custody.id) if custody else None
    carrier = reader.get(Person, carried.person_id) if carried else None
    told = {"inspect_by": inspect_by, "own_checks": max(1, min(MOST_OWN_CHECKS, days))}
    if carrier is None:
        return told
    return {**told, "carrier": carrier.label, "carrier_name": name_of(carrier), "declaration": CARRIED}


def inspection_record(reader: Reader, house: House, of: str, moment: datetime) -> InspectionRecord:
    """The record of the inspection whose id `of` is, as text; ten queries or eleven."""
    inspection = reader.first(Inspection, id=int(of)) if of.isascii() and of.isdigit() else None
    if inspection is None:
        raise LookupError(f"There is no inspection {of} in this store.")
    unit = reader.get(Unit, inspection.unit_id)
    wording = reader.get(Wording, inspection.wording_id)
    made = from_json(inspection.answers)
    by = reader.get(Person, inspection.by_id)
    names = names_of(reader, (asked.by for asked in made.asked))
    labels = sorted({asked.instrument for asked in made.asked if asked.instrument})
    meters = reader.find(Instrument, label=labels)
    return InspectionRecord(
        unit=unit.label,
        unit_model=unit_name(house, unit),
        procedure=made.name,
        edition=f"edition {wording.edition}, wording {wording.digest[:12]}",
        started_at=local(house, inspection.started_at),
        ended_at=local(house, inspection.ended_at),
        verdict=RecordVerdict(inspection.verdict.value),
        by=name_of(by),
        counter=_counter(reader, unit, inspection),
        why=made.fault_words or made.broken_off,
        instruments=tuple(_meter_words(one) for one in meters),
        answers=_answers(made.asked, names, house, _corrections(reader, house, meters)),
    )


def _corrections(reader: Reader, house: House, meters: Sequence[Instrument]) -> Callable[[Asked], str]:
    """What stands beside a reading whose meter was found wrong since: the reading itself stays as it was entered."""
    ids = {meter.label: meter.id for meter in meters}
    error = errors_of(reader, house, ids.values())

    def words(one: Asked) -> str:
        if one.kind != "reading" or not one.instrument:
            return ""
        factor = one.actual / one.value if one.actual is not None and one.value else 1.0
        return correction_words(one.counts, error(ids.get(one.instrument), one.moment) * factor)

    return words


def _checks(
    reader: Reader, unit: Unit, custody: Custody | None, issued_at: datetime
) -> tuple[Inspection | None, Inspection | None]:
    """The full inspection that stood at the issue and the hand-over check, where that was the short one."""
    made = reader.first(Inspection, id=custody.inspection_id) if custody and custody.inspection_id else None
    if made is not None and made.kind in COUNTS_AS_INSPECTION:
        return made, None
    counting = {"unit_id": unit.id, "kind": COUNTS_AS_INSPECTION, "verdict": Verdict.PASS}
    passes = reader.newest(Inspection, PASSES_LOOKED_AT, **counting)
    if passes and all(one.ended_at > issued_at for one in passes):
        passes = reader.find(Inspection, **counting)  # an old slip, printed again
    full = next((one for one in reversed(passes) if one.ended_at <= issued_at), None)
    return full, made


def _readings(full: Inspection | None, short: Inspection | None) -> tuple[SlipReading, ...]:
    rows: list[SlipReading] = []
    if full is not None:
        rows += _rows(from_json(full.answers).asked, "Looked at")
    if short is not None:
        rows += _rows(from_json(short.answers).asked, "At hand-over")
    return tuple(rows)


def _rows(asked: Sequence[Asked], looked_at: str) -> list[SlipReading]:
    """The last answer to each step: readings one by one, looks as one line, what was done about them."""
    last = {one.step: one for one in asked if not one.replaced and one.kind != "remedy"}
    rows = [_measured(one) for one in last.values() if one.kind in MEASURED]
    looks = [one for one in last.values() if one.kind in LOOKED_AT]
    if looks:
        good = all(one.good for one in looks)
        rows.append(SlipReading(f"{looked_at}, {count(len(looks), 'step')}", "good" if good else "not good", good=good))
    done = [one for one in asked if one.kind == "remedy" and one.good and not one.replaced]
    rows += [SlipReading(one.title, one.answer, good=None) for one in done]
    return rows


def _measured(one: Asked) -> SlipReading:
    """'17.2 s', '15 to 20', 'sounds and vibrates': the figure first, its unit once, the rest as a note."""
    signals, _, figure = one.answer.rpartition(" at ")
    value = figure if signals and one.kind == "timed" and one.value is not None else one.answer
    note = signals if value != one.answer else ""
    if one.instrument:
        note = f"meter {one.instrument}"
    limit = one.limit.removesuffix(one.unit).rstrip() if one.unit and value.endswith(one.unit) else one.limit
    return SlipReading(one.title, value, limit, note, one.good)


def _cautions(custody: Custody | None, clerk: str, house: House) -> tuple[SlipCaution, ...]:
    if custody is None:
        return ()
    accepted = f"Accepted by {clerk} at {clock(custody.issued_at, house.zone)}."
    return tuple(SlipCaution(line, accepted) for line in custody.cautions.splitlines() if line)


def _answers(
    asked: Sequence[Asked], names: dict[str, str], house: House, correction: Callable[[Asked], str]
) -> tuple[RecordedAnswer, ...]:
    last = _last_retest(asked)
    return tuple(
        RecordedAnswer(
            step=str(one.number),
            question=one.question or one.title,
            limit=one.limit,
            answer=one.answer,
            by=names.get(one.by, one.by),
            at=local(house, one.moment),
            instrument=one.instrument,
            good=one.good,
            replaced=one.replaced or (one.kind != "remedy" and one.retest < last[one.step]),
            remark=correction(one),
        )
        for one in asked
    )


def _last_retest(asked: Iterable[Asked]) -> dict[str, int]:
    """The last retest of each step that counts."""
    last: dict[str, int] = {}
    for one in asked:
        if one.kind != "remedy" and not one.replaced:
            last[one.step] = max(one.retest, last.get(one.step, 0))
        last.setdefault(one.step, 0)
    return last


def _counter(reader: Reader, unit: Unit, inspection: Inspection) -> str:
    """Where it was made, told by the entry that kept it; sought among the last entries of the unit."""
    for entry in reader.entries(subject=unit.label, count=100).entries:
        if any(table == "inspection" and row["id"] == inspection.id for table, row in entry.rows):
            return entry.counter
    return AT_THE_CRIB


def _meter_words(meter: Instrument) -> str:
    return f"{meter.name} {meter.label}, serial {meter.serial or 'none'}, calibrated {date_words(meter.calibrated_on)}"
