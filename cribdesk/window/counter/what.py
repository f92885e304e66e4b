"""What: the unit on the counter, how it stands, what is left of its parts, its battery."""

from __future__ import annotations

from PySide6.QtCore import QRectF, QSize
from PySide6.QtGui import QPainter
from PySide6.QtWidgets import QSizePolicy

from cribdesk.crib.run_time import RunTime
from cribdesk.crib.serviceable import Serviceable
from cribdesk.crib.words import capital, number
from cribdesk.desk.cards import BatteryCard, UnitCard
from cribdesk.desk.slate import Slate
from cribdesk.window import drawing
from cribdesk.window.components.base import Drawn, Rule, SignMark, Words
from cribdesk.window.components.life import PartsPath, draw_pin
from cribdesk.window.components.plate import Plate
from cribdesk.window.counter.who import HEAD
from cribdesk.window.doors import Doors
from cribdesk.window.layout import Boxes, Panel, Row, Scroll, Size, empty
from cribdesk.window.lives import account_of, few, lives_of, next_words
from cribdesk.window.look import Look, current
from cribdesk.window.run_time import short_words

STATE_SIGNS = {
    Serviceable.READY: "ready",
    Serviceable.NOT_CHECKED: "not checked",
    Serviceable.NEEDS_CLEANING: "needs cleaning",
    Serviceable.ON_HOLD: "on hold",
}


def sign_of(card: UnitCard) -> str:
    """The sign of its state."""
    return "scrapped" if card.unit.where.value == "scrapped" else STATE_SIGNS[card.condition.state]


def state_words(card: UnitCard) -> str:
    """'Ready', 'On hold'."""
    return "Scrapped" if card.unit.where.value == "scrapped" else capital(card.condition.state.value)


MANY = 9
"""From more parts than that on their rows are lower, so that the last ones are seen too."""


class PinKey(Drawn):
    """What the pin on the bars means: 'needed today, 8 h'."""

    def __init__(self, words: str) -> None:
        super().__init__()
        self._words = words
        self.setAccessibleName(words)
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)

    def measure(self, look: Look) -> QSize:
        return QSize(round(drawing.width(self._words, look.font(14))) + look.px(24), look.px(24))

    def draw(self, painter: QPainter, look: Look) -> None:
        body = QRectF(0, look.px(12), look.px(12), look.px(1))
        draw_pin(painter, look.px(6), body)
        room = QRectF(look.px(18), 0, self.width() - look.px(18), self.height())
        drawing.text(painter, room, self._words, look.font(14), look.colours.ink2)


def told_of(slate: Slate | None, card: BatteryCard) -> RunTime | None:
    """The run time of the pack in the unit on the counter, where it is that one; else of the pack by itself."""
    unit = slate.unit if slate is not None else None
    if unit is not None and unit.run_time is not None and unit.run_time.battery_label in ("", card.label):
        return unit.run_time
    return card.run_time


