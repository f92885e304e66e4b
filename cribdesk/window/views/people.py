"""People: the list, and the card of one person."""

from __future__ import annotations

from datetime import date

from cribdesk.crib.clearance import REMIND_DAYS, ClearanceState, in_days
from cribdesk.crib.records import ClearanceKind
from cribdesk.crib.words import count, date_words, in_sentence
from cribdesk.desk.cards import PersonCard
from cribdesk.desk.cards_lists import PersonRow
from cribdesk.window.components.action import ActionButton
from cribdesk.window.components.base import Rule, SignMark, Words
from cribdesk.window.components.cells import Column, Mark, PlateCell, Row
from cribdesk.window.components.plate import Plate
from cribdesk.window.counter.who import about, clearance_fact
from cribdesk.window.doors import Doors
from cribdesk.window.entry_form import change_buttons, form_button
from cribdesk.window.history import History
from cribdesk.window.layout import Boxes, Fixed, Panel, Scroll, Size, Stack, empty
from cribdesk.window.layout import Row as Line
from cribdesk.window.lists import ListPanel, button_line, fixed
from cribdesk.window.rows import Fact, Upright
from cribdesk.window.view import Page, View

COLUMNS = (
    Column("", 40),
    Column("Name", 0),
    Column("Badge", 150),
    Column("Trade", 150, need=6),
    Column("Crew", 90, need=7),
    Column("Employer", 150, need=8),
    Column("Holds", 120, need=3),
    Column("Overdue, lapsed", 300, need=1),
)


class PersonPage(Panel):
    """Who, what they hold, what is overdue, clearances with dates, history."""

    def __init__(self, doors: Doors) -> None:
        super().__init__()
        self._doors = doors
        self._card: PersonCard | None = None
        self._line = Line(margins=(24, 14, 24, 14), gap=16)
        self.column.addLayout(self._line)
        self.column.addWidget(Rule("edge"))
        self._facts_panel, self._history_panel = Panel("page", (24, 12, 24, 12)), Panel("sheet", (24, 14, 24, 16))
        self._facts, self.history = Boxes(), History(doors)
        self._facts_panel.column.addLayout(self._facts)
        self._facts_panel.column.addStretch(1)
        self._history_panel.column.addWidget(self.history)
        self._history_panel.column.addStretch(1)
        body = Line()
        self._side = Fixed(440)
        self._side.column.addWidget(Scroll(self._facts_panel))
        body.addWidget(self._side)
        body.addWidget(Upright())
        scroll = Scroll(self._history_panel, "sheet")
        self.history.follow(scroll)
        body.addWidget(scroll, 1)
        self.column.addLayout(body, 1)

    def may_come(self) -> bool:
        """Whether this person can be laid on the counter from here: without a badge, by name."""
        return self._card is not None and self._card.person.active

    def expect(self, label: str) -> None:
        """Another person was asked for."""
        self._card = None
        empty(self._line)
        empty(self._facts)
        self._line.addWidget(Words(label, 36, True))
        self._line.addWidget(Words("Looking it up.", ink="ink2"), 1)

    def show_card(self, card: PersonCard) -> None:
        """Show this person."""
        self._card = card
        empty(self._line)
        self._line.addWidget(Words(card.person.name, 36 if len(card.person.name) < 30 else 24, True, wrap=True), 1)
        plate = Plate(card.label)
        self._line.addWidget(plate)
        if card.person.active:
            bring = fixed(ActionButton("To the counter", "go", "F5", size="bar"))
            bring.clicked.connect(lambda: self._doors.chosen.emit("issue", card.label))
            self._line.addWidget(bring)
        empty(self._facts)
        if words := about(card):
            self._facts.addWidget(Words(words, ink="ink2", wrap=True))
        if card.person.roles:
            self._facts.addWidget(Fact("At the crib", card.person.roles.replace(",", ", "), bold=False))
        self._badge(card)
        self._rule()
        self._held(card)
        self._rule()
        for state in card.clearances:
            self._facts.addWidget(self._clearance(state))
        for model, size, made, until in card.fit_tests:
            what = f"Fit, {model}{f' size {size}' if size else ''}"
            words, mark = self._fit(until)
            self._facts.addWidget(Fact(what, words, mark, exact=f"made {date_words(made)}"))
        for words in card.work_limits:
            self._facts.addWidget(Fact("Work limit", words, "caution"))
        self._rule()
        clearance, limit, change, label = change_buttons(self._doors, "person", card.label)
        self._facts.addSpacing(6)
        self._facts.addLayout(button_line((clearance, limit)))
        self._facts.addSpacing(8)
        self._facts.addLayout(button_line((change, label)))
        if not card.person.active or card.badge_ended:
            self._facts.addSpacing(8)
            erase = form_button(self._doors, "erase-person", "Erase what is kept", card.label)
            self._facts.addLayout(button_line((erase,)))
        self.history.show_rows(card.timeline, card.before, card.label)

    def _fit(self, until: date | None) -> tuple[str, str]:
        """How a fit test stands today: its last day, the days left where they are few, or that it ended."""
        if until is None:
            return "stands", ""
        left = (until - self._doors.house.today(self._doors.moment)).days
        if left < 0:
            return f"ended {date_words(until)}", "caution"
        return (f"ends {in_days(left)}", "caution") if left <= REMIND_DAYS else (f"until {date_words(until)}", "")

    def _badge(self, card: PersonCard) -> None:
        if not card.person.active:
            self._facts.addWidget(Fact("Badge", "no longer active", "stop"))
        elif card.person.ends_on:
            self._facts.addWidget(
                Fact("Badge until", date_words(card.person.ends_on), "stop" if card.badge_ended else "")
            )

    def _held(self, card: PersonCard) -> None:
        if not card.holds_now:
            self._facts.addWidget(Fact("Holds now", "nothing"))
        for one in card.holds_now:
            line = Line(gap=12)
            plate = Plate(one.unit)
            plate.opened.connect(self._doors.open_label)
            line.addWidget(plate)
            due = f"back {self._doors.when(one.due_at)}" if one.due_at else "assigned"
            words = Words(
                ", ".join(part for part in (f"overdue, {due}" if one.overdue else due, one.area) if part), wrap=True
            )
            if one.due_at:
                words.setToolTip(self._doors.exactly(one.due_at))
            if one.overdue:
                line.addWidget(SignMark("overdue", 24))
            line.addWidget(words, 1)
            self._facts.addLayout(line)
            if why := dict(card.to_call_in).get(one.unit):
                call = Line(gap=12)
                call.addWidget(SignMark("stop", 24))
                call.addWidget(Words(f"To be called in: {in_sentence(why)}", bold=True, wrap=True), 1)
                self._facts.addLayout(call)

    def _clearance(self, state: ClearanceState) -> Fact:
        needed = state.kind is not ClearanceKind.FIT_TEST
        return clearance_fact(state, needed, self._doors)

    def _rule(self) -> None:
        self._facts.addSpacing(6)
        self._facts.addWidget(Rule())
        self._facts.addSpacing(6)

    def fit(self, size: Size) -> None:
        """Narrower facts where room is short."""
        self._side.set_wide(440 if size is Size.WIDE else 380)


