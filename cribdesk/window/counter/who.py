"""Who: the person on the counter, for which area and until when; a column, or one line where room is short."""

from __future__ import annotations

from dataclasses import replace

from cribdesk.crib.clearance import ClearanceState, days_left, ends_soon, in_days, needed
from cribdesk.crib.records import ClearanceKind
from cribdesk.crib.serviceable import Serviceable
from cribdesk.crib.words import date_words, day
from cribdesk.desk.actions import Action
from cribdesk.desk.cards import AreaCard, PersonCard
from cribdesk.desk.slate import Slate
from cribdesk.window.components.action import ActionButton
from cribdesk.window.components.base import Rule, Words
from cribdesk.window.components.plate import Plate
from cribdesk.window.doors import Doors
from cribdesk.window.drawing import RIGHT, width
from cribdesk.window.layout import Boxes, Fixed, Panel, Row, Scroll, empty
from cribdesk.window.look import current
from cribdesk.window.rows import Fact

HEAD = 44  # the line of 'Who' and of 'What', with a plate or without, so that both stand level
CLEARANCE_WORDS = {
    ClearanceKind.MEDICAL: "Medical",
    ClearanceKind.TRAINING: "Training",
    ClearanceKind.FIT_TEST: "Fit test",
}


def about(card: PersonCard) -> str:
    """'Welder, day crew, Oberlandwerk'."""
    person = card.person
    crew = f"{person.crew} crew" if person.crew else ""
    return ", ".join(part for part in (person.trade, crew, person.employer) if part)


def is_required(slate: Slate) -> bool:
    """Whether a respirator is required where it goes; while no area is there it counts as required."""
    return slate.area is None or slate.area.area.required


def as_it_went(slate: Slate) -> Slate:
    """The slate with the area and the time of a unit that is out with the person beside it."""
    unit = slate.unit
    if not slate.theirs or unit is None or unit.custody is None:
        return slate
    area, custody = AreaCard(unit.area) if unit.area else None, unit.custody
    return replace(slate, area=area, due_at=custody.due_at, assigned=custody.assigned, facts=None)


def clearance_fact(state: ClearanceState, is_needed: bool, doors: Doors) -> Fact:
    """One clearance: its last good day, with a stop where it does not stand and is needed."""
    today = doors.house.today(doors.moment)
    if not is_needed and not state.stands:
        words, mark = "not needed", ""
    elif state.given_on is None:
        words, mark = "none", "stop"
    elif not state.cleared:
        words, mark = "not cleared", "stop"
    elif not state.proven:
        words, mark = "no proof", "stop"
    elif ends_soon(state, today):
        words, mark = f"ends {in_days(days_left(state, today) or 0)}", "caution"
    elif state.stands:
        words, mark = date_words(state.until) if state.until else "stands", ""
    else:
        words, mark = f"ended {day(state.until, today)}" if state.until else "ended", "stop"
    until = f"until {date_words(state.until)}, " if state.until and ends_soon(state, today) else ""
    given = f"{until}given {date_words(state.given_on)}" if state.given_on else ""
    return Fact(CLEARANCE_WORDS[state.kind], words, mark if is_needed else "", exact=given)


def widest_word(words: str, px: int) -> int:
    """The width of the widest word, bold, at a size."""
    font = current().font(px, True)
    return round(max(width(word, font) for word in words.split() or [""])) + 1


def name_px(name: str, room: int) -> int:
    """The largest of 36, 24 and 18 at which no word of the name is wider than the room (in 100 % px)."""
    return next((px for px in (36, 24) if widest_word(name, px) <= current().px(room)), 18)


