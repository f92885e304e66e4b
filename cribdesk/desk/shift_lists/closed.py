"""The shifts that were handed over, the newest first, each with its page to be printed again."""

from __future__ import annotations

from datetime import datetime

from cribdesk.crib.records import Person, ShiftClose
from cribdesk.crib.words import capital, count
from cribdesk.desk.close_shift import PAPER, closed_already, page_of
from cribdesk.desk.house import House
from cribdesk.desk.ports import Reader
from cribdesk.desk.saying import moment_words, name_of
from cribdesk.desk.shift_figures import closable
from cribdesk.desk.shift_list import ShiftAction, ShiftList, ShiftRow, ShiftRows
from cribdesk.desk.standings import people

KEPT = 42
"""So many are listed: three a day over two weeks."""


def _read(reader: Reader, house: House, moment: datetime) -> ShiftRows:
    found = reader.newest(ShiftClose, KEPT)[::-1]
    known = people(reader, (id_ for one in found for id_ in (one.by_id, one.taken_by)))
    rows = tuple(_row(one, known, house, moment) for one in found)
    ended = [one for one in closable(house, moment) if one.end <= moment]
    open_now = [one for one in ended if closed_already(reader, one, moment) is None]
    lead = f"{count(len(rows), 'shift')} handed over." if rows else "No shift was handed over yet."
    if open_now:
        lead += f" {open_now[0].name} ended {moment_words(open_now[0].end, house, moment)} and is not closed."
    return ShiftRows(
        lead, rows, "No shift was handed over yet.", (ShiftAction("Close the shift", "command", "close-shift"),)
    )


def _row(one: ShiftClose, known: dict[int, Person], house: House, moment: datetime) -> ShiftRow:
    page = page_of(one)
    taker = known.get(one.taken_by) if one.taken_by else None
    to = f" to {name_of(taker)}" if taker else ", nobody's badge for taking it over"
    told = {figure.name: figure.number for figure in page.figures}
    parts = [f"{told[name]} {words}" for name, words in (("Issued", "issued"), ("Returned", "returned"),
             ("Still out", "still out"), ("Overdue", "overdue")) if name in told]  # fmt: skip
    detail = f"{capital(moment_words(one.ended_at, house, moment))}: {', '.join(parts)}. {one.note}".strip()
    what = f"{page.shift}, handed over by {name_of(known.get(one.by_id))}{to}"
    again = ShiftAction("Print its page", "paper", PAPER, str(one.id))
    return ShiftRow(str(one.id), "fine", what, detail, actions=(again,))


LIST = ShiftList("closed", "Shifts handed over", 90, _read)
