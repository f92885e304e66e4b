"""The forms that open in place: return, hold, change, release, bind. They keep nothing; the slate has the values."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtGui import QKeyEvent, QResizeEvent
from PySide6.QtWidgets import QBoxLayout

from cribdesk.crib.records import RunEnd
from cribdesk.crib.words import capital, number
from cribdesk.desk.picking import ALARMS
from cribdesk.desk.slate import (
    AreaForm,
    AskForm,
    BindForm,
    ChangeForm,
    Form,
    HoldForm,
    MoreForm,
    ReleaseForm,
    ReturnForm,
    Slate,
)
from cribdesk.window.choices import Choices
from cribdesk.window.components.base import SignMark, Words
from cribdesk.window.components.fields import NumberField
from cribdesk.window.components.plate import Plate
from cribdesk.window.counter.asked import AskBody, MoreBody, kind_of
from cribdesk.window.counter.body import Body, put_figure, put_text
from cribdesk.window.doors import Doors
from cribdesk.window.layout import Boxes, Panel, Row, Scroll, empty
from cribdesk.window.look import current

NO_FAULT, A_FAULT = "none", "some"
TWO_COLUMNS = 720  # from this width on a return's form stands in two columns


class FormPage(Panel):
    """The open form, in the middle of the counter or on a check's page."""

    def __init__(self, doors: Doors) -> None:
        super().__init__()
        self._doors = doors
        self._kind: tuple[object, ...] = ()
        self._inside = Panel("page", (24, 16, 24, 16), 14)
        self.scroller = Scroll(self._inside)
        self.column.addWidget(self.scroller, 1)
        self._body: Body | None = None
        self.setFocusPolicy(Qt.FocusPolicy.ClickFocus)  # so that Tab goes on into the form, and not to the places

    def show_form(self, form: Form, slate: Slate) -> bool:
        """Show this form; while it is the same one, only what differs changes. Whether it is another one."""
        kind = _kind(form)
        other = kind != self._kind or self._body is None
        if other:
            self.leave_focus()
            self._kind = kind
            empty(self._inside.column)
            self._body = BODIES[type(form)](self._doors)
            self._inside.column.addWidget(self._body)
            self._inside.column.addStretch(1)
            self.scroller.verticalScrollBar().setValue(0)
        assert self._body is not None
        self._body.fill(form, slate)
        self._body.number(form)
        return other

    def take_focus(self) -> None:
        """The keys go to this form from now on; nothing in it is pressed or marked by that."""
        self.setFocus(Qt.FocusReason.OtherFocusReason)

    def leave_focus(self) -> None:
        """Before its fields go: else Qt hands the focus to whatever comes next."""
        focused = self.window().focusWidget()
        if focused is not None and (focused is self or self.isAncestorOf(focused)):
            self.window().setFocus()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if self._body is not None:
            self._body.keyPressEvent(event)

    def set_side(self, side: int) -> None:
        """The margins left and right, in 100 % px: those of the page it stands on."""
        self._inside.column.set_margins((side, 16, side, 16))

    def close_form(self) -> None:
        """No form is open any more."""
        self.leave_focus()
        self._kind, self._body = (), None
        empty(self._inside.column)


def _kind(form: Form) -> tuple[object, ...]:
    if isinstance(form, BindForm):
        return (BindForm, form.text)
    if isinstance(form, AreaForm):
        return (AreaForm,)
    if isinstance(form, ReleaseForm):
        return (ReleaseForm, form.hold_id)
    if isinstance(form, (AskForm, MoreForm)):
        return kind_of(form)
    extra = form.returned if isinstance(form, ReturnForm) else None
    return (type(form), form.unit_id, extra)


