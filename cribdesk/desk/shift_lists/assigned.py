"""Who keeps a unit for weeks: the last own check and the next bench inspection of each, what is amiss first."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from cribdesk.crib.clearance import ClearanceState, clearance_state, needed
from cribdesk.crib.records import Area, Clearance, Custody, OwnCheck, Person
from cribdesk.crib.words import capital, count, day
from cribdesk.desk.first import SOON
from cribdesk.desk.house import House
from cribdesk.desk.ports import Reader
from cribdesk.desk.recheck import bench_by, proofs_of_all, rechecked
from cribdesk.desk.saying import about, moment_words, name_of
from cribdesk.desk.shift_list import ShiftAction, ShiftList, ShiftRow, ShiftRows
from cribdesk.desk.standings import Member, fleet

ENTRIES_AT_ONCE = 100
"""A change of crew is sought among the entries about a person whose record changed at all, so many a query."""
LEVELS = ("stop", "caution", "")


@dataclass(frozen=True)
class Kept:
    """One assigned unit: what stands against it (level, words), its last own check, its next bench inspection."""

    member: Member
    custody: Custody
    holder: Person
    troubles: tuple[tuple[str, str], ...]
    last_check: OwnCheck | None
    bench_by: date | None

    @property
    def level(self) -> str:
        """The worst of its troubles."""
        levels = [level for level, _ in self.troubles]
        return next((level for level in LEVELS if level in levels), "")


def assigned(reader: Reader, house: House, moment: datetime) -> tuple[Kept, ...]:
    """Every assigned unit, trouble first, then by the day of its next bench inspection."""
    units = [one for one in fleet(reader, house, moment) if one.custody and one.custody.assigned and one.holder]
    against = {one.custody.id: one for one in rechecked(reader, house, units, moment)}
    checks = reader.latest_of_each(OwnCheck, "custody_id")
    ending = _ending(reader, house, units, moment)
    found = []
    for one in units:
        custody, holder = one.custody, one.holder
        assert custody is not None
        assert holder is not None
        by = bench_by(house, custody, one.standing)
        stands = against.get(custody.id)
        stops = [("stop", words.words) for words in (stands.against if stands else ())]
        called = [("stop", "called in")] if stands and stands.call_in and not stops else []
        soon = [*_soon(house, holder, by, moment), *ending.get(custody.id, ())]
        moved = [("caution", words) for words in _moved(reader, holder, custody)]
        found.append(Kept(one, custody, holder, (*stops, *called, *soon, *moved), checks.get(custody.id), by))
    return tuple(sorted(found, key=_worst))


def _worst(one: Kept) -> tuple[int, date, str]:
    return LEVELS.index(one.level), one.bench_by or date.max, one.member.unit.label


def _soon(house: House, holder: Person, by: date | None, moment: datetime) -> list[tuple[str, str]]:
    """What comes within the week: the bench inspection, the end of the badge."""
    today = house.today(moment)
    found = []
    if by is not None and today <= by <= today + SOON:
        found.append(("caution", f"bench inspection by {day(by, today)}"))
    if holder.ends_on is not None and today <= holder.ends_on <= today + SOON:
        found.append(("caution", f"leaves: the badge ends {day(holder.ends_on, today)}"))
    return found


def _ending(
    reader: Reader, house: House, units: list[Member], moment: datetime
) -> dict[int, list[tuple[str, str]]]:
    """By custody, the clearances it needs that end within the week; in three queries."""
    today = house.today(moment)
    holders = {one.holder.id: one.holder for one in units if one.holder}
    rows: dict[int, list[Clearance]] = {}
    for row in reader.find(Clearance, person_id=sorted(holders)):
        rows.setdefault(row.person_id, []).append(row)
    proofs = proofs_of_all(reader, house, holders.values())
    area_ids = sorted({one.custody.area_id for one in units if one.custody and one.custody.area_id})
    areas = {one.id: one for one in reader.find(Area, id=area_ids)}
    found: dict[int, list[tuple[str, str]]] = {}
    for one in units:
        model = house.models.get(one.unit.model)
        if model is None or one.custody is None or one.holder is None:
            continue
        area = areas.get(one.custody.area_id) if one.custody.area_id else None
        for kind in needed(model, area is None or area.required):
            state = clearance_state(
                rows.get(one.holder.id, []), kind, today, model=model.code, size=one.unit.size,
                proofs=proofs.get(one.holder.id), months=house.clearance_months,
            )  # fmt: skip
            if _ends_soon(state, today):
                assert state.until is not None
                words = ("caution", f"{kind.value} ends {day(state.until, today)}")
                found.setdefault(one.custody.id, []).append(words)
    return found


def _ends_soon(state: ClearanceState, today: date) -> bool:
    return state.stands and state.until is not None and state.until <= today + SOON


def _moved(reader: Reader, holder: Person, custody: Custody) -> list[str]:
    """Whether the holder went to another crew since; the journal is asked only for a person who changed at all."""
    if holder.revision < 2:
        return []
    before = _crew_then(reader, holder, custody.issued_at)
    if before is None or before == holder.crew:
        return []
    return [f"moved from {before} to {holder.crew}" if before and holder.crew else "moved to another crew"]


def _crew_then(reader: Reader, holder: Person, moment: datetime) -> str | None:
    """The crew somebody was of at that moment: by the last entry until then that saved them, however long ago."""
    page = reader.entries(subject=holder.label, count=ENTRIES_AT_ONCE)
    while True:
        for entry in page.entries:  # newest first
            crews = [str(row["crew"]) for table, row in entry.rows if table == "person" and row["id"] == holder.id]
            if entry.moment <= moment and crews:
                return crews[-1]
        if page.before is None:
            return None
        page = reader.entries(subject=holder.label, count=ENTRIES_AT_ONCE, before=page.before)


def _check_words(one: Kept, house: House, moment: datetime) -> str:
    check = one.last_check
    if check is None:
        return "no own check yet"
    good = check.flow_good and check.alarm_good and not check.note
    on = moment_words(check.at, house, moment) if check.source != "slip" else day(house.today(check.at))
    return f"last own check {on}, {'good' if good else 'not good'}"


def _row(one: Kept, house: House, moment: datetime) -> ShiftRow:
    unit, today = one.member.unit.label, house.today(moment)
    who = ", ".join(part for part in (name_of(one.holder), about(one.holder)) if part)
    bench = f"bench inspection by {day(one.bench_by, today)}" if one.bench_by else "no bench inspection asked for"
    said = [words for _, words in one.troubles]
    plain = [_check_words(one, house, moment)]
    if not any("ench inspection" in words for words in said):
        plain.append(bench)
    actions = (
        ShiftAction("Take back", "command", "take-back", unit),
        ShiftAction("Own checks of the slip", "form", "own-checks", unit),
    )
    return ShiftRow(
        unit, one.level or "out", who, capital("; ".join((*said, *plain))), unit, actions, bold=one.level == "stop"
    )


def _read(reader: Reader, house: House, moment: datetime) -> ShiftRows:
    found = assigned(reader, house, moment)
    amiss = sum(bool(one.level) for one in found)
    lead = f"{count(len(found), 'unit')} assigned" + (f", {amiss} to see to" if amiss else "") + "."
    return ShiftRows(
        lead,
        tuple(_row(one, house, moment) for one in found),
        "No unit is assigned to anybody.",
        caution="Past the day of its bench inspection an assigned unit is not used: it is called in (a house rule).",
    )


def _count(reader: Reader, house: House, moment: datetime) -> int:
    return sum(bool(one.level) for one in assigned(reader, house, moment))


LIST = ShiftList("assigned", "Assigned", 40, _read, _count)
