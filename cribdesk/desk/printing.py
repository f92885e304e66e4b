"""The frozen record of each paper out of the store, found by the paper's name and by what it is of."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import datetime

from cribdesk.crib.hold import hold_words
from cribdesk.crib.label import Kind
from cribdesk.crib.records import (
    Area,
    BatteryPlace,
    Custody,
    Hold,
    Part,
    PartPlace,
    Person,
    Print,
    Role,
    Slip,
    StockItem,
    Unit,
    Where,
)
from cribdesk.desk.commands import COMMANDS, Command
from cribdesk.desk.forecasts import Step
from cribdesk.desk.house import House
from cribdesk.desk.numbering import HOME
from cribdesk.desk.ports import Reader, Store
from cribdesk.desk.printing_away import certification_tag, repair_note
from cribdesk.desk.printing_card import wearers_card
from cribdesk.desk.printing_checks import inspection_record, issue_slip
from cribdesk.desk.printing_due import due_sheet
from cribdesk.desk.printing_orders import requisition_sheet
from cribdesk.desk.printing_parts import AT_THE_CRIB, by_id, local, origin, unit_name
from cribdesk.desk.printing_people import called_in, information_sheet
from cribdesk.desk.printing_shift import ready_seal, shift_page
from cribdesk.desk.printing_stock import count_sheet
from cribdesk.desk.printing_waste import bag_label
from cribdesk.desk.printouts import (
    STEPS_ON_HOLD,
    STEPS_OVERDUE,
    AnswerCard,
    CallInCause,
    CallInSlip,
    CardCode,
    LabelSheet,
    OutOfServiceTag,
    PrintedLabel,
)
from cribdesk.desk.saying import about, name_of, where_words
from cribdesk.desk.use_register import register_steps, use_register

SHEETS = {
    "units": Kind.UNIT, "parts": Kind.PART, "people": Kind.PERSON, "batteries": Kind.BATTERY, "bins": Kind.BIN,
    "areas": Kind.AREA, "instruments": Kind.INSTRUMENT, "sets": Kind.SET, "cabinets": Kind.CABINET,
}  # fmt: skip
"""Whole sheets by the name the settings give them."""
COMMANDS_SHEET = "commands"

RELEASES = {
    "bench inspection": "Only the bench releases it.",
    "inspection passed": "Only an inspection passed from its first step releases it.",
    "cleaned": "Only a cleaning releases it.",
    "lot out": "Only the bench releases it, with the recalled lot out.",
    "battery gone": "Released only with that battery out of the unit.",
    "program administrator": "Only the program administrator releases it.",
}
HINTS = {
    "good": "all as it should be",
    "not-good": "anything else",
    "next": "the action is done",
    "no-filter": "at the remedy where it is looked for",
    "back": "to the page before",
    "break-off": "ends the check; it is recorded",
}


def record_for(reader: Reader, house: House, paper: str, of: str, moment: datetime, copy: int) -> object:
    """What the paper of that name prints. `of` is a tag's or slip's label, labels with blanks between for a
    sheet, an inspection's id as text, '' for the answer card.

    `copy` is 1 for the first print; the moment of printing stands on papers that name it. Raises LookupError with
    plain words where there is no such paper or nothing of that address, ValueError where an inspection's answers
    cannot be read.
    """
    builder = _BUILDERS.get(paper)
    if builder is None:
        raise LookupError(f"There is no paper named {paper}.")
    if copy < 1:
        raise ValueError(f"A print is number 1 or more, not {copy}.")
    return builder(reader, house, of, moment)


def next_copy(reader: Reader, paper: str, of: str) -> int:
    """The number of the next print of a paper; one that failed took no number. One query."""
    return reader.count(Print, paper=paper, of=of, failed="") + 1


def _tag(reader: Reader, house: House, of: str, moment: datetime) -> OutOfServiceTag:
    """In five queries."""
    hold = _hold(reader, of)
    unit = reader.get(Unit, hold.unit_id)
    custody = reader.first(Custody, unit_id=unit.id, returned_at=None)
    people = by_id(reader, Person, hold.found_by, custody.person_id if custody else None)
    placed = origin(reader, of)
    found_by = name_of(people.get(hold.found_by))
    return OutOfServiceTag(
        tag=hold.tag,
        unit=unit.label,
        unit_model=unit_name(house, unit),
        why=_why(house, unit, hold),
        found_by=f"{found_by}, {placed.counter}" if placed else found_by,
        found_at=local(house, hold.found_at),
        where=where_words(unit, people.get(custody.person_id) if custody else None),
        releases=RELEASES.get(hold.proof, "Only the bench releases it."),
    )


def _call_in(reader: Reader, house: House, of: str, moment: datetime) -> CallInSlip:
    """Of a tag: its hold calls the unit in. Of a slip: it is overdue. Of a call-in's id: its wearer may no longer
    have it. At most eight queries.
    """
    if of.isascii() and of.isdigit():
        return called_in(reader, house, of, moment)
    hold = None
    if of.startswith(Kind.TAG.value):
        hold = _hold(reader, of)
        custody = _custody_at(reader, hold)
        since = hold.found_at
    else:
        custody = _custody_of_slip(reader, of)
        if custody.due_at is None:
            raise LookupError(f"What went out with slip {of} has no time to be back.")
        since = custody.due_at
    unit = reader.get(Unit, custody.unit_id)
    people = by_id(reader, Person, custody.person_id, hold.found_by if hold else None)
    holder = people[custody.person_id]
    area = reader.first(Area, id=custody.area_id) if custody.area_id else None
    slip = reader.first(Slip, id=custody.slip_id) if custody.slip_id else None
    placed = origin(reader, of)
    return CallInSlip(
        cause=CallInCause.HOLD if hold else CallInCause.OVERDUE,
        unit=unit.label,
        unit_model=unit_name(house, unit),
        holder=holder.label,
        holder_name=name_of(holder),
        holder_about=about(holder),
        area=area.name if area else "",
        why=_why(house, unit, hold) if hold else "Not returned when it was due.",
        since=local(house, since),
        found_by=name_of(people.get(hold.found_by)) if hold else "the counter",
        printed_at=local(house, moment),
        counter=placed.counter if placed else AT_THE_CRIB,
        tag=hold.tag if hold else "",
        slip=slip.label if slip else "",
        steps=STEPS_ON_HOLD if hold else STEPS_OVERDUE,
    )


def _label_sheet(reader: Reader, house: House, of: str, moment: datetime) -> LabelSheet:
    """Labels in the order they are named; one query for each kind among them, and one for parts' items.

    The name of a kind stands for all of it that is in use.
    """
    if of == COMMANDS_SHEET:
        return LabelSheet(tuple(PrintedLabel(one.label, one.words) for one in COMMANDS if one.code))
    if of in SHEETS:
        kind_of, of = of, " ".join(_in_use(reader, SHEETS[of]))
        if not of:
            raise LookupError(f"There is nothing of that kind yet: {kind_of}.")
    wanted = of.replace(",", " ").split()
    found: dict[str, PrintedLabel] = {}
    for kind in dict.fromkeys(label[0] for label in wanted):
        found |= _labels_of(reader, house, kind, [label for label in wanted if label[0] == kind])
    missing = [label for label in wanted if label not in found]
    if missing or not wanted:
        raise LookupError(f"There is nothing labelled {', '.join(missing) or 'so'} to print a label for.")
    return LabelSheet(tuple(found[label] for label in wanted))


def _in_use(reader: Reader, kind: Kind) -> list[str]:
    """Every label of the kind, those of what is scrapped or no longer active left out."""
    home, field = HOME[kind]
    gone = (Where.SCRAPPED, PartPlace.SCRAPPED, BatteryPlace.SCRAPPED)
    return sorted(
        str(getattr(one, field))
        for one in reader.find(home)
        if getattr(one, "active", True) and getattr(one, "where", getattr(one, "place", None)) not in gone
    )


def _labels_of(reader: Reader, house: House, kind: str, labels: list[str]) -> dict[str, PrintedLabel]:
    if kind not in set(Kind) or Kind(kind) not in HOME:
        return {}
    home, field = HOME[Kind(kind)]
    records = reader.find(home, **{field: labels})
    items = by_id(reader, StockItem, *(one.item_id for one in records if isinstance(one, Part)))
    found = {}
    for one in records:
        label = str(getattr(one, field))
        found[label] = PrintedLabel(label, *_name_and_detail(house, one, items))
    return found


def _name_and_detail(house: House, one: object, items: dict[int, StockItem]) -> tuple[str, str]:
    if isinstance(one, Unit):
        return unit_name(house, one), " ".join(text for text in (one.size, one.serial) if text)
    if isinstance(one, Part):
        return items[one.item_id].name, one.serial
    if isinstance(one, Person):
        return one.name, about(one)
    if isinstance(one, StockItem):
        return one.name, one.code
    name = str(getattr(one, "name", "") or getattr(one, "code", "") or getattr(one, "model", ""))
    return name, str(getattr(one, "serial", ""))


def _answer_card(reader: Reader, house: House, of: str, moment: datetime) -> AnswerCard:
    """Without a query: the commands are the program's."""
    printed = [command for command in COMMANDS if command.code]
    answers = [command for command in printed if command.code.startswith("ANS")]
    others = [command for command in printed if command not in answers]
    return AnswerCard(tuple(map(_card_code, answers)), tuple(map(_card_code, others)))


