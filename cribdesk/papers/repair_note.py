"""The note that goes with a unit to its repair: what is wrong, how it was decontaminated, when it is due back."""

from __future__ import annotations

from cribdesk.crib.words import day
from cribdesk.desk.printouts_away import RepairNote
from cribdesk.papers import barcodes, faces
from cribdesk.papers.flow import Block, day_time, together
from cribdesk.papers.half import Slip
from cribdesk.papers.register import Paper
from cribdesk.papers.settings import PaperSettings
from cribdesk.papers.sheet import HAIR, Sheet

HEAD, FOOT = 33.6, 15.0
SIGNED = ("Decontaminated, signed", "Taken over by", "Given back by")
UNSURE = (
    "Decontaminated as said above, as far as it can be reached without taking it apart: dust may be left inside. "
    "Handle it by your own rules. The maker's instructions decide on repair and on parts."
)
AFTER = "Back at the crib it is inspected at the bench before anybody wears it."


def draw(record: RepairNote, settings: PaperSettings) -> bytes:
    """The note, on one half page where it fits."""
    slip = Slip(settings, f"Repair note {record.unit}")
    left, right = slip.left, slip.right
    blocks = [
        *_text("What is wrong", record.wrong, left, right),
        *_text("Decontaminated", record.decontaminated, left, right),
        _fact("Goes to", record.goes_to, left, right),
        _fact("Sent", f"{day_time(record.sent_at)}, by {record.sent_by}", left, right),
        _fact("Due back", day(record.due_back) if record.due_back else "no day agreed", left, right, large=True),
        *([_fact("Loaner", record.loaner, left, right)] if record.loaner else []),
        _gap(2.0),
        _paragraph(UNSURE, left, right),
        _paragraph(AFTER, left, right),
        _bars(record.unit, left),
        together([_signature(words, left, right) for words in SIGNED]),
    ]

    def head(sheet: Sheet, index: int, many: int) -> None:
        sheet.text(left, 8.8, settings.copy_mark, 2.6, bold=True)
        sheet.text(left, 15.0, "Repair note", 4.6, bold=True)
        wide = sheet.label(left, 26.4, record.unit, 6.0)
        room = right - left - wide - 6.0
        about = f"{record.unit_model}, serial {record.serial}" if record.serial else record.unit_model
        lines = faces.fit(about, 2.5, room, 2)
        sheet.lines(right, 26.4 - (len(lines) - 1) * 4.4, lines, 2.5, 4.4, align="right")
        sheet.rule(left, 31.0, right)

    def ending(sheet: Sheet, index: int, many: int) -> None:
        base = slip.size[1] - 11.0
        sheet.text(right, base, f"{index + 1} of {many}", 2.3, align="right")
        told = " ".join(part for part in (settings.site, faces.note_about(record)) if part)
        sheet.lines(left, base, faces.fit(told, 1.6, right - left - 12.0, 2), 1.6, 2.6)

    return slip.pages(blocks, head, HEAD, FOOT, ending)


def _text(name: str, text: str, left: float, right: float) -> list[Block]:
    """A heading, and its text over as many blocks as it takes, so that a long one goes on over the page."""
    lines = faces.wrap(text, 3.0, right - left, True)
    parts = [lines[start : start + 10] for start in range(0, len(lines), 10)]

    def heading(sheet: Sheet, top: float) -> None:
        sheet.text(left, top + 4.0, name, 2.4)
        sheet.lines(left, top + 9.6, parts[0] if parts else (), 3.0, 5.2, bold=True)

    def rest(part: list[str]) -> Block:
        return Block(len(part) * 5.2, lambda sheet, top: _put(sheet, left, top, part))

    first = Block(6.4 + 5.2 * len(parts[0] if parts else ()), heading)
    return [first, *(rest(part) for part in parts[1:]), _gap(1.0)]


def _put(sheet: Sheet, left: float, top: float, lines: list[str]) -> None:
    sheet.lines(left, top + 3.2, lines, 3.0, 5.2, bold=True)


def _fact(name: str, value: str, left: float, right: float, *, large: bool = False) -> Block:
    cap, pitch = (3.4, 6.0) if large else (2.6, 4.8)
    second = left + 24.0
    lines = faces.fit(value, cap, right - second, 6, True)

    def put(sheet: Sheet, top: float) -> None:
        sheet.text(left, top + cap + 1.4, name, 2.4)
        sheet.lines(second, top + cap + 1.4, lines, cap, pitch, bold=True)

    return Block(max(1, len(lines)) * pitch + 1.0, put)


def _paragraph(text: str, left: float, right: float) -> Block:
    lines = faces.fit(text, 2.2, right - left, 6)
    return Block(len(lines) * 3.9 + 1.2, lambda sheet, top: _small(sheet, left, top, lines))


def _small(sheet: Sheet, left: float, top: float, lines: list[str]) -> None:
    sheet.lines(left, top + 3.4, lines, 2.2, 3.9)


def _bars(unit: str, left: float) -> Block:
    start = left + barcodes.QUIET_MODULES * barcodes.LEAST_MODULE_MM

    def put(sheet: Sheet, top: float) -> None:
        sheet.bars(start, top + 3.0, unit, barcodes.LEAST_MODULE_MM, 10.0)
        sheet.label(start, top + 17.2, unit, 2.5)

    return Block(20.0, put)


def _signature(words: str, left: float, right: float) -> Block:
    def put(sheet: Sheet, top: float) -> None:
        x = left + 42.0
        sheet.text(left, top + 8.4, words, 2.4)
        sheet.rule(x, top + 9.0, x + 46.0, HAIR)
        wide = sheet.text(x + 49.0, top + 8.4, "on", 2.4)
        sheet.rule(x + 51.0 + wide, top + 9.0, right, HAIR)

    return Block(10.6, put)


def _gap(high: float) -> Block:
    return Block(high, lambda sheet, top: None)


PAPER = Paper("repair_note", "Repair note", RepairNote, draw)
