"""The out-of-service tag that hangs on a unit nobody may use; contents by 29 CFR 1910.145(f).

Signal word and major message stand at its head (f)(4)(i); Caution, because a failed unit on a shelf is a
potential hazard (f)(6). It must not pass for a lockout tag (1910.147): no red, no stripes, no padlock.
"""

from __future__ import annotations

from dataclasses import dataclass

from cribdesk.desk.printouts import OutOfServiceTag
from cribdesk.papers import barcodes, faces
from cribdesk.papers.flow import day_time
from cribdesk.papers.register import Paper
from cribdesk.papers.settings import TAG_WIDE, PaperSettings, Size
from cribdesk.papers.sheet import AMBER, THICK, THIN, WHITE, Sheet

CLIP = 8.0
NOTE_CAP, NOTE_PITCH = 1.6, 2.8
FACT_CAP, FACT_PITCH, FACT_MOST = 2.5, 4.7, 3
SMALL_PITCH = 4.4  # of reasons at 2.6 mm
TAGS_MOST = 4
REST = "… The rest stands on the unit's card."
KEEP = "Keep this tag on the unit."
REPAIR = "Do not remove. Do not repair on the floor."


@dataclass(frozen=True)
class Plan:
    """Where things stand on a tag of this size, mm from its top left."""

    size: Size
    margin: float
    band: tuple[float, float]
    message: float  # baseline of DO NOT USE
    message_cap: float
    unit_rule: float
    reason_rule: float
    facts_left: float
    bars: float
    bar_height: float
    foot: float

    @property
    def right(self) -> float:
        return self.size[0] - self.margin

    @property
    def room(self) -> float:
        return self.right - self.margin


@dataclass(frozen=True)
class Words:
    """What stands between the unit and the barcodes of one tag: the reason's lines and the facts."""

    reason: tuple[str, ...]
    cap: float
    pitch: float
    facts: tuple[tuple[str, tuple[str, ...]], ...]


def plan(size: Size) -> Plan:
    """The tag's layout: the head hangs from the top, the foot stands on the bottom, reasons get the rest."""
    width, height = size
    if width >= TAG_WIDE:
        return Plan(size, 8.0, (18.2, 40.4), 57.0, 11.0, 61.6, 78.4, 28.0, height - 31.0, 8.0, height - 16.0)
    return Plan(size, 6.0, (20.0, 41.8), 56.4, 8.6, 61.0, 82.8, 23.0, height - 36.4, 10.0, height - 19.0)


def draw(record: OutOfServiceTag, settings: PaperSettings) -> bytes:
    """The tag; a reason too long for one goes on over as many tags as it needs."""
    layout = plan(settings.tag_size)
    note = faces.wrap(faces.note_about(record), NOTE_CAP, layout.room)
    parts = share_out(record, layout, NOTE_PITCH * len(note))
    sheet = Sheet(layout.size, f"Out-of-service tag {record.tag}", settings.site)
    for index, part in enumerate(parts):
        if index:
            sheet.next_page()
        _outline(sheet, layout)
        _marks(sheet, layout, settings.copy_mark, _count(index, len(parts)))
        _signal(sheet, layout)
        _unit(sheet, layout, record)
        _words(sheet, layout, part)
        if note:
            base = layout.bars - 4.0 - NOTE_PITCH * (len(note) - 1)
            sheet.lines(layout.margin, base, note, NOTE_CAP, NOTE_PITCH)
        _codes(sheet, layout, record)
        _foot(sheet, layout, record)
    return sheet.finish()


def share_out(record: OutOfServiceTag, layout: Plan, kept: float = 0.0) -> list[Words]:
    """The reason over one tag or more: 3 lines of 3.2 mm; else 2.6 mm; what is left goes to the next tag.

    Only the first tag carries the facts. After four tags the last line says where the rest stands.
    """
    height = layout.bars - layout.reason_rule - 5.8 - kept
    facts, spilled = _facts(record, layout, height - 2 * SMALL_PITCH)
    room = height - sum(len(lines) for _, lines in facts) * FACT_PITCH
    why = " ".join([record.why, *spilled])
    large = faces.wrap(why, 3.2, layout.room, True)
    if len(large) <= min(3, int(room / 5.6)):
        return [Words(tuple(large), 3.2, 5.6, facts)]
    lines = tuple(faces.wrap(why, 2.6, layout.room, True))
    first, each = max(1, int(room / SMALL_PITCH)), int(height / SMALL_PITCH)
    most = first + (TAGS_MOST - 1) * each
    if len(lines) > most:
        lines = (*lines[: most - 1], REST)
    parts = [Words(lines[:first], 2.6, SMALL_PITCH, facts)]
    return parts + [Words(lines[at : at + each], 2.6, SMALL_PITCH, ()) for at in range(first, len(lines), each)]


def _count(index: int, many: int) -> str:
    if many == 1:
        return ""
    return f"Tag {index + 1} of {many}"


Facts = tuple[tuple[str, tuple[str, ...]], ...]


def _facts(record: OutOfServiceTag, layout: Plan, height: float) -> tuple[Facts, list[str]]:
    """Name and lines of each fact, in `height` mm; a fact that must be cut is spilled whole into the reason."""
    for most in range(FACT_MOST, 1, -1):
        facts, spilled = _facts_of(record, layout, most)
        if sum(len(lines) for _, lines in facts) * FACT_PITCH <= height:
            return facts, spilled
    return _facts_of(record, layout, 1)


