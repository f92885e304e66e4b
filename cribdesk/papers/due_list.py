"""The bench's due list: units with their codes and a box for each part, then the tray, then the calendar."""

from __future__ import annotations

from collections.abc import Sequence

from cribdesk.desk.printouts_due import DueDuty, DueGroup, DueItem, DuePart, DueSheet, DueUnit
from cribdesk.papers import barcodes, faces
from cribdesk.papers.flow import Block, columns, day_time, together
from cribdesk.papers.register import Paper
from cribdesk.papers.settings import PaperSettings
from cribdesk.papers.sheet import HAIR, THIN, Sheet

MARGIN = 14.0
HEAD, FOOT = 42.0, 18.0
CODE, PARTS = 50.0, 54.0  # room of a unit's code, and where its parts begin, mm from the left
MODULE = 0.254
HINT = (
    "A forecast says when to look, no more. The check, the maker's instructions and the program administrator decide. "
    "Scan the unit to begin; a tick on paper is no record."
)
Edges = tuple[float, float]


def draw(record: DueSheet, settings: PaperSettings) -> bytes:
    """As many pages as it takes; a unit is never cut in two."""
    width, height = settings.page_size
    edges = (MARGIN, width - MARGIN)
    sheet = Sheet((width, height), f"Due list {day_time(record.at)}", settings.site)
    pages = columns(_blocks(record, edges), HEAD, height - FOOT)
    for index, placed in enumerate(pages):
        if index:
            sheet.next_page()
        _head(sheet, record, settings, edges)
        for block, top in placed:
            block.draw(sheet, top)
        _foot(sheet, record, settings, edges, f"{index + 1} of {len(pages)}", height)
    return sheet.finish()


def _head(sheet: Sheet, record: DueSheet, settings: PaperSettings, edges: Edges) -> None:
    left, right = edges
    sheet.text(left, 18.0, "Due at the bench", 5.0, bold=True)
    sheet.text(right, 18.0, settings.copy_mark, 2.6, bold=True, align="right")
    said = f"As of {day_time(record.at)}; the shift ends {record.end:%H:%M}"
    sheet.lines(left, 25.0, faces.fit(said, 2.8, right - left, 1, True), 2.8, 5.0, bold=True)
    bound = f"A part is named from the hour on that {record.bound} in 100 of its kind outlast. {record.sorted_by}"
    sheet.lines(left, 30.0, faces.fit(bound, 1.7, right - left, 3), 1.7, 2.9)
    sheet.rule(left, 39.0, right, 0.5)


def _foot(
    sheet: Sheet, record: DueSheet, settings: PaperSettings, edges: Edges, page: str, height: float
) -> None:
    left, right = edges
    base = height - 11.0
    sheet.text(right, base, page, 2.3, align="right")
    told = " ".join(part for part in (faces.note_about(record), HINT, settings.site) if part)
    sheet.lines(left, base, faces.fit(told, 1.8, right - left - 20.0, 2), 1.8, 3.2)


def _blocks(record: DueSheet, edges: Edges) -> list[Block]:
    made: list[Block] = []
    for group in record.groups:
        made += _group(group, edges)
    if not record.groups:
        made.append(_line("Nothing falls due this week.", edges))
    made += _titled("Fetch for the tray, now and before next shift", [_item(one, edges) for one in record.items],
                    edges, "Nothing to fetch.")  # fmt: skip
    made += _titled("By the calendar, within 7 days", [_duty(one, edges) for one in record.duties], edges, "Nothing.")
    return made


def _titled(title: str, blocks: Sequence[Block], edges: Edges, none: str) -> list[Block]:
    """A title that never stands alone at the foot of a page."""
    rest = list(blocks) or [_line(none, edges)]
    return [together([_title(title, edges), rest[0]]), *rest[1:]]


def _group(group: DueGroup, edges: Edges) -> list[Block]:
    parts = sum(len(unit.parts) for unit in group.units)
    units = "1 unit" if len(group.units) == 1 else f"{len(group.units)} units"
    title = f"{group.title}: {units}, {parts} {'part' if parts == 1 else 'parts'}"
    return _titled(title, [block for unit in group.units for block in _unit(unit, edges)], edges, "")