def _card_code(command: Command) -> CardCode:
    return CardCode(command.label, command.words, HINTS.get(command.id, ""), command.key)


def _why(house: House, unit: Unit, hold: Hold) -> str:
    model = house.models.get(unit.model)
    if model is not None:
        return hold_words(model, hold)
    return f"{hold.reason}: {hold.detail}" if hold.detail else hold.reason


def _hold(reader: Reader, tag: str) -> Hold:
    hold = reader.first(Hold, tag=tag)
    if hold is None:
        raise LookupError(f"There is no tag {tag} in this store.")
    return hold


def _custody_at(reader: Reader, hold: Hold) -> Custody:
    """Who had the unit when the hold was placed; who has it now comes first."""
    custody = reader.first(Custody, unit_id=hold.unit_id, returned_at=None)
    custody = custody or reader.latest(Custody, unit_id=hold.unit_id)
    if custody is None or (custody.returned_at is not None and custody.returned_at < hold.found_at):
        raise LookupError(f"Tag {hold.tag} is of a unit that nobody had: there is nobody to call it in from.")
    return custody


def _custody_of_slip(reader: Reader, label: str) -> Custody:
    slip = reader.first(Slip, label=label)
    custody = reader.first(Custody, slip_id=slip.id) if slip else None
    if custody is None:
        raise LookupError(f"Nothing went out with slip {label}.")
    return custody


