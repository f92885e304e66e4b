"""The counting sheet: along the shelf, a row a lot, its item's bars, and room to write what lies there."""

from __future__ import annotations

from cribdesk.desk.printouts_stock import CountingSheet, CountRow
from cribdesk.papers import barcodes, faces
from cribdesk.papers.flow import Block, columns, day_time
from cribdesk.papers.register import Paper
from cribdesk.papers.settings import PaperSettings
from cribdesk.papers.sheet import HAIR, Sheet

MARGIN = 14.0
HEAD, FOOT, ROW = 40.0, 24.0, 15.0
BIN, BARS, COUNTED, WHY = 22.0, 50.0, 22.0, 34.0
"""Widths in mm: where it lies, the bars, and the two boxes at the right; the words between take what is left."""
HOW = "Count what lies there, write the number; where the program says that it differs, count once more."


def draw(record: CountingSheet, settings: PaperSettings) -> bytes:
    """Rows over as many pages as they need; each page is signed."""
    width, height = settings.page_size
    left, right = MARGIN, width - MARGIN
    sheet = Sheet((width, height), f"Counting sheet {record.number}", settings.site)
    pages = columns([_row(one, left, right) for one in record.rows], HEAD, height - FOOT)
    for index, placed in enumerate(pages):
        if index:
            sheet.next_page()
        _head(sheet, record, settings, left, right)
        for block, top in placed:
            block.draw(sheet, top)
        base = height - 10.0
        sheet.text(left, base - 6.0, "Counted by, on", 2.2)
        sheet.rule(left + 28.0, base - 5.4, left + 110.0, HAIR)
        sheet.text(right, base, f"{index + 1} of {len(pages)}", 2.3, align="right")
        told = " ".join(part for part in (settings.site, faces.note_about(record)) if part)
        sheet.lines(left, base, faces.fit(told, 1.8, right - left - 20.0, 1), 1.8, 3.0)
    return sheet.finish()


def _head(sheet: Sheet, record: CountingSheet, settings: PaperSettings, left: float, right: float) -> None:
    sheet.text(left, 18.0, f"Counting sheet {record.number}", 5.0, bold=True)
    sheet.text(right, 18.0, settings.copy_mark, 2.6, bold=True, align="right")
    made = f"Made {day_time(record.made_at)}, {record.by}. {HOW}"
    sheet.lines(left, 24.4, faces.fit(made, 2.2, right - left, 2), 2.2, 3.8)
    base = 37.0
    sheet.text(left, base, "Bin", 2.2)
    sheet.text(left + BIN + BARS, base, "Item and lot", 2.2)
    sheet.text(right - WHY - COUNTED, base, "Counted", 2.2)
    sheet.text(right - WHY + 2.0, base, "If it differs: why", 2.2)
    sheet.rule(left, 38.6, right, 0.5)


def _row(one: CountRow, left: float, right: float) -> Block:
    module = barcodes.module_for(one.label, BARS)
    quiet = barcodes.QUIET_MODULES * module
    words = left + BIN + BARS
    room = right - WHY - COUNTED - words - 3.0
    name = faces.fit(one.item, 2.6, room, 1, True)
    until = f", until {one.until}" if one.until else ""
    lot = faces.fit(f"Lot {one.lot}{until}", 2.2, room, 1)
    place = faces.fit(one.bin, 2.6, BIN - 2.0, 2, True)

    def put(sheet: Sheet, top: float) -> None:
        sheet.lines(left, top + 5.6, place, 2.6, 4.6, bold=True)
        sheet.bars(left + BIN + quiet, top + 1.8, one.label, module, 7.0)
        sheet.label(left + BIN + quiet, top + 12.4, one.label, 2.2)
        sheet.lines(words, top + 5.6, name, 2.6, 4.0, bold=True)
        sheet.lines(words, top + 10.4, lot, 2.2, 4.0)
        for x, wide in ((right - WHY - COUNTED, COUNTED - 2.0), (right - WHY + 2.0, WHY - 2.0)):
            sheet.frame([(x, top + 2), (x + wide, top + 2), (x + wide, top + 12.6), (x, top + 12.6)], HAIR)
        sheet.rule(left, top + ROW - 0.6, left + BIN - 2.0, HAIR)  # never beside bars, which stand one over the other
        sheet.rule(words, top + ROW - 0.6, right, HAIR)

    return Block(ROW, put)


PAPER = Paper("count_sheet", "Counting sheet", CountingSheet, draw)
