"""What stands in the middle of the counter besides a unit: returns in a row, a tray, the wait for the wearer."""

from __future__ import annotations

from cribdesk.crib.words import capital, count
from cribdesk.desk.readiness import Readiness
from cribdesk.desk.slate import Slate
from cribdesk.procedure.run import rail
from cribdesk.window.components.base import Rule, SignMark, Words
from cribdesk.window.components.plate import Plate
from cribdesk.window.counter.what import sign_of
from cribdesk.window.doors import Doors
from cribdesk.window.layout import Boxes, Panel, Row, Scroll, empty


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

    def show_pre_staging(self, slate: Slate, found: Readiness | None) -> None:
        """Units inspected for the next shift: what it needs, what is ready, what was done so far, newest first."""
        empty(self._rows)
        self._rows.addWidget(Words("Scan each unit to be inspected", 36, True, wrap=True))
        self._rows.addWidget(Words("Its bench inspection begins at once; after its pass its seal prints.", wrap=True))
        self._rows.addWidget(Rule())
        if found is not None:
            self._crew(found)
            self._rows.addWidget(Rule())
        done = len(slate.done)
        self._rows.addWidget(Words(f"{count(done, 'unit')} done now" if done else "None done yet.", bold=True))
        for sentence in reversed(slate.done):
            self._rows.addWidget(Words(sentence, wrap=True))
        self._rows.addStretch(1)

    def _crew(self, found: Readiness) -> None:
        """The crew that comes, as three figures in a row, and how the first was reached."""
        starts = self._doors.when(found.turn.start)
        self._rows.addWidget(Words(f"For {found.turn.name}, {starts}", 24, True, wrap=True))
        have = len(found.sealed) + len(found.issued)
        figures = Row(gap=40)
        told = ((found.needed.units, "needed"), (have, "ready and sealed"), (found.short, "short"))
        for number, words in told if found.needed.known else told[1:2]:
            one = Boxes()
            one.addWidget(Words(str(number), 36, True))
            one.addWidget(Words(words))
            figures.addLayout(one)
        figures.addStretch(1)
        self._rows.addLayout(figures)
        out = f"{count(len(found.issued), 'unit')} of them out for it already. " if found.issued else ""
        packs = ""
        if found.packs_short:
            packs = f" {capital(count(found.packs_short, 'charged pack'))} short, {found.charging} on a charger."
        self._rows.addWidget(Words(f"{out}{capital(found.needed.how)}.{packs}", ink="ink2", wrap=True))

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
        asks = f"Now {name} says yes: scan the badge once more."
        told = "Only then is anything issued. Somebody else's badge changes nothing."
        if slate.carrier:
            asks = f"Scan the badge of who carries it to {name}."
            told = "Only then is it assigned. Both stand on the slip."
        self._rows.addWidget(Words(asks, 24, wrap=True))
        self._rows.addWidget(Words(told, ink="ink2", wrap=True))
        self._rows.addWidget(Rule())
        for row in rail(check.run):
            line = Row(gap=12)
            line.addWidget(SignMark("fine", 20))
            line.addWidget(Words(row.text, wrap=True), 1)
            line.addWidget(Words(row.value))
            self._rows.addLayout(line)
        self._rows.addStretch(1)
