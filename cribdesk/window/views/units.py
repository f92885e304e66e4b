"""Units: the list, the page of one unit, and the picture of the whole fleet."""

from __future__ import annotations

from cribdesk.crib.serviceable import Serviceable
from cribdesk.crib.words import capital, count, hours
from cribdesk.desk.cards import UnitCard
from cribdesk.desk.cards_lists import UnitRow
from cribdesk.window.components.action import ActionButton
from cribdesk.window.components.cells import Column, Mark, PlateCell, Row
from cribdesk.window.doors import Doors
from cribdesk.window.fleet_page import FleetPage
from cribdesk.window.layout import Boxes, Size, Stack
from cribdesk.window.lists import ListPanel, fixed
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
        self.fleet = FleetPage(doors)
        button = fixed(ActionButton("Fleet", "plain", "F7", size="bar"))
        button.setAccessibleName("Fleet: worst units, commonest faults, lives and cost")
        button.clicked.connect(lambda: doors.open_place.emit("fleet", ""))
        self.list.tools.addWidget(button)
        self.list.one_line_from = 1600  # one button more than other lists
        self._label, self._answer = "", ""
        self._kind = "units"
        self._stack = Stack()
        self._stack.addWidget(self.list)
        self._stack.addWidget(self.unit)
        self._stack.addWidget(self.fleet)
        Boxes(self).addWidget(self._stack)

    def _open(self, label: str) -> None:
        self.doors.open_place.emit("unit", label)

    def open(self, kind: str, argument: str) -> None:
        self._label, self._kind = argument if kind == "unit" else "", kind
        if kind == "unit":
            self.unit.expect(argument)
        elif kind == "fleet":
            self.fleet.stale()
        else:
            filter_, _, text = argument.partition("\n")
            self.list.set_filter(filter_)
            if self.list.search is not None:
                self.list.search.setText(text)
        self._stack.setCurrentWidget({"unit": self.unit, "fleet": self.fleet}.get(kind, self.list))

    def want(self) -> None:
        if self._label:
            self.doors.wanted.emit("unit", self._label)
        elif self._kind == "fleet":
            self.fleet.want()
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
        elif kind == "fleet":
            self.fleet.take(data)
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
        self.fleet.fit(size)

    def press(self, key: str) -> bool:
        if not self._label and self._kind != "fleet":
            if key == "F7":
                self.doors.open_place.emit("fleet", "")
            return key == "F7"
        if key in ("F9", "Esc"):
            self.doors.open_place.emit("units", "")
            return True
        return self.fleet.press(key) if self._kind == "fleet" else self.unit.press(key)

    def answer(self) -> str:
        if self._kind == "fleet":
            return self.fleet.answer()
        return f"Unit {self._label}" if self._label else self._answer or "Units"


VIEW = View(
    "units",
    "Units",
    3,
    frozenset({"unit", "custody", "hold", "inspection", "cleaning", "fitted", "person"}),
    ("units", "unit", "life", "fleet"),
    Units,
)
