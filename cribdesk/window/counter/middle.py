"""What stands in the middle of the counter besides a unit: returns in a row, a tray, the wait for the wearer."""

from __future__ import annotations

from cribdesk.crib.words import capital
from cribdesk.desk.slate import Slate
from cribdesk.procedure.run import rail
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
        self._rows.addWidget(
            Words("One scan takes it to 'returned, not checked'. Nothing else is asked now.", wrap=True)
        )
        self._rows.addWidget(Rule())
        if not slate.done:
            self._rows.addWidget(Words("Nothing came back yet.", ink="ink2", wrap=True))
        for sentence in reversed(slate.done):
            self._rows.addWidget(Words(sentence, wrap=True))
        self._rows.addStretch(1)

    def show_sign_on(self, slate: Slate) -> None:
        """Somebody else takes the counter."""
        empty(self._rows)
        self._rows.addWidget(Words("Who takes the counter?", 36, True, wrap=True))
        now = f"Now it is {slate.clerk.name}." if slate.clerk else "Now it is nobody."
        self._rows.addWidget(Words(f"{now} The next staff badge signs on; nothing else is taken.", wrap=True))
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
        head = Row(gap=16)
        head.addWidget(Words("The check passed", 36, True, wrap=True), 1)
        if slate.unit is not None:
            plate = Plate(slate.unit.label)
            plate.opened.connect(self._doors.open_label)
            head.addWidget(plate)
        self._rows.addLayout(head)
        name = who.person.name if who else "the wearer"
        self._rows.addWidget(Words(f"Now {name} says yes: scan the badge once more.", 24, wrap=True))
        self._rows.addWidget(
            Words("Only then is anything issued. Somebody else's badge changes nothing.", ink="ink2", wrap=True)
        )
        self._rows.addWidget(Rule())
        for row in rail(check.run):
            line = Row(gap=12)
            line.addWidget(SignMark("fine", 20))
            line.addWidget(Words(row.text, wrap=True), 1)
            line.addWidget(Words(row.value))
            self._rows.addLayout(line)
        self._rows.addStretch(1)
