"""The due list at the bench: what falls due, worst first, what to fetch for the tray, what the calendar asks."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from itertools import chain

from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QWidget

from cribdesk.crib.label import Kind
from cribdesk.crib.words import capital, clock, count, number
from cribdesk.desk.cards_lists import FirstRow
from cribdesk.desk.due import SORTED_BY
from cribdesk.desk.due_cards import GROUPS, NOW, SHIFT, DueList, DueRow, Duty, FetchRow
from cribdesk.window.components.action import ActionButton
from cribdesk.window.components.base import Rule, SignMark, Words
from cribdesk.window.components.cells import Column, LifeCell, Mark, PlateCell
from cribdesk.window.components.cells import Row as Cells
from cribdesk.window.components.life import Life
from cribdesk.window.components.segment import Segmented
from cribdesk.window.counter.empty import FirstLine
from cribdesk.window.doors import Doors
from cribdesk.window.entry_form import form_button
from cribdesk.window.layout import Boxes, Fixed, Panel, Row, Scroll, Size, empty
from cribdesk.window.lists import button_line, fixed
from cribdesk.window.rows import EmptyState, Head, Upright
from cribdesk.window.whole_table import WholeTable

COLUMNS = (
    Column("", 40), Column("Label", 130), Column("Part", 0, least=150), Column("Life left", 84, need=6),
    Column("", 154, right=True), Column("Why", 178, need=3), Column("Unit", 190, need=5),
)  # fmt: skip
URGENCY, PART, UNIT = "urgency", "part", "unit"
WAYS = ((URGENCY, "By urgency"), (PART, "By part"), (UNIT, "By unit"))
DUTIES_SHOWN = 12
AT_ONCE, IN_A_TURN, SHOWN = 8, 5, 60
"""Groups laid at once, in each further turn of the window, and before it is asked whether there should be more."""


class DuePage(Panel):
    """Groups of parts at the left; the tray and the calendar at the right, or beneath where there is less room."""

    def __init__(self, doors: Doors) -> None:
        super().__init__()
        self._doors = doors
        self.due: DueList | None = None
        self._size = Size.WIDE
        head = Row(margins=(24, 16, 24, 16), gap=12)
        self.ways = Segmented(WAYS, "Sorted")
        self.ways.chosen.connect(self._sort)
        self._words = Words("Looking it up.", ink="ink2", wrap=True)
        self.print = fixed(ActionButton("Print list", "plain", "F7", size="bar"))
        self.print.clicked.connect(partial(self.press, "F7"))
        self.start = fixed(ActionButton("Start first job", "go", "F5", size="bar"))
        self.start.clicked.connect(partial(self.press, "F5"))
        head.addWidget(self.ways)
        head.addWidget(self._words, 100)
        head.addStretch(1)
        head.addWidget(self.print)
        head.addWidget(self.start)
        self.column.addLayout(head)
        self.column.addWidget(Rule())
        self._inside = Panel("page", (0, 0, 0, 16))
        self._rows, self._more, self._foot, self._under = Boxes(), Boxes(), Boxes(), Boxes()
        self._groups: Iterator[tuple[str, str, tuple[DueRow, ...]]] = iter(())
        self._laid, self._turn, self._wanted = 0, 0, SHOWN
        for rows in (self._rows, self._more, self._foot):
            self._inside.column.addLayout(rows)
        self._inside.column.addLayout(self._under)
        self._inside.column.addStretch(1)
        self.body = Scroll(self._inside)
        self._side = Panel("sheet", (24, 14, 24, 16))
        self._tray, self._calendar = Boxes(), Boxes()
        self._make_side()
        self._right = Fixed(340, "sheet")
        self._beside = Panel("sheet")
        self._beside.column.addWidget(self._side)
        self._right.column.addWidget(Scroll(self._beside, "sheet"))
        self._upright = Upright("edge")
        line = Row()
        line.addWidget(self.body, 1)
        line.addWidget(self._upright)
        line.addWidget(self._right)
        self.column.addLayout(line, 1)

    def _make_side(self) -> None:
        column = self._side.column
        for title, words, rows in (
            ("Fetch for the tray", "for what is due now and before next shift", self._tray),
            ("By the calendar", "within 7 days", self._calendar),
        ):
            column.addWidget(Words(title, 24, True))
            column.addWidget(Words(words, 14, ink="ink2", wrap=True))
            column.addSpacing(8)
            column.addWidget(Rule("edge"))
            column.addLayout(rows)
            column.addSpacing(24)
        column.addStretch(1)

    # What it shows.

    def take(self, data: object) -> None:
        """The list came."""
        if isinstance(data, DueList):
            self.due = data
            self._lay()

    def answer(self) -> str:
        """The page's one sentence."""
        if self.due is None:
            return "Due list"
        now, shift = units_of(self.due.of(NOW)), units_of(self.due.of(SHIFT))
        end = clock(self.due.end, self._doors.house.zone)
        first = f"{count(now, 'unit')} due now" if now else "Nothing is due now"
        return f"{first}, {number(shift)} may be before {end}" if shift else first

    def _sort(self, _: str) -> None:
        self._wanted = SHOWN
        self._lay()

    def _lay(self) -> None:
        due = self.due
        if due is None:
            return
        self._words.setText(self._said(due))
        self._words.setToolTip(SORTED_BY)
        self.start.set_off("" if first_job(due) else "Nothing due is in hand.")
        for boxes in (self._rows, self._more, self._foot):
            empty(boxes)
        self._groups = groups(due, self.ways.value(), clock(due.end, self._doors.house.zone))
        self._laid, self._turn = 0, self._turn + 1
        self._lay_groups(AT_ONCE, self._turn)
        if not due.rows:
            none = EmptyState("Nothing falls due this week", "What comes near its end appears here by itself.")
            none.setContentsMargins(24, 0, 24, 0)
            self._rows.addWidget(none)
        else:
            holder = Panel("page", (24, 12, 24, 12))
            bound = f"A part is named from the hour on that {due.bound} in 100 of its kind outlast (a setting). "
            holder.column.addWidget(Words(bound + SORTED_BY, 14, ink="ink2", wrap=True))
            self._foot.addWidget(holder)
        self._lay_side(due)

    def _said(self, due: DueList) -> str:
        said = f"{count(units_of(due.rows), 'unit')}, {count(len(due.rows), 'part')}"
        order = self._size is Size.WIDE and self.ways.value() != UNIT and due.rows
        return f"{said}. Worst first, by risk x consequence; see the foot." if order else said

    def _lay_groups(self, many: int, turn: int) -> None:
        """So many more groups, then the next in the window's next turn: a big fleet's list never stops the window."""
        if turn != self._turn:
            return  # another list, or another order, was asked for meanwhile
        for _ in range(min(many, self._wanted - self._laid)):
            group = next(self._groups, None)
            if group is None:
                return
            self._group(*group)
            self._laid += 1
        if self._laid < self._wanted:
            QTimer.singleShot(0, self, partial(self._lay_groups, IN_A_TURN, turn))
        else:
            self._offer_more()

    def _offer_more(self) -> None:
        following = next(self._groups, None)
        if following is None:
            return
        self._groups = chain([following], self._groups)
        words = f"The worst {number(self._laid)} stand here; the printed list has them all."
        line = Row(margins=(24, 8, 24, 8), gap=12)
        line.addWidget(Words(words, ink="ink2", wrap=True), 1)
        button = fixed(ActionButton(f"Show {SHOWN} more", "quiet", size="bar"))
        button.clicked.connect(self._show_more)
        line.addWidget(button)
        self._more.addLayout(line)

    def _show_more(self) -> None:
        empty(self._more)
        self._wanted += SHOWN
        self._lay_groups(IN_A_TURN, self._turn)

    def _group(self, title: str, words: str, rows: tuple[DueRow, ...]) -> None:
        holder = Panel("page", (24, 16, 24, 6))
        holder.column.addWidget(Head(title, words))
        self._rows.addWidget(holder)
        self._rows.addWidget(Rule("edge"))
        table = WholeTable(COLUMNS, title)
        table.show_rows(tuple(row_of(row) for row in rows))
        table.opened.connect(self._open)
        sides = Row(margins=(16, 0, 8, 0))
        sides.addWidget(table)
        self._rows.addLayout(sides)

    def _lay_side(self, due: DueList) -> None:
        empty(self._tray)
        tray = [row for row in due.fetch if row.number]
        for row in tray:
            self._tray.addWidget(fetch_line(row, self._doors))
            self._tray.addWidget(Rule())
        if any(row.there for row in tray):
            self._tray.addLayout(button_line((form_button(self._doors, "tray", "Set these aside", size="row"),)))
        if not tray:
            self._tray.addWidget(Words("Nothing to fetch.", ink="ink2", wrap=True))
        empty(self._calendar)
        for duty in due.duties[:DUTIES_SHOWN]:
            line = FirstLine(first_row(duty), "")
            line.clicked.connect(partial(self._open_duty, duty))
            self._calendar.addWidget(line)
        more = len(due.duties) - DUTIES_SHOWN
        if more > 0:
            self._calendar.addWidget(Words(f"{number(more)} more; the printed list has them all.", wrap=True))
        if not due.duties:
            self._calendar.addWidget(Words("Nothing within 7 days.", ink="ink2", wrap=True))

    def fit(self, size: Size) -> None:
        """Tray and calendar go under the list where there is no room beside it."""
        self._size = size
        wide = size is Size.WIDE
        (self._beside.column if wide else self._under).addWidget(self._side)
        self._right.setVisible(wide)
        self._upright.setVisible(wide)
        self._words.setVisible(size is not Size.SMALL)  # the heads of the groups say it too
        if self.due is not None:
            self._words.setText(self._said(self.due))
        self.print.set_key("F7" if size is not Size.SMALL else "")
        self.start.set_key("F5" if size is not Size.SMALL else "")

    # What it does.

    def press(self, key: str, _: bool = False) -> bool:
        """F5 begins with the first unit that is in hand, F7 prints."""
        if key == "F7" and self.due is not None:
            self._doors.print_again.emit("due_list", "")
            return True
        if key == "F5" and self.due is not None:
            first = first_job(self.due)
            if first is not None:
                self._doors.chosen.emit("change", first.label)
            return True
        return False

    def _open(self, id_: str) -> None:
        self._doors.open_place.emit("unit", id_.partition(" ")[0])

    def _open_duty(self, duty: Duty, _: bool = False) -> None:
        if duty.label[:1] == Kind.INSTRUMENT:
            self._doors.entry_wanted.emit("calibrate", duty.label)
        else:
            self._doors.open_label(duty.label)


