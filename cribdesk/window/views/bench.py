"""The bench: what waits there, worst first, and the tray of units that are cleaned together."""

from __future__ import annotations

from PySide6.QtCore import QTimer

from cribdesk.crib.label import Kind
from cribdesk.crib.words import capital, count
from cribdesk.desk.cards_lists import BenchList, InstrumentRow, UnitRow
from cribdesk.window.components.action import ActionButton
from cribdesk.window.components.base import Rule, SignMark, Words
from cribdesk.window.components.cells import Column, Mark, PlateCell, Tick
from cribdesk.window.components.cells import Row as Cells
from cribdesk.window.components.plate import Plate
from cribdesk.window.counter.empty import FirstLine
from cribdesk.window.doors import Doors
from cribdesk.window.due_page import DuePage
from cribdesk.window.entry_form import change_buttons, form_button
from cribdesk.window.layout import Boxes, Fixed, Panel, Row, Scroll, Size, Stack, empty
from cribdesk.window.lists import button_line, fixed
from cribdesk.window.look import current
from cribdesk.window.rows import EmptyState, Head, Upright
from cribdesk.window.view import Page, View
from cribdesk.window.views.units import parted, short_next, sign_of_state, standing_words
from cribdesk.window.whole_table import WholeTable

COLUMNS = (
    Column("", 44),
    Column("", 40),
    Column("Label", 150),
    Column("Model", 170, need=6),
    Column("How it stands", 0),
    Column("Next change", 250, need=4),
)
WAITING = ("on hold", "not checked", "needs cleaning")
DUE = ("due", "before next shift", "this week")  # groups of units that fall due; the others wait now


