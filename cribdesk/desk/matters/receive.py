"""A delivery at the counter: the carton is scanned, its fields stand in the form, F5 books it in."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime

from cribdesk.crib.records import Lot, StockItem
from cribdesk.crib.words import count, number
from cribdesk.desk import typed
from cribdesk.desk.cards import BinCard, Card, ItemCard
from cribdesk.desk.cards_carton import CartonCard
from cribdesk.desk.deliveries import Expected, expected, known_words, past_words, soon_words
from cribdesk.desk.entry_form import NO, YES, EntryField
from cribdesk.desk.house import House
from cribdesk.desk.matter import Matter
from cribdesk.desk.ports import Reader
from cribdesk.desk.slate import AskForm, AskLine, Slate
from cribdesk.desk.stock import SHELF, ReceiveLot

RECEIVE = "receive"
ASKED = "asked"
"""Set once the store said which requisition expects the item: before that nothing is booked."""
FINISH = "Book in what is open here first, with F5. Nothing changed."
_LOT = EntryField("lot", "Lot", help="Write the day it came where the carton names none.")
_UNTIL = EntryField("until", "May be used until", "date", help="Like 2027-05-31. Empty where the carton names no day.")
_PIECES = EntryField("pieces", "Pieces", "number")


def _offered(house: House, slate: Slate) -> str | None:
    if not slate.empty:
        return None
    roles = set(slate.clerk.roles.split(",")) if slate.clerk else set()
    return "" if roles & {one.value for one in SHELF} else "A delivery is received by a storekeeper."


def _opens(house: House, slate: Slate, moment: datetime) -> AskForm:
    return AskForm(
        matter=RECEIVE,
        title="A delivery comes in",
        fields=(_LOT, _UNTIL, _PIECES),
        lines_none="Scan the carton; or the label of the item or its bin.",
        go="Book in",
        cost="onto the shelf",
    )


def _begins(house: House, slate: Slate, card: Card) -> bool:
    return isinstance(card, CartonCard) and slate.empty and slate.clerk is not None


def _takes(house: House, slate: Slate, form: AskForm, card: Card) -> AskForm | str | None:
    match card:
        case CartonCard():
            return _carton(form, card)
        case ItemCard():
            return _item(form, card.item)
        case BinCard() if len(card.items) == 1:
            return _item(form, card.items[0].item)
        case BinCard():
            what = f"{count(len(card.items), 'item')}: scan the label of the item" if card.items else "nothing"
            return f"Bin {card.bin.code} holds {what}. Nothing changed."
    return None


def _item(form: AskForm, item: StockItem) -> AskForm | str:
    """The item by our own label; a carton whose number we know says itself what it is."""
    told = dict(form.extra)
    if told.get("known") and form.id("item") != item.id:
        return f"{item.name} is not what carton {told['gtin']} holds. Nothing changed."
    if not item.active:
        return f"{item.name} is out of use. Nothing changed."
    return _about(form, item)


def _about(form: AskForm, item: StockItem) -> AskForm:
    kept = (AskLine(item.label, item.label, item.name),)
    values, extra = form.values, tuple(one for one in form.extra if one[0] != ASKED)
    if form.id("item") != item.id:  # what was chosen belongs to another item
        values = tuple(one for one in values if one[0] not in ("line", "keep"))
    return replace(form, ids=(("item", item.id),), lines=kept, values=values, extra=extra)


def _carton(form: AskForm, card: CartonCard) -> AskForm | str:
    """The fields of a carton; the same carton's kind again is one more of it, anything else has to wait."""
    carton, told = card.carton, dict(form.extra)
    if told.get("gtin", carton.gtin) != carton.gtin:
        return f"This is another carton, {carton.gtin}. {FINISH}"
    if card.item and form.id("item") and form.id("item") != card.item.id:
        return f"This carton holds {card.item.name}. {FINISH}"
    if card.item and not card.item.active:
        return f"{card.item.name} is out of use. Nothing changed."
    if carton.lot and form.value("lot") and carton.lot != form.value("lot"):
        return f"This carton is of lot {carton.lot}. {FINISH}"
    serials = told.get("serials", "").split()
    if carton.serial and carton.serial in serials:
        return f"The carton with serial {carton.serial} is scanned already. Nothing changed."
    values = dict(form.values)
    if carton.lot:
        values["lot"] = carton.lot
    if carton.last_day:
        values["until"] = carton.last_day.isoformat()
    cartons = int(told.get("cartons", "0")) + 1
    single = carton.pieces or 1
    told |= {
        "gtin": carton.gtin, "cartons": str(cartons), "serials": " ".join((*serials, carton.serial)).strip(),
        "single": str(single), "holds": str(card.holds), "known": "yes" if card.item else "", "doubt": carton.doubt,
    }  # fmt: skip
    if card.holds or carton.pieces:
        before = int(values.get("pieces") or 0) if cartons > 1 else 0
        values["pieces"] = str(before + single * (card.holds or 1))
    filled = replace(form, values=tuple(values.items()), extra=tuple(told.items()))
    return _about(filled, card.item) if card.item else filled