class People(Page):
    """The list first; a row, a plate or a badge opens a card."""

    def __init__(self, doors: Doors) -> None:
        super().__init__(doors)
        self.list = ListPanel(
            doors, "people", COLUMNS, "People", search="Search",
            none="Nobody yet. Enter a person, or load all with cribdesk load.",
        )
        self.list.table.opened.connect(self._open)
        many = fixed(ActionButton("Class or test day", "plain", size="bar"))
        many.clicked.connect(lambda: self.doors.chosen.emit("class-day", ""))
        self.list.tools.addWidget(many)
        self.person = PersonPage(doors)
        self._label, self._answer = "", ""
        self._stack = Stack()
        self._stack.addWidget(self.list)
        self._stack.addWidget(self.person)
        Boxes(self).addWidget(self._stack)

    def _open(self, label: str) -> None:
        self.doors.open_place.emit("person", label)

    def open(self, kind: str, argument: str) -> None:
        self._label = argument if kind == "person" else ""
        if kind == "person":
            self.person.expect(argument)
        elif self.list.search is not None:
            self.list.search.setText(argument)
        self._stack.setCurrentWidget(self.person if kind == "person" else self.list)

    def want(self) -> None:
        if self._label:
            self.doors.wanted.emit("person", self._label)
        else:
            text = self.list.query().strip()
            self.doors.wanted.emit("people", text)

    def take(self, kind: str, data: object) -> None:
        if kind == "person" and isinstance(data, PersonCard) and data.label == self._label:
            self.person.show_card(data)
        elif kind == "people" and isinstance(data, tuple):
            people = [row for row in data if isinstance(row, PersonRow)]
            trouble = sum(bool(row.trouble) for row in people)
            if self.list.query().strip():
                self._answer = f"{count(len(people), 'person fits', 'people fit')} the search"
            elif trouble:
                who = count(trouble, "person has", "people have")
                self._answer = f"{who} something overdue or lapsed, or lapsing soon"
            else:
                self._answer = "Nothing is overdue or lapsed"
            self.list.show_rows(tuple(_row(row) for row in people), count(len(people), "person", "people"))
        elif kind == "more" and self._label:
            self.person.history.take_more(data)

    def fit(self, size: Size) -> None:
        self.list.fit(size)
        self.person.fit(size)

    def press(self, key: str) -> bool:
        if self._label and key == "F5" and self.person.may_come():
            self.doors.chosen.emit("issue", self._label)
            return True
        if self._label and key in ("F9", "Esc"):
            self.doors.open_place.emit("people", "")
            return True
        return False

    def answer(self) -> str:
        return f"Person {self._label}" if self._label else self._answer or "People"


def _row(row: PersonRow) -> Row:
    told = ". ".join(part for part in (row.name, row.trade, row.trouble, row.roles) if part)
    cells = (
        Mark("caution" if row.trouble else ""),
        row.name,
        PlateCell(row.label),
        row.trade,
        row.crew,
        row.employer,
        row.holds,
        row.trouble,
    )
    return Row(row.label, cells, bold=bool(row.trouble), told=told)


TOPICS = frozenset({"person", "clearance", "custody", "evidence", "hold", "area", "call_in"})
VIEW = View("people", "People", 7, TOPICS, ("people", "person"), People)