def _facts_of(record: OutOfServiceTag, layout: Plan, most: int) -> tuple[Facts, list[str]]:
    room = layout.right - layout.facts_left
    told = {"Found by": record.found_by, "When": day_time(record.found_at), "Unit is": record.where}
    facts, spilled = [], []
    for name, value in told.items():
        lines = faces.wrap(value, FACT_CAP, room, True)
        if len(lines) > most:
            spilled.append(f"{name}, in full: {value}.")
        facts.append((name, tuple(faces.elide(lines, most, FACT_CAP, room, True))))
    return tuple(facts), spilled


def _outline(sheet: Sheet, layout: Plan) -> None:
    width, height = layout.size
    edge = 0.1  # the cut line stays on the page
    sheet.frame(
        [
            (CLIP, edge),
            (width - CLIP, edge),
            (width - edge, CLIP),
            (width - edge, height - edge),
            (edge, height - edge),
            (edge, CLIP),
        ]
    )
    middle = 9.2 if width >= TAG_WIDE else 10.0
    sheet.ring(width / 2, middle, 5.6, THIN)
    sheet.ring(width / 2, middle, 3.0, THIN)
    sheet.rule(width / 2 - 1.2, middle, width / 2 + 1.2, 0.2)
    sheet.upright(width / 2, middle - 1.2, middle + 1.2, 0.2)


def _marks(sheet: Sheet, layout: Plan, copy: str, part: str) -> None:
    base = layout.band[0] - 3.0
    sheet.text(layout.margin, base, part, 3.0, bold=True)
    sheet.text(layout.right, base, copy, 3.0, bold=True, align="right")


def _signal(sheet: Sheet, layout: Plan) -> None:
    width, (top, foot) = layout.size[0], layout.band
    sheet.box(0, top, width, foot - top, AMBER)
    sheet.box(0, top, width, THICK)
    sheet.box(0, foot - THICK, width, THICK)
    base = (top + foot) / 2 + 5.5
    if width >= TAG_WIDE:
        sign = 17.0
        wide = sign + 5.0 + faces.width("CAUTION", 11.0, True)
        start = (width - wide) / 2
        sheet.sign("stop", start, (top + foot - sign) / 2, sign)
        sheet.text(start + sign + 5.0, base, "CAUTION", 11.0, bold=True)
    else:
        sheet.text(width / 2, base, "CAUTION", 11.0, bold=True, align="centre")
    cap = layout.message_cap
    sheet.text(width / 2, layout.message, "DO NOT USE", cap, bold=True, align="centre")
    sheet.rule(layout.margin, layout.unit_rule, layout.right, 0.5)


def _unit(sheet: Sheet, layout: Plan, record: OutOfServiceTag) -> None:
    left, base = layout.margin, layout.unit_rule + 12.8
    if layout.size[0] >= TAG_WIDE:
        sheet.label(left, base, record.unit, 8.0)
        start = left + faces.width(record.unit, 8.0, True) + 4.0
        room = layout.right - start
        lines = faces.fit(record.unit_model, 2.5, room, 3)
        sheet.lines(layout.right, base - 0.1 - (len(lines) - 1) * 4.6, lines, 2.5, 4.6, align="right")
    else:
        sheet.sign("stop", left, layout.unit_rule + 4.4, 12.6)
        start, room = left + 15.4, layout.right - left - 15.4
        cap = 8.2
        while cap > 4.0 and faces.width(record.unit, cap, True) > room:
            cap -= 0.2
        sheet.label(start, layout.unit_rule + 3.6 + cap, record.unit, cap)
        lines = faces.fit(record.unit_model, 2.3, room, 2)
        sheet.lines(start, layout.unit_rule + 16.0, lines, 2.3, 3.9)
    sheet.rule(left, layout.reason_rule, layout.right)


def _words(sheet: Sheet, layout: Plan, part: Words) -> None:
    base = layout.reason_rule + 3.0 + part.cap
    base = sheet.lines(layout.margin, base, part.reason, part.cap, part.pitch, bold=True)
    base += FACT_CAP - part.cap + 0.8
    for name, lines in part.facts:
        sheet.text(layout.margin, base, name, FACT_CAP)
        base = sheet.lines(layout.facts_left, base, lines, FACT_CAP, FACT_PITCH, bold=True)


def _codes(sheet: Sheet, layout: Plan, record: OutOfServiceTag) -> None:
    sheet.rule(layout.margin, layout.bars - 2.6, layout.right)
    codes = (("unit", record.unit), ("tag", record.tag))
    longest = max(barcodes.modules_with_quiet(code) for _, code in codes)
    half = max(layout.room / 2, min(longest * barcodes.LEAST_MODULE_MM, layout.size[0] / 2 - 0.5))
    for index, (name, code) in enumerate(codes):
        length = barcodes.modules_with_quiet(code)
        module = barcodes.module_for(code, half)
        free = half - length * module
        start = layout.size[0] / 2 + (index - 1) * half + free / 2 + barcodes.QUIET_MODULES * module
        sheet.bars(start, layout.bars, code, module, layout.bar_height)
        base = layout.bars + layout.bar_height + 3.9
        sheet.label(start + sheet.text(start, base, name, 2.5) + 1.8, base, code, 2.5)


def _foot(sheet: Sheet, layout: Plan, record: OutOfServiceTag) -> None:
    width, height = layout.size
    sheet.box(0, layout.foot, width, height - layout.foot)
    base = layout.foot + (6.0 if width < TAG_WIDE else 5.2)
    for text, cap, bold in ((KEEP, 3.0, True), (record.releases, 2.5, False), (REPAIR, 2.3, False)):
        room = layout.room
        line = faces.fit(text, cap, room, 1, bold)
        sheet.lines(width / 2, base, line, cap, 5.0, bold=bold, align="centre", colour=WHITE)
        base += 5.2 if width < TAG_WIDE else 4.4


PAPER = Paper("tag", "Out-of-service tag", OutOfServiceTag, draw)
