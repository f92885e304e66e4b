"""Areas: places and tasks that units are issued for; the list, one area whole, limits and test evidence."""

from __future__ import annotations

from cribdesk.crib.words import capital, count
from cribdesk.desk.cards_area import AreaPage, LimitsPage
from cribdesk.desk.cards_lists import AreaRow
from cribdesk.window.area_sheet import AreaSheet
from cribdesk.window.components.action import ActionButton
from cribdesk.window.components.cells import Column, Mark, PlateCell, Row
from cribdesk.window.doors import Doors
from cribdesk.window.layout import Boxes, Size, Stack
from cribdesk.window.limits_sheet import LimitsSheet
from cribdesk.window.lists import ListPanel, fixed
from cribdesk.window.view import Page, View

COLUMNS = (
    Column("", 40),
    Column("Label", 150),
    Column("Area or task", 0, least=240),
    Column("Exposure", 270),
    Column("Respirator", 120, need=3),
    Column("Process", 240, need=4),
    Column("Agents", 220, need=5),
    Column("Out", 64, right=True, need=2),
)
NONE = "No areas yet. Enter one, or load all with cribdesk load."


class Areas(Page):
    """The list first; a row or a scan opens the page of one area."""

    def __init__(self, doors: Doors) -> None:
        super().__init__(doors)
        self.list = ListPanel(doors, "areas", COLUMNS, "Areas", search="Search", none=NONE)
        self.list.table.opened.connect(lambda label: doors.open_place.emit("area", label))
        button = fixed(ActionButton("Limits and evidence", "plain", "F7", size="bar"))
        button.setAccessibleName("Limits of the site's own and test evidence of unit models")
        button.clicked.connect(lambda: doors.open_place.emit("limits", ""))
        self.list.tools.addWidget(button)
        self.area, self.limits = AreaSheet(doors), LimitsSheet(doors)
        self._label, self._kind, self._answer = "", "areas", ""
        self._stack = Stack()
        for page in (self.list, self.area, self.limits):
            self._stack.addWidget(page)
        Boxes(self).addWidget(self._stack)

    def open(self, kind: str, argument: str) -> None:
        self._kind = "area" if kind == "areas" and argument else kind
        self._label = argument if self._kind == "area" else ""
        if self._label:
            self.area.expect(self._label)
        self._stack.setCurrentWidget({"area": self.area, "limits": self.limits}.get(self._kind, self.list))

    def want(self) -> None:
        if self._kind == "areas":
            self.list.want()
        else:
            self.doors.wanted.emit(self._kind, self._label)

    def take(self, kind: str, data: object) -> None:
        if kind == "area" and isinstance(data, AreaPage) and data.label == self._label:
            self.area.show_page(data)
        elif kind == "limits" and isinstance(data, LimitsPage):
            self.limits.show_page(data)
        elif kind == "areas" and isinstance(data, tuple):
            rows = [row for row in data if isinstance(row, AreaRow)]
            if not self.list.query():  # the place's sentence is about all of it
                self._answer = _answer(rows)
            self.list.show_rows(tuple(_row(row) for row in rows), count(len(rows), "area"))

    def press(self, key: str) -> bool:
        if self._kind == "areas":
            if key == "F7":
                self.doors.open_place.emit("limits", "")
            return key == "F7"
        if key in ("F9", "Esc"):
            self.doors.open_place.emit("areas", "")
            return True
        return self._kind == "area" and self.area.press(key)

    def fit(self, size: Size) -> None:
        self.list.fit(size)
        self.area.fit(size)

    def answer(self) -> str:
        if self._kind == "area":
            return self.area.answer()
        return self.limits.answer() if self._kind == "limits" else self._answer or "Areas"


def _answer(rows: list[AreaRow]) -> str:
    stopped = sum(row.level == "stop" for row in rows)
    said = f"nothing may be issued for {count(stopped, 'of them', 'of them')}" if stopped else "each has a unit for it"
    return f"{count(len(rows), 'area')}; {said}" if rows else "No area yet"


def _row(area: AreaRow) -> Row:
    required = "required" if area.required else "voluntary"
    cells = (
        Mark(area.level if area.level in ("stop", "caution") else "dot"),
        PlateCell(area.label),
        area.name,
        capital(area.exposure),
        required,
        area.processes,
        area.agents,
        str(area.out_now) if area.out_now else "",
    )
    parts = (area.name, area.exposure, f"respirator {required}", area.processes, area.agents, area.note)
    return Row(area.label, cells, bold=area.level == "stop", told=". ".join(part for part in parts if part))


TABLES = {"area", "assessment", "sample", "site_limit", "area_condition", "area_process", "area_control",
          "factor_evidence", "site_setting"}  # fmt: skip
VIEW = View("areas", "Areas", 8, frozenset(TABLES), ("areas", "area", "limits"), Areas)
