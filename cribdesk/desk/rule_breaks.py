"""What breaks a rule today: people and what they hold, areas, units without a model's file, cabinets, flow meters."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime

from cribdesk.crib.enough import enough
from cribdesk.crib.protection import HYGIENIST, AreaProtection, Enough
from cribdesk.crib.records import Area, Cabinet, Certification, Instrument, Unit, Where
from cribdesk.crib.words import count, date_words, day, in_sentence, joined
from cribdesk.desk.house import House
from cribdesk.desk.ports import Reader
from cribdesk.desk.protection import area_rows, protection_of, shelf, weighing
from cribdesk.desk.recheck import called_words, since_words, to_call_in
from cribdesk.desk.saying import name_of
from cribdesk.desk.shift_list import ShiftAction
from cribdesk.desk.shift_lists.cabinets import due_state
from cribdesk.desk.standings import fleet

CERTIFIED = "29 CFR 1910.134(h)(3)(i)"
HOUSE = "house rule"
NAMED = 3


@dataclass(frozen=True)
class Break:
    """One rule that is broken: by whom or what, why, by which paragraph; the label it opens, what can be done.

    `grave` ones may mean that somebody breathes what they should not: they come first.
    """

    key: str
    what: str
    why: str
    basis: str
    label: str = ""
    actions: tuple[ShiftAction, ...] = ()
    grave: bool = True


def breaks_today(reader: Reader, house: House, moment: datetime) -> tuple[Break, ...]:
    """Every one, the grave first: people, areas, units, cabinets, meters. In about forty queries, whatever there is."""
    today = house.today(moment)
    found = [
        *_people(reader, house, moment),
        *_areas(reader, house, today),
        *_models(reader, house),
        *_cabinets(reader, today),
        *_meters(reader, today),
    ]
    return tuple(sorted(found, key=lambda one: not one.grave))


def _people(reader: Reader, house: House, moment: datetime) -> Iterator[Break]:
    """Who holds what they no longer may, each with every reason."""
    for one in to_call_in(reader, house, fleet(reader, house, moment), moment):
        unit = one.unit.label
        since = [(each.words, since_words(each, house, moment)) for each in one.against]
        whys = "; ".join(", ".join(part for part in both if part) for both in since)
        slip = (
            ShiftAction("Call it in", "command", "call-in", unit)
            if one.call_in is None
            else ShiftAction("Take back", "command", "take-back", unit)
        )
        yield Break(
            f"held {unit}",
            f"{name_of(one.person)} has {unit}",
            f"{whys}; {called_words(one.call_in, house, moment)}",
            joined(tuple(dict.fromkeys(each.reason.basis for each in one.against if each.reason.basis))),
            unit,
            (slip,),
        )


def _areas(reader: Reader, house: House, today: date) -> Iterator[Break]:
    """Areas that nobody assessed, whose findings are outdated, or for which no model here is enough; nine queries."""
    areas = sorted(reader.find(Area), key=lambda one: one.name.casefold())
    if not areas:
        return
    rows = area_rows(reader, [one.id for one in areas])
    on_shelf = shelf(reader, house)
    with_ = weighing(house, None, None, today, on_shelf=on_shelf)
    breathing = tuple(one for one in on_shelf if one.breathes)
    for area in areas:
        found = protection_of(rows, house, area, today)
        yield from _area(house, area, found, enough(found, breathing, with_), today)


def _area(
    house: House, area: Area, found: AreaProtection, weighed: tuple[Enough, ...], today: date
) -> Iterator[Break]:
    about = area.label
    assess = (ShiftAction("Enter a finding", "form", "assess", about),)
    if area.required and not found.assessed:
        why = f"A respirator is required and exposure is neither known nor reasonably estimated. {HYGIENIST}"
        yield Break(f"assess {about}", f"{area.name} is not assessed", why, _cite(house, "not-assessed"), about, assess)
        return
    unknown = [in_sentence(one.name) for one in found.findings if not one.known]
    if unknown:
        why = f"{joined(unknown)} there, and no figure says how much. {HYGIENIST}"
        yield Break(
            f"agents {about}", f"{area.name}: agents not assessed", why, _cite(house, "not-assessed"), about, assess
        )
    if found.outdated and found.changed_on:
        why = f"{found.changed.rstrip('.')}, {date_words(found.changed_on)}. {HYGIENIST}"
        basis = _cite(house, "process-changed")
        yield Break(f"changed {about}", f"{area.name}: process changed since", why, basis, about, assess)
    late = [one for one in found.findings if one.known and one.review_on and one.review_on < today]
    if late:
        why = "; ".join(f"{one.name} by {date_words(one.review_on)}" for one in late if one.review_on)
        basis = _cite(house, "review")
        yield Break(f"review {about}", f"{area.name}: review overdue", why, basis, about, assess, grave=False)
    if weighed and (found.required or found.over_limit) and not any(one.enough for one in weighed):
        worst = weighed[-1].stops[0]
        why = f"No model of this crib is enough there. {worst.words}. {worst.detail}".rstrip()
        see = (ShiftAction("See the area", "place", "areas", about),)
        yield Break(f"enough {about}", f"{area.name}: nothing here is enough", why, worst.basis, about, see)


def _cite(house: House, code: str) -> str:
    return house.rules.paragraph(code) or HOUSE


def _models(reader: Reader, house: House) -> Iterator[Break]:
    """Units whose model has no file: nothing can be said of them; one query."""
    lost: dict[str, list[str]] = {}
    for unit in reader.find(Unit):
        if unit.model not in house.models and unit.where is not Where.SCRAPPED:
            lost.setdefault(unit.model, []).append(unit.label)
    for model, labels in sorted(lost.items()):
        more = f" and {len(labels) - NAMED} more" if len(labels) > NAMED else ""
        why = f"{', '.join(labels[:NAMED])}{more}: put the file back in resources/units, or scrap them."
        yield Break(f"model {model}", f"Model {model} has no file: {count(len(labels), 'unit')}", why, HOUSE, labels[0])


def _cabinets(reader: Reader, today: date) -> Iterator[Break]:
    """Units kept for emergencies that are not certified; three queries."""
    kept = reader.find(Unit, where=Where.EMERGENCY)
    if not kept:
        return
    cabinets = {one.name: one for one in reader.find(Cabinet)}
    made = reader.latest_of_each(Certification, "unit_id")
    for unit in kept:
        sort, words, _ = due_state(cabinets.get(unit.place), made.get(unit.id), today)
        if sort == 0:
            certify = (ShiftAction("Certify", "command", "certify", unit.label),)
            what = f"{unit.label} in {unit.place or 'a cabinet'}"
            yield Break(f"cabinet {unit.label}", what, f"Certification {words}", CERTIFIED, unit.label, certify)


def _meters(reader: Reader, today: date) -> Iterator[Break]:
    """Flow meters past their calibration: nothing is passed by them; one query."""
    for one in reader.find(Instrument, active=True):
        if one.calibrated_until < today:
            why = f"Calibration ended {day(one.calibrated_until, today)}: it is not used until it is calibrated."
            act = (ShiftAction("Calibrate", "form", "calibrate", one.label),)
            yield Break(f"meter {one.label}", f"{one.name} {one.label}", why, HOUSE, one.label, act, grave=False)
