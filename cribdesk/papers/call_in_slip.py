"""The slip that calls in a unit that is out, on hold or overdue: who has it, why, since when, what to do."""

from __future__ import annotations

from collections.abc import Sequence

from cribdesk.desk.printouts import CallInCause, CallInSlip
from cribdesk.papers import barcodes, faces
from cribdesk.papers.flow import Block, day_time
from cribdesk.papers.half import DEFER, Slip
from cribdesk.papers.register import Paper
from cribdesk.papers.settings import PaperSettings
from cribdesk.papers.sheet import AMBER, HAIR, THICK, Sheet

HEAD, FOOT = 65.0, 15.0
BAND = (27.4, 49.4)
MESSAGE = {
    CallInCause.HOLD: ("CAUTION", "Stop using it. Bring it back."),
    CallInCause.OVERDUE: ("Overdue", "Bring it back now."),
    CallInCause.RECHECK: ("CAUTION", "Stop using it. Bring it back."),
}
SINCE = {CallInCause.HOLD: "On hold since", CallInCause.OVERDUE: "Overdue since", CallInCause.RECHECK: "Called in"}


def draw(record: CallInSlip, settings: PaperSettings) -> bytes:
    """The slip, on one half page where it fits."""
    slip = Slip(settings, f"Call-in slip {record.unit}")
    left, right = slip.left, slip.right
    blocks = [
        *(_addressed(record.to, left, right) if record.to else ()),
        paragraph(record.holder_name, left, right, 5.0, 8.0, bold=True),
        labelled(record.holder, record.holder_about, left, right),
        rule_across(left, right),
        *_why(record, left, right),
        rule_across(left, right),
        paragraph("What to do", left, right, 3.0, 5.0, bold=True),
        *(step(number, words, left, right) for number, words in enumerate(record.steps, 1)),
        gap(1.5),
        paragraph(DEFER, left, right, 2.1, 3.8),
        rule_across(left, right),
        _codes(record, left, right),
        _taken_back(left, right),
    ]

    def head(sheet: Sheet, index: int, many: int) -> None:
        _head(sheet, record, settings, slip)

    def ending(sheet: Sheet, index: int, many: int) -> None:
        base = slip.size[1] - 11.0
        sheet.text(right, base, f"{index + 1} of {many}", 2.3, align="right")
        told = " ".join(part for part in (settings.site, faces.note_about(record)) if part)
        room = right - left - 12.0
        sheet.lines(left, base, faces.fit(told, 1.6, room, 2), 1.6, 2.6)

    return slip.pages(blocks, head, HEAD, FOOT, ending)


def _addressed(to: str, left: float, right: float) -> tuple[Block, ...]:
    """Whom the slip is for, and that the name under it is somebody else's."""
    return paragraph(to, left, right, 3.0, 5.2, bold=True), gap(1.0), paragraph("Who has it", left, right, 2.4, 4.0)


def _head(sheet: Sheet, record: CallInSlip, settings: PaperSettings, slip: Slip) -> None:
    left, right, width = slip.left, slip.right, slip.size[0]
    sheet.text(left, 8.8, settings.copy_mark, 2.6, bold=True)
    sheet.text(left, 15.0, "Call-in slip", 4.6, bold=True)
    sheet.text(left, 20.6, f"{day_time(record.printed_at)}, {record.counter}", 2.4)
    word, message = MESSAGE[record.cause]
    top, foot = BAND
    stop = record.cause is not CallInCause.OVERDUE
    if stop:
        sheet.box(left, top, width - 20.0, foot - top, AMBER)
    for edge in (top, foot - THICK):
        sheet.box(left, edge, width - 20.0, THICK)
    sheet.sign("stop" if stop else "caution", left + 4.0, top + 3.8, 14.4)
    sheet.text(left + 23.0, top + 9.6, word, 4.6, bold=True)
    sheet.text(left + 23.0, top + 17.4, message, 4.2, bold=True)
    wide = sheet.label(left, 59.6, record.unit, 6.0)
    room = right - left - wide - 6.0
    lines = faces.fit(record.unit_model, 2.5, room, 2)
    sheet.lines(right, 59.6 - (len(lines) - 1) * 4.4, lines, 2.5, 4.4, align="right")
    sheet.rule(left, 63.4, right)


