"""A form to which records are entered or changed: any of them, as the desk describes it, in place of a view."""

from __future__ import annotations

from collections.abc import Mapping

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QGridLayout, QSizePolicy, QWidget

from cribdesk.crib.records import Role
from cribdesk.desk.entry_form import ABOUT, NO, YES, EntryField, EntryForm, Troubles
from cribdesk.desk.slate import Clerk
from cribdesk.window.components.action import ActionButton
from cribdesk.window.components.base import Rule, SignMark, Words
from cribdesk.window.components.fields import ChoiceField, Field, NumberField, TextField, TickField
from cribdesk.window.components.plate import Plate
from cribdesk.window.components.segment import Segmented
from cribdesk.window.doors import Doors
from cribdesk.window.layout import Boxes, Panel, Row, Scroll, Size
from cribdesk.window.look import current, source

ENTRIES: dict[str, tuple[str, str]] = {
    "people": ("person", "Enter a person"),
    "units": ("unit", "Enter a unit"),
    "areas": ("area", "Enter an area"),
    "batteries": ("battery", "Enter a battery"),
    "stock": ("item", "Enter stock"),
}
"""The form each place's one button opens, and the button's words; further forms stand beside it."""

OF_A_THING = {
    "unit": (("move", "Move this unit"), ("relabel", "New label"), ("scrap", "Scrap it")),
    "person": (
        ("clearance", "Enter a clearance"), ("work-limit", "Work limit"), ("change-person", "Change this person"),
        ("relabel", "New label"),
    ),
    "battery": (("retire-battery", "Take out of use, or back"), ("relabel", "New label")),
    "item": (("limit", "Limit a week"), ("relabel", "New label")),
    "area": (("change-area", "Change this area"), ("relabel", "New label")),
    "meter": (("calibrate", "Calibrate"), ("relabel", "New label")),
}
"""The same for what a card or an opened row shows: the form is then about that."""


def entry_button(doors: Doors, place: str) -> ActionButton | None:
    """The button that opens a place's form; None where nothing is entered."""
    entry = ENTRIES.get(place)
    return form_button(doors, *entry) if entry else None


def form_button(
    doors: Doors, form: str, words: str, about: str = "", told: str = "", size: str = "bar"
) -> ActionButton:
    """The button that opens a form about something; `told` is what a screen reader says of it besides."""
    button = ActionButton(words, "plain", size=size)
    button.return_presses = True
    button.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
    if told:
        button.setAccessibleName(f"{words}, {told}")
    button.clicked.connect(lambda: doors.entry_wanted.emit(form, about))
    return button


def change_buttons(doors: Doors, thing: str, label: str, size: str = "bar") -> tuple[ActionButton, ...]:
    """The buttons that change the thing of that label."""
    return tuple(form_button(doors, form, words, label, size=size) for form, words in OF_A_THING[thing])


class Entered(Panel):
    """What was entered last, with its label to be printed and stuck on."""

    def __init__(self, doors: Doors) -> None:
        super().__init__("sheet")
        self._doors = doors
        self._paper = ""
        line = Row(margins=(24, 8, 24, 8), gap=16)
        line.addWidget(SignMark("fine", 24, "sheet"))
        self.words = Words("", 18, True, wrap=True)
        line.addWidget(self.words, 1)
        self._plate = Row()
        line.addLayout(self._plate)
        self.button = ActionButton("Print its label", "plain", "F7", size="row")
        self.button.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
        self.button.clicked.connect(self.print_label)
        line.addWidget(self.button)
        self.column.addLayout(line)
        self.column.addWidget(Rule("edge"))
        self.hide()

    def show_done(self, words: str, label: str, labels: str) -> None:
        """Say it; `labels` are all that were made, to be printed together."""
        while self._plate.count():
            old = self._plate.takeAt(0)
            widget = old.widget() if old is not None else None
            if widget is not None:
                widget.setParent(None)
                widget.deleteLater()
        self.words.setText(words)
        self._paper = labels
        self.button.setVisible(bool(labels))
        self.button.set_word("Print its label" if "," not in labels else f"Print {labels.count(',') + 1} labels")
        if label:
            plate = Plate(label)
            plate.opened.connect(self._doors.open_label)
            self._plate.addWidget(plate)
        self.setVisible(bool(words))

    def print_label(self) -> bool:
        """Print; whether there was anything to print."""
        if not self._paper or not self.isVisible():
            return False
        self._doors.print_again.emit("label_sheet", self._paper)
        return True


