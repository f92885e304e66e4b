"""Counting: scan the bin or the item, type what lies there, next. The book is told only where it differs."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from cribdesk.crib.counting import WHYS
from cribdesk.crib.records import Bin, CountSheet, CountSheetLine, Lot, StockItem
from cribdesk.crib.words import count, date_words
from cribdesk.desk.cards import BinCard, Card, ItemCard
from cribdesk.desk.count_form import count_form
from cribdesk.desk.entry_form import EntryField
from cribdesk.desk.forms import change_form, inquiry
from cribdesk.desk.house import House
from cribdesk.desk.matter import Matter
from cribdesk.desk.ports import Reader
from cribdesk.desk.receipt import Receipt
from cribdesk.desk.routing import Routed, also, say
from cribdesk.desk.slate import AskForm, Offer, Slate
from cribdesk.desk.stock import CountLot

OLD_LOTS = 3
"""Of an item's lots that are used up by the book so many are offered, the newest: a piece may turn up."""

NONE_YET = "Scan the bin, or the item."


def _opens(house: House, slate: Slate, moment: datetime) -> AskForm:
    return replace(count_form(()), lead=NONE_YET)


def _takes(house: House, slate: Slate, form: AskForm, card: Card) -> AskForm | str | None:
    items: tuple[int, ...]
    match card:
        case ItemCard():
            items = (card.item.id,)
        case BinCard():
            items = tuple(one.item.id for one in card.items)
            if not items:
                return f"Bin {card.bin.code} holds no item by the book. Nothing changed."
        case _:
            return f"{card.label} is not counted. Scan a bin or an item. Nothing changed."
    return replace(count_form(items, dict(form.extra).get("then", "")), turn=form.turn)


def _asks(reader: Reader, house: House, form: AskForm, moment: datetime) -> AskForm:
    """The lots that are to be counted; once a number stands there, whether the book says the same. Five queries."""
    told = dict(form.extra)
    ids = [int(one) for one in told.get("items", "").split()]
    if not ids:
        return form
    items = {one.id: one for one in reader.find(StockItem, id=ids)}
    bins = {one.id: one.code for one in reader.find(Bin, id=sorted({one.bin_id or 0 for one in items.values()}))}
    done = set(told.get("counted", "").split())
    lots = [one for one in _lots(reader, ids) if str(one.id) not in done]
    there = [one for one in lots if one.on_hand]
    known = {str(one.id): one for one in lots}
    chosen = known.get(form.value("lot")) or (there[0] if len(there) == 1 or done else None)
    chosen = chosen or (lots[0] if len(lots) == 1 else None)
    choices = tuple((str(one.id), _lot_words(one, items[one.item_id], len(items) > 1)) for one in lots)
    lot = str(chosen.id) if chosen else ""
    field = EntryField("lot", "Lot", "choice", True, "As it stands on the pieces.", choices, lot)
    pieces = EntryField("counted", "Pieces counted", "number", True, "Count first: the book is told afterwards.")
    fields: tuple[EntryField, ...] = (field, pieces)
    cautions, apart = tuple(_moved(reader, chosen)), ""
    number = _whole(form.value("counted"))
    if chosen is not None and number is not None and number != chosen.on_hand:
        apart = "yes"
        fields = (field, pieces, EntryField("why", "Why it differs", "choice", True, choices=WHYS))
        way = "fewer" if number < chosen.on_hand else "more"
        differs = f"The book says {chosen.on_hand}: {count(abs(number - chosen.on_hand), 'piece')} {way}."
        cautions = (f"{differs} Count once more, then say why.", *cautions)
    left = "yes" if [one for one in there if one is not chosen] else ""
    names = ", ".join(_named(one, bins) for one in items.values())
    lead = names if lots else f"{names}: no lot of it ever came in. Receive it, then count."
    values = tuple((dict(form.values) | {"lot": lot}).items())
    extra = tuple((told | {"apart": apart, "none": "" if lots else "yes", "left": left}).items())
    return replace(form, lead=lead, fields=fields if lots else (), values=values, cautions=cautions, extra=extra)


def _named(item: StockItem, bins: dict[int, str]) -> str:
    return f"{item.name}, bin {bins[item.bin_id]}" if item.bin_id in bins else item.name


def _lots(reader: Reader, item_ids: list[int]) -> list[Lot]:
    """Lots with something left by the book, first to expire first, then the newest of those used up."""
    lots = reader.find(Lot, item_id=item_ids)
    there = sorted(
        (one for one in lots if one.on_hand),
        key=lambda one: (one.item_id, one.expires_on is None, str(one.expires_on or ""), one.id),
    )
    return [*there, *[one for one in reversed(lots) if not one.on_hand][:OLD_LOTS]]


def _lot_words(lot: Lot, item: StockItem, several: bool) -> str:
    until = f", until {date_words(lot.expires_on)}" if lot.expires_on else ""
    blocked = ", blocked" if lot.blocked else ""
    return f"{f'{item.name}, ' if several else ''}lot {lot.code}{until}{blocked}"


def _moved(reader: Reader, lot: Lot | None) -> list[str]:
    """What went in or out since a sheet with this lot was printed: who counted before that counts otherwise."""
    lines = reader.find(CountSheetLine, lot_id=lot.id, counted=None) if lot else []
    sheets = {one.id: one for one in reader.find(CountSheet, id=[one.count_sheet_id for one in lines], closed_at=None)}
    found = []
    for line in lines:
        if lot is not None and line.count_sheet_id in sheets and lot.on_hand != line.booked:
            moved = abs(lot.on_hand - line.booked)
            way = "in" if lot.on_hand > line.booked else "out"
            number = sheets[line.count_sheet_id].number
            found.append(f"Since sheet {number} was printed {count(moved, 'piece')} went {way}: count it anew.")
    return found


def _whole(text: str) -> int | None:
    return int(text) if text.strip().isascii() and text.strip().isdigit() and len(text) < 7 else None


def _lacks(form: AskForm) -> str:
    told = dict(form.extra)
    if not told.get("items"):
        return NONE_YET
    if told.get("none"):
        return "No lot of it ever came in."
    if _whole(form.value("counted")) is None:
        return "Pieces counted: a whole number, 0 or more."
    return ""


def _builds(house: House, slate: Slate, form: AskForm, token: str) -> CountLot:
    apart = dict(form.extra).get("apart")
    return CountLot(
        operation_id=token,
        lot_id=int(form.value("lot")),
        counted=_whole(form.value("counted")) or 0,
        why=form.value("why") if apart else "",
    )


def _after(house: House, slate: Slate, form: AskForm | None, receipt: Receipt, moment: datetime) -> Routed:
    """A change of part that waited goes on; else the next lot of what was scanned, or the next bin."""
    told = dict(form.extra) if form is not None else {}
    then = told.get("then", "")
    if then and slate.unit is not None:
        kept = replace(slate, form=replace(change_form(slate.unit), position=then))
        return also(say(kept, "taken", receipt.sentence, moment), Offer(slate.unit.unit.id, then))
    lot = form.value("lot") if form is not None else ""
    again = _opens(house, slate, moment)
    if told.get("left"):
        items = tuple(int(one) for one in told["items"].split())
        again = count_form(items, counted=f"{told.get('counted', '')} {lot}".strip())
    return also(say(replace(slate, form=again), "taken", receipt.sentence, moment), *inquiry(again))


MATTERS = (
    Matter(
        id="count", offered=lambda house, slate: "" if slate.empty else None, opens=_opens, asks=_asks, takes=_takes,
        lacks=_lacks, builds=_builds, after=_after,
    ),
)  # fmt: skip