class Who(Fixed):
    """The column: 304 wide."""

    def __init__(self, doors: Doors) -> None:
        super().__init__(304)
        self._doors = doors
        self._inside = Panel("page", (24, 12, 24, 8))
        self._rows = Boxes()
        self._inside.column.addLayout(self._rows)
        self._inside.column.addStretch(1)
        self.column.addWidget(Scroll(self._inside), 1)
        self._foot = Boxes(margins=(24, 8, 24, 16), gap=8)
        self.column.addLayout(self._foot)

    def show_slate(self, slate: Slate, side: tuple[Action, ...]) -> None:
        """Show the person, area and time of this slate; `side` are the buttons that stand here."""
        empty(self._rows)
        self._head("Who", slate.person.label if slate.person else "")
        if slate.person is None:
            self._rows.addWidget(Words("Nobody yet", 24, True))
            if slate.unit is None or slate.unit.condition.state is Serviceable.READY:
                self._rows.addWidget(Words("Scan the wearer's badge.", ink="ink2", wrap=True))
        else:
            self._person(slate.person, slate)
        self._purpose(slate)
        empty(self._foot)
        for action in side:
            self._foot.addWidget(button_of(action, self._doors))

    def _head(self, words: str, label: str) -> None:
        line = Row()
        line.addStrut(current().px(HEAD))
        line.addWidget(Words(words, 14, True, "ink2"))
        line.addStretch(1)
        if label:
            plate = Plate(label)
            plate.opened.connect(self._doors.open_label)
            line.addWidget(plate)
        self._rows.addLayout(line)

    def _person(self, card: PersonCard, slate: Slate) -> None:
        self._rows.addWidget(Words(card.person.name, name_px(card.person.name, 240), True, wrap=True))
        if words := about(card):
            self._rows.addWidget(Words(words, ink="ink2", wrap=True))
        if slate.by_name == card.person.id:
            self._rows.addWidget(Fact("Found by name", "no badge in hand", "caution"))
        self._rule()
        held = ", ".join(one.unit for one in card.holds_now)
        self._rows.addWidget(Fact("Holds now", held or "nothing"))
        late = [one for one in card.holds_now if one.overdue]
        since = self._doors.when(late[0].due_at) if late and late[0].due_at else ""
        exact = self._doors.exactly(late[0].due_at) if late and late[0].due_at else ""
        self._rows.addWidget(
            Fact("Overdue", since or ("yes" if late else "nothing"), "overdue" if late else "", exact=exact)
        )
        self._rule()
        required = is_required(slate)
        loose = (ClearanceKind.MEDICAL, ClearanceKind.TRAINING) if required else (ClearanceKind.MEDICAL,)
        wanted = needed(slate.unit.model, required) if slate.unit else loose
        for state in slate.facts.clearances if slate.facts and slate.facts.person else card.clearances:
            self._rows.addWidget(clearance_fact(state, state.kind in wanted, self._doors))
        for words in card.work_limits:
            self._rows.addWidget(Fact("Work limit", words, "caution"))

    def _purpose(self, slate: Slate) -> None:
        slate = as_it_went(slate)
        if slate.area is None and slate.due_at is None and slate.facts is None and not slate.assigned:
            return
        self._rule()
        self._rows.addWidget(Words("For", ink="ink2"))
        area = slate.area.area.name if slate.area else "No area yet"
        self._rows.addWidget(Words(area, bold=True, wrap=True))
        if not is_required(slate):
            self._rows.addWidget(Words("A respirator is not required there", wrap=True))
        due = slate.due_at or (slate.facts.due_at if slate.facts else None)
        if slate.assigned:
            self._rows.addWidget(Words("Assigned, no time of return", bold=True, wrap=True))
        if due is not None:
            hours = f", {slate.facts.planned_hours:.0f} h worn" if slate.facts else ""
            back = "At the bench by" if slate.assigned else "Due back"
            words = Words(f"{back} {self._doors.when(due)}{hours}", wrap=True)
            words.setToolTip(self._doors.exactly(due))
            self._rows.addWidget(words)

    def _rule(self) -> None:
        self._rows.addSpacing(8)
        self._rows.addWidget(Rule())
        self._rows.addSpacing(8)


class WhoLine(Panel):
    """The same in one line, 64 high, for windows with less room."""

    def __init__(self, doors: Doors) -> None:
        super().__init__("page")
        self._doors = doors
        self._line = Row(margins=(24, 10, 24, 9), gap=16)
        self.column.addLayout(self._line)
        self.column.addWidget(Rule())

    def show_slate(self, slate: Slate) -> None:
        """Show who, for which area, until when."""
        empty(self._line)
        if slate.person is None:
            self._line.addWidget(Words("Nobody yet: scan the wearer's badge", 18, ink="ink2", wrap=True), 1)
        else:
            px = 24 if len(slate.person.person.name) < 24 else 18
            name = Words(slate.person.person.name, px, True, wrap=True)
            name.setMinimumWidth(widest_word(slate.person.person.name, px) + 2)
            self._line.addWidget(name, 3)
            plate = Plate(slate.person.label)
            plate.opened.connect(self._doors.open_label)
            self._line.addWidget(plate)
        slate = as_it_went(slate)
        due = slate.due_at or (slate.facts.due_at if slate.facts else None)
        until = "assigned" if slate.assigned else f"until {self._doors.when(due)}" if due else ""
        area = slate.area.area.name if slate.area else ("no area yet" if slate.person else "")
        area += "" if is_required(slate) else " (not required)"
        by_name = "found by name" if slate.person and slate.by_name == slate.person.person.id else ""
        words = Words(", ".join(part for part in (by_name, area, until) if part), 18, wrap=True)
        words.setAlignment(RIGHT)
        if due:
            words.setToolTip(self._doors.exactly(due))
        self._line.addWidget(words, 2)


def button_of(
    action: Action, doors: Doors, size: str = "", px: int = 0, said_elsewhere: bool = False
) -> ActionButton:
    """The button of an action: main for go, small for the others; it emits the action's command."""
    made = ActionButton(
        action.words,
        action.kind,
        action.key,
        size=size or ("main" if action.kind == "go" else "small"),
        cost=action.cost,
        px=px,
    )
    if action.why:
        made.set_off(action.why, said_elsewhere=said_elsewhere)

    made.clicked.connect(lambda: doors.chosen.emit(action.command, ""))
    return made
