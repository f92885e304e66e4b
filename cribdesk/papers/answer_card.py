"""The card on the counter: the five answers as large bars with their words, then the commands."""

from __future__ import annotations

from cribdesk.desk.printouts import AnswerCard, CardCode
from cribdesk.papers import barcodes, faces, signs
from cribdesk.papers.register import Paper
from cribdesk.papers.settings import PaperSettings
from cribdesk.papers.sheet import HAIR, Sheet

MARGIN = 15.0
ANSWER_MODULE = 12 * barcodes.DOT_MM  # 0.508 mm
ANSWER_HEIGHT, ANSWER_PITCH = 13.0, 25.0
COMMAND_HEIGHT, COMMAND_PITCH = 8.0, 21.0
COLUMNS = 3
SIGNS: dict[str, signs.Kind] = {
    "ANSYES": "tick",
    "ANSNAY": "cross",
    "ANSNXT": "next",
    "ANSNFL": "caution",
    "ANSBCK": "back",
    "ANSBRK": "break",
}


def draw(record: AnswerCard, settings: PaperSettings) -> bytes:
    """The card; commands that find no room on it go to a second page."""
    size = settings.page_size
    sheet = Sheet(size, "Answer card", settings.site)
    right = size[0] - MARGIN
    y = _head(sheet, "Answer card", settings, record)
    for answer in record.answers:
        _answer(sheet, answer, y, right)
        y += ANSWER_PITCH
    if record.commands:
        sheet.text(MARGIN, y + 8.0, "Commands", 3.4, bold=True)
        y += 12.0
    column = 0
    for command in record.commands:
        if column == 0 and y + COMMAND_PITCH > size[1] - 10.0:
            sheet.next_page()
            y = _head(sheet, "Answer card, commands", settings, record) + 2.0
        _command(sheet, command, MARGIN + column * (right - MARGIN) / COLUMNS, y, (right - MARGIN) / COLUMNS)
        column = (column + 1) % COLUMNS
        y += COMMAND_PITCH if column == 0 else 0.0
    return sheet.finish()


def _head(sheet: Sheet, title: str, settings: PaperSettings, record: AnswerCard) -> float:
    right = sheet.size[0] - MARGIN
    sheet.text(MARGIN, 19.0, title, 5.0, bold=True)
    sheet.text(right, 19.0, settings.copy_mark, 3.0, bold=True, align="right")
    told = "Cover the neighbours with a hand while you scan. What the scan did stands on the screen."
    sheet.text(MARGIN, 25.0, told, 2.3)
    note = " ".join(part for part in (settings.site, faces.note_about(record)) if part)
    room = right - MARGIN
    sheet.lines(MARGIN, 29.0, faces.fit(note, 1.7, room, 1), 1.7, 2.8)
    sheet.rule(MARGIN, 31.0, right, 0.6)
    return 31.0


def _answer(sheet: Sheet, answer: CardCode, top: float, right: float) -> None:
    length = barcodes.runs(answer.code)[0] * ANSWER_MODULE
    quiet = barcodes.QUIET_MODULES * ANSWER_MODULE
    bars, middle = right - quiet - length, top + ANSWER_PITCH / 2
    sign = SIGNS.get(answer.code[1:7])
    words = MARGIN + 19.0
    if sign:
        sheet.sign(sign, MARGIN, middle - 7.5, 15.0)
    else:
        words = MARGIN
    room = bars - quiet - words - 2.0
    word = faces.wrap(answer.word, 6.6, room, True)
    cap = 6.6 if len(word) <= 1 else 4.0
    word = faces.fit(answer.word, cap, room, 2, True)
    hint = answer.hint if not answer.key else f"{answer.hint} ({answer.key})".strip()
    told = faces.fit(hint, 2.3, room, 2)
    pitch = cap + 2.6
    high = len(word) * pitch + 0.6 + len(told) * 4.0
    base = sheet.lines(words, middle - high / 2 + cap, word, cap, pitch, bold=True)
    sheet.lines(words, base - cap + 3.6, told, 2.3, 4.0)
    sheet.bars(bars, middle - 9.2, answer.code, ANSWER_MODULE, ANSWER_HEIGHT)
    sheet.label(bars, middle + 8.4, answer.code, 2.4)
    sheet.rule(MARGIN, top + ANSWER_PITCH, right, HAIR)


def _command(sheet: Sheet, command: CardCode, x: float, y: float, wide: float) -> None:
    module = barcodes.module_for(command.code, wide)
    left = x + barcodes.QUIET_MODULES * module
    room = wide - barcodes.QUIET_MODULES * module - 1.0
    word = f"{command.word} ({command.key})" if command.key else command.word
    lines = faces.fit(word, 2.4, room, 1, True)
    sheet.lines(left, y + 4.0, lines, 2.4, 4.0, bold=True)
    sheet.bars(left, y + 5.8, command.code, module, COMMAND_HEIGHT)
    sheet.label(left, y + 17.2, command.code, 2.0)


PAPER = Paper("answer_card", "Answer card", AnswerCard, draw)
