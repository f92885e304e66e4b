"""The record of an inspection: every answer as it was given, also those that a retest replaced."""

from __future__ import annotations

from collections.abc import Sequence

from cribdesk.desk.printouts import InspectionRecord, RecordedAnswer, RecordVerdict
from cribdesk.papers import barcodes, faces, signs
from cribdesk.papers.flow import Block, Placed, day_time
from cribdesk.papers.register import Paper
from cribdesk.papers.settings import PaperSettings
from cribdesk.papers.sheet import HAIR, Sheet

MARGIN = 15.0
FOOT = 17.0
HEAD_LATER = 33.0
CAP, PITCH, GAP = 2.0, 3.7, 2.5
ROW_MOST = 24  # lines of a cell before the row goes on in another
REPLACED = "replaced by a later answer"
TITLES = ("Step", "Question", "Limit", "Answer", "By", "When", "Instrument")
SHARES = (0.06, 0.30, 0.15, 0.17, 0.13, 0.08, 0.11)
VERDICTS: dict[RecordVerdict, tuple[signs.Kind, str]] = {
    RecordVerdict.PASS: ("tick", "Passed"),
    RecordVerdict.FAIL: ("stop", "Failed"),
    RecordVerdict.BROKEN_OFF: ("caution", "Broken off, no verdict"),
}
LEGEND = (
    "A struck answer was replaced by a later one. The maker's instructions, local rules and the "
    "program administrator decide whether a unit is used."
)


def draw(record: InspectionRecord, settings: PaperSettings) -> bytes:
    """The record on as many pages as it needs, the table's head on each that has rows."""
    size = settings.page_size
    right = size[0] - MARGIN
    sheet = Sheet(size, f"Inspection record {record.unit}", settings.site)
    top = _first_head(sheet, record, settings, right)
    rows = [row for answer in record.answers for row in _rows(answer, right - MARGIN)]
    pages = _plan(_preface(record, right), rows or [_nothing()], _table_head(right), top, size[1] - FOOT)
    for number, page in enumerate(pages, 1):
        if number > 1:
            sheet.next_page()
            _later_head(sheet, record, settings, right)
        for block, y in page:
            block.draw(sheet, y)
        _ending(sheet, record, settings, right, f"{number} of {len(pages)}")
    return sheet.finish()


def _plan(preface: Sequence[Block], rows: Sequence[Block], head: Block, top: float, foot: float) -> list[list[Placed]]:
    """What stands where on which page."""
    pages: list[list[Placed]] = [[]]
    y = top
    for block in preface:
        if y + block.height > foot:
            pages.append([])
            y = HEAD_LATER
        pages[-1].append((block, y))
        y += block.height
    headed = False
    for row in rows:
        if y + row.height + (0.0 if headed else head.height) > foot:
            pages.append([])
            y, headed = HEAD_LATER, False
        if not headed:
            pages[-1].append((head, y))
            y, headed = y + head.height, True
        pages[-1].append((row, y))
        y += row.height
    return pages


def _first_head(sheet: Sheet, record: InspectionRecord, settings: PaperSettings, right: float) -> float:
    module = barcodes.ROOMY_MODULE_MM
    length = barcodes.runs(record.unit)[0] * module
    start = right - length
    room = start - barcodes.QUIET_MODULES * module - MARGIN
    sheet.text(MARGIN, 13.0, settings.copy_mark, 2.6, bold=True)
    sheet.text(MARGIN, 20.0, "Inspection record", 4.6, bold=True)
    sheet.bars(start, 12.0, record.unit, module, 9.0)
    sheet.label(start, 25.2, record.unit, 2.5)
    title = faces.fit(record.procedure, 2.5, room, 4, True)
    base = sheet.lines(MARGIN, 26.0, title, 2.5, 4.4, bold=True)
    base = max(base, 30.4)
    about = faces.fit(f"{record.edition}; {record.unit_model}", 2.3, room, 3)
    base = sheet.lines(MARGIN, base, about, 2.3, 4.2)
    sheet.rule(MARGIN, base - 1.4, right, 0.6)
    return base - 1.4


def _preface(record: InspectionRecord, right: float) -> list[Block]:
    """Verdict, why, by whom and when."""
    blocks = [*_verdict(record, right)]
    for name, value in _facts(record):
        lines = faces.wrap(value, 2.3, right - MARGIN - 28.0)
        blocks.append(_fact(name, faces.elide(lines, 6, 2.3, right - MARGIN - 28.0)))
    return blocks


