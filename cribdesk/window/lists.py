"""A place that is a list: filters, a search, a count, and a table whose rows open."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QComboBox, QLineEdit, QSizePolicy, QWidget

from cribdesk.window.components.action import ActionButton
from cribdesk.window.components.base import Rule, Words
from cribdesk.window.components.cells import Column, Row
from cribdesk.window.components.fields import Combo
from cribdesk.window.components.segment import Segmented
from cribdesk.window.components.table import Table
from cribdesk.window.doors import Doors
from cribdesk.window.entry_form import entry_button
from cribdesk.window.layout import Boxes, Fixed, Panel, Size
from cribdesk.window.layout import Row as Line
from cribdesk.window.look import current, source
from cribdesk.window.rows import Fact

NONE_FITS = "Nothing fits. Take another filter, or clear the search."
PAUSE = 150  # ms after the last key before a search is asked


class Search(QLineEdit):
    """A field that looks things up while one types."""

    def __init__(self, name: str, wide: int = 280) -> None:
        super().__init__()
        self._wide = wide
        self.setAccessibleName(name)
        self.setClearButtonEnabled(False)
        source.look_changed.connect(self.refit)
        self.refit()

    def refit(self) -> None:
        """Take the text scale anew."""
        self.setMinimumWidth(current().px(150))
        self.setMaximumWidth(current().px(self._wide))
        self.setFixedHeight(current().px(48))
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)


class Picker(Combo):
    """A few choices folded into one field, for windows without the room to show them all."""

    def __init__(self, name: str, choices: tuple[tuple[str, str], ...]) -> None:
        super().__init__()
        self.setAccessibleName(name)
        for id_, words in choices:
            self.addItem(words, id_)
        self.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToContents)


def fixed(button: ActionButton) -> ActionButton:
    """A button no wider than its words."""
    button.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
    return button


class ListPanel(Panel):
    """Head and table. `query()` is filter and text; `asked` runs when either changes."""

    def __init__(
        self, doors: Doors, kind: str, columns: tuple[Column, ...], name: str,
        filters: tuple[tuple[str, str], ...] = (), search: str = "", none: str = "",
    ) -> None:  # fmt: skip
        super().__init__()
        self._doors, self._kind, self._none = doors, kind, none
        self.none_fits = NONE_FITS
        self.one_line_from = 1400  # effective px of the window from which filters, search and tools share a line
        self._pause = QTimer(self)
        self._pause.setSingleShot(True)
        self._pause.setInterval(PAUSE)
        self._pause.timeout.connect(self.want)
        self.filter = Segmented(filters, "Show") if filters else None
        self.search = Search(search) if search else None
        self.count = Words("", ink="ink2")
        self.tools = Line(gap=8)
        self._head = Boxes(margins=(24, 16, 24, 16), gap=8)
        self._line, self._second = Line(gap=16), Line(gap=16)
        self._head.addLayout(self._line)
        self._head.addLayout(self._second)
        self.table = Table(columns, name)
        self.table.set_empty_words("Looking it up.")
        self._lay_out(search, filters)

    def _lay_out(self, search: str, filters: tuple[tuple[str, str], ...]) -> None:
        if self.filter is not None:
            self.filter.chosen.connect(self.want)
            self.few = Picker("Show", filters)
            self.few.activated.connect(self._picked)
            self.few.hide()
            self._line.addWidget(self.filter)
            self._line.addWidget(self.few)
        if self.search is not None:
            words = Words(search, ink="ink2")
            words.setBuddy(self.search)
            self._words = words
            self._line.addWidget(words)
            self._line.addWidget(self.search, 1)
            self.search.textEdited.connect(self._pause.start)
            self.search.returnPressed.connect(self._into)
        self._line.addStretch(1)
        self._line.addWidget(self.count)
        self._line.addLayout(self.tools)
        button = entry_button(self._doors, self._kind)
        if button is not None:
            self.tools.addWidget(button)
        self.column.addLayout(self._head)
        self.column.addWidget(Rule())
        sides = Line(margins=(16, 0, 8, 0))
        sides.addWidget(self.table)
        self.column.addLayout(sides, 1)

    def query(self) -> str:
        """Filter and text as one argument: 'on hold', newline, text."""
        text = self.search.text().strip() if self.search else ""
        chosen = self.filter.value() if self.filter else ""
        return f"{chosen}\n{text}" if text else chosen

    def set_filter(self, value: str) -> None:
        """Choose a filter without asking; an empty one is the first."""
        if self.filter is not None:
            self.filter.set_value(value)
            self.few.setCurrentIndex(max(0, self.few.findData(self.filter.value())))

    def _into(self) -> None:
        """Return in the search: the only row opens; among several one goes on by the arrows."""
        rows = self.table.rows_model.rows
        if self._pause.isActive() or not rows:
            return
        self.table.setFocus()
        self.table.setCurrentIndex(self.table.rows_model.index(0, 0))
        if len(rows) == 1:
            self.table.opened.emit(rows[0].id)

    def _picked(self) -> None:
        self.set_filter(str(self.few.currentData() or ""))
        self.want()

    def want(self, _: object = None) -> None:
        """Ask for the rows."""
        self._doors.wanted.emit(self._kind, self.query())

    def show_rows(self, rows: tuple[Row, ...], words: str) -> None:
        """Show these rows and the count in words."""
        self.table.set_empty_words(
            self._none if not self.query() else self.none_fits
        )
        self.table.set_rows(rows)
        self.count.setText(words)

    def fit(self, size: Size) -> None:
        """Filters on the first line, search and tools on the second, where room is short."""
        if self.filter is not None:
            self.set_filter(self.filter.value())
            self.filter.setVisible(size is not Size.SMALL)
            self.few.setVisible(size is Size.SMALL)
        roomy = self.window().width() / current().u >= self.one_line_from
        narrow = size is not Size.SMALL and not roomy and self.filter is not None
        moved: list[QWidget] = [self.count] if self.search is None else [self._words, self.search, self.count]
        for widget in moved:
            self._line.removeWidget(widget)
            self._second.removeWidget(widget)
        self._line.removeItem(self.tools)
        self._second.removeItem(self.tools)
        target = self._second if narrow else self._line
        for widget in moved:
            target.addWidget(widget, 1 if widget is self.search else 0)
        target.addLayout(self.tools)


class Opening:
    """The rows of a list open in place, one at a time, to what `make` says of them (None: there is no such row)."""

    def __init__(self, doors: Doors, panel: ListPanel, make: Callable[[str], Panel | None]) -> None:
        self._doors, self._table, self._make = doors, panel.table, make
        self._opened, self._wanted = "", ""
        self._table.opened.connect(self._turn)

    def want(self, id_: str) -> None:
        """Open this row as soon as the rows are there."""
        self._wanted = id_

    def rows_shown(self) -> None:
        """The rows came, perhaps anew: what is open says what is so now."""
        wanted, self._wanted = self._wanted, ""
        if wanted and not self._show(wanted):
            self._doors.say.emit(f"{wanted} is not in this list: it is out of use, or not here.")
        elif wanted:
            self._table.setFocus()
        elif self._opened:
            self._show(self._opened)

    def _turn(self, id_: str) -> None:
        if id_ == self._opened:
            self._opened = ""
            self._table.close_under()
        else:
            self._show(id_)

    def _show(self, id_: str) -> bool:
        detail = self._make(id_)
        if detail is None:
            self._opened = ""
            self._table.close_under()
            return False
        self._opened = id_
        self._table.open_under(id_, detail)
        model = self._table.rows_model
        index = model.index(model.number_of(id_), 0)
        self._table.setCurrentIndex(index)
        self._table.scrollTo(index)
        return True


def facts_beside(facts: tuple[tuple[str, str], ...]) -> Line:
    """What is known of an opened row, name and value near each other; empty values are left out."""
    side = Fixed(560, "sheet")
    for name, words in facts:
        if words:
            side.column.addWidget(Fact(name, words, bold=False))
    line = Line()
    line.addWidget(side)
    line.addStretch(1)
    return line


def button_line(buttons: tuple[ActionButton, ...]) -> Line:
    """Buttons side by side at the left."""
    line = Line(gap=8)
    for button in buttons:
        line.addWidget(button)
    line.addStretch(1)
    return line
