"""What the program administrator has to see. What was said is personal: it opens for that role alone."""

from __future__ import annotations

from datetime import datetime

from cribdesk.crib.records import Instrument, Notice, NoticeKind, Role, Unit
from cribdesk.crib.words import capital, count
from cribdesk.desk.house import House
from cribdesk.desk.ports import Reader
from cribdesk.desk.saying import moment_words
from cribdesk.desk.shift_list import ShiftAction, ShiftList, ShiftRow, ShiftRows

PRESSING = (NoticeKind.NO_FILTER, NoticeKind.METER, NoticeKind.REFUSED)
"""What may mean that somebody breathed what they should not have: these stand first."""


def waiting(reader: Reader) -> list[Notice]:
    """Notices nobody has answered, the pressing ones first, each kind by age."""
    found = reader.find(Notice, seen_at=None)
    return sorted(found, key=lambda one: (one.kind not in PRESSING, one.at, one.id))


def _row(one: Notice, labels: dict[int, str], meters: dict[int, str], house: House, moment: datetime) -> ShiftRow:
    unit = labels.get(one.unit_id or 0, "")
    meter = meters.get(one.instrument_id or 0, "")
    told = [f"noted {moment_words(one.at, house, moment)}", *([meter] if meter else [])]
    told.append("something was offered instead" if one.offered else "")
    answer = ShiftAction("Read and answer", "form", "see-notice", str(one.id))
    sign = "stop" if one.kind in PRESSING else "caution"
    detail = capital(", ".join(part for part in told if part))
    return ShiftRow(str(one.id), sign, capital(one.kind.value), detail, unit, (answer,), bold=one.kind in PRESSING)


def _read(reader: Reader, house: House, moment: datetime) -> ShiftRows:
    found = waiting(reader)
    unit_ids = sorted({one.unit_id for one in found if one.unit_id})
    labels = {unit.id: unit.label for unit in reader.find(Unit, id=unit_ids)}
    meter_ids = sorted({one.instrument_id for one in found if one.instrument_id})
    meters = {one.id: f"{one.name} {one.label}" for one in reader.find(Instrument, id=meter_ids)}
    return ShiftRows(
        f"{count(len(found), 'notice waits', 'notices wait')} for the program administrator.",
        tuple(_row(one, labels, meters, house, moment) for one in found),
        "Nothing waits for the program administrator.",
        caution="Who it was and what was said opens for the program administrator only, with the answer.",
    )


LIST = ShiftList(
    "administrator", "For the program administrator", 80, _read,
    lambda reader, house, moment: reader.count(Notice, seen_at=None), (Role.PROGRAM,),
)  # fmt: skip
