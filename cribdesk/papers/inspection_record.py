"""The record of an inspection: every answer as it was given, also those that a retest replaced."""

from __future__ import annotations

from collections.abc import Sequence

from cribdesk.desk.printouts import InspectionRecord, RecordedAnswer, RecordVerdict
from cribdesk.papers import barcodes, faces, signs
from cribdesk.papers.flow import Block, columns, day_time
from cribdesk.papers.register import Paper
from cribdesk.papers.settings import PaperSettings
from cribdesk.papers.sheet import HAIR, Sheet

MARGIN = 15.0
FOOT = 17.0
HEAD_LATER = 33.0
CAP, PITCH, GAP = 2.0, 3.7, 2.5
TITLES = ("Step", "Question", "Limit", "Answer", "By", "When", "Instrument")
SHARES = (0.06, 0.30, 0.15, 0.17, 0.13, 0.08, 0.11)
VERDICTS: dict[RecordVerdict, tuple[signs.Kind, str]] = {
    RecordVerdict.PASS: ("tick", "Passed"),
    RecordVerdict.FAIL: ("stop", "Failed"),
    RecordVerdict.BROKEN_OFF: ("caution", "Broken off, no verdict"),
}
LEGEND = "An answer in a struck line was replaced by a later one. The maker's instructions, local rules and the " \
    "program administrator decide whether a unit is used."


def draw(record: InspectionRecord, settings: PaperSettings) -> bytes:
    """The record on as many pages as it needs, the table's head on each."""
    size = settings.page_size
    right = size[0] - MARGIN
    sheet = Sheet(size, f"Inspection record {record.unit}", settings.site)
    top = _first_head(sheet, record, settings, right)
    blocks = [_row(answer, right - MARGIN) for answer in record.answers]
    first, *later = _pages(blocks, top, size[1] - FOOT)
    many = 1 + len(later)
    _table(sheet, first, top, right)
    if not record.answers:
        sheet.text(MARGIN, top + 10.0, "Nothing was answered.", 2.5)
    _ending(sheet, record, settings, right, f"1 of {many}")
    for number, page in enumerate(later, 2):
        sheet.next_page()
        _later_head(sheet, record, settings, right)
        _table(sheet, page, HEAD_LATER, right)
        _ending(sheet, record, settings, right, f"{number} of {many}")
    return sheet.finish()


def _pages(blocks: Sequence[Block], top: float, foot: float) -> list[list[Block]]:
    """The rows of the first page under its own head, then those of the others."""
    first = [block for block, _ in columns(blocks, top + 7.0, foot)[0]]
    rest = columns(blocks[len(first) :], HEAD_LATER + 7.0, foot)
    return [first, *([block for block, _ in page] for page in rest if page)]


def _first_head(sheet: Sheet, record: InspectionRecord, settings: PaperSettings, right: float) -> float:
    module = 0.33
    length = barcodes.runs(record.unit)[0] * module
    start = right - length
    room = start - barcodes.QUIET_MODULES * module - MARGIN
    sheet.text(MARGIN, 13.0, settings.copy_mark, 2.6, bold=True)
    sheet.text(MARGIN, 20.0, "Inspection record", 4.6, bold=True)
    sheet.bars(start, 12.0, record.unit, module, 9.0)
    sheet.label(start, 25.2, record.unit, 2.5)
    base = sheet.lines(MARGIN, 26.0, faces.wrap(record.procedure, 2.5, room, True), 2.5, 4.4, bold=True)
    base = max(base, 30.4)
    base = sheet.lines(MARGIN, base, faces.wrap(f"{record.edition}; {record.unit_model}", 2.3, room), 2.3, 4.2)
    sheet.rule(MARGIN, base - 1.4, right, 0.6)
    base = _verdict(sheet, record, base, right)
    for name, value in _facts(record):
        lines = faces.wrap(value, 2.3, right - MARGIN - 28.0)
        sheet.text(MARGIN, base, name, 2.3)
        base = sheet.lines(MARGIN + 28.0, base, lines, 2.3, 4.2) + 0.4
    return base - 1.0


def _verdict(sheet: Sheet, record: InspectionRecord, top: float, right: float) -> float:
    kind, word = VERDICTS[record.verdict]
    sheet.sign(kind, MARGIN, top + 0.8, 10.0)
    sheet.text(MARGIN + 14.0, top + 8.2, word, 4.6, bold=True)
    wide = faces.width(word, 4.6, True)
    room = right - MARGIN - 14.0
    why = faces.wrap(record.why, 2.5, room - wide - 5.0, True)
    if len(why) <= 2:
        first = top + 8.2 - (len(why) - 1) * 4.4
        sheet.lines(MARGIN + 19.0 + wide, first, why, 2.5, 4.4, bold=True)
        return top + 17.0
    lines = faces.wrap(record.why, 2.3, right - MARGIN, True)
    return sheet.lines(MARGIN, top + 16.6, lines, 2.3, 4.2, bold=True) + 1.4