def units_of(rows: tuple[DueRow, ...]) -> int:
    """How many units the rows are of."""
    return len({row.label for row in rows})


def first_job(due: DueList) -> DueRow | None:
    """The worst row whose unit is in hand."""
    return next((row for row in due.rows if row.in_hand), None)


def groups(due: DueList, way: str, end: str) -> Iterator[tuple[str, str, tuple[DueRow, ...]]]:
    """(title, words, rows) of each group: by urgency, by part so that a tray serves them all, or by unit."""
    if way == URGENCY:
        for group in GROUPS:
            rows = due.of(group)
            if rows:
                until = f" by {end}" if group == SHIFT else ""
                words = f"{count(units_of(rows), 'unit')}, {count(len(rows), 'part')}{until}"
                yield capital(group), words, rows
        return
    fetch = {row.code: row for row in due.fetch}
    keys = list(dict.fromkeys(row.item if way == PART else row.label for row in due.rows))
    if way == PART:
        keys.sort(key=lambda code: -sum(row.score for row in due.rows if row.item == code))
    for key in keys:
        rows = tuple(row for row in due.rows if key == (row.item if way == PART else row.label))
        if way == PART:
            there = fetch_words(fetch[key]) if key in fetch else ""
            yield f"{rows[0].item_name}, {key}", ", ".join(x for x in (f"{len(rows)} to change", there) if x), rows
        else:
            yield key, ", ".join((capital(rows[0].model), rows[0].standing, count(len(rows), "part"))), rows


