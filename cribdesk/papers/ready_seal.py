"""The seal of a unit inspected for the next shift: a strip around it, good for a time, and no certification."""

from __future__ import annotations

from cribdesk.desk.printouts_shift import ReadySeal
from cribdesk.papers import barcodes, faces
from cribdesk.papers.flow import day_time
from cribdesk.papers.register import Paper
from cribdesk.papers.settings import PaperSettings, Size
from cribdesk.papers.sheet import Sheet

SIZE: Size = (105.0, 57.0)  # mm, a common strip of a label printer; common practice, no source
MARGIN = 5.0
BROKEN = "Seal broken, or past this time: inspect again."
NO_PROOF = "No certification. The wearer's own check comes before each use."


def draw(record: ReadySeal, settings: PaperSettings) -> bytes:
    """The strip: whose, until when, inspected when and by whom, and what ends it."""
    sheet = Sheet(SIZE, f"Seal {record.unit}", settings.site)
    left, right = MARGIN, SIZE[0] - MARGIN
    room = right - left
    sheet.text(left, 6.8, "Inspected for the next shift", 2.6, bold=True)
    sheet.text(right, 6.8, settings.copy_mark, 2.6, bold=True, align="right")
    wide = sheet.label(left, 16.6, record.unit, 6.4)
    model = faces.fit(record.unit_model, 2.2, room - wide - 5.0, 2)
    sheet.lines(right, 16.6 - (len(model) - 1) * 3.8, model, 2.2, 3.8, align="right")
    sheet.rule(left, 19.2, right)
    sheet.text(left, 24.6, "Good until", 2.4)
    sheet.text(left + 20.0, 24.6, day_time(record.good_until), 3.2, bold=True)
    made = f"{day_time(record.inspected_at)}, {record.by}"
    sheet.text(left, 30.0, "Inspected", 2.2)
    note = faces.note_about(record)
    told = faces.fit(made, 2.2, room - 20.0, 1 if note else 2)
    base = sheet.lines(left + 20.0, 30.0, told, 2.2, 3.8)
    sheet.lines(left, base - 0.4, faces.fit(note, 1.4, room, 1), 1.4, 2.4)
    sheet.rule(left, 35.8, right)
    module = barcodes.module_for(record.unit, 46.0)
    quiet = barcodes.QUIET_MODULES * module
    start = max(left, quiet)
    length = sheet.bars(start, 38.4, record.unit, module, 9.0)
    beside = start + length + quiet
    lines = faces.wrap(BROKEN, 2.4, right - beside, True)
    sheet.lines(beside, 41.4, lines, 2.4, 4.2, bold=True)
    sheet.lines(left, 52.6, faces.fit(NO_PROOF, 2.0, room, 1), 2.0, 3.4)
    return sheet.finish()


PAPER = Paper("ready_seal", "Seal", ReadySeal, draw)