def _facts(record: InspectionRecord) -> list[tuple[str, str]]:
    started = record.started_at
    ended = day_time(record.ended_at) if record.ended_at else "not ended"
    facts = [
        ("Inspected by", f"{record.by}, {record.counter}"),
        ("Started", f"{day_time(started)}, times in {started:%Z}"),
        ("Ended", ended),
    ]
    return [*facts, *(("Instrument", instrument) for instrument in record.instruments)]


def _later_head(sheet: Sheet, record: InspectionRecord, settings: PaperSettings, right: float) -> None:
    wide = sheet.text(MARGIN, 20.0, "Inspection record ", 3.4, bold=True)
    sheet.label(MARGIN + wide, 20.0, record.unit, 3.4)
    sheet.text(right, 20.0, settings.copy_mark, 2.6, bold=True, align="right")
    room = right - MARGIN
    told = f"{record.procedure}, {record.edition}; started {day_time(record.started_at)}"
    sheet.lines(MARGIN, 25.6, faces.elide(faces.wrap(told, 2.0, room), 2, 2.0, room), 2.0, 3.6)


def _row(answer: RecordedAnswer, room: float) -> Block:
    given = faces.wrap(answer.answer, CAP, SHARES[3] * room - GAP - 4.0, True)
    remark = faces.wrap(answer.remark, CAP, (SHARES[1] + SHARES[2]) * room - GAP)
    if answer.replaced:
        remark = [*remark, "replaced by a later answer"] if remark else ["replaced by a later answer"]
    texts = (answer.step, answer.question, answer.limit, None, answer.by, f"{answer.at:%H:%M:%S}", answer.instrument)
    cells = [
        given if text is None else faces.wrap(text, CAP, share * room - GAP)
        for text, share in zip(texts, SHARES, strict=True)
    ]
    asked = max(len(cells[1]), len(cells[2]))
    high = max(*(len(cell) for cell in cells), asked + len(remark)) * PITCH + 2.4

    def put(sheet: Sheet, top: float) -> None:
        x, base = MARGIN, top + PITCH + 0.2
        for index, (cell, share) in enumerate(zip(cells, SHARES, strict=True)):
            if index == 3:
                _given(sheet, answer, cell, x, base)
            else:
                sheet.lines(x, base, cell, CAP, PITCH)
            x += share * room
        sheet.lines(MARGIN + SHARES[0] * room, base + asked * PITCH, remark, CAP, PITCH)
        sheet.rule(MARGIN, top + high, MARGIN + room, HAIR)

    return Block(high, put)


def _given(sheet: Sheet, answer: RecordedAnswer, lines: Sequence[str], x: float, base: float) -> None:
    if answer.good is not None:
        sheet.sign("tick" if answer.good else "cross", x, base - 2.4, 3.0)
    for index, line in enumerate(lines):
        level = base + index * PITCH
        wide = sheet.text(x + 4.0, level, line, CAP, bold=not answer.replaced)
        if answer.replaced:
            sheet.rule(x + 4.0, level - CAP * 0.42, x + 4.0 + wide, 0.2)


def _table(sheet: Sheet, rows: Sequence[Block], top: float, right: float) -> None:
    x = MARGIN
    for title, share in zip(TITLES, SHARES, strict=True):
        sheet.text(x, top + 4.8, title, 1.9)
        x += share * (right - MARGIN)
    sheet.rule(MARGIN, top + 6.6, right, 0.4)
    y = top + 7.0
    for row in rows:
        row.draw(sheet, y)
        y += row.height


def _ending(sheet: Sheet, record: InspectionRecord, settings: PaperSettings, right: float, count: str) -> None:
    base = sheet.size[1] - 12.6
    told = " ".join(part for part in (settings.site, faces.note_about(record), LEGEND) if part)
    room = right - MARGIN - 20.0
    sheet.lines(MARGIN, base, faces.elide(faces.wrap(told, 1.6, room), 3, 1.6, room), 1.6, 2.6)
    sheet.text(right, base, count, 2.2, align="right")


PAPER = Paper("inspection_record", "Inspection record", InspectionRecord, draw)
