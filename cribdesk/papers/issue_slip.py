"""The slip that goes along with an issued unit: who, what, until when, how it was checked, what to heed."""

from __future__ import annotations

from collections.abc import Sequence

from cribdesk.crib import words
from cribdesk.desk.printouts import IssueSlip, OwnCheck, SlipCaution, SlipReading
from cribdesk.papers import barcodes, faces
from cribdesk.papers.flow import Block, day_time, together
from cribdesk.papers.half import DEFER, Slip
from cribdesk.papers.register import Paper
from cribdesk.papers.settings import PaperSettings
from cribdesk.papers.sheet import HAIR, THIN, Sheet, label_width

HEAD, FOOT = 27.4, 15.0


def draw(record: IssueSlip, settings: PaperSettings) -> bytes:
    """The slip, on one half page where it fits."""
    slip = Slip(settings, f"Issue slip {record.slip}")
    left, right = slip.left, slip.right
    blocks = [_who(record, left, right), _what(record, left, right)]
    if record.inspected or record.readings:
        blocks += [_inspected(record, left, right), *(_reading(r, left, right) for r in record.readings)]
    if record.cautions:
        blocks.append(_gap(3.0))
        blocks += [part for caution in record.cautions for part in _caution(caution, left, right)]
    if len(blocks) > 2:
        blocks.append(_line(left, right))
    signed = [_defer(left, right), _signing(record, left, right)]
    if record.own_part:
        own_part = [_own(own, left, right) for own in record.own_part]
        signed = [_heading("Your own part", left), *own_part, *signed]
    # What is signed for stands above the signature, on the same side.
    whole = together(signed)
    blocks += [whole] if whole.height <= slip.size[1] - HEAD - FOOT else signed
    if record.own_checks:
        blocks.append(_grid(record, left, right))

    def head(sheet: Sheet, index: int, many: int) -> None:
        _head(sheet, record, settings, left, right)

    def ending(sheet: Sheet, index: int, many: int) -> None:
        _foot(sheet, record, settings, slip, f"{index + 1} of {many}")

    return slip.pages(blocks, head, HEAD, FOOT, ending)


def _foot(sheet: Sheet, record: IssueSlip, settings: PaperSettings, slip: Slip, count: str) -> None:
    base, x = slip.size[1] - 11.0, slip.left
    for words_before in ("Bring this slip back with the unit. Hours worn", "Alarms"):
        x += sheet.text(x, base, words_before, 2.3) + 1.0
        sheet.rule(x, base + 0.6, x + 12.0, HAIR)
        x += 14.0
    sheet.text(slip.right, base, count, 2.3, align="right")
    room = slip.right - slip.left
    told = " ".join(part for part in (settings.site, faces.note_about(record)) if part)
    sheet.lines(slip.left, base + 3.4, faces.fit(told, 1.6, room, 2), 1.6, 2.6)


def _head(sheet: Sheet, record: IssueSlip, settings: PaperSettings, left: float, right: float) -> None:
    module = barcodes.ROOMY_MODULE_MM
    length = barcodes.runs(record.slip)[0] * module
    start = right - length
    room = start - barcodes.QUIET_MODULES * module - left
    wide = sheet.text(left, 15.0, "Issue slip ", 4.6, bold=True)
    if wide + label_width(record.slip, 4.6) <= room:
        sheet.label(left + wide, 15.0, record.slip, 4.6)
    sheet.text(left, 8.8, settings.copy_mark, 2.6, bold=True)
    told = f"{day_time(record.issued_at)}, {record.counter}, {record.clerk}"
    lines = faces.fit(told, 2.4, room, 2)
    sheet.lines(left, 20.6 if len(lines) == 1 else 19.6, lines, 2.4, 4.4)
    sheet.bars(start, 8.4, record.slip, module, 9.6)
    sheet.label(start, 21.8, record.slip, 2.5)
    sheet.rule(left, 25.8, right, 0.6)


def _who(record: IssueSlip, left: float, right: float) -> Block:
    large, small = _due(record)
    beside = max(faces.width(large, 5.4, True), faces.width(small, 2.5)) + 6.0
    room = right - left - beside
    cap, pitch = 5.4, 9.0
    name = faces.wrap(record.wearer_name, cap, room, True)
    if len(name) > 2:
        cap, pitch = 3.8, 6.2
        name = faces.fit(record.wearer_name, cap, room, 6, True)
    about = faces.wrap(f", {record.wearer_about}" if record.wearer_about else "", 2.5, room)
    beside_label = faces.fit(f"{record.wearer}, {record.wearer_about}", 2.5, room, 4)
    extra = len(beside_label) - 1
    high = 2.6 + cap + (len(name) - 1) * pitch + 6.4 + extra * 4.4 + 4.2

    def put(sheet: Sheet, top: float) -> None:
        base = sheet.lines(left, top + 2.6 + cap, name, cap, pitch, bold=True) - pitch + 6.4
        if extra:
            sheet.lines(left, base, beside_label, 2.5, 4.4)
        else:
            sheet.text(left + sheet.label(left, base, record.wearer, 2.5), base, "".join(about), 2.5)
        sheet.text(right, top + 8.0, large, 5.4, bold=True, align="right")
        sheet.text(right, top + 14.4, small, 2.5, align="right")
        sheet.rule(left, top + high, right)

    return Block(high, put)