def _verdict(record: InspectionRecord, right: float) -> list[Block]:
    kind, word = VERDICTS[record.verdict]
    beside = MARGIN + 19.0 + faces.width(word, 4.6, True)
    short = faces.wrap(record.why, 2.5, right - beside, True)
    below: list[str] = []
    if len(short) > 2:
        short, below = [], faces.wrap(record.why, 2.3, right - MARGIN, True)

    def put(sheet: Sheet, top: float) -> None:
        sheet.sign(kind, MARGIN, top + 2.2, 10.0)
        sheet.text(MARGIN + 14.0, top + 9.6, word, 4.6, bold=True)
        sheet.lines(beside, top + 9.6 - (len(short) - 1) * 4.4, short, 2.5, 4.4, bold=True)

    chunks = [below[at : at + 12] for at in range(0, len(below), 12)]
    return [Block(14.0, put), *(_why(chunk) for chunk in chunks)]


def _why(lines: Sequence[str]) -> Block:
    def put(sheet: Sheet, top: float) -> None:
        sheet.lines(MARGIN, top + 3.4, lines, 2.3, 4.2, bold=True)

    return Block(len(lines) * 4.2, put)


def _fact(name: str, lines: Sequence[str]) -> Block:
    def put(sheet: Sheet, top: float) -> None:
        sheet.text(MARGIN, top + 4.0, name, 2.3)
        sheet.lines(MARGIN + 28.0, top + 4.0, lines, 2.3, 4.2)

    return Block(max(1, len(lines)) * 4.2 + 0.4, put)


def _nothing() -> Block:
    def put(sheet: Sheet, top: float) -> None:
        sheet.text(MARGIN, top + 4.4, "Nothing was answered.", 2.3)

    return Block(6.0, put)


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
    sheet.lines(MARGIN, 25.6, faces.fit(told, 2.0, room, 2), 2.0, 3.6)


def _rows(answer: RecordedAnswer, room: float) -> list[Block]:
    """The answer as one row of the table, or as several where a text is longer than a page bears."""
    given = faces.wrap(answer.answer, CAP, SHARES[3] * room - GAP - 4.0, True)
    at = f"{answer.at:%H:%M:%S}"
    texts = (answer.step, answer.question, answer.limit, None, answer.by, at, answer.instrument)
    cells = [
        given if text is None else faces.wrap(text, CAP, share * room - GAP)
        for text, share in zip(texts, SHARES, strict=True)
    ]
    told = "; ".join(part for part in (answer.remark, REPLACED if answer.replaced else "") if part)
    remark = faces.wrap(f"→ {told}", CAP, (SHARES[1] + SHARES[2]) * room - GAP) if told else []
    most = max(len(remark), *(len(cell) for cell in cells))
    parts = [slice(start, start + ROW_MOST) for start in range(0, most, ROW_MOST)]
    return [_row(answer, [cell[part] for cell in cells], remark[part], room) for part in parts]


def _row(answer: RecordedAnswer, cells: Sequence[Sequence[str]], remark: Sequence[str], room: float) -> Block:
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
    if answer.good is not None and lines:
        sheet.sign("tick" if answer.good else "cross", x, base - 2.4, 3.0)
    for index, line in enumerate(lines):
        level = base + index * PITCH
        wide = sheet.text(x + 4.0, level, line, CAP, bold=not answer.replaced)
        if answer.replaced:
            sheet.rule(x + 4.0, level - CAP * 0.42, x + 4.0 + wide, 0.2)


def _table_head(right: float) -> Block:
    def put(sheet: Sheet, top: float) -> None:
        x = MARGIN
        for title, share in zip(TITLES, SHARES, strict=True):
            sheet.text(x, top + 4.8, title, 1.9)
            x += share * (right - MARGIN)
        sheet.rule(MARGIN, top + 6.6, right, 0.4)

    return Block(7.0, put)


def _ending(sheet: Sheet, record: InspectionRecord, settings: PaperSettings, right: float, count: str) -> None:
    base = sheet.size[1] - 12.6
    told = " ".join(part for part in (settings.site, faces.note_about(record), LEGEND) if part)
    room = right - MARGIN - 20.0
    sheet.lines(MARGIN, base, faces.fit(told, 1.6, room, 3), 1.6, 2.6)
    sheet.text(right, base, count, 2.2, align="right")


PAPER = Paper("inspection_record", "Inspection record", InspectionRecord, draw)