class What(Panel):
    """The unit, in the middle; it scrolls where it must."""

    def __init__(self, doors: Doors) -> None:
        super().__init__()
        self._doors = doors
        self._size = Size.WIDE
        self._slate: Slate | None = None
        inside = Panel("page", (24, 12, 24, 4))
        self._rows = inside.column
        self.column.addWidget(Scroll(inside), 1)
        self._foot = Boxes(margins=(24, 0, 24, 8))  # the battery: never out of sight
        self.column.addLayout(self._foot)
        self.parts = PartsPath()
        self.account = Words("", 18, ink="ink2", wrap=True)

    def fit(self, size: Size) -> None:
        """Five parts at most where the window is small."""
        if size is not self._size:
            self._size = size
            if self._slate is not None:
                self.show_slate(self._slate)

    def show_slate(self, slate: Slate) -> None:
        """Show the unit of this slate, or what to scan."""
        self._slate = slate
        for kept in (self.parts, self.account):
            kept.hide()
            kept.setParent(None)
        empty(self._rows)
        empty(self._foot)
        if slate.unit is None:
            self._nothing(slate)
        else:
            self._unit(slate.unit, slate)
        self._rows.addStretch(1)

    def _nothing(self, slate: Slate) -> None:
        line = Row()
        line.addStrut(current().px(HEAD))
        line.addWidget(Words("What", 14, True, "ink2"))
        self._rows.addLayout(line)
        self._rows.addWidget(Words("No unit yet", 24, True))
        self._rows.addWidget(Words("Scan the unit; or an item to hand it out.", ink="ink2", wrap=True))
        if slate.battery is not None:
            self._battery(slate.battery)

    def _unit(self, card: UnitCard, slate: Slate) -> None:
        self._title(card)
        self._state(card, slate)
        head, why = next_words(card, self._doors, slate.facts)
        self._rows.addWidget(Words(head, bold=True, wrap=True))
        if self._size is not Size.SMALL:
            self._rows.addWidget(Words(why, ink="ink2", wrap=True))
            if card.air_words:
                self._rows.addWidget(Words(f"{card.air_words}.", ink="ink2", wrap=True))
            self._rows.addSpacing(10)
            self._rows.addWidget(Rule())
            self._rows.addSpacing(8)
        self._lives(card, slate)
        battery = slate.battery.battery if slate.battery else card.battery
        if slate.battery is not None:
            self._battery(slate.battery)
        elif battery is not None:
            self._battery(BatteryCard(battery, "last known", False))

    def _title(self, card: UnitCard) -> None:
        if self._size is not Size.SMALL:
            line = Row()
            line.addStrut(current().px(HEAD))
            line.addWidget(Words("What", 14, True, "ink2"))
            line.addStretch(1)
            plate = Plate(card.label)
            plate.opened.connect(self._doors.open_label)
            line.addWidget(plate)
            self._rows.addLayout(line)
        line = Row(gap=16)
        line.addWidget(Words(card.label, 36, True))
        name = card.model.name if self._size is Size.WIDE else card.model.short_name
        if self._size is Size.SMALL:
            line.addWidget(SignMark(sign_of(card), 24))
            line.addWidget(Words(state_words(card), 24, True, wrap=True), 1)
        else:
            line.addWidget(Words(capital(name), ink="ink2", wrap=True), 1)
        self._rows.addLayout(line)

    def _state(self, card: UnitCard, slate: Slate) -> None:
        words = ", ".join(part for part in (card.where_words, card.inspected_words) if part)
        if self._size is Size.SMALL:
            self._rows.addWidget(Words(capital(words), ink="ink2", wrap=True))
            return
        line = Row(gap=8)
        line.addWidget(SignMark(sign_of(card), 24))
        state = Words(state_words(card), 24, True)
        line.addWidget(state)
        room = current().px(400 if slate.person or not card.is_out else 660)
        if state.sizeHint().width() + drawing.width(words, current().font(18)) <= room:
            line.addSpacing(6)
            line.addWidget(Words(words, ink="ink2", wrap=True), 1)
            self._rows.addLayout(line)
        else:
            line.addStretch(1)
            self._rows.addLayout(line)
            self._rows.addWidget(Words(capital(words), ink="ink2", wrap=True))
            self._rows.addSpacing(4)
        for why in card.condition.why if slate.person else ():
            self._rows.addWidget(Words(capital(why), wrap=True))

    def _lives(self, card: UnitCard, slate: Slate) -> None:
        needed = slate.facts.planned_hours if slate.facts else None
        lives, rest = lives_of(card, needed), ""
        if self._size is Size.SMALL:
            lives, rest = few(lives, card)
        else:
            line = Row()
            line.addWidget(Words("Life left, from inlet to face", 14, ink="ink2", wrap=True), 1)
            if needed is not None:
                until = "until its inspection" if slate.assigned else "today"
                line.addWidget(PinKey(f"needed {until}, {needed:.0f} h"))
            self._rows.addLayout(line)
        self.parts = PartsPath(36 if len(lives) > MANY else 44)
        self.parts.set_parts(lives)
        self.parts.opened.connect(self._open_part)
        self._rows.addWidget(self.parts)
        self.account = Words("", 18, ink="ink2", wrap=True)
        self.account.hide()
        self._rows.addWidget(self.account)
        if rest:
            self._rows.addWidget(Words(rest, ink="ink2", wrap=True))

    def _open_part(self, position: str) -> None:
        if self._slate is None or self._slate.unit is None:
            return
        words = account_of(self._slate.unit, position, self._doors)
        again = self.account.isVisible() and self.account.text() == words
        self.account.setText(words)
        self.account.setVisible(not again)

    def _battery(self, card: BatteryCard) -> None:
        line = Row(gap=12)
        line.addWidget(Words("Battery", ink="ink2"))
        line.addWidget(SignMark("battery", 24))
        runs = ", ".join(card.runs[:1])
        charged = card.battery.charged_at
        said = f"charged {self._doors.when(charged)}" if charged else card.where_words
        words = Words(capital(said), wrap=True)
        if charged:
            words.setToolTip(f"{self._doors.exactly(charged)}; {number(card.battery.cycles)} cycles")
        told = Boxes()
        told.addWidget(words)
        if runs and self._size is not Size.SMALL:
            told.addWidget(Words(f"last run {runs}", 14, ink="ink2", wrap=True))
        short = short_words(told_of(self._slate, card))
        if short:
            told.addWidget(Words(short, 14, True, wrap=True))
        line.addLayout(told, 1)
        plate = Plate(card.label)
        plate.opened.connect(self._doors.open_label)
        line.addWidget(plate)
        if self._size is Size.SMALL:
            self._rows.addLayout(line)
            return
        self._foot.addWidget(Rule())
        self._foot.addSpacing(8)
        self._foot.addLayout(line)
