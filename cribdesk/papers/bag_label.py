"""The label of a bag or drum for used filters: what is in it, since when, and that the generator decides.

It is no hazardous-waste label: the words those carry are the generator's to write (40 CFR 262.11 and its like).
"""

from __future__ import annotations

from cribdesk.desk.printouts_waste import BagLabel
from cribdesk.papers import barcodes, faces
from cribdesk.papers.flow import day_time
from cribdesk.papers.register import Paper
from cribdesk.papers.settings import PaperSettings, Size
from cribdesk.papers.sheet import Sheet

SIZE: Size = (148.0, 105.0)  # mm, A6 on its side (ISO 216); that a bag gets this size is a house rule
MARGIN = 8.0
FACTS = 30.0  # where the facts begin, mm from the margin
NOT_KNOWN = "not entered"
UNTIL = "Until that is decided: closed, dry, labelled, and nothing else in it."


def draw(record: BagLabel, settings: PaperSettings) -> bytes:
    """Stream large, what was in the air, where from, since when and by whom, the bars, and who decides."""
    sheet = Sheet(SIZE, f"Waste bag {record.bag}", settings.site)
    left, right = MARGIN, SIZE[0] - MARGIN
    room = right - left
    sheet.text(left, 11.0, "Used filters and wipes", 3.0, bold=True)
    sheet.text(right, 11.0, settings.copy_mark, 2.6, bold=True, align="right")
    base = sheet.lines(left, 21.6, faces.fit(record.stream, 4.4, room, 2, True), 4.4, 7.4, bold=True)
    sheet.rule(left, base - 4.4, right)
    base += 1.6
    facts = (
        ("In it", record.agents or NOT_KNOWN, True, 2),
        ("From", record.area or "several areas", False, 2),
        ("Opened", f"{day_time(record.opened_at)}, {record.by}", False, 1),
    )
    for name, words, bold, most in facts:
        sheet.text(left, base, name, 2.4)
        lines = faces.fit(words, 2.6, room - FACTS, most, bold)
        base = sheet.lines(left + FACTS, base, lines, 2.6, 4.6, bold=bold) + 0.8
    module = barcodes.module_for(record.bag, 70.0)
    quiet = barcodes.QUIET_MODULES * module
    top = 66.0
    sheet.rule(left, top - 3.4, right)
    length = sheet.bars(max(left, quiet), top, record.bag, module, 11.0)
    sheet.label(max(left, quiet) + length + quiet, top + 8.4, record.bag, 5.0)
    decides = faces.fit(f"{record.decides} {UNTIL}", 2.4, room, 3, True)
    base = sheet.lines(left, 84.6, decides, 2.4, 4.2, bold=True)
    told = " ".join(part for part in (settings.site, faces.note_about(record)) if part)
    sheet.lines(left, max(base, 98.4), faces.fit(told, 1.6, room, 1), 1.6, 2.6)
    return sheet.finish()


PAPER = Paper("bag_label", "Waste bag", BagLabel, draw)