def row_of(row: DueRow) -> Cells:
    """One part as a row of a table."""
    told = f"{row.label}, {row.name}: {row.figure}, {row.why}, {row.standing}"
    life: LifeCell | str = ""
    if row.life_hours and row.early is not None and row.late is not None:
        whole = row.life_hours
        pin = row.needed / whole if row.needed else None
        bar = Life(max(0.0, row.early) / whole, max(0.0, row.late) / whole, pin,
                   "fine" if row.level == "due" else row.level, row.late <= 0)  # fmt: skip
        life = LifeCell(bar, told)
    cells = (Mark(row.level), PlateCell(row.label), row.name, life, row.figure, row.why, capital(row.standing))
    return Cells(f"{row.label} {row.position}", cells, bold=row.level == "stop", told=told)


def first_row(duty: Duty) -> FirstRow:
    """A duty as a line."""
    named = f"{duty.what}, {duty.label}"
    return FirstRow(duty.sign, named, duty.detail, "bench", duty.label)


def fetch_words(row: FetchRow) -> str:
    """'bin C-04, 11 there, lot K2608 first, 5 more this week'."""
    there = f"only {number(row.there)} there" if row.short else f"{number(row.there)} there"
    later = f"{number(row.later)} more this week" if row.later else ""
    return ", ".join(part for part in (f"bin {row.bin}" if row.bin else "", there, row.lot, later) if part)


def fetch_line(row: FetchRow, doors: Doors) -> QWidget:
    """How many, of what, where; a sign where the shelf has too few."""
    holder = Panel("sheet", (0, 8, 0, 8))
    line = Row(gap=12)
    figure = Words(number(row.number), 36, True)
    figure.setMinimumWidth(56)
    line.addWidget(figure)
    words = Boxes()
    words.addWidget(Words(row.name, bold=True, wrap=True))
    words.addWidget(Words(f"{row.code}, {fetch_words(row)}", 14, ink="ink" if row.short else "ink2", wrap=True))
    line.addLayout(words, 1)
    if row.short:
        line.addWidget(SignMark("caution", 24, "sheet"))
    holder.column.addLayout(line)
    holder.setAccessibleName(f"{row.number} {row.name}, {row.code}: {fetch_words(row)}")
    return holder
