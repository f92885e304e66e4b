"""The wearer's card: one page, letter or A4, with the one rule on top, then what to do, then what each alarm means."""

from __future__ import annotations

from collections.abc import Sequence

from cribdesk.crib.words import capital
from cribdesk.desk.printouts_card import CardPart, CardRow, WearersCard
from cribdesk.papers import faces
from cribdesk.papers.flow import Block, columns, together
from cribdesk.papers.register import Paper
from cribdesk.papers.settings import CannotPrint, PaperSettings
from cribdesk.papers.sheet import AMBER, HAIR, THICK, THIN, Sheet

MARGIN, GUTTER = 14.0, 8.0
BAND = (27.0, 50.0)
TOP, FOOT = 55.0, 19.0
CAPS = (2.7, 2.55, 2.4, 2.25, 2.1)
"""Heights of the words, mm: the largest at which all of it stands on one page."""


def draw(record: WearersCard, settings: PaperSettings) -> bytes:
    """One page. Raises CannotPrint where it would not fit one even in the smallest words."""
    wide, high = settings.page_size
    left, right = MARGIN, wide - MARGIN
    column = (right - left - GUTTER) / 2
    for cap in CAPS:
        table = _alarms(record.alarms, left, right, cap)
        foot = high - FOOT - table.height
        laid = columns(_blocks(record, column, cap), TOP, foot)
        if len(laid) <= 2 and _end(laid) <= foot + 1e-6:
            break
    else:
        raise CannotPrint(f"The card of {record.code} does not fit one page. Shorten the lines of its [card].")
    sheet = Sheet((wide, high), f"Wearer's card {record.code}", settings.site)
    _head(sheet, record, settings, left, right)
    for index, placed in enumerate(laid):
        sheet.origin = (left + index * (column + GUTTER), 0.0)
        for block, top in placed:
            block.draw(sheet, top)
    sheet.origin = (0.0, 0.0)
    table.draw(sheet, min(_end(laid) + 3.0, foot))
    _foot(sheet, record, settings, left, right)
    return sheet.finish()


def _end(laid: Sequence[Sequence[tuple[Block, float]]]) -> float:
    """Where the longer column ends."""
    return max(top + block.height for placed in laid for block, top in placed)


def _head(sheet: Sheet, record: WearersCard, settings: PaperSettings, left: float, right: float) -> None:
    sheet.text(left, 16.5, "Wearer's card", 5.0, bold=True)
    sheet.text(right, 16.5, settings.copy_mark, 2.6, bold=True, align="right")
    sheet.lines(left, 23.0, faces.fit(f"{record.name}, {record.code}", 3.0, right - left, 1), 3.0, 4.8)
    top, foot = BAND
    sheet.box(left, top, right - left, foot - top, AMBER)
    for edge in (top, foot - THICK):
        sheet.box(left, edge, right - left, THICK)
    sheet.sign("caution", left + 4.0, top + 4.6, 14.0)
    words = left + 23.0
    sheet.text(words, top + 10.0, record.rule, _cap(record.rule, 5.0, right - words - 4.0), bold=True)
    detail = faces.fit(record.rule_detail, 2.6, right - words - 4.0, 2, True)
    sheet.lines(words, top + (18.0 if len(detail) == 1 else 15.6), detail, 2.6, 4.4, bold=True)


def _cap(words: str, cap: float, room: float) -> float:
    wide = faces.width(words, cap, True)
    return cap if wide <= room else cap * room / wide


def _foot(sheet: Sheet, record: WearersCard, settings: PaperSettings, left: float, right: float) -> None:
    base = sheet.size[1] - 14.0
    told = " ".join(
        part
        for part in (
            faces.note_about(record),
            record.decides,
            f"Rule set: {record.rule_set}.",
            f"Figures: {record.origin}",
            f"{settings.site}." if settings.site else "",
        )
        if part
    )
    sheet.rule(left, base - 3.8, right, HAIR)
    sheet.lines(left, base, faces.fit(told, 1.8, right - left, 3), 1.8, 3.1)


def _blocks(record: WearersCard, wide: float, cap: float) -> list[Block]:
    """The parts one under another, each whole in its column."""
    pairs = (("Good to know", record.facts), ("Take care", record.cautions))
    return [
        *(_part(part, wide, cap) for part in record.parts),
        *(_pairs(title, rows, wide, cap) for title, rows in pairs if rows),
    ]


def _part(part: CardPart, wide: float, cap: float) -> Block:
    lines = [_line(f"{at}" if part.numbered else "", line, wide, cap) for at, line in enumerate(part.lines, 1)]
    return _titled(part.title, lines, wide, cap)


def _pairs(title: str, pairs: Sequence[tuple[str, str]], wide: float, cap: float) -> Block:
    return _titled(title, [_line("", f"{name}: {words}", wide, cap) for name, words in pairs], wide, cap)


def _titled(title: str, lines: Sequence[Block], wide: float, cap: float) -> Block:
    head = Block(cap * 3.4, lambda sheet, top: _title(sheet, top, title, wide, cap))
    return together([head, *lines])


def _title(sheet: Sheet, top: float, title: str, wide: float, cap: float) -> None:
    sheet.text(0.0, top + cap * 2.3, title, cap * 1.25, bold=True)
    sheet.rule(0.0, top + cap * 2.9, wide, THIN)


INDENT = 5.0


def _line(mark: str, words: str, wide: float, cap: float) -> Block:
    """A line with its number, or with a small bar before it."""
    lines = faces.wrap(words, cap, wide - INDENT)
    pitch = cap * 1.72

    def put(sheet: Sheet, top: float) -> None:
        base = top + cap * 1.5
        if mark:
            sheet.text(0.0, base, mark, cap, bold=True)
        else:
            sheet.box(0.4, base - cap * 0.62, 2.0, 0.5)
        sheet.lines(INDENT, base, lines, cap, pitch)

    return Block(len(lines) * pitch + cap * 0.5, put)


def _alarms(rows: Sequence[CardRow], left: float, right: float, cap: float) -> Block:
    """The table at the foot: what you notice, what it means, what to do."""
    shares = (0.27, 0.36, 0.37)
    edges, x = [], left
    for share in shares:
        edges.append((x, share * (right - left) - 4.0))
        x += share * (right - left)
    pitch = cap * 1.62
    laid = [
        (
            faces.wrap(capital(row.sign), cap, edges[0][1], True),
            faces.wrap(row.means, cap, edges[1][1]),
            faces.wrap(row.do, cap, edges[2][1], True),
        )
        for row in rows
    ]
    heights = [max(map(len, cells)) * pitch + cap * 0.9 for cells in laid]
    head = cap * 2.6

    def put(sheet: Sheet, top: float) -> None:
        for (start, _), words in zip(edges, ("You notice", "It means", "Do at once"), strict=True):
            sheet.text(start, top + cap * 1.6, words, cap * 1.1, bold=True)
        sheet.rule(left, top + head - 0.6, right, 0.5)
        y = top + head
        for cells, high in zip(laid, heights, strict=True):
            for place, ((start, _), lines) in enumerate(zip(edges, cells, strict=True)):
                sheet.lines(start, y + cap * 1.55, lines, cap, pitch, bold=place != 1)
            y += high
            sheet.rule(left, y, right, HAIR)

    return Block(head + sum(heights) + 2.0, put)


PAPER = Paper("wearer_card", "Wearer's card", WearersCard, draw)
