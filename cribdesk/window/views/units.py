"""Units: the list, and the page of one unit."""

from __future__ import annotations

from cribdesk.crib.serviceable import Serviceable
from cribdesk.crib.words import capital, count, hours
from cribdesk.desk.cards import UnitCard, UnitRow
from cribdesk.window.components.cells import Column, Mark, PlateCell, Row
from cribdesk.window.doors import Doors
from cribdesk.window.layout import Boxes, Size, Stack
from cribdesk.window.lists import ListPanel
from cribdesk.window.unit_page import UnitPage
from cribdesk.window.view import Page, View

FILTERS = (
    ("", "All"),
    ("ready", "Ready"),
    ("out", "Out"),
    ("overdue", "Overdue"),
    ("not checked", "Not checked"),
    ("needs cleaning", "Needs cleaning"),
    ("on hold", "On hold"),
    ("due", "Due"),
)
COLUMNS = (
    Column("", 40),
    Column("Label", 150),
    Column("Model", 190, need=5),
    Column("How it stands", 0, least=400),
    Column("Back", 150, need=6),
    Column("Next change", 250, need=4),
    Column("Worn", 90, right=True, need=7),
    Column("Serial", 130, need=9),
)
SIGNS = frozenset({"ready", "out", "overdue", "not checked", "needs cleaning", "on hold", "scrapped", "due"})


def sign_of_state(state: str) -> str:
    """The sign of a row's state, or a dot."""
    return state if state in SIGNS else "dot"


def parted(row: UnitRow) -> tuple[str, str]:
    """(state, place) of a row's words: 'on hold, at the bench' in two; no state where the words hold none."""
    low = row.words.lower()
    state = next((one.value for one in Serviceable if low.startswith(one.value)), "")
    return state, row.words[len(state) :].lstrip(", ")


def standing_words(row: UnitRow) -> str:
    """'On hold: airflow too low, at the bench': why comes before where, for the end of a cell is cut."""
    state, place = parted(row)
    if not row.why or not state:
        return capital(row.words) + (f": {row.why}" if row.why else "")
    return capital(state) + ": " + ", ".join(part for part in (row.why, place) if part)


def short_next(row: UnitRow) -> str:
    """'Outer cover lens, 8.7 h left'."""
    return row.next_words.replace(", about ", ", ")


def unit_row(row: UnitRow) -> Row:
    """One unit as a row of a table."""
    words = standing_words(row)
    told = ". ".join(part for part in (row.label, words, f"next: {row.next_words}" if row.next_words else "") if part)
    cells = (
        Mark(sign_of_state(row.state)),
        PlateCell(row.label),
        capital(row.model),
        words,
        row.due,
        short_next(row),
        hours(row.worn_hours),
        row.serial,
    )
    return Row(row.label, cells, bold=row.state in ("on hold", "overdue"), told=told)


class Units(Page):
    """The list first; a row, a plate or a scan opens the page of one unit."""

    def __init__(self, doors: Doors) -> None:
        super().__init__(doors)
        self.list = ListPanel(
            doors,
            "units",
            COLUMNS,
            "Units",
            FILTERS,
            "Search",
            "No units yet. Enter one, or load all with cribdesk load.",
        )
        self.list.table.opened.connect(self._open)
        self.unit = UnitPage(doors)
        self._label, self._answer = "", ""
        self._stack = Stack()
        self._stack.addWidget(self.list)
        self._stack.addWidget(self.unit)
        Boxes(self).addWidget(self._stack)

    def _open(self, label: str) -> None:
        self.doors.open_place.emit("unit", label)

    def open(self, kind: str, argument: str) -> None:
        self._label = argument if kind == "unit" else ""
        if kind == "unit":
            self.unit.expect(argument)
        else:
            filter_, _, text = argument.partition("\n")
            self.list.set_filter(filter_)
            if self.list.search is not None:
                self.list.search.setText(text)
        self._stack.setCurrentWidget(self.unit if kind == "unit" else self.list)

    def want(self) -> None:
        if self._label:
            self.doors.wanted.emit("unit", self._label)
        else:
            self.list.want()

    def take(self, kind: str, data: object) -> None:
        if kind == "unit" and isinstance(data, UnitCard) and data.label == self._label:
            self.unit.show_card(data)
        elif kind == "units" and isinstance(data, tuple):
            rows = tuple(unit_row(row) for row in data if isinstance(row, UnitRow))
            words = self._chosen()
            self._answer = count(len(rows), "unit") + (f", {words}" if words else "")
            self.list.show_rows(rows, count(len(rows), "unit"))
        elif kind == "life":
            self.unit.take_life(data)
        elif kind == "more" and self._label:
            self.unit.take_more(data)

    def _chosen(self) -> str:
        filter_ = self.list.filter.value() if self.list.filter else ""
        return filter_ if filter_ else ""

    def fit(self, size: Size) -> None:
        self.list.fit(size)
        self.unit.fit(size)

    def press(self, key: str) -> bool:
        if not self._label:
            return False
        if key in ("F9", "Esc"):
            self.doors.open_place.emit("units", "")
            return True
        return self.unit.press(key)

    def answer(self) -> str:
        return f"Unit {self._label}" if self._label else self._answer or "Units"


VIEW = View(
    "units",
    "Units",
    3,
    frozenset({"unit", "custody", "hold", "inspection", "cleaning", "fitted", "person"}),
    ("units", "unit", "life"),
    Units,
)