def _due(record: IssueSlip) -> tuple[str, str]:
    due = record.due_back
    if due is None:
        by = record.inspect_by
        return "assigned", f"to the bench by {words.day(by)}" if by else "until called in"
    if due.date() == record.issued_at.date():
        return f"back by {due:%H:%M}", f"today, {words.day(due.date())}"
    return f"back by {due.day} {words.MONTHS[due.month - 1]}", f"{words.day(due.date())}, {due:%H:%M}"


def _what(record: IssueSlip, left: float, right: float) -> Block:
    names, values = left + 20.0, left + 66.0
    rows: list[tuple[str, list[str], list[str], str]] = [
        ("Unit", [], faces.fit(record.unit_model, 2.5, right - values, 6), record.unit)
    ]
    if record.battery:
        rows.append(("Battery", [], faces.fit(record.battery_about, 2.5, right - values, 6), record.battery))
    area = faces.fit(record.area, 2.7, values - names - 2.0, 6, True)
    rows.append(("For", area, faces.fit(record.exposure, 2.5, right - values, 6), ""))
    heights = [max(1, len(row[1]), len(row[2])) * 4.4 + 1.9 for row in rows]

    def put(sheet: Sheet, top: float) -> None:
        base = top + 5.8
        for (name, bold, plain, label), height in zip(rows, heights, strict=True):
            sheet.text(left, base, name, 2.5)
            if label:
                sheet.label(names, base, label, 2.7)
            sheet.lines(names, base, bold, 2.7, 4.4, bold=True)
            sheet.lines(values, base, plain, 2.5, 4.4)
            base += height
        sheet.rule(left, top + sum(heights) + 2.2, right)

    return Block(sum(heights) + 2.2, put)


def _inspected(record: IssueSlip, left: float, right: float) -> Block:
    beside = faces.width(record.handed_over, 2.3)
    lines = faces.fit(record.inspected, 3.0, right - left - beside - 4.0, 6, True)
    high = 8.2 + (len(lines) - 1) * 4.8

    def put(sheet: Sheet, top: float) -> None:
        sheet.lines(left, top + 6.2, lines, 3.0, 4.8, bold=True)
        sheet.text(right, top + 6.2, record.handed_over, 2.3, align="right")

    return Block(high, put)


def _reading(reading: SlipReading, left: float, right: float) -> Block:
    sides = (left + 7.0, left + 46.0, left + 70.0)
    what = faces.fit(reading.what, 2.4, sides[1] - sides[0] - 2.0, 6)
    value = faces.fit(reading.value, 2.5, sides[2] - sides[1] - 2.0, 6, True)
    whole = right - sides[2]
    limit = faces.fit(reading.limit, 2.4, whole / 2, 6)
    limit_room = max((faces.width(line, 2.4) + 2.5 for line in limit), default=0.0)
    note = faces.fit(reading.note, 2.4, whole - limit_room, 6)
    lines = max(1, len(what), len(value), len(limit), len(note))
    high = 5.6 + (lines - 1) * 4.2

    def put(sheet: Sheet, top: float) -> None:
        base = top + 4.1
        if reading.good is not None:
            sheet.sign("tick" if reading.good else "cross", left, base - 3.1, 3.8)
        sheet.lines(sides[0], base, what, 2.4, 4.2)
        sheet.lines(sides[1], base, value, 2.5, 4.2, bold=True)
        sheet.lines(sides[2], base, limit, 2.4, 4.2)
        sheet.lines(right, base, note, 2.4, 4.2, align="right")
        sheet.rule(left, top + high, right, HAIR)

    return Block(high, put)


def _caution(caution: SlipCaution, left: float, right: float) -> list[Block]:
    """The caution with its sign; a very long one goes on in blocks of a few lines, for pages to part."""
    room = right - left - 11.0
    lines = [(line, 2.7, True) for line in faces.wrap(caution.what, 2.7, room, True)]
    lines += [(line, 2.4, False) for line in faces.wrap(caution.accepted, 2.4, room)]
    starts = range(0, max(1, len(lines)), 8)
    return [_caution_part(lines[at : at + 8], left, signed=at == 0) for at in starts]