class EntryPage(Panel):
    """One form at a time. It holds what is typed and no rule; `doors.entered` tells it, troubles come back."""

    def __init__(self, doors: Doors) -> None:
        super().__init__()
        self._doors = doors
        self._form: EntryForm | None = None
        self._clerk: Clerk | None = None
        self._waiting = False
        self._troubles = ""
        self._columns = 2
        self.fields: dict[str, Field | TickField] = {}
        self._boxes: dict[str, QWidget] = {}
        self._head()
        self._body()
        self._foot()
        source.look_changed.connect(self._space)

    def _head(self) -> None:
        self.done = Entered(self._doors)
        self.column.addWidget(self.done)
        head = Boxes(margins=(24, 16, 24, 12), gap=8)
        self.title = Words("", 24, True, wrap=True)
        self.others = Segmented((), "What to enter")
        self.others.chosen.connect(lambda form: self._doors.entry_wanted.emit(form, ""))
        self.lead = Words("", ink="ink2", wrap=True)
        line = Row()
        line.addWidget(self.others)
        line.addStretch(1)
        for widget in (self.title, self.lead):
            head.addWidget(widget)
        head.addLayout(line)
        self.column.addLayout(head)
        self.column.addWidget(Rule())

    def _body(self) -> None:
        self._inside, self._grid = Panel(), QGridLayout()
        self.sheet = Scroll(self._inside)
        self.column.addWidget(self.sheet, 1)

    def _fresh_sheet(self) -> None:
        """Without a field. They are made on it out of sight: in sight each would be laid out and drawn by itself."""
        self._inside, self._grid = Panel("page", (24, 16, 24, 24), 0), QGridLayout()
        self._grid.setColumnStretch(0, 1)
        self._inside.column.addLayout(self._grid)
        self._inside.column.addStretch(1)

    def _foot(self) -> None:
        self.column.addWidget(Rule("edge"))
        line = Row(margins=(24, 12, 24, 12), gap=16)
        self._sign = SignMark("", 24)
        self.trouble = Words("", wrap=True)
        line.addWidget(self._sign)
        line.addWidget(self.trouble, 1)
        self.back = ActionButton("Back", "quiet", "F9", size="small")
        self.back.clicked.connect(self.leave)
        self.go = ActionButton("Enter", "go", "F5", size="small", px=24)
        self.go.clicked.connect(self.enter)
        for button in (self.back, self.go):
            button.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
            line.addWidget(button)
        self.column.addLayout(line)

    # What is shown.

    def form_id(self) -> str:
        """The form that is shown, or ''."""
        return self._form.id if self._form else ""

    def answer(self) -> str:
        """The page's sentence for the strip."""
        return self._form.title if self._form else ""

    def show_form(self, form: EntryForm, troubles: Troubles = ()) -> None:
        """Show a form. With troubles the values stay as typed; without, it begins anew."""
        self._waiting = False
        if not troubles:
            self.done.show_done("", "", "")
        if not troubles or self._form is None or form.id != self._form.id:
            self._build(form)
        self._form = form
        self._tell(troubles)
        self._turn()
        first = next((name for name, _ in troubles if name), "") or self._first()
        if first:
            field = self.fields[first]
            (field.editor if isinstance(field, Field) else field).setFocus(Qt.FocusReason.OtherFocusReason)
            self.sheet.ensureWidgetVisible(self._boxes[first])

    def _first(self) -> str:
        """Where typing begins: at the first field, behind what the form is about once that is known."""
        shown = [one.name for one in self._form.shown(self.values())] if self._form else []
        known = shown[:1] == [ABOUT] and len(shown) > 1
        return shown[1] if known else next(iter(shown), "")

    def show_fault(self, words: str) -> None:
        """It could not be done, for a reason outside the form; what is typed stays."""
        self._waiting, self._troubles = False, words
        self._turn()

    def show_clerk(self, clerk: Clerk | None) -> None:
        """Who is signed on decides whether it may be entered."""
        if clerk != self._clerk:
            self._clerk = clerk
            self._turn()

    def _build(self, form: EntryForm) -> None:
        self.title.setText(form.title)
        self.lead.setText(form.lead)
        self.lead.setVisible(bool(form.lead))
        self.others.set_choices(form.others)
        self.others.set_value(form.id)
        self.others.setVisible(bool(form.others))
        self._fresh_sheet()
        self.fields, self._boxes = {}, {}
        for asked in form.fields:
            self._add(asked)
        self._form = form
        self._lay_out()
        self.sheet.set_content(self._inside)
        self.sheet.verticalScrollBar().setValue(0)

    def _add(self, asked: EntryField) -> None:
        field = _widget(asked)
        if isinstance(field, TickField):
            box = Panel()
            inner = Boxes(gap=0)
            inner.addWidget(field)
            if asked.help:
                inner.addWidget(Words(asked.help, 14, ink="ink2", wrap=True))
            box.column.addLayout(inner)
            self._boxes[asked.name] = box
        else:
            self._boxes[asked.name] = field
            field.changed.connect(self._ask_anew if asked.name == ABOUT else self._lay_out)
        self._boxes[asked.name].setParent(self._inside)
        self.fields[asked.name] = field

    def _ask_anew(self) -> None:
        """What the form is about was chosen: its other fields follow from that."""
        about = self.fields.get(ABOUT)
        if self._form is not None and isinstance(about, ChoiceField):
            self._doors.entry_wanted.emit(self._form.id, about.value())

    def _lay_out(self) -> None:
        """Put what is asked for now side by side, in the order of the form."""
        if self._form is None:
            return
        asked = self._form.shown(self.values())
        shown = [one.name for one in asked]
        for box in self._boxes.values():
            self._grid.removeWidget(box)
        for name, box in self._boxes.items():
            box.setVisible(name in shown)
        cell = 0
        for before, one in zip((None, *asked), asked, strict=False):
            if before is not None and (before.kind == "yes-no") != (one.kind == "yes-no"):
                cell += -cell % self._columns  # ticks stand in lines of their own
            if one.begins:
                cell += -cell % self._columns
            self._grid.addWidget(self._boxes[one.name], *divmod(cell, self._columns), Qt.AlignmentFlag.AlignTop)
            cell += 1
        for column in range(2):
            self._grid.setColumnStretch(column, 1 if column < self._columns else 0)
        self._chain(shown)
        self._space()

    def _chain(self, shown: list[str]) -> None:
        before: QWidget | None = None
        for name in shown:
            field = self.fields[name]
            here = field.editor if isinstance(field, Field) else field
            if before is not None:
                QWidget.setTabOrder(before, here)
            before = here

    def _space(self) -> None:
        self._grid.setHorizontalSpacing(current().px(32))
        self._grid.setVerticalSpacing(current().px(16))

    def _tell(self, troubles: Troubles) -> None:
        told = dict(troubles)
        for name, field in self.fields.items():
            if isinstance(field, Field):
                field.set_fault(told.get(name, ""))
        beside = [words for name, words in troubles if not isinstance(self.fields.get(name), Field)]
        self._troubles = " ".join(beside) or ("Nothing is entered yet: see the red lines." if troubles else "")

    def _turn(self) -> None:
        """Say what stands against entering; the way is open to whom it may concern, while nothing is under way."""
        form = self._form
        if form is None:
            return
        kept_back = form.note or self._not_for(form)
        words = self._troubles or kept_back
        self._sign.set_kind("stop" if self._troubles else "caution" if kept_back else "")
        self._sign.setVisible(bool(words))
        self.trouble.setText(words)
        self.go.setEnabled(not kept_back and not self._waiting)

    def _not_for(self, form: EntryForm) -> str:
        """Why who is signed on may not enter it, in words, or nothing."""
        if not form.who or (self._clerk is not None and set(self._clerk.roles.split(",")) & set(form.who)):
            return ""
        if set(form.who) == {role.value for role in Role}:
            return "Nobody is signed on: scan a staff badge first."
        who = " or ".join((", ".join(form.who[:-1]), form.who[-1]) if len(form.who) > 1 else form.who)
        now = f"{self._clerk.name} is none" if self._clerk else "Nobody is signed on"
        article = "an" if who[:1] in "aeiou" else "a"
        first = "sign off, then " if self._clerk else ""
        return f"This takes {article} {who}. {now}: {first}scan the badge of one."

    def show_done(self, words: str, label: str = "", labels: str = "") -> None:
        """Something was entered; the form is free for the next."""
        self.done.show_done(words, label, labels)

    # What a person does.

    def values(self) -> dict[str, str]:
        """Everything as typed."""
        return {name: _value(field) for name, field in self.fields.items()}

    def set_values(self, values: Mapping[str, str]) -> None:
        """Fill in."""
        for name, value in values.items():
            _put(self.fields[name], value)
        self._lay_out()

    def take_label(self, label: str) -> bool:
        """A label was scanned while the form is open; whether one of its choices is that record.

        Of several choices the first that is still empty takes it, unless one has it already.
        """
        shown = [(name, one) for name, one in self.fields.items() if isinstance(one, ChoiceField) and one.isVisible()]
        for name, field in sorted(shown, key=lambda pair: (pair[1].value() != label, pair[1].value() != "")):
            if label:
                before = field.value()
                field.set_value(label)
                if field.value() == label:
                    if name == ABOUT and label != before:
                        self._ask_anew()
                    else:
                        self._lay_out()
                    return True
                field.set_value(before)
        return False

    def enter(self) -> None:
        """Send it, once."""
        if self._form is None or self._waiting or not self.go.isEnabled():
            return
        self._waiting = True
        self._turn()
        self._doors.entered.emit(self._form.id, self.values())

    def leave(self) -> None:
        """Back to the place it was opened from."""
        self.done.show_done("", "", "")
        self._doors.entry_left.emit()

    def press(self, key: str) -> bool:
        """F5 enters, F7 prints the last label, F9 goes back."""
        if key == "F5":
            self.enter()
        elif key == "F7":
            return self.done.print_label()
        elif key in ("F9", "Esc"):
            self.leave()
        else:
            return False
        return True

    def fit(self, size: Size) -> None:
        """One column where room is short."""
        self._columns = 1 if size is Size.SMALL else 2
        self._lay_out()


def _widget(asked: EntryField) -> Field | TickField:
    words = asked.words
    under = " ".join(part for part in ("Needed." if asked.needed else "", asked.help) if part)
    field: Field | TickField
    match asked.kind:
        case "yes-no":
            field = TickField(words)
        case "number":
            field = NumberField(words, asked.unit, asked.decimals, under, asked.signed)
        case "choice":
            field = ChoiceField(words, asked.choices, under)
            field.editor.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
            field.keep_width()
        case _:
            field = TextField(words, under)
    _put(field, asked.value)
    return field


def _value(field: Field | TickField) -> str:
    if isinstance(field, TickField):
        return YES if field.value() else NO
    if isinstance(field, ChoiceField):
        return field.value()
    if isinstance(field, TextField):
        return field.value()
    return str(field.editor.property("text")).strip()


def _put(field: Field | TickField, value: str) -> None:
    if isinstance(field, TickField):
        field.set_value(value == YES)
    elif isinstance(field, (ChoiceField, TextField)):
        field.set_value(value)
    else:
        field.editor.setProperty("text", value)


__all__ = ["ENTRIES", "EntryPage", "change_buttons", "entry_button", "form_button"]