def _asks(reader: Reader, house: House, form: AskForm, moment: datetime) -> AskForm:
    """The line that expects it, what is known of the lot, and what stands against its date; at most seven queries."""
    today, told, values = house.today(moment), dict(form.extra), dict(form.values)
    item = reader.first(StockItem, id=form.id("item")) if form.id("item") else None
    cautions = [told["doubt"]] if told.get("doubt") else []
    last_day, trouble = _day(values.get("until", ""))
    told |= {"bad": trouble or past_words(last_day, today)}
    if told.get("gtin") and not told.get("known"):
        stands = f"From now on it stands for {item.name}." if item else "Scan the label of the item, or its bin."
        cautions.append(f"Number {told['gtin']} is unknown here. {stands}")
    cautions += [one for one in (soon_words(last_day, today),) if one]
    if item is None:
        return replace(form, cautions=tuple(cautions), extra=tuple(told.items()))
    lot = reader.first(Lot, item_id=item.id, code=values["lot"]) if values.get("lot") else None
    if lot is not None and not values.get("until") and lot.expires_on:
        values["until"], last_day = lot.expires_on.isoformat(), lot.expires_on
        told["bad"] = past_words(last_day, today)
    told["bad"] = told["bad"] or known_words(lot, last_day, item)
    if lot is not None and lot.blocked:
        cautions.append(f"Lot {lot.code} is blocked: {lot.blocked}. Nothing of it is fitted.")
    if "pieces" not in values and told.get("cartons"):
        values["pieces"] = str(int(told["cartons"]) * int(told["single"]) * item.pack_size)
    waiting = expected(reader, item.id)
    filled = replace(form, values=tuple(values.items()), fields=_fields(waiting, today, ()))
    chosen = next((one for one in waiting if str(one.line.id) == filled.value("line")), None)
    pieces = _whole(values.get("pieces", ""))
    over = chosen is not None and pieces > chosen.left
    if chosen is not None and over:
        cautions.append(f"{number(pieces)} came, {number(chosen.left)} are expected. Count again.")
    told |= {"over": "yes" if over else "", ASKED: "yes"}
    on_shelf = sum(one.on_hand for one in reader.find(Lot, item_id=item.id))
    note = f"{count(int(told['cartons']), 'carton')}; {_shelf(on_shelf)}" if told.get("cartons") else _shelf(on_shelf)
    return replace(
        filled,
        fields=_fields(waiting, today, (_keep(pieces),) if over else ()),
        lines=tuple(replace(one, note=note) for one in form.lines),
        cautions=tuple(cautions),
        extra=tuple(told.items()),
    )


def _shelf(on_hand: int) -> str:
    return f"{number(on_hand)} on the shelf now"


def _fields(waiting: tuple[Expected, ...], today: date, more: tuple[EntryField, ...]) -> tuple[EntryField, ...]:
    """The carton's fields, and the line that it came for: the oldest unless another is chosen."""
    if not waiting:
        return (_LOT, _UNTIL, _PIECES)
    choices = (*((str(one.line.id), one.words(today)) for one in waiting), ("", "It came without a requisition"))
    line = EntryField("line", "It came for", "choice", choices=choices, value=choices[0][0])
    return (_LOT, _UNTIL, _PIECES, line, *more)


def _keep(pieces: int) -> EntryField:
    return EntryField("keep", f"Are all {number(pieces)} kept?", "yes-no", value=NO)


def _day(text: str) -> tuple[date | None, str]:
    """The day, or what is wrong with it."""
    if not text.strip():
        return None, ""
    try:
        return typed.day_of(text), ""
    except ValueError as failure:
        return None, f"May be used until: {failure}."


def _whole(text: str) -> int:
    """Pieces as typed; 0 where that is no whole number."""
    return int(text) if text.isascii() and text.isdigit() and len(text) < 7 else 0


def _lacks(form: AskForm) -> str:
    told = dict(form.extra)
    if not form.id("item"):
        return "Scan the item, or its bin."
    if not told.get(ASKED):
        return "Looking up what is expected."
    if not form.value("lot").strip():
        return "Lot: write it, or the day it came."
    if told.get("bad"):
        return told["bad"]
    if not _whole(form.value("pieces")):
        return "Pieces: a whole number, at least 1."
    if told.get("over") and form.value("keep") != YES:
        return "More came than is expected: say that all is kept, or change the pieces."
    return ""


def _builds(house: House, slate: Slate, form: AskForm, token: str) -> ReceiveLot:
    told, pieces, line = dict(form.extra), _whole(form.value("pieces")), form.value("line")
    return ReceiveLot(
        operation_id=token,
        item_id=form.id("item"),
        lot_code=form.value("lot").strip(),
        quantity=pieces,
        expires_on=_day(form.value("until"))[0],
        requisition_line_id=int(line) if line else None,
        gtin=told.get("gtin", ""),
        carton_pieces=0 if told.get("known") else _in_one(told, pieces),
        more_kept=bool(told.get("over")) and form.value("keep") == YES,
    )


def _in_one(told: dict[str, str], pieces: int) -> int:
    """Pieces behind one number that was unknown so far; 0 where they do not come out even."""
    numbers = int(told.get("cartons", "0")) * int(told.get("single", "1"))
    return pieces // numbers if numbers and pieces % numbers == 0 else 0


MATTERS = (
    Matter(
        id=RECEIVE, offered=_offered, opens=_opens, begins=_begins, takes=_takes, asks=_asks, lacks=_lacks,
        builds=_builds,
    ),
)  # fmt: skip
