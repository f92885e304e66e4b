"""What stands in the middle of the counter besides a unit: returns in a row, a tray, the wait for the wearer, areas."""

from __future__ import annotations

from datetime import timedelta

from cribdesk.crib.entry import stamp
from cribdesk.crib.words import capital
from cribdesk.desk.cards import AreaCard
from cribdesk.desk.slate import Slate
from cribdesk.procedure.run import rail
from cribdesk.window.choices import Choices
from cribdesk.window.components.base import Rule, SignMark, Words
from cribdesk.window.components.plate import Plate
from cribdesk.window.counter.what import sign_of
from cribdesk.window.doors import Doors
from cribdesk.window.layout import Panel, Row, Scroll, empty


class Middle(Panel):
    """A scrolled column of words."""

    def __init__(self, doors: Doors) -> None:
        super().__init__()
        self._doors = doors
        inside = Panel("page", (24, 16, 24, 16), 10)
        self._rows = inside.column
        self.column.addWidget(Scroll(inside), 1)

    def show_returns(self, slate: Slate) -> None:
        """Returns one after the other: what came back so far, newest first."""
        empty(self._rows)
        self._rows.addWidget(Words("Scan each unit that comes back", 36, True, wrap=True))
        self._rows.addWidget(Words("One scan takes it to 'returned, not checked'. Nothing else is asked now.", wrap=True))
        self._rows.addWidget(Rule())
        if not slate.done:
            self._rows.addWidget(Words("Nothing came back yet.", ink="ink2", wrap=True))
        for sentence in reversed(slate.done):
            self._rows.addWidget(Words(sentence, wrap=True))
        self._rows.addStretch(1)

    def show_tray(self, slate: Slate) -> None:
        """The units on the tray."""
        empty(self._rows)
        self._rows.addWidget(Words("On the tray", 36, True, wrap=True))
        self._rows.addWidget(Words("Scan more units that are cleaned together, or start.", ink="ink2", wrap=True))
        self._rows.addWidget(Rule())
        for card in slate.tray:
            line = Row(gap=16)
            line.addWidget(SignMark(sign_of(card), 24))
            plate = Plate(card.label)
            plate.opened.connect(self._doors.open_label)
            line.addWidget(plate)
            line.addWidget(Words(capital(card.condition.state.value), bold=True, wrap=True), 1)
            line.addWidget(Words(capital(card.model.short_name), ink="ink2", wrap=True), 1)
            self._rows.addLayout(line)
            self._rows.addWidget(Rule())
        self._rows.addStretch(1)

    def show_passed(self, slate: Slate) -> None:
        """The check passed; the wearer acknowledges."""
        empty(self._rows)
        check, who = slate.passed, slate.person
        assert check is not None
        self._rows.addWidget(Words("The check passed", 36, True, wrap=True))
        name = who.person.name if who else "the wearer"
        self._rows.addWidget(Words(f"Now {name} says yes: scan the badge once more.", 24, wrap=True))
        self._rows.addWidget(Words("Only then is anything issued. Somebody else's badge changes nothing.", ink="ink2", wrap=True))
        self._rows.addWidget(Rule())
        for row in rail(check.run):
            line = Row(gap=12)
            line.addWidget(SignMark("fine", 20))
            line.addWidget(Words(row.text, wrap=True), 1)
            line.addWidget(Words(row.value))
            self._rows.addLayout(line)
        self._rows.addStretch(1)


class AreaPicker(Panel):
    """Another area, another time: opened with F6, closed when one was taken."""

    def __init__(self, doors: Doors) -> None:
        super().__init__()
        self._doors = doors
        inside = Panel("page", (24, 16, 24, 16), 14)
        self._rows = inside.column
        self.column.addWidget(Scroll(inside), 1)
        self.areas = Choices("Area or task", stacked=True)
        self.areas.chosen.connect(self._take_area)
        self.due = Choices("Due back", stacked=True)
        self.due.chosen.connect(self._take_due)
        self._rows.addWidget(Words("Where to, and until when?", 24, True, wrap=True))
        self._none = Words("No area is in the store yet. Load areas first; F6 closes this.", ink="ink2", wrap=True)
        self._rows.addWidget(self._none)
        self._rows.addWidget(self.due)
        self._rows.addWidget(self.areas)
        self._rows.addWidget(Words("F6 closes this. A printed area label can be scanned as well.", 14, ink="ink2", wrap=True))
        self._rows.addStretch(1)

    def show_areas(self, areas: tuple[AreaCard, ...]) -> None:
        """Offer these areas."""
        self.areas.set_choices(tuple((card.label, card.area.name, card.label) for card in areas))
        self.areas.setVisible(bool(areas))
        self._none.setVisible(not areas)

    def show_slate(self, slate: Slate) -> None:
        """Mark what is taken, and offer the ends of this shift and the next ones."""
        self.areas.set_value(slate.area.label if slate.area else "")
        house, now = self._doors.house, self._doors.moment
        turn = house.turn(now)
        later = house.turn(turn.end + timedelta(minutes=1))
        ends = {"": ("end of this shift", turn.end), "later": ("end of the next shift", later.end)}
        ends |= {f"{days}": (f"in {days} days" if days < 7 else f"in {days // 7} week{'s' * (days > 7)}", turn.end + timedelta(days=days))
                 for days in (1, 7, 14) if days > 1}  # fmt: skip
        choices = tuple((stamp(moment), capital(words), self._doors.when(moment)) for words, moment in ends.values())
        self.due.set_choices(choices)
        due = slate.due_at or (slate.facts.due_at if slate.facts else None)
        self.due.set_value(stamp(due) if due else "")

    def _take_area(self, label: str) -> None:
        self._doors.chosen.emit("area", label)

    def _take_due(self, moment: str) -> None:
        self._doors.chosen.emit("due", moment)
