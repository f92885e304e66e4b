"""The form of a matter, whatever it asks; and the list of what else can be done with what lies on the counter."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QSizePolicy

from cribdesk.desk.entry_form import NO, YES, EntryField
from cribdesk.desk.slate import AskForm, AskLine, Form, MoreForm, Slate
from cribdesk.window.choices import Choices
from cribdesk.window.components.action import ActionButton
from cribdesk.window.components.base import Rule, SignMark, Words
from cribdesk.window.components.fields import NumberField, TextField
from cribdesk.window.components.plate import Plate
from cribdesk.window.counter.body import Body, put_figure, put_text
from cribdesk.window.doors import Doors
from cribdesk.window.layout import Boxes, Row, empty
from cribdesk.window.lists import fixed

FEW = 4  # more choices than these, or long ones, each take a row
LONG = 28


def kind_of(form: AskForm | MoreForm) -> tuple[object, ...]:
    """What makes two forms the same on screen: then only their values differ."""
    if isinstance(form, MoreForm):
        return (MoreForm, form.choices)
    return (AskForm, form.matter, form.ids, tuple((one.name, one.kind) for one in form.shown()))


class MoreBody(Body):
    """Everything else that makes sense now, each a button; what is not possible, and why, stands last."""

    def __init__(self, doors: Doors) -> None:
        super().__init__(doors)
        self.title("What else?", "")
        self._hint = Words("Touch one, or go with the arrow keys and Enter.", ink="ink2", wrap=True)
        self.column.addWidget(self._hint)
        self._rows = Boxes(gap=4)
        self.column.addLayout(self._rows)
        self._buttons: list[ActionButton] = []

    def fill(self, form: Form, slate: Slate) -> None:
        assert isinstance(form, MoreForm)
        empty(self._rows)
        self._buttons = []
        for command, words, why in sorted(form.choices, key=lambda one: bool(one[2])):
            button = ActionButton(words, "plain", size="small" if why else "row")
            button.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
            button.return_presses = button.ring_inside = True
            if why:
                button.set_off(why)
            button.clicked.connect(lambda _=False, command=command: self.doors.chosen.emit(command, ""))
            self._rows.addWidget(button)
            self._buttons.append(button)

    def walk(self, step: int) -> bool:
        """The arrow keys: the first possible one, or the next from the one that has the focus."""
        open_ = [one for one in self._buttons if one.isEnabled()]
        here = next((number for number, one in enumerate(open_) if one.hasFocus()), None)
        there = (0 if step > 0 else len(open_) - 1) if here is None else here + step
        if 0 <= there < len(open_):
            open_[there].setFocus(Qt.FocusReason.TabFocusReason)
        return bool(open_)


class AskBody(Body):
    """Head, cautions, the lines scanned into it, and its fields."""

    def __init__(self, doors: Doors) -> None:
        super().__init__(doors)
        self._built = False
        self._lines_shown: tuple[AskLine, ...] | None = None
        self._cautions_shown: tuple[str, ...] = ()
        self.texts: dict[str, TextField] = {}
        self.figures: dict[str, NumberField] = {}
        self.choices: dict[str, Choices] = {}
        self._offered: dict[str, tuple[tuple[str, str], ...]] = {}

    def fill(self, form: Form, slate: Slate) -> None:
        assert isinstance(form, AskForm)
        if not self._built:
            self._build(form)
        self.lead.setText(form.lead)
        self.lead.setVisible(bool(form.lead))
        self._show_cautions(form.cautions)
        self._show_lines(form)
        for asked in form.shown():
            self._put(asked, form.value(asked.name))

    def _build(self, form: AskForm) -> None:
        self._built = True
        self.title(form.title, form.label)
        self.lead = Words("", ink="ink2", wrap=True)
        self.column.addWidget(self.lead)
        self._cautions = Boxes(gap=8)
        self.column.addLayout(self._cautions)
        self._lines = Boxes()
        self.column.addLayout(self._lines)
        for asked in form.shown():
            self._field(asked)

    def _field(self, asked: EntryField) -> None:
        if asked.kind == "yes-no":
            self.choices[asked.name] = self.choice(asked.name, asked.words, ((YES, "yes"), (NO, "no")))
        elif asked.kind == "choice":
            long = len(asked.choices) > FEW or any(len(words) > LONG for _, words in asked.choices)
            self.choices[asked.name] = self.choice(asked.name, asked.words, asked.choices, stacked=long)
            self._offered[asked.name] = asked.choices
        elif asked.kind == "number":
            self.figures[asked.name] = self.figure(asked.name, asked.words, asked.unit, asked.decimals)
        else:
            self.texts[asked.name] = self.text(asked.name, asked.words, asked.help)
        if asked.help and asked.kind not in ("text", "date"):
            self.column.addWidget(Words(asked.help, 14, ink="ink2", wrap=True))

    def _put(self, asked: EntryField, value: str) -> None:
        if asked.name in self.choices:
            if self._offered.get(asked.name, asked.choices) != asked.choices:
                self._offered[asked.name] = asked.choices
                self.choices[asked.name].set_choices(tuple((id_, words, "") for id_, words in asked.choices))
            self.choices[asked.name].set_value(value)
        elif asked.name in self.figures:
            put_figure(self.figures[asked.name], float(value.replace(",", ".")) if value else None)
        elif asked.name in self.texts:
            put_text(self.texts[asked.name], value)

    def _show_cautions(self, cautions: tuple[str, ...]) -> None:
        if cautions == self._cautions_shown:
            return
        self._cautions_shown = cautions
        empty(self._cautions)
        for words in cautions:
            line = Row(gap=12)
            line.addWidget(SignMark("caution", 24))
            line.addWidget(Words(words, bold=True, wrap=True), 1)
            self._cautions.addLayout(line)

    def _show_lines(self, form: AskForm) -> None:
        if form.lines == self._lines_shown:
            return
        self._lines_shown = form.lines
        empty(self._lines)
        if not form.lines and form.lines_none:
            self._lines.addWidget(Words(form.lines_none, 24, wrap=True))
        for one in form.lines:
            self._lines.addLayout(self._line(one, form.counted))
            self._lines.addWidget(Rule())

    def _line(self, one: AskLine, counted: bool) -> Row:
        line = Row(margins=(0, 6, 0, 6), gap=12)
        if one.level:
            line.addWidget(SignMark(one.level, 24))
        words = Boxes()
        words.addWidget(Words(one.words, bold=True, wrap=True))
        if one.note:
            words.addWidget(Words(one.note, ink="ink2", wrap=True))
        line.addLayout(words, 1)
        if one.label:
            line.addWidget(Plate(one.label))
        if counted:
            line.addWidget(Words(f"× {one.number}", 24, True))
            for sign, step in (("\u2212", -1), ("+", 1)):
                button = fixed(ActionButton(sign, "plain", size="row"))
                button.setAccessibleName(f"{'One more' if step > 0 else 'One less'}, {one.words}")
                told = str(max(0, one.number + step))
                button.clicked.connect(
                    lambda _=False, key=one.key, told=told: self.doors.filled.emit(f"line {key}", told)
                )
                line.addWidget(button)
        return line