def _caution_part(lines: Sequence[tuple[str, float, bool]], left: float, *, signed: bool) -> Block:
    def put(sheet: Sheet, top: float) -> None:
        if signed:
            sheet.sign("caution", left, top + 1.0, 7.4)
        for index, (line, cap, bold) in enumerate(lines):
            sheet.text(left + 11.0, top + 4.2 + index * 4.5, line, cap, bold=bold)

    return Block(max(len(lines) * 4.5 + (0.6 if signed else 0.0), 9.2 if signed else 0.0), put)


def _own(own: OwnCheck, left: float, right: float) -> Block:
    second = left + 44.0
    when = faces.fit(own.when, 2.4, second - left - 2.0, 6, True)
    do = faces.fit(own.do, 2.4, right - second, 6)

    def put(sheet: Sheet, top: float) -> None:
        sheet.lines(left, top + 3.8, when, 2.4, 4.4, bold=True)
        sheet.lines(second, top + 3.8, do, 2.4, 4.4)

    return Block(max(len(when), len(do)) * 4.4 + 0.4, put)


ROW, FIRST = 7.6, 21.6
BOXES = (("Date", 0.0), ("Air", 0.34), ("Alarm", 0.51), ("Initials", 0.7))
"""The columns of the own checks: heading, and where each begins as a share of its half."""


def _grid(record: IssueSlip, left: float, right: float) -> Block:
    """A row for each use, two columns side by side: the wearer dates, ticks and initials it before the use."""
    rows = -(-record.own_checks // 2)
    half = (right - left - 6.0) / 2
    lead = "Tick before each use. Air or alarm not good: do not use it, bring it back."
    lines = faces.fit(lead, 2.4, right - left, 2)

    def put(sheet: Sheet, top: float) -> None:
        sheet.text(left, top + 6.4, "Your own check before each use", 3.0, bold=True)
        sheet.label(right - label_width(record.unit, 2.5), top + 6.4, record.unit, 2.5)
        sheet.lines(left, top + 11.4, lines, 2.4, 4.2)
        for side in range(2):
            count = rows if side == 0 else record.own_checks - rows
            if count:
                _boxes(sheet, left + side * (half + 6.0), top + FIRST, half, count)

    return Block(FIRST + rows * ROW + 2.0, put)


def _boxes(sheet: Sheet, left: float, top: float, wide: float, count: int) -> None:
    for name, at in BOXES:
        sheet.text(left + at * wide + 1.0, top - 1.4, name, 2.1)
    for row in range(count + 1):
        sheet.rule(left, top + row * ROW, left + wide, HAIR if 0 < row < count else THIN)
    for at in (*(at for _, at in BOXES), 1.0):
        sheet.upright(left + at * wide, top, top + count * ROW, HAIR)


def _heading(text: str, left: float) -> Block:
    def put(sheet: Sheet, top: float) -> None:
        sheet.text(left, top + 5.6, text, 3.0, bold=True)

    return Block(6.8, put)


def _gap(high: float) -> Block:
    return Block(high, lambda sheet, top: None)


def _line(left: float, right: float) -> Block:
    return Block(1.6, lambda sheet, top: sheet.rule(left, top + 1.6, right, THIN))


def _defer(left: float, right: float) -> Block:
    lines = faces.wrap(DEFER, 2.1, right - left)

    def put(sheet: Sheet, top: float) -> None:
        sheet.lines(left, top + 3.6, lines, 2.1, 3.8)
        sheet.rule(left, top + len(lines) * 3.8 + 2.4, right)

    return Block(len(lines) * 3.8 + 2.4, put)


def _signing(record: IssueSlip, left: float, right: float) -> Block:
    lines = faces.fit(record.declaration, 2.6, right - left, 6)
    middle = (left + right) / 2
    signs = f"{record.carrier_name}, carries it to {record.wearer_name}" if record.carrier else record.wearer_name
    wearer = faces.fit(signs, 2.4, middle - left - 4.0, 4)
    clerk = faces.fit(f"{record.clerk}, for the crib", 2.4, right - middle - 4.0, 4)
    high = 5.4 + (len(lines) - 1) * 4.6 + 14.0 + max(len(wearer), len(clerk)) * 4.2

    def put(sheet: Sheet, top: float) -> None:
        base = sheet.lines(left, top + 5.4, lines, 2.6, 4.6) - 4.6 + 14.0
        sheet.rule(left, base - 0.2, middle - 4.0, 0.4)
        sheet.rule(middle + 4.0, base - 0.2, right, 0.4)
        sheet.lines(left, base + 3.6, wearer, 2.4, 4.2)
        sheet.lines(middle + 4.0, base + 3.6, clerk, 2.4, 4.2)

    return Block(high, put)


PAPER = Paper("issue_slip", "Issue slip", IssueSlip, draw)