class Bench(Page):
    """Groups of units; ticked rows go on the tray, F5 starts."""

    def __init__(self, doors: Doors) -> None:
        super().__init__(doors)
        self._list: BenchList | None = None
        self._meters: tuple[InstrumentRow, ...] = ()
        self._meters_wanted = False
        self._last: Panel | None = None  # the end of the list, where the flow meters are
        self._ticked: tuple[str, ...] = ()
        self._kind = "bench"
        self._head = Row(margins=(24, 16, 24, 16), gap=12)
        self._words = Words("", ink="ink2", wrap=True)
        self.start = fixed(ActionButton("Clean the ticked", "go", "F5", size="bar"))
        self.start.clicked.connect(self._start)
        self.stage = fixed(ActionButton("For the next shift", "plain", size="bar"))
        self.stage.clicked.connect(lambda: self.doors.chosen.emit("pre-stage", ""))
        self._head.addWidget(self._words, 1)
        to_due = fixed(ActionButton("Due list", "plain", "F6", size="bar"))
        to_due.clicked.connect(lambda: self.doors.open_place.emit("due", ""))
        self._head.addWidget(to_due)
        self._head.addWidget(self.stage)
        self._head.addWidget(self.start)
        self._inside = Panel("page", (0, 0, 0, 16), 0)
        self._calendar = Fixed(360, "sheet", (24, 14, 24, 16))
        self._rows = Boxes()
        self._calendar.column.addWidget(Words("By the calendar", 24, True))
        self._calendar.column.addSpacing(8)
        self._calendar.column.addWidget(Rule("edge"))
        self._calendar.column.addLayout(self._rows)
        self._calendar.column.addSpacing(8)
        to_meters = fixed(ActionButton("All flow meters", "quiet", size="row"))
        to_meters.clicked.connect(self._scroll_to_meters)
        self._calendar.column.addLayout(button_line((to_meters,)))
        self._calendar.column.addStretch(1)
        body = Row()
        self._scroll = Scroll(self._inside)
        body.addWidget(self._scroll, 1)
        self._upright = Upright("edge")
        body.addWidget(self._upright)
        body.addWidget(self._calendar)
        waits = Panel()
        waits.column.addLayout(self._head)
        waits.column.addWidget(Rule())
        waits.column.addLayout(body, 1)
        self.due = DuePage(doors)
        self._stack = Stack()
        self._stack.addWidget(waits)
        self._stack.addWidget(self.due)
        Boxes(self).addWidget(self._stack)
        self._waits = waits
        self._turn()

    def open(self, kind: str, argument: str) -> None:
        self._kind = kind
        self._meters_wanted = argument[:1] == Kind.INSTRUMENT
        self._stack.setCurrentWidget(self.due if kind == "due" else self._waits)

    def want(self) -> None:
        if self._kind == "due":
            self.doors.wanted.emit("due", "")
            return
        self.doors.wanted.emit("instruments", "")
        self.doors.wanted.emit("bench", "")

    def take(self, kind: str, data: object) -> None:
        if kind == "bench" and isinstance(data, BenchList):
            self.show_list(data)
        elif kind == "due":
            self.due.take(data)
        elif kind == "instruments" and isinstance(data, tuple):
            self._meters = tuple(row for row in data if isinstance(row, InstrumentRow))
            if self._list is not None:
                self.show_list(self._list)

    def show_list(self, bench: BenchList) -> None:
        """Show what waits; ticks stay on units that are still there."""
        self._list = bench
        there = {row.label for _, _, rows in bench.groups for row in rows}
        self._ticked = tuple(label for label in self._ticked if label in there)
        empty(self._inside.column)
        self._to_complete(bench)
        for title, words, rows in bench.groups:
            if rows:
                self._group(title, words, rows)
        if not any(rows for _, _, rows in bench.groups) and not bench.to_complete:
            none = EmptyState(
                "Nothing waits at the bench", "A unit that comes back, is held or falls due appears here by itself."
            )
            none.setContentsMargins(current().px(24), 0, current().px(24), 0)
            self._inside.column.addWidget(none)
        self._show_meters()
        self._inside.column.addStretch(1)
        self._show_calendar(bench)
        self._turn()
        if self._meters_wanted and self._meters:
            self._scroll_to_meters()

    def _show_calendar(self, bench: BenchList) -> None:
        empty(self._rows)
        for row in bench.calendar:
            line = FirstLine(row, "")
            line.clicked.connect(self._open_line)
            self._rows.addWidget(line)
        if not bench.calendar:
            self._rows.addWidget(Words("Nothing falls due by date.", ink="ink2", wrap=True))

    def _to_complete(self, bench: BenchList) -> None:
        if not bench.to_complete:
            return
        self._title("Returns to complete", "back, but hours and damage are not said yet")
        for custody, label, words in bench.to_complete:
            holder = Panel("page", (24, 2, 24, 2))
            line = Row(gap=16)
            plate = Plate(label)
            plate.opened.connect(self.doors.open_label)
            line.addWidget(plate)
            line.addWidget(Words(words, wrap=True), 1)
            button = fixed(ActionButton("Complete", "plain", size="row"))
            button.setAccessibleName(f"Complete the return of {label}")
            button.setProperty("custody", str(custody))
            button.clicked.connect(self._complete)
            line.addWidget(button)
            holder.column.addLayout(line)
            self._inside.column.addWidget(holder)
            self._inside.column.addWidget(Rule())

    def _show_meters(self) -> None:
        """The flow meters, the first to fall due first, each with the way to its next calibration."""
        self._title("Flow meters", "a reading counts only with a meter in calibration")
        for row in self._meters:
            holder = Panel("page", (24, 2, 24, 2))
            line = Row(gap=16)
            line.addWidget(Plate(row.label))
            if row.trouble:
                line.addWidget(SignMark("due" if row.good else "stop", 24))
            name = ", ".join(part for part in (row.name, row.serial) if part)
            until = row.trouble or f"good until {row.until}"
            scale = f"; {row.scale}" if row.odd_scale else ""
            words = Words(f"{name}: {until}{scale}", wrap=True)
            words.setToolTip(", ".join(one for one in (f"Calibrated {row.calibrated}", row.scale) if one))
            line.addWidget(words, 1)
            for button in change_buttons(self.doors, "meter", row.label, "row"):
                button.setAccessibleName(f"{button.word()}, {row.label}")
                line.addWidget(button)
            holder.column.addLayout(line)
            self._inside.column.addWidget(holder)
            self._inside.column.addWidget(Rule())
        holder = Panel("page", (24, 8, 24, 8))
        if not self._meters:
            holder.column.addWidget(Words("None yet. Without one no airflow can be measured.", wrap=True))
        holder.column.addLayout(button_line((form_button(self.doors, "meter", "Enter a flow meter", size="row"),)))
        self._inside.column.addWidget(holder)
        self._last = holder

    def _scroll_to_meters(self) -> None:
        """Bring the flow meters into view, once everything has its place."""
        QTimer.singleShot(0, self, self._scroll_down)

    def _scroll_down(self) -> None:
        if self._last is not None:
            self._scroll.ensureWidgetVisible(self._last)

    def _title(self, title: str, words: str) -> None:
        holder = Panel("page", (24, 16, 24, 6))
        holder.column.addWidget(Head(title, words))
        self._inside.column.addWidget(holder)
        self._inside.column.addWidget(Rule("edge"))

    def _group(self, title: str, words: str, rows: tuple[UnitRow, ...]) -> None:
        said = words if words[:1].isdigit() else ", ".join(part for part in (count(len(rows), "unit"), words) if part)
        self._title(title, said)
        table = WholeTable(COLUMNS, title)
        table.show_rows(tuple(self._row(row) for row in rows))
        table.opened.connect(self._open)
        table.ticked.connect(self._tick)
        sides = Row(margins=(16, 0, 8, 0))
        sides.addWidget(table)
        self._inside.column.addLayout(sides)

    def _row(self, row: UnitRow) -> Cells:
        words = self._standing(row)
        cleanable = row.state in ("needs cleaning", "not checked")
        first = Tick(row.label in self._ticked) if cleanable else ""
        state, plate = Mark(sign_of_state(row.state)), PlateCell(row.label)
        cells = (first, state, plate, capital(row.model), words, short_next(row))
        return Cells(row.label, cells, bold=row.state == "on hold", told=f"{row.label}. {words}. {row.next_words}")

    @staticmethod
    def _standing(row: UnitRow) -> str:
        """Where the group's head says the state already, only why and where."""
        _, place = parted(row)
        told = ", ".join(part for part in (row.why, place) if part)
        return capital(told) if row.state in WAITING and told else standing_words(row)

    def _tick(self, label: str, ticked: bool) -> None:
        others = tuple(one for one in self._ticked if one != label)
        self._ticked = (*others, label) if ticked else others
        self._turn()

    def ticked(self) -> tuple[str, ...]:
        """The units on the tray."""
        return self._ticked

    def _turn(self) -> None:
        n = len(self._ticked)
        self.start.set_word(f"Clean {count(n, 'unit')}" if n else "Clean")
        self.start.set_off("" if n else "Tick rows first.")
        self._words.setText(
            "Tick the units that are cleaned together, then start."
            if not n
            else f"On the tray: {', '.join(self._ticked)}"
        )

    def _start(self) -> None:
        if self._ticked:
            labels, self._ticked = self._ticked, ()
            self.doors.chosen.emit("clean", ",".join(labels))
            self._turn()

    def _complete(self) -> None:
        self.doors.chosen.emit("complete-return", str(self.sender().property("custody")))

    def _open(self, label: str) -> None:
        self.doors.open_place.emit("unit", label)

    def _open_line(self) -> None:
        line = self.sender()
        if isinstance(line, FirstLine) and line.row.label[:1] == Kind.INSTRUMENT:
            self.doors.entry_wanted.emit("calibrate", line.row.label)
        elif isinstance(line, FirstLine) and line.row.label:
            self.doors.open_label(line.row.label)

    def press(self, key: str) -> bool:
        if self._kind == "due":
            if key in ("F9", "Esc"):
                self.doors.open_place.emit("bench", "")
                return True
            return self.due.press(key)
        if key == "F6":
            self.doors.open_place.emit("due", "")
            return True
        if key == "F5" and self._ticked:
            self._start()
            return True
        return False

    def fit(self, size: Size) -> None:
        self._calendar.setVisible(size is Size.WIDE)
        self._upright.setVisible(size is Size.WIDE)
        self.due.fit(size)

    def answer(self) -> str:
        if self._kind == "due":
            return self.due.answer()
        if self._list is None:
            return "Bench"
        waiting = sum(len(rows) for title, _, rows in self._list.groups if title.lower() not in DUE)
        due = sum(len(rows) for title, _, rows in self._list.groups if title.lower() in DUE)
        words = (
            f"{count(waiting, 'unit waits', 'units wait')} at the bench" if waiting else "Nothing waits at the bench"
        )
        return f"{words}, {due} more fall due" if due else words


VIEW = View(
    "bench",
    "Bench",
    4,
    frozenset({"unit", "custody", "hold", "inspection", "cleaning", "fitted", "instrument"}),
    ("bench", "instruments", "due"),
    Bench,
)