_BUILDERS: dict[str, Callable[[Reader, House, str, datetime], object]] = {
    "tag": _tag,
    "issue_slip": issue_slip,
    "call_in_slip": _call_in,
    "information_sheet": information_sheet,
    "label_sheet": _label_sheet,
    "answer_card": _answer_card,
    "inspection_record": inspection_record,
    "repair_note": repair_note,
    "certification_tag": certification_tag,
    "bag_label": bag_label,
    "ready_seal": ready_seal,
    "shift_page": shift_page,
    "requisition": requisition_sheet,
    "due_list": due_sheet,
    "count_sheet": count_sheet,
    "use_register": use_register,
    "wearer_card": wearers_card,
}
"""Every paper by its name."""

IN_STEPS: dict[str, Callable[[Store, House, str, datetime], Iterator[Step]]] = {"use_register": register_steps}
"""Papers that may be long: their record is read in short steps, the last a `Told` with it. They are looked at first."""

_PRIVATE = {"use_register": (Role.PROGRAM,)}


def kept_back(paper: str, roles: str) -> str:
    """Why somebody of these roles does not see a paper at all, in words, or nothing."""
    who = [role.value for role in _PRIVATE.get(paper, ())]
    if not who or set(who) & set(roles.split(",")):
        return ""
    return f"It names who wore what: it opens for a {' or '.join(who)} only. Nothing changed."