class ReturnBody(Body):
    """The rest of a return: hours, speed, alarms, battery, damage, fault, who brought it."""

    def __init__(self, doors: Doors) -> None:
        super().__init__(doors)
        self._built = False

    def fill(self, form: Form, slate: Slate) -> None:
        assert isinstance(form, ReturnForm)
        if not self._built:
            self._build(form)
        put_figure(self.hours, form.worn_hours)
        if self.speed is not None:
            self.speed.set_value(form.speed)
        self.alarms.set_value(form.alarms)
        if self.end is not None and self.bars is not None and self.back is not None:
            self.end.set_value(form.battery_end.value if form.battery_end else "")
            put_figure(self.bars, form.bars_left)
            self.back.set_value({True: "yes", False: "no", None: ""}[form.battery_back])
        put_text(self.damage, form.damage)
        self.fault.set_value(form.fault)
        self.any_fault.set_value(A_FAULT if form.any_fault else NO_FAULT)
        self.fault.setVisible(form.any_fault)
        who = form.brought_by_name
        self.brought.setText(
            f"Brought by {who}." if who else f"Brought by {form.holder}. Someone else? Scan that badge."
        )

    def _build(self, form: ReturnForm) -> None:
        self._built = True
        self.title(f"Back from {form.holder}", form.unit_label)
        self.brought = Words("", ink="ink2", wrap=True)
        self.column.addWidget(self.brought)
        whole, self._pair, left, right = self.column, Row(gap=32), Boxes(gap=12), Boxes(gap=12)
        whole.addLayout(self._pair)
        self._pair.addLayout(left, 1)
        self._pair.addLayout(right, 1)
        self.speed: Choices | None = None
        self.end: Choices | None = None
        self.back: Choices | None = None
        self.bars: NumberField | None = None
        self.column = left
        self._worn(form, left)
        self.column = right if form.battery_label else left
        if form.battery_label:
            self._battery(form, right)
            right.addStretch(1)
        self.column = left if form.battery_label else right
        self._wrong(form)
        left.addStretch(1)
        self.column = whole
        self._turn()

    def _worn(self, form: ReturnForm, left: Boxes) -> None:
        """Hours, beside them what the clock proposes; speed and alarms."""
        line = Row(gap=24)
        left.addLayout(line)
        self.column = line
        self.hours = self.figure("worn_hours", "Hours worn", "h", 1)
        told = f"{capital(form.proposed_words)}." if form.proposed_words else ""
        line.addWidget(Words(told, 14, ink="ink2", wrap=True), 1)
        self.column = left
        if form.speeds:
            self.speed = self.choice("speed", "Speed, mostly", tuple((one, one) for one in form.speeds))
        self.alarms = self.choice("alarms", "Alarms heard", tuple((one, one) for one in ALARMS))

    def _battery(self, form: ReturnForm, right: Boxes) -> None:
        head = Row(gap=12)
        head.addWidget(Words("Battery", bold=True))
        head.addStretch(1)
        head.addWidget(Plate(form.battery_label))
        right.addLayout(head)
        self.back = self.choice(
            "battery_back", "Is it back? Another one? Scan it.", (("yes", "back"), ("no", "not back"))
        )
        self.end = self.choice("battery_end", "How its run ended", tuple((one.value, one.value) for one in RunEnd))
        self.bars = self.figure("bars_left", "Bars left", "")

    def _wrong(self, form: ReturnForm) -> None:
        """Damage in words, and whether a fault holds it; the faults come up only where there is one."""
        self.damage = self.text("damage", "Damage", "What is broken, burnt or missing. Empty for none.", 2)
        self.any_fault = Choices("A fault puts it on hold at once", ((NO_FAULT, "no fault"), (A_FAULT, "a fault")))
        self.any_fault.chosen.connect(
            lambda which: self.doors.filled.emit("any_fault", "yes" if which == A_FAULT else "no")
        )
        self.column.addWidget(self.any_fault)
        self.groups["any_fault"] = self.any_fault
        known = tuple((one.code, one.words) for one in form.reasons if one.code != "inspection-not-finished")
        self.fault = Choices("Which fault", known, stacked=True)
        self.fault.chosen.connect(lambda code: self.doors.filled.emit("fault", code))
        self.groups["fault"] = self.fault
        self.fault.hide()
        self.column.addWidget(self.fault)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Two columns where there is room for them, else one."""
        super().resizeEvent(event)
        self._turn()

    def _turn(self) -> None:
        if not self._built:
            return
        ways = QBoxLayout.Direction
        way = ways.LeftToRight if self.width() >= current().px(TWO_COLUMNS) else ways.TopToBottom
        if self._pair.direction() != way:
            self._pair.setDirection(way)
            self.updateGeometry()


class HoldBody(Body):
    """Why a unit may not be used."""

    def __init__(self, doors: Doors) -> None:
        super().__init__(doors)
        self._built = False

    def fill(self, form: Form, slate: Slate) -> None:
        assert isinstance(form, HoldForm)
        if not self._built:
            self._built = True
            self.title("Why may it not be used?", form.unit_label)
            reasons = tuple((one.code, one.words) for one in form.reasons if one.code != "inspection-not-finished")
            self.reason = self.choice("reason", "Reason", reasons, stacked=True)
            self.detail = self.text(
                "detail", "In your words", "What was seen, heard, measured. It stands on the tag.", 2
            )
        self.reason.set_value(form.reason)
        put_text(self.detail, form.detail)


class ChangeBody(Body):
    """Which position, which part and lot, and why."""

    def __init__(self, doors: Doors) -> None:
        super().__init__(doors)
        self._built = False
        self._offered: object = None

    def fill(self, form: Form, slate: Slate) -> None:
        assert isinstance(form, ChangeForm)
        if not self._built:
            self._built = True
            self.title("Which part is changed?", form.unit_label)
            self.position = self.choice("position", "Position, from inlet to face", form.positions)
            self.offer = self.choice("choice", "What goes in", (), stacked=True)
            self.none = Words("", ink="ink2", wrap=True)
            self.column.addWidget(self.none)
            self.why = self.text("why", "Why", "Empty: because it was due.")
        self.position.set_value(form.position)
        if form.choices != self._offered:
            self._offered = form.choices
            self.offer.set_choices(
                tuple((str(n), one.words, f"{number(one.on_hand)} there") for n, one in enumerate(form.choices))
            )
        self.offer.setVisible(bool(form.choices))
        self.none.setText(
            ""
            if form.choices
            else "Choose the position, or scan the part or its bin."
            if not form.position
            else "Nothing approved for this position is on the shelf. Count the bin, or order it."
        )
        self.none.setVisible(not form.choices)
        self.offer.set_value("" if form.chosen is None else str(form.chosen))
        put_text(self.why, form.why)


class ReleaseBody(Body):
    """A hold that ends by the program administrator's word."""

    def __init__(self, doors: Doors) -> None:
        super().__init__(doors)
        self._built = False

    def fill(self, form: Form, slate: Slate) -> None:
        assert isinstance(form, ReleaseForm)
        if not self._built:
            self._built = True
            self.title("This hold ends by the program administrator's word", form.unit_label)
            line = Row(gap=16)
            line.addWidget(SignMark("on hold", 32))
            line.addWidget(Words(form.words, bold=True, wrap=True), 1)
            self.column.addLayout(line)
            self.word = self.text(
                "word", "Why it may be used again", "What was found out, and by whom. The journal keeps it.", 2
            )
        put_text(self.word, form.word)