def _why(record: CallInSlip, left: float, right: float) -> list[Block]:
    since = SINCE[record.cause], day_time(record.since)
    facts = [since, ("Told by", record.found_by), ("Went out to", record.area)]
    lines = faces.wrap(record.why, 3.0, right - left, True)
    starts = range(0, len(lines), 12)
    why = [_lines(lines[start : start + 12], left, 3.0, 5.2, bold=True) for start in starts]
    return [*why, gap(1.0), *(_fact(name, value, left, right) for name, value in facts)]


def _fact(name: str, value: str, left: float, right: float) -> Block:
    second = left + 30.0
    lines = faces.fit(value, 2.5, right - second, 8, True)

    def put(sheet: Sheet, top: float) -> None:
        sheet.text(left, top + 4.0, name, 2.5)
        sheet.lines(second, top + 4.0, lines, 2.5, 4.6, bold=True)

    return Block(max(1, len(lines)) * 4.6 + 0.6, put)


def step(number: int, words: str, left: float, right: float) -> Block:
    """A numbered line of what to do."""
    lines = faces.fit(words, 2.6, right - left - 6.0, 12)

    def put(sheet: Sheet, top: float) -> None:
        sheet.text(left, top + 4.2, f"{number}", 2.6, bold=True)
        sheet.lines(left + 6.0, top + 4.2, lines, 2.6, 4.6)

    return Block(len(lines) * 4.6 + 1.0, put)


def labelled(label: str, about: str, left: float, right: float) -> Block:
    """A whole label and words beside it."""
    lines = faces.fit(about, 2.5, right - left - 24.0, 4)

    def put(sheet: Sheet, top: float) -> None:
        sheet.label(left, top + 3.6, label, 2.5)
        sheet.lines(left + 24.0, top + 3.6, lines, 2.5, 4.4)

    return Block(max(1, len(lines)) * 4.4 + 1.6, put)


def _codes(record: CallInSlip, left: float, right: float) -> Block:
    second = ("wearer", record.holder) if record.cause is CallInCause.RECHECK else ("tag", record.tag)
    named = (("unit", record.unit), second, ("slip", record.slip))
    codes = [(name, code) for name, code in named if code]
    share = (right - left) / 3
    quiet = barcodes.QUIET_MODULES * barcodes.LEAST_MODULE_MM

    def put(sheet: Sheet, top: float) -> None:
        for index, (name, code) in enumerate(codes):
            start = left + index * share + quiet
            sheet.bars(start, top + 3.0, code, barcodes.LEAST_MODULE_MM, 9.0)
            sheet.label(start + sheet.text(start, top + 15.8, name, 2.4) + 1.6, top + 15.8, code, 2.4)

    return Block(19.0, put)


def _taken_back(left: float, right: float) -> Block:
    def put(sheet: Sheet, top: float) -> None:
        x = left
        for name, line in (("Taken back by", 46.0), ("at", 24.0)):
            x += sheet.text(x, top + 9.0, name, 2.4) + 1.5
            sheet.rule(x, top + 9.6, x + line, HAIR)
            x += line + 3.0

    return Block(11.0, put)


def paragraph(text: str, left: float, right: float, cap: float, pitch: float, *, bold: bool = False) -> Block:
    """Words over the whole width."""
    lines = faces.fit(text, cap, right - left, 6, bold)
    return _lines(lines, left, cap, pitch, bold=bold)


def _lines(lines: Sequence[str], left: float, cap: float, pitch: float, *, bold: bool) -> Block:
    def put(sheet: Sheet, top: float) -> None:
        sheet.lines(left, top + cap + 1.6, lines, cap, pitch, bold=bold)

    return Block(len(lines) * pitch + 1.0, put)


def rule_across(left: float, right: float) -> Block:
    """A line between two parts."""
    return Block(3.0, lambda sheet, top: sheet.rule(left, top + 1.6, right))


def gap(high: float) -> Block:
    """Nothing, so high."""
    return Block(high, lambda sheet, top: None)


PAPER = Paper("call_in_slip", "Call-in slip", CallInSlip, draw)
