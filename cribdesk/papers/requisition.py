"""A requisition: its lines with packs, price and sum, what went back, and the lines to sign; over several pages."""

from __future__ import annotations

from cribdesk.crib.words import capital, count, date_words, number
from cribdesk.desk.prices import money
from cribdesk.desk.printouts_orders import RequisitionRow, RequisitionSheet, SentBackRow
from cribdesk.papers import faces
from cribdesk.papers.flow import Block, columns, together
from cribdesk.papers.register import Paper
from cribdesk.papers.settings import PaperSettings
from cribdesk.papers.sheet import HAIR, Sheet

MARGIN = 18.0
HEAD, FOOT = 56.0, 16.0
ITEM, ITEM_WIDE = 9.0, 62.0  # where a line's words begin, and their room, mm from the left
PACKS, PIECES, PRICE, SUM = 92.0, 108.0, 127.0, 149.0  # where each figure ends
NO_PRICE = "no price"


def draw(record: RequisitionSheet, settings: PaperSettings) -> bytes:
    """One page where it fits; the head and the names of the columns stand on each."""
    width, height = settings.page_size
    left, right = MARGIN, width - MARGIN
    sheet = Sheet((width, height), f"Requisition {record.number}", settings.site)
    blocks = [_row(place, one, left, right) for place, one in enumerate(record.rows, 1)]
    blocks.append(_total(record, left, right))
    blocks += [_back(one, left, right) for one in record.sent_back]
    blocks.append(together([_sign("Asked for by", record.by, left, right), _sign("Approved by", "", left, right)]))
    pages = columns(blocks, HEAD, height - FOOT)
    for index, placed in enumerate(pages):
        if index:
            sheet.next_page()
        _head(sheet, record, settings, left, right)
        for block, top in placed:
            block.draw(sheet, top)
        _foot(sheet, record, settings, f"{index + 1} of {len(pages)}", left, right)
    return sheet.finish()


def _head(sheet: Sheet, record: RequisitionSheet, settings: PaperSettings, left: float, right: float) -> None:
    sheet.text(left, 20.0, f"Requisition {record.number}", 5.0, bold=True)
    sheet.text(right, 20.0, settings.copy_mark, 2.6, bold=True, align="right")
    to = faces.fit(f"To {record.supplier}", 3.2, right - left, 1, True)
    sheet.lines(left, 28.0, to, 3.2, 5.0, bold=True)
    written = f"Written {date_words(record.made_on)}"
    since = f"{record.state} since {date_words(record.since)}"
    state = "a draft, not handed over" if record.state == "draft" else since
    said = f": {record.step_note}" if record.step_note else ""
    sheet.lines(left, 34.2, faces.fit(f"{written}; {state}{said}", 2.4, right - left, 1), 2.4, 4.0)
    sheet.lines(left, 40.0, faces.fit(record.note, 2.6, right - left, 2), 2.6, 4.4)
    sheet.rule(left, 46.6, right, 0.5)
    sheet.text(left + ITEM, 51.4, "Item, its code and the maker's number", 2.1)
    for at, words in ((PACKS, "Packs"), (PIECES, "Pieces"), (PRICE, "A piece"), (SUM, "Sum")):
        sheet.text(left + at, 51.4, words, 2.1, align="right")
    sheet.text(right, 51.4, "Promised", 2.1, align="right")
    sheet.rule(left, 53.4, right, HAIR)


def _row(place: int, one: RequisitionRow, left: float, right: float) -> Block:
    names = faces.fit(one.item, 2.6, ITEM_WIDE, 2, True)
    made = " ".join(part for part in (one.maker, one.maker_number) if part)
    about = faces.fit("; ".join(part for part in (one.code, made) if part), 2.1, ITEM_WIDE, 2)
    high = len(names) * 4.4 + len(about) * 3.6 + 3.0
    packs = f"{one.packs} \u00d7 {number(one.pack_size)}"
    price = (money(one.price_cents), money(one.sum_cents)) if one.price_cents else (NO_PRICE, "")
    promised = date_words(one.promised_on) if one.promised_on else ""

    def put(sheet: Sheet, top: float) -> None:
        base = top + 4.6
        sheet.text(left, base, str(place), 2.6)
        under = sheet.lines(left + ITEM, base, names, 2.6, 4.4, bold=True)
        sheet.lines(left + ITEM, under - 0.6, about, 2.1, 3.6)
        for at, room, words in ((PACKS, 20.0, packs), (PRICE, 17.0, price[0]), (SUM, 20.0, price[1])):
            sheet.text(left + at, base, words, _cap(words, 2.4, room), align="right")
        pieces = number(one.pieces)
        sheet.text(left + PIECES, base, pieces, _cap(pieces, 2.8, 14.0, True), bold=True, align="right")
        sheet.text(right, base, promised, 2.2, align="right")
        sheet.rule(left, top + high - 0.4, right, HAIR)

    return Block(high, put)


def _cap(words: str, cap: float, room: float, bold: bool = False) -> float:
    """The size of a figure: smaller where it would run into the one before it."""
    wide = faces.width(words, cap, bold)
    return cap if wide <= room else cap * room / wide


def _total(record: RequisitionSheet, left: float, right: float) -> Block:
    without = sum(not one.price_cents for one in record.rows)
    words = f"{count(len(record.rows), 'line')}" + (f", {without} without a price" if without else "")

    def put(sheet: Sheet, top: float) -> None:
        sheet.text(left + ITEM, top + 6.4, words, 2.4)
        sheet.text(left + SUM, top + 6.4, money(record.total_cents), 3.0, bold=True, align="right")

    return Block(11.0, put)


def _back(one: SentBackRow, left: float, right: float) -> Block:
    words = f"Sent back {date_words(one.on)}: {number(one.pieces)} {one.item}, lot {one.lot}: {one.why}"
    lines = faces.fit(words, 2.4, right - left - ITEM, 3)
    return Block(len(lines) * 4.0 + 1.0, lambda sheet, top: _put_lines(sheet, left + ITEM, top + 4.0, lines))


def _put_lines(sheet: Sheet, left: float, base: float, lines: list[str]) -> None:
    sheet.lines(left, base, lines, 2.4, 4.0)


def _sign(what: str, who: str, left: float, right: float) -> Block:
    names = faces.fit(who, 2.6, 60.0, 2, True)

    def put(sheet: Sheet, top: float) -> None:
        sheet.text(left, top + 15.0, what, 2.6)
        sheet.lines(left + 30.0, top + 15.0 - max(0, len(names) - 1) * 4.4, names, 2.6, 4.4, bold=True)
        sheet.rule(left + 96.0, top + 15.6, right, HAIR)
        sheet.text(left + 96.0, top + 19.4, "signature, day", 1.9)

    return Block(21.0, put)


def _foot(
    sheet: Sheet, record: RequisitionSheet, settings: PaperSettings, page: str, left: float, right: float
) -> None:
    base = sheet.size[1] - 10.0
    sheet.text(right, base, page, 2.3, align="right")
    told = " ".join(part for part in (faces.note_about(record), _ended(settings.site), record.decides) if part)
    sheet.lines(left, base, faces.fit(told, 1.8, right - left - 20.0, 2), 1.8, 3.0)


def _ended(site: str) -> str:
    return f"{capital(site)}." if site else ""


PAPER = Paper("requisition", "Requisition", RequisitionSheet, draw)
