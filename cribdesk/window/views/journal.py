"""The journal: every operation, newest first; each paper can be seen and printed again."""

from __future__ import annotations

from cribdesk.crib.entry import Entry
from cribdesk.crib.words import count, number
from cribdesk.desk.cards import TimelineRow
from cribdesk.desk.cards_lists import JournalPage
from cribdesk.window.components.action import ActionButton
from cribdesk.window.components.base import Rule, Words
from cribdesk.window.components.cells import Column, Mark, Row
from cribdesk.window.components.plate import Plate
from cribdesk.window.doors import Doors, paper_words
from cribdesk.window.entry_form import form_button
from cribdesk.window.events import row_of
from cribdesk.window.layout import Boxes, Panel, Size
from cribdesk.window.layout import Row as Line
from cribdesk.window.lists import ListPanel, fixed
from cribdesk.window.view import Page, View

COLUMNS = (
    Column("When", 140), Column("", 40), Column("What", 0, least=380), Column("Who", 180, need=5),
    Column("Paper", 230, need=3), Column("Entry", 90, right=True, need=6),
)  # fmt: skip


PLATES, MOST = 5, 40
"""Plates in a line under an opened row, and how many in all."""


class Journal(Page):
    """Pages as one scrolls; a row opens to its whole sentence, who, where, when, its subjects and its papers."""

    def __init__(self, doors: Doors) -> None:
        super().__init__(doors)
        none = "Nothing was done yet. The first issue, return or change appears here."
        self.list = ListPanel(doors, "journal", COLUMNS, "Journal", search="Whose", none=none)
        assert self.list.search is not None
        self.search = self.list.search
        self.search.setToolTip("A label, a name or a serial: only its entries are shown.")
        self.search.textEdited.connect(self._from_the_newest)
        self.list.table.opened.connect(self._open)
        self.list.table.rows_model.more_wanted.connect(self._more)
        self._rows: tuple[TimelineRow, ...] = ()
        self._entries: dict[str, Entry] = {}
        self._before: int | None = None
        self._asked, self._start, self._opened, self._count = "", "", "", 0
        newest = fixed(ActionButton("Newest", "plain", size="bar"))
        newest.clicked.connect(self._newest)
        self.list.tools.addWidget(newest)
        register = form_button(doors, "register", "Register")
        register.setAccessibleName("Register of use: who wore what, where, when")
        self.list.tools.addWidget(register)
        Boxes(self).addWidget(self.list)

    def open(self, kind: str, argument: str) -> None:
        self._start = str(int(argument) + 1) if argument.isdigit() else ""
        if argument:
            self.search.clear()

    def want(self) -> None:
        self._asked = self._start
        self._ask(self._start)

    def _ask(self, before: str) -> None:
        text = self.search.text().strip()
        self.doors.wanted.emit("journal", f"{before}\n{text}" if text else before)

    def _from_the_newest(self) -> None:
        self._start = self._asked = ""

    def _newest(self) -> None:
        self._start = ""
        self.want()

    def _more(self, _: int) -> None:
        if self._before is not None:
            self._asked = str(self._before)
            self._ask(self._asked)

    def take(self, kind: str, data: object) -> None:
        if kind != "journal" or not isinstance(data, JournalPage):
            return
        following = (
            bool(self._rows)
            and self._asked == str(self._before)
            and bool(data.rows)
            and data.rows[0].seq < self._rows[-1].seq
        )
        entries = {str(entry.seq): entry for entry in data.entries}
        self._before = data.before
        self._count = self._count if data.about else data.count
        rows = tuple(self._row(row) for row in data.rows)
        if following:
            self._rows, self._entries = (*self._rows, *data.rows), {**self._entries, **entries}
            self.list.table.rows_model.append_rows(rows, more=data.before is not None)
        else:
            self._rows, self._entries, self._opened = data.rows, entries, ""
            self.list.table.close_under()
            self.list.show_rows(rows, "")
            self.list.table.set_rows(rows, more=data.before is not None)
            if self._start and rows:
                self._open(rows[0].id)
        whose = f" of {data.about}" if data.about else ""
        self.list.count.setText(f"{number(len(self._rows))} of {number(data.count)} entries{whose}")

    def _row(self, row: TimelineRow) -> Row:
        paper = paper_words(*row.papers[0]) if row.papers else ""
        cells = (self.doors.when(row.at), Mark(row.sign or "dot"), row.what, row.who, paper, number(row.seq))
        return Row(str(row.seq), cells, bold=row.bold, told=f"{row.what}. {row.who}. {self.doors.exactly(row.at)}")

    def _open(self, id_: str) -> None:
        if id_ == self._opened:
            self._opened = ""
            self.list.table.close_under()
            return
        row = row_of(self._rows, id_)
        if row is not None:
            self._opened = id_
            self.list.table.open_under(id_, self._account(row))

    def _account(self, row: TimelineRow) -> Panel:
        panel = Panel("sheet", (24, 4, 24, 16), 8)
        panel.column.addWidget(Words(f"{row.what}.", bold=True, wrap=True))
        entry = self._entries.get(str(row.seq))
        who = f"{row.who}, {entry.counter}" if entry else row.who
        said = (who, self.doors.exactly(row.at), f"entry {number(row.seq)}", row.figures)
        told = ", ".join(part for part in said if part)
        panel.column.addWidget(Words(told, ink="ink2", wrap=True))
        if entry is not None and entry.late:
            panel.column.addWidget(Words("The workstation's clock stood earlier than at the entry before.", wrap=True))
        self._plates(panel, entry.subjects if entry else ())
        for paper, of in row.papers:
            panel.column.addWidget(Rule())
            panel.column.addLayout(self._paper(paper, of))
        return panel

    def _plates(self, panel: Panel, labels: tuple[str, ...]) -> None:
        shown = labels[:MOST]
        for at in range(0, len(shown), PLATES):
            line = Line(gap=8)
            for label in shown[at : at + PLATES]:
                plate = Plate(label)
                plate.opened.connect(self.doors.open_label)
                line.addWidget(plate)
            line.addStretch(1)
            panel.column.addLayout(line)
        if len(labels) > MOST:
            panel.column.addWidget(Words(f"and {count(len(labels) - MOST, 'other')}", ink="ink2"))

    def _paper(self, paper: str, of: str) -> Line:
        line = Line(gap=8)
        line.addWidget(Words(paper_words(paper, of), wrap=True), 1)
        see = fixed(ActionButton("See", "quiet", size="row"))
        see.setAccessibleName(f"See {paper_words(paper, of)}")
        see.clicked.connect(lambda: self.doors.preview_paper.emit(paper, of))
        again = fixed(ActionButton("Print again", "quiet", size="row"))
        again.setAccessibleName(f"Print {paper_words(paper, of)} again")
        again.clicked.connect(lambda: self.doors.print_again.emit(paper, of))
        line.addWidget(see)
        line.addWidget(again)
        return line

    def fit(self, size: Size) -> None:
        self.list.fit(size)

    def answer(self) -> str:
        return f"{number(self._count)} entries, nothing is ever taken out" if self._count else "Journal"


VIEW = View(
    "journal",
    "Journal",
    9,
    frozenset({"entry", "print", "unit", "custody", "hold", "inspection"}),
    ("journal",),
    Journal,
)
