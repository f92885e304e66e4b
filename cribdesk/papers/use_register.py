"""The register of use on pages turned on their side: a block for each hand-over, then what it rests on.

A register of a year is long: it is laid out and drawn in steps, so that whoever makes it may tell how far it is.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from functools import lru_cache

from cribdesk.crib.words import capital, count, hours, number
from cribdesk.desk.printouts_register import COLUMNS, RegisterCheck, RegisterRow, UseRegister
from cribdesk.papers import faces
from cribdesk.papers.flow import Block, Placed, day_time, together
from cribdesk.papers.register import Paper
from cribdesk.papers.settings import PaperSettings
from cribdesk.papers.sheet import HAIR, Sheet

MARGIN = 12.0
HEAD, FOOT = 38.0, 14.0
CAP, PITCH = 1.75, 3.2
BLOCKS_AT_ONCE, PAGES_AT_ONCE = 40, 2
MOST_LINES = 12
"""Of one entry of a cell; longer ones end in an ellipsis, and the table has them whole."""
SHARES = (0.1, 0.13, 0.12, 0.12, 0.3, 0.23)
"""Of the width: when, who, which unit, where, checks, cautions and return."""
TITLES = ("Out, due, back", "Wearer", "Unit and battery", "Area", "Checks it went out on", "Cautions, return")
BASIS = (
    "Records are shown to the workers they are about, and to the authority, on request: 29 CFR 1910.134(m)(4). "
    "Fit-test records stand with the person: 1910.134(m)(2). How long exposure records are kept: 1910.1020(d)."
)
NO_MEDICAL = "It holds no medical detail. Readings stand as they counted then; a meter found wrong since is named."
NONE = "Nothing went out in this period."


def draw_in_steps(record: UseRegister, settings: PaperSettings) -> Iterator[float | bytes]:
    """How far it is, 0 to 1, again and again; at the end the document."""
    high, wide = settings.page_size  # turned on its side
    left, right = MARGIN, wide - MARGIN
    sheet = Sheet((wide, high), f"Register of use, {record.about}, {record.period}", settings.site)
    edges = _edges(left, right)
    blocks: list[Block] = []
    foreign: set[str] = {text for text in (record.about, settings.site) if not text.isascii()}
    for at, row in enumerate(record.rows, 1):
        cells = (_when(row), _who(row), _unit(row), _where(row), _checks(row), _ends(row))
        foreign.update(words for cell in cells for words, _ in cell if not words.isascii())
        blocks.append(_row(cells, edges))
        if at % BLOCKS_AT_ONCE == 0:
            yield 0.5 * at / len(record.rows)
    blocks += [_words(NONE, left, right)] if not record.rows else []
    blocks += _ending(record, left, right)
    pages = _pages(blocks, HEAD, high - FOOT)
    note = faces.note_about(tuple(foreign))
    for index, placed in enumerate(pages):
        if index:
            sheet.next_page()
        _head(sheet, record, settings, edges)
        for block, top in placed:
            block.draw(sheet, top)
        _foot(sheet, settings, note, f"{index + 1} of {len(pages)}", left, right)
        if index % PAGES_AT_ONCE == 0:
            yield 0.5 + 0.5 * index / len(pages)
    yield sheet.finish()


def draw(record: UseRegister, settings: PaperSettings) -> bytes:
    """The whole document at once."""
    return b"".join(step for step in draw_in_steps(record, settings) if isinstance(step, bytes))


def _pages(blocks: list[Block], top: float, foot: float) -> list[list[Placed]]:
    pages: list[list[Placed]] = [[]]
    y = top
    for block in blocks:
        if pages[-1] and y + block.height > foot + 1e-6:
            pages.append([])
            y = top
        pages[-1].append((block, y))
        y += block.height
    return pages


Edges = tuple[tuple[float, float], ...]


def _edges(left: float, right: float) -> Edges:
    """Left end and room of each column."""
    found, x = [], left
    for share in SHARES:
        wide = share * (right - left)
        found.append((x, wide - 2.4))
        x += wide
    return tuple(found)


def _head(sheet: Sheet, record: UseRegister, settings: PaperSettings, edges: Edges) -> None:
    left, right = edges[0][0], sheet.size[0] - MARGIN
    sheet.text(left, 15.0, "Register of use", 4.4, bold=True)
    sheet.text(right, 15.0, settings.copy_mark, 2.6, bold=True, align="right")
    about = faces.fit(f"{record.about}; {record.period}", 2.6, right - left, 1, True)
    sheet.lines(left, 21.2, about, 2.6, 4.4, bold=True)
    told = (
        f"{count(len(record.rows), 'hand-over')}, {count(record.people, 'wearer')}, {count(record.units, 'unit')}. "
        f"Times of {record.zone}. Made {day_time(record.made_at)}. Rule set: {record.rule_set}."
    )
    sheet.lines(left, 26.0, faces.fit(told, 1.9, right - left, 1), 1.9, 3.4)
    sheet.rule(left, 29.0, right, 0.5)
    for (x, _), title in zip(edges, TITLES, strict=True):
        sheet.text(x, 33.4, title, 1.9, bold=True)
    sheet.rule(left, 35.4, right, HAIR)


def _foot(sheet: Sheet, settings: PaperSettings, note: str, page: str, left: float, right: float) -> None:
    base = sheet.size[1] - 8.0
    sheet.text(right, base, page, 2.0, align="right")
    told = " ".join(part for part in (note, f"{settings.site}." if settings.site else "", BASIS) if part)
    sheet.lines(left, base, faces.fit(told, 1.5, right - left - 24.0, 2), 1.5, 2.6)


Line = tuple[str, bool]


def _row(cells: tuple[tuple[Line, ...], ...], edges: Edges) -> Block:
    laid = [_wrapped(cell, room) for cell, (_, room) in zip(cells, edges, strict=True)]
    high = max(len(lines) for lines in laid) * PITCH + 2.2

    def put(sheet: Sheet, top: float) -> None:
        for (x, _), lines in zip(edges, laid, strict=True):
            for place, (words, bold) in enumerate(lines):
                sheet.text(x, top + 3.2 + place * PITCH, words, CAP, bold=bold)
        sheet.rule(edges[0][0], top + high - 0.2, sheet.size[0] - MARGIN, HAIR)

    return Block(high, put)


def _wrapped(cell: tuple[Line, ...], room: float) -> list[Line]:
    return [(line, bold) for words, bold in cell if words for line in _lines(words, room, bold)]


@lru_cache(8192)
def _lines(words: str, room: float, bold: bool) -> tuple[str, ...]:
    return tuple(faces.fit(words, CAP, room, MOST_LINES, bold))


def _clock(moment: datetime) -> str:
    return f"{moment:%Y-%m-%d %H:%M}"


def _beside(moment: datetime, out: datetime) -> str:
    """The time alone on the day it went out."""
    return f"{moment:%H:%M}" if moment.date() == out.date() else _clock(moment)


def _when(row: RegisterRow) -> tuple[Line, ...]:
    due = f"due {_beside(row.due_back, row.went_out)}" if row.due_back else "assigned"
    back = f"back {_beside(row.came_back, row.went_out)}" if row.came_back else "not back"
    return (_clock(row.went_out), True), (due, False), (back, not row.came_back)


def _who(row: RegisterRow) -> tuple[Line, ...]:
    return (row.wearer, True), (row.badge, False), (_listed(row.trade, row.crew, row.employer), False)


def _unit(row: RegisterRow) -> tuple[Line, ...]:
    size = f"size {row.size}" if row.size else ""
    serial = f"serial {row.serial}" if row.serial else ""
    battery = f"battery {row.battery}" if row.battery else ""
    return (f"{row.unit}, {row.model}", True), (_listed(size, serial), False), (battery, False)


def _where(row: RegisterRow) -> tuple[Line, ...]:
    if not row.area:
        return (("no area was chosen", False),)
    required = "respirator required" if row.required else "voluntary use"
    return (row.area_name, True), (row.area, False), (required, False)


def _checks(row: RegisterRow) -> tuple[Line, ...]:
    full, check = row.full, row.check
    own = count(row.own_checks, "own check") if row.own_checks else ""
    bad = f", {row.own_checks_bad} not good" if row.own_checks_bad else ""
    first = f"Full: {_check(full)}" if full else "No full inspection passed before it."
    return (
        (first, full is None),
        (f"Then: {_check(check)}" if check else "", False),
        (f"{own} by the wearer{bad}" if own else "", bool(bad)),
        (row.meter_note, True),
    )


def _check(one: RegisterCheck) -> str:
    """'bench, pass, 2026-11-24 15:34, Otto Brandl, 197 L/min by M000002T'."""
    ball = f"ball {one.ball}" if one.ball else ""
    read = f"{number(one.flow_lpm)} L/min" if one.flow_lpm is not None else ball
    by_meter = f"{read} by {one.meter}" if one.meter and read else read
    return _listed(one.kind, one.verdict, _clock(one.at), one.by, by_meter)


def _ends(row: RegisterRow) -> tuple[Line, ...]:
    on = f"a {row.acknowledged}" if row.acknowledged == "signed slip" else row.acknowledged
    given = _listed(f"Given by {row.issued_by} on {on}", row.slip)
    cautions = f"Accepted: {'; '.join(row.cautions)}" if row.cautions else ""
    named = f"By name: {row.by_name}" if row.by_name else ""
    taken = f"taken back by {row.received_by}" if row.received_by else ""
    worn = f"worn {hours(row.worn_hours)}" if row.worn_hours is not None else ""
    alarms = f"alarms: {row.alarms}" if row.alarms else ""
    return (given, False), (cautions, False), (named, True), (capital(_listed(taken, worn, alarms)), bool(alarms))


def _listed(*parts: str) -> str:
    return ", ".join(part for part in parts if part)


def _ending(record: UseRegister, left: float, right: float) -> list[Block]:
    """What it rests on, and the columns of the table that can be saved beside it."""
    said = (
        "A hand-over stands here where any moment of it lies in the period. The full inspection is the last one passed "
        f"before it; the check at hand-over is named where it was another. {NO_MEDICAL}"
    )
    local_rules = (
        "Local rules and the substance's own standard may ask for more, or for longer keeping; a qualified person "
        "decides what has to be shown."
    )
    columns = "; ".join(f"{name}: {meaning}" for name, meaning in COLUMNS)
    return [
        together(
            [
                _words("What this register says", left, right, bold=True),
                *(_words(words, left, right) for words in (said, BASIS, local_rules)),
            ]
        ),
        together(
            [
                _words("Columns of the table (CSV, UTF-8), in order", left, right, bold=True),
                _words(f"{columns}.", left, right),
            ]
        ),
    ]


def _words(text: str, left: float, right: float, *, bold: bool = False) -> Block:
    lines = faces.wrap(text, 1.9, right - left, bold)

    def put(sheet: Sheet, top: float) -> None:
        sheet.lines(left, top + 4.0, lines, 1.9, 3.5, bold=bold)

    return Block(len(lines) * 3.5 + 2.0, put)


PAPER = Paper("use_register", "Register of use", UseRegister, draw, draw_in_steps)
