"""Limits of the site's own, and each unit model's protection factor with the test evidence it rests on."""

from __future__ import annotations

from cribdesk.crib.words import count
from cribdesk.desk.cards_area import EvidenceRow, LimitRow, LimitsPage
from cribdesk.desk.entry_assessments import HYGIENIST
from cribdesk.window.components.base import Rule, Words
from cribdesk.window.components.cells import Column, Row
from cribdesk.window.doors import Doors
from cribdesk.window.entry_form import form_button
from cribdesk.window.layout import Boxes, Panel, Scroll, empty
from cribdesk.window.lists import button_line
from cribdesk.window.rows import EmptyState, Head
from cribdesk.window.whole_table import WholeTable

LIMITS = (
    Column("Substance", 0), Column("Kind", 200, need=3), Column("Limit", 200), Column("From", 260, need=2),
    Column("Holds from", 130, need=5), Column("Areas", 80, right=True, need=4),
)  # fmt: skip
NONE_HEAD = "No limit of the site's own"
NONE = (
    "Lists that may not be copied are not here. Add a limit from your own copy, with its source; "
    "findings can then be held against it."
)


class LimitsSheet(Panel):
    """A picture of a `LimitsPage`."""

    def __init__(self, doors: Doors) -> None:
        super().__init__()
        self._doors = doors
        self.page: LimitsPage | None = None
        self._inside = Panel("page", (24, 16, 24, 24), 8)
        self.column.addWidget(Scroll(self._inside), 1)

    def answer(self) -> str:
        """The page's sentence for the strip."""
        if self.page is None:
            return "Limits and test evidence"
        held = sum(bool(one.evidence) for one in self.page.models)
        own = count(len(self.page.limits), "limit of the site's own", "limits of the site's own")
        return f"{own}; test evidence held for {count(held, 'model')}"

    def show_page(self, page: LimitsPage) -> None:
        """Show it."""
        self.page = page
        column = self._inside.column
        empty(column)
        column.addWidget(Head("Protection factors", page.rules))
        for one in page.models:
            column.addLayout(_model(one))
        record = form_button(self._doors, "factor-evidence", "Record test evidence", size="row")
        ended = form_button(self._doors, "withdraw-evidence", "Withdraw evidence", size="row")
        held = any(one.evidence for one in page.models)
        column.addLayout(button_line((record, ended) if held else (record,)))
        for words in page.withdrawn:
            column.addWidget(Words(words, 14, ink="ink2", wrap=True))
        column.addSpacing(8)
        column.addWidget(Rule())
        column.addWidget(Head("Limits of the site's own"))
        if page.limits:
            table = WholeTable(LIMITS, "Limits of the site's own")
            table.show_rows(tuple(_row(n, one) for n, one in enumerate(page.limits)))
            column.addWidget(table)
        else:
            column.addWidget(EmptyState(NONE_HEAD, NONE))
        column.addLayout(button_line((form_button(self._doors, "site-limit", "Add a limit", size="row"),)))
        column.addWidget(Words(page.checked, 14, ink="ink2", wrap=True))
        column.addWidget(Words(HYGIENIST, 14, ink="ink2", wrap=True))
        column.addStretch(1)


def _model(one: EvidenceRow) -> Boxes:
    column = Boxes(gap=2)
    column.addWidget(Words(f"{one.model}, {one.name}: factor {one.factor}", bold=True, wrap=True))
    words = f"By the maker's test evidence: {one.evidence}." if one.evidence else f"{one.why}."
    column.addWidget(Words(words, ink="ink2", wrap=True))
    return column


def _row(number: int, one: LimitRow) -> Row:
    cells = (one.substance, one.kind, one.figure, one.source, one.since, str(one.held))
    told = f"{one.substance}: {one.kind}, {one.figure}, {one.source}, from {one.since}"
    return Row(str(number), cells, told=told)
