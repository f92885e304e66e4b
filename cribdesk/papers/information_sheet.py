"""The information sheet for voluntary users: what the appendix says, in our own words, and that its text goes along."""

from __future__ import annotations

from cribdesk.crib.words import date_words
from cribdesk.desk.printouts_people import InformationPaper
from cribdesk.papers import barcodes, faces
from cribdesk.papers.call_in_slip import gap, labelled, paragraph, rule_across, step
from cribdesk.papers.flow import Block
from cribdesk.papers.half import Slip
from cribdesk.papers.register import Paper
from cribdesk.papers.settings import PaperSettings
from cribdesk.papers.sheet import HAIR, Sheet

HEAD, FOOT = 30.0, 15.0
SOURCE = "29 CFR 1910.134, Appendix D"
LEAD = "No respirator is required where you work. You wear one by choice. Worn wrongly it can become a hazard itself."
TEXT = f"The whole text of {SOURCE}, is handed over with this sheet. It governs; this sheet does not replace it."
MEDICAL = "You are medically cleared before; it is cleaned, stored and kept up: 29 CFR 1910.134(c)(2)(ii)."
DEFER = "The maker's instructions and local rules stand beside it. Ask the program administrator when in doubt."


def draw(record: InformationPaper, settings: PaperSettings) -> bytes:
    """The sheet, on one half page where it fits."""
    slip = Slip(settings, f"Information sheet {record.wearer}")
    left, right = slip.left, slip.right
    blocks = [
        paragraph(record.wearer_name, left, right, 5.0, 8.0, bold=True),
        labelled(record.wearer, record.wearer_about, left, right),
        rule_across(left, right),
        paragraph(LEAD, left, right, 3.0, 5.2, bold=True),
        rule_across(left, right),
        paragraph(f"The main points of {SOURCE}, in our words and from memory", left, right, 3.0, 5.0, bold=True),
        *(step(number, point, left, right) for number, point in enumerate(record.points, 1)),
        gap(1.5),
        paragraph(TEXT, left, right, 2.6, 4.6, bold=True),
        paragraph(MEDICAL, left, right, 2.4, 4.3),
        paragraph(DEFER, left, right, 2.1, 3.8),
        rule_across(left, right),
        _signed(record, left, right),
    ]

    def head(sheet: Sheet, index: int, many: int) -> None:
        sheet.text(left, 8.8, settings.copy_mark, 2.6, bold=True)
        sheet.text(left, 16.0, "Information sheet", 4.6, bold=True)
        words = f"Given {date_words(record.given_on)} by {record.given_by}"
        sheet.lines(left, 22.6, faces.fit(words, 2.4, right - left, 1), 2.4, 4.2)
        sheet.rule(left, 26.4, right)

    def ending(sheet: Sheet, index: int, many: int) -> None:
        base = slip.size[1] - 11.0
        sheet.text(right, base, f"{index + 1} of {many}", 2.3, align="right")
        told = " ".join(part for part in (settings.site, faces.note_about(record)) if part)
        sheet.lines(left, base, faces.fit(told, 1.6, right - left - 12.0, 2), 1.6, 2.6)

    return slip.pages(blocks, head, HEAD, FOOT, ending)


def _signed(record: InformationPaper, left: float, right: float) -> Block:
    quiet = barcodes.QUIET_MODULES * barcodes.LEAST_MODULE_MM

    def put(sheet: Sheet, top: float) -> None:
        start = left + quiet
        length = sheet.bars(start, top + 3.0, record.wearer, barcodes.LEAST_MODULE_MM, 9.0)
        sheet.label(start, top + 15.8, record.wearer, 2.4)
        line = start + length + quiet + 4.0
        sheet.text(line, top + 5.6, "I have the text and this sheet.", 2.4)
        sheet.rule(line, top + 15.8, right, HAIR)

    return Block(19.0, put)


PAPER = Paper("information_sheet", "Information sheet", InformationPaper, draw)