def _title(title: str, edges: Edges) -> Block:
    def put(sheet: Sheet, top: float) -> None:
        sheet.lines(edges[0], top + 8.5, faces.fit(title, 3.4, edges[1] - edges[0], 1, True), 3.4, 5.0, bold=True)
        sheet.rule(edges[0], top + 11.0, edges[1], THIN)

    return Block(11.5, put)


MOST = 14  # so many parts stand under one code; a unit with more gets it again


def _unit(unit: DueUnit, edges: Edges) -> list[Block]:
    starts = range(0, max(1, len(unit.parts)), MOST)
    return [_some(unit, unit.parts[start : start + MOST], edges) for start in starts]


def _some(unit: DueUnit, parts: Sequence[DuePart], edges: Edges) -> Block:
    """The unit's code and label at the left, its parts with their boxes at the right."""
    left, right = edges
    room = right - left - PARTS - 8.0
    rows = [_part_lines(part, room) for part in parts]
    high = max(23.0, sum(4.6 * len(lines) + 1.6 for _, lines in rows) + 9.0)
    about = faces.fit(f"{unit.unit_model}, {unit.standing}", 2.2, room + 8.0, 1)

    def put(sheet: Sheet, top: float) -> None:
        module = min(MODULE, barcodes.module_for(unit.unit, CODE, MODULE))
        sheet.bars(left + 10 * MODULE, top + 3.0, unit.unit, module, 10.0)
        sheet.label(left + 10 * MODULE, top + 18.6, unit.unit, 3.2)
        sheet.lines(left + PARTS, top + 5.4, about, 2.2, 4.0)
        base = top + 11.0
        for bold, lines in rows:
            _box(sheet, left + PARTS, base)
            sheet.lines(left + PARTS + 7.0, base, lines[:1], 2.4, 4.6, bold=bold)
            sheet.lines(left + PARTS + 7.0, base + 4.6, lines[1:], 2.4, 4.6)
            base += 4.6 * len(lines) + 1.6
        sheet.rule(left, top + high - 0.4, right, HAIR)

    return Block(high, put)


def _part_lines(part: DuePart, room: float) -> tuple[bool, list[str]]:
    told = ", ".join(words for words in (part.figure, part.why) if words)
    bold = bool(part.mark)
    return bold, faces.fit(f"{part.mark} {part.name}: {told}".lstrip(), 2.4, room, 2, bold)


def _box(sheet: Sheet, x: float, base: float) -> None:
    side = 3.6
    top = base - 3.0
    sheet.frame([(x, top), (x + side, top), (x + side, top + side), (x, top + side)], THIN)


def _item(item: DueItem, edges: Edges) -> Block:
    left, right = edges
    lines = faces.fit(f"{item.name}, {item.code}", 2.6, right - left - 24.0, 1, True)
    where = faces.fit(item.where, 2.2, right - left - 24.0, 2, item.short)

    def put(sheet: Sheet, top: float) -> None:
        _box(sheet, left, top + 5.4)
        sheet.text(left + 20.0, top + 5.6, str(item.number), 3.4, bold=True, align="right")
        sheet.lines(left + 24.0, top + 5.2, lines, 2.6, 4.4, bold=True)
        sheet.lines(left + 24.0, top + 9.8, where, 2.2, 4.0, bold=item.short)
        sheet.rule(left, top + 8.0 + 4.0 * len(where), right, HAIR)

    return Block(8.4 + 4.0 * len(where), put)


def _duty(duty: DueDuty, edges: Edges) -> Block:
    left, right = edges
    lines = faces.fit(f"{duty.what}: {duty.detail}", 2.4, right - left - 44.0, 3)

    def put(sheet: Sheet, top: float) -> None:
        _box(sheet, left, top + 5.0)
        sheet.label(left + 7.0, top + 5.0, duty.label, 2.6)
        sheet.lines(left + 40.0, top + 5.0, lines, 2.4, 4.4)
        sheet.rule(left, top + 3.0 + 4.4 * len(lines), right, HAIR)

    return Block(3.6 + 4.4 * len(lines), put)


def _line(words: str, edges: Edges) -> Block:
    return Block(8.0, lambda sheet, top: _put(sheet, edges[0], top + 5.4, words))


def _put(sheet: Sheet, x: float, base: float, words: str) -> None:
    sheet.text(x, base, words, 2.6)


PAPER = Paper("due_list", "Due list", DueSheet, draw)
