"""The tag on the compartment of an emergency unit: the five items of 29 CFR 1910.134(h)(3)(iv)(A), next due, seal."""

from __future__ import annotations

from cribdesk.crib.words import day
from cribdesk.desk.printouts_away import CertificationTag
from cribdesk.papers import barcodes, faces
from cribdesk.papers.register import Paper
from cribdesk.papers.settings import TAG_WIDE, PaperSettings
from cribdesk.papers.sheet import HAIR, Sheet

NOT_FOR = "Not for an atmosphere immediately dangerous to life or health, nor for an unknown release."
DEFER = "Seal broken, or past the day above: do not use it, tell the crib. The maker's instructions decide."
FOOT_HIGH = 20.0
LARGE, SMALL, GAP = (2.7, 4.7), (2.3, 3.8), 0.8


def draw(record: CertificationTag, settings: PaperSettings) -> bytes:
    """One tag."""
    size = settings.tag_size
    width, height = size
    margin = 8.0 if width >= TAG_WIDE else 6.0
    right, room = width - margin, width - 2 * margin
    sheet = Sheet(size, f"Certification {record.unit}", settings.site)
    edge = 0.1
    sheet.frame([(edge, edge), (width - edge, edge), (width - edge, height - edge), (edge, height - edge)])
    sheet.ring(width / 2, 7.0, 3.0, HAIR)
    sheet.text(right, 9.0, settings.copy_mark, 2.4, bold=True, align="right")
    base = 17.0
    sheet.text(margin, base, "Emergency unit, certified", 3.0, bold=True)
    cap = 6.4
    while cap > 3.4 and faces.width(record.unit, cap, True) > room:
        cap -= 0.2
    base += 4.4 + cap
    sheet.label(margin, base, record.unit, cap)
    base = sheet.lines(margin, base + 5.2, faces.fit(record.unit_model, 2.3, room, 1), 2.3, 4.0)
    base = sheet.lines(margin, base, faces.fit(record.cabinet_name, 2.3, room, 2), 2.3, 4.0)
    sheet.rule(margin, base - 1.0, right, 0.5)
    base += 6.4
    sheet.text(margin, base - 1.0, "Next due", 2.4)
    sheet.text(right, base, day(record.next_due), 4.0, bold=True, align="right")
    sheet.rule(margin, base + 2.6, right)
    _items(sheet, record, margin, right, base + 7.4, height - FOOT_HIGH - 23.0)
    _foot(sheet, record, margin, right, height)
    return sheet.finish()


def _items(sheet: Sheet, record: CertificationTag, margin: float, right: float, base: float, foot: float) -> None:
    """The five items and the seal, as large as they fit; long findings take the lines that are left."""
    second = margin + 22.0
    told = (
        ("Inspected", day(record.made_on)),
        ("By", record.made_by),
        ("Number", record.identity),
        ("Seal", record.seal),
        ("Findings", record.findings),
        ("To be done", record.action),
        ("For", record.purpose),
        ("Cabinet", record.cabinet),
    )
    cap, pitch = LARGE
    shown = [(name, faces.wrap(value, cap, right - second, True)) for name, value in told]
    if _height(shown, pitch) > foot - base:
        cap, pitch = SMALL
        shown = [(name, faces.wrap(value, cap, right - second, True)) for name, value in told]
    while _height(shown, pitch) > foot - base and any(len(lines) > 1 for _, lines in shown):
        index = max(range(len(shown)), key=lambda at: len(shown[at][1]))
        name, lines = shown[index]
        shown[index] = name, faces.elide(lines, len(lines) - 1, cap, right - second, True)
    for name, lines in shown:
        sheet.text(margin, base, name, 2.1)
        sheet.lines(second, base, lines, cap, pitch, bold=True)
        base += max(1, len(lines)) * pitch + GAP


def _height(shown: list[tuple[str, list[str]]], pitch: float) -> float:
    """From the first baseline to the last."""
    return sum(max(1, len(lines)) * pitch + GAP for _, lines in shown) - pitch - GAP


def _foot(sheet: Sheet, record: CertificationTag, margin: float, right: float, height: float) -> None:
    top = height - FOOT_HIGH - 14.6
    sheet.text(margin, top, "Signed", 2.1)
    sheet.rule(margin + 12.0, top + 0.6, right, HAIR)
    cautions = [*faces.fit(NOT_FOR, 1.7, right - margin, 2), *faces.fit(DEFER, 1.7, right - margin, 2)]
    sheet.lines(margin, top + 4.4, cautions, 1.7, 2.9)
    module = barcodes.module_for(record.unit, right - margin)
    wide = barcodes.modules_with_quiet(record.unit) * module
    start = margin + (right - margin - wide) / 2 + barcodes.QUIET_MODULES * module
    sheet.bars(start, height - FOOT_HIGH + 1.0, record.unit, module, 9.0)
    base = height - FOOT_HIGH + 13.6
    sheet.label(start, base, record.unit, 2.1)
    sheet.lines(margin, height - 3.4, faces.fit(faces.note_about(record), 1.5, right - margin, 1), 1.5, 2.4)


PAPER = Paper("certification_tag", "Certification tag", CertificationTag, draw)
