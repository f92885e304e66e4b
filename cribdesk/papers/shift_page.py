"""The page with which a shift is handed over: its figures, a note, and a line to sign for both."""

from __future__ import annotations

from cribdesk.desk.printouts_shift import ShiftFigure, ShiftSheet
from cribdesk.papers import faces
from cribdesk.papers.flow import Block, columns, day_time, together
from cribdesk.papers.register import Paper
from cribdesk.papers.settings import PaperSettings
from cribdesk.papers.sheet import HAIR, Sheet

MARGIN = 18.0
HEAD, FOOT = 46.0, 16.0
NUMBER, DETAIL = 84.0, 90.0  # where a number ends and its detail begins, mm from the left
FROZEN = "The figures are those of the record at the moment of closing. Count and look before you sign."


def draw(record: ShiftSheet, settings: PaperSettings) -> bytes:
    """One page where it fits; a long note or long details go on over the next."""
    width, height = settings.page_size
    left, right = MARGIN, width - MARGIN
    sheet = Sheet((width, height), f"Shift handed over {day_time(record.began_at)}", settings.site)
    blocks = [_row(figure, left, right) for figure in record.figures]
    if record.note:
        blocks += _note(record.note, left, right)
    blocks.append(together([_gap(4.0), _sign("Handed over by", record.closed_by, left, right),
                            _sign("Taken over by", record.taken_by, left, right)]))  # fmt: skip
    pages = columns(blocks, HEAD, height - FOOT)
    for index, placed in enumerate(pages):
        if index:
            sheet.next_page()
        _head(sheet, record, settings, left, right)
        for block, top in placed:
            block.draw(sheet, top)
        base = height - 10.0
        sheet.text(right, base, f"{index + 1} of {len(pages)}", 2.3, align="right")
        told = " ".join(part for part in (settings.site, faces.note_about(record)) if part)
        sheet.lines(left, base, faces.fit(told, 1.8, right - left - 20.0, 2), 1.8, 3.0)
    return sheet.finish()


def _head(sheet: Sheet, record: ShiftSheet, settings: PaperSettings, left: float, right: float) -> None:
    sheet.text(left, 20.0, "Shift handed over", 5.0, bold=True)
    sheet.text(right, 20.0, settings.copy_mark, 2.6, bold=True, align="right")
    span = f"{day_time(record.began_at)} to {day_time(record.ended_at)}"
    lines = faces.fit(f"{record.shift}, {span}", 3.2, right - left, 1, True)
    sheet.lines(left, 28.0, lines, 3.2, 5.0, bold=True)
    closed = f"Closed {day_time(record.closed_at)}, {record.counter}"
    sheet.lines(left, 34.4, faces.fit(closed, 2.4, right - left, 1), 2.4, 4.0)
    sheet.lines(left, 39.4, faces.fit(FROZEN, 2.1, right - left, 1), 2.1, 3.6)
    sheet.rule(left, 43.0, right, 0.5)


def _row(figure: ShiftFigure, left: float, right: float) -> Block:
    names = faces.fit(figure.name, 2.8, NUMBER - 20.0, 3)
    details = faces.fit(figure.detail, 2.2, right - left - DETAIL, 6)
    high = max(len(names) * 4.8, len(details) * 4.0, 4.8) + 3.2

    def put(sheet: Sheet, top: float) -> None:
        sheet.lines(left, top + 4.8, names, 2.8, 4.8)
        number = faces.fit(figure.number, 3.4, 22.0, 1, True)
        sheet.lines(left + NUMBER, top + 4.8, number, 3.4, 4.8, bold=True, align="right")
        sheet.lines(left + DETAIL, top + 4.8, details, 2.2, 4.0)
        sheet.rule(left, top + high - 0.6, right, HAIR)

    return Block(high, put)


def _note(note: str, left: float, right: float) -> list[Block]:
    lines = faces.wrap(note, 2.8, right - left)
    starts = range(0, len(lines), 20)
    return [_gap(3.0), _lines(["Note"], left, True), *(_lines(lines[at : at + 20], left, False) for at in starts)]


def _lines(lines: list[str], left: float, bold: bool) -> Block:
    return Block(
        len(lines) * 4.8 + 0.4, lambda sheet, top: _put_lines(sheet, left, top + 4.4, lines, bold)
    )


def _put_lines(sheet: Sheet, left: float, base: float, lines: list[str], bold: bool) -> None:
    sheet.lines(left, base, lines, 2.8, 4.8, bold=bold)


def _sign(what: str, who: str, left: float, right: float) -> Block:
    names = faces.fit(who, 2.6, 66.0, 2, True)

    def put(sheet: Sheet, top: float) -> None:
        sheet.text(left, top + 16.0, what, 2.6)
        sheet.lines(left + 32.0, top + 16.0 - (len(names) - 1) * 4.4, names, 2.6, 4.4, bold=True)
        sheet.rule(left + 102.0, top + 16.6, right, HAIR)
        sheet.text(left + 102.0, top + 20.6, "signature, time", 1.9)

    return Block(23.0, put)


def _gap(high: float) -> Block:
    return Block(high, lambda sheet, top: None)


PAPER = Paper("shift_page", "Shift page", ShiftSheet, draw)