class AreaBody(Body):
    """Another area, another time."""

    def __init__(self, doors: Doors) -> None:
        super().__init__(doors)
        self._offered: object = None

    def fill(self, form: Form, slate: Slate) -> None:
        assert isinstance(form, AreaForm)
        if self._offered is None:
            self.title("Where to, and until when?", "")
            self.due = self.choice("due", "Due back", (), stacked=True)
            self.area = self.choice("area", "Area or task; its printed label can be scanned as well", (), stacked=True)
            self.none = Words("No area is in the store yet. Load areas first.", ink="ink2", wrap=True)
            self.column.addWidget(self.none)
        if self._offered != (form.areas, form.times):
            self._offered = (form.areas, form.times)
            self.due.set_choices(tuple((moment, capital(words), "") for moment, words in form.times))
            self.area.set_choices(tuple((one.label, one.area.name, one.label) for one in form.areas))
            self.area.setVisible(bool(form.areas))
            self.none.setVisible(bool(form.times) and not form.areas)
        self.due.set_value(form.due)
        self.area.set_value(form.area)


class BindBody(Body):
    """A label from elsewhere that will be bound to a record."""

    def fill(self, form: Form, slate: Slate) -> None:
        assert isinstance(form, BindForm)
        empty(self.column)
        self.title("Bind this label", "")
        self.column.addWidget(Words(form.text, 24, True, wrap=True))
        self.column.addWidget(
            Words(
                "Scan our label of the unit, person, battery or part it is stuck on. From then on both scan.", wrap=True
            )
        )
        self.column.addWidget(Words("Nothing changes until then.", ink="ink2", wrap=True))


BODIES: dict[type[Form], type[Body]] = {
    ReturnForm: ReturnBody,
    HoldForm: HoldBody,
    ChangeForm: ChangeBody,
    ReleaseForm: ReleaseBody,
    BindForm: BindBody,
    AreaForm: AreaBody,
}
BODIES |= {AskForm: AskBody, MoreForm: MoreBody}

__all__ = ["ALARMS", "FormPage"]
