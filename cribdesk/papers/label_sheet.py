"""Stickers for whatever can be scanned: bars, the whole label, a name and a short description."""

from __future__ import annotations

from cribdesk.desk.printouts import LabelSheet, PrintedLabel
from cribdesk.papers import barcodes, faces
from cribdesk.papers.register import Paper
from cribdesk.papers.settings import CannotPrint, LabelGeometry, PaperSettings
from cribdesk.papers.sheet import HAIR, Sheet

PAD = 2.4  # mm kept free along a sticker's edge, for sheets that sit askew
LABEL_CAP, NAME_CAP, DETAIL_CAP = 2.5, 2.0, 1.7


def draw(record: LabelSheet, settings: PaperSettings) -> bytes:
    """The sheets; with no label to print, one page that says so."""
    geometry, page = settings.label_sheet, settings.page_size
    places = geometry.columns * geometry.rows
    if not 1 <= record.first <= places:
        raise CannotPrint(f"A sheet has places 1 to {places}; {record.first} is none of them.")
    sheet = Sheet(page, "Labels", settings.site)
    if not record.labels:
        sheet.text(20.0, 30.0, "No labels to print.", 3.0)
    for index, label in enumerate(record.labels, record.first - 1):
        place = index % places
        if place == 0 and index > record.first - 1:
            _note(sheet, record, settings)
            sheet.next_page()
        column, row = place % geometry.columns, place // geometry.columns
        x = geometry.left + column * geometry.across
        _sticker(sheet, geometry, label, x, geometry.top + row * geometry.down)
    _note(sheet, record, settings)
    return sheet.finish()


def _sticker(sheet: Sheet, geometry: LabelGeometry, label: PrintedLabel, x: float, y: float) -> None:
    module = barcodes.module_for(label.label, geometry.width)
    quiet = barcodes.QUIET_MODULES * module
    left, room = x + max(quiet, PAD), geometry.width - max(quiet, PAD) - PAD
    spare = geometry.height - 2 * PAD - LABEL_CAP - 2.0 * NAME_CAP - DETAIL_CAP - 5.6
    high = min(12.0, max(barcodes.LEAST_HEIGHT_MM, spare))
    sheet.bars(left, y + PAD, label.label, module, high)
    base = y + PAD + high + LABEL_CAP + 1.2
    sheet.label(left, base, label.label, LABEL_CAP)
    _words(sheet, label, left, room, base, y + geometry.height - PAD)
    if geometry.outlines:
        right, foot = x + geometry.width, y + geometry.height
        sheet.frame([(x, y), (right, y), (right, foot), (x, foot)], HAIR)


def _words(sheet: Sheet, label: PrintedLabel, left: float, room: float, base: float, foot: float) -> None:
    """Name and description below the label; what finds no room ends in an ellipsis."""
    pitch = NAME_CAP + 1.4
    lines = max(0, int((foot - base + 0.2) / pitch))
    name = faces.fit(label.name, NAME_CAP, room, min(2, lines), True)
    base = sheet.lines(left, base + pitch, name, NAME_CAP, pitch, bold=True)
    left_over = lines - len(name)
    if left_over > 0:
        detail = faces.wrap(label.detail, DETAIL_CAP, room)
        sheet.lines(left, base, faces.elide(detail, left_over, DETAIL_CAP, room), DETAIL_CAP, pitch)


def _note(sheet: Sheet, record: LabelSheet, settings: PaperSettings) -> None:
    """In the margin above the stickers, where it spoils none."""
    told = " ".join(part for part in (settings.copy_mark, faces.note_about(record)) if part)
    room = sheet.size[0] - 20.0
    sheet.lines(10.0, 8.0, faces.fit(told, 1.8, room, 1), 1.8, 3.0)


PAPER = Paper("label_sheet", "Labels", LabelSheet, draw)
