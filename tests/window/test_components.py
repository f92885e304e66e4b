"""How the components behave: signals, keys, states, names for screen readers."""

from __future__ import annotations

import datetime as dt

import pytest
from PySide6.QtCore import QEvent, QPoint, Qt
from PySide6.QtGui import QAccessible, QColor, QImage, QPainter
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QVBoxLayout, QWidget
from pytestqt.qtbot import QtBot

from cribdesk.window import look, pictures, signs
from cribdesk.window.components.action import ActionButton
from cribdesk.window.components.base import FocusRing
from cribdesk.window.components.board import Board, Cell
from cribdesk.window.components.cells import Column, Row, Tick
from cribdesk.window.components.fields import ChoiceField, DateField, NumberField, TextField
from cribdesk.window.components.life import PartLife
from cribdesk.window.components.look_step import LookPictures
from cribdesk.window.components.pad import NumberPad
from cribdesk.window.components.plot import ticks
from cribdesk.window.components.reading import ReadingField
from cribdesk.window.components.segment import Segmented
from cribdesk.window.components.table import Table
from cribdesk.window.components.timed import TimedField, TimedWords, Window
from cribdesk.window.components.track import Step, Track
from tests.window.helpers import assert_words_fit, wearing

NO_MODIFIER = Qt.KeyboardModifier.NoModifier


def shown(qtbot: QtBot, widget: QWidget) -> QWidget:
    """Show and register."""
    qtbot.addWidget(widget)
    widget.show()
    QApplication.processEvents()
    return widget


def test_return_does_not_press_an_action_and_space_does(qtbot: QtBot) -> None:
    """On an action only Space and touch press; Return belongs to the scanner."""
    button, pressed = ActionButton("Check", "go", "F5"), []
    shown(qtbot, button)
    button.clicked.connect(lambda: pressed.append(True))
    QTest.keyClick(button, Qt.Key.Key_Return)
    assert pressed == []
    QTest.keyClick(button, Qt.Key.Key_Space)
    assert pressed == [True]
    button.close()


def test_an_action_that_is_off_says_why(qtbot: QtBot) -> None:
    """Off, it cannot be pressed, and its reason is what a screen reader reads."""
    button, pressed = ActionButton("Issue", "go", "F5"), []
    shown(qtbot, button)
    button.clicked.connect(lambda: pressed.append(True))
    button.set_off("no badge yet")
    QTest.mouseClick(button, Qt.MouseButton.LeftButton)
    face = QAccessible.queryAccessibleInterface(button)
    assert face.state().disabled
    assert face.text(QAccessible.Text.Name) == "Issue"
    assert "no badge yet" in face.text(QAccessible.Text.Description)
    button.set_off()
    QTest.mouseClick(button, Qt.MouseButton.LeftButton)
    assert pressed == [True]
    button.close()


def test_board_moves_by_arrows_and_opens(qtbot: QtBot) -> None:
    """Arrows walk the cells, one of them alone is in the tab order, Return opens it."""
    board, opened = Board(), []
    board.set_cells(tuple(Cell(f"U{n}", str(n), "ready", f"U{n}, ready") for n in range(10)))
    board.resize(64 * 4, 300)
    shown(qtbot, board)
    board.opened.connect(opened.append)
    cells = board._cells
    cells[0].setFocus(Qt.FocusReason.TabFocusReason)
    QTest.keyClick(cells[0], Qt.Key.Key_Right)
    QTest.keyClick(cells[1], Qt.Key.Key_Down)
    assert cells[1 + board.columns()].hasFocus()
    assert sum(bool(c.focusPolicy() & Qt.FocusPolicy.TabFocus) for c in cells) == 1
    QTest.keyClick(cells[1 + board.columns()], Qt.Key.Key_Return)
    assert opened == [f"U{1 + board.columns()}"]
    board.close()


def test_segments_choose_by_touch_and_arrow(qtbot: QtBot) -> None:
    """A touch or an arrow chooses and tells; setting by program does not tell."""
    row, chosen = Segmented((("a", "By urgency"), ("b", "By part"), ("c", "By unit"))), []
    shown(qtbot, row)
    row.chosen.connect(chosen.append)
    row.set_value("b")
    assert chosen == []
    QTest.mouseClick(row._segments[2], Qt.MouseButton.LeftButton)
    QTest.keyClick(row._segments[2], Qt.Key.Key_Left)
    assert chosen == ["c", "b"]
    assert row.value() == "b"
    row.close()


def test_pad_types_into_the_reading(qtbot: QtBot) -> None:
    """Digits, point and take-back of the pad reach the field; a comma reads as a point; letters do not enter."""
    field, pad, told = ReadingField("L/min"), NumberPad(), []
    shown(qtbot, field)
    qtbot.addWidget(pad)
    pad.pressed.connect(field.press)
    field.reading_changed.connect(told.append)
    for key in ("1", "7", "9", "back", "8", ".", "5"):
        next(button for button in pad.children() if getattr(button, "key", "") == key).click()  # type: ignore[attr-defined]
    assert field.value() == 178.5
    field.clear()
    assert field.value() is None
    QTest.keyClicks(field, "x17,5y")
    assert field.value() == 17.5
    assert told[-1] == "17.5"
    field.close()


@pytest.mark.parametrize(("seconds", "phase"), [(0, "before"), (14.9, "before"), (15, "inside"), (20, "inside"),
                                                (20.1, "after")])  # fmt: skip
def test_timed_field_knows_its_window(qtbot: QtBot, seconds: float, phase: str) -> None:
    """Both ends belong to the window, and each phase has a ground of its own."""
    field = TimedField(Window(15, 20, 25), TimedWords(("a", ""), ("b", "{left} s"), ("c", "")))
    field.resize(900, 344)
    shown(qtbot, field)
    field.set_time(seconds)
    assert field.phase() == phase
    colours = look.current().colours
    expected = {"before": colours.sheet, "inside": colours.acc, "after": colours.stop}[phase]
    assert field.grab().toImage().pixelColor(20, 20) == expected
    field.close()


def test_track_keeps_the_present_step_in_sight(qtbot: QtBot) -> None:
    """In a low window the steps round the present one are drawn, the far ones not."""
    track = Track()
    track.set_steps(tuple(Step(f"step {n}", "now" if n == 15 else "to do") for n in range(30)))
    track.resize(336, 8 * 48)
    first, last = track._shown(look.current())
    assert first <= 15 < last
    assert 6 <= last - first <= 8
    assert track.accessibleName().startswith("Step 16 of 30: step 15")


def table(qtbot: QtBot, rows: int = 3) -> Table:
    """A small table with a box to tick."""
    made = Table((Column("", 40), Column("Item", key="item"), Column("Cost", 120, True, 5)), "Stock")
    made.set_rows(tuple(Row(f"r{n}", (Tick(False), f"Item {n}", f"{n}.00")) for n in range(rows)))
    made.resize(500, 400)
    shown(qtbot, made)
    return made


def test_table_opens_and_ticks_by_key_and_touch(qtbot: QtBot) -> None:
    """Return and a touch open a row; Space and a touch on the box tick it."""
    made, opened, ticked = table(qtbot), [], []
    made.opened.connect(opened.append)
    made.ticked.connect(lambda id_, on: ticked.append((id_, on)))
    made.setCurrentIndex(made.rows_model.index(1, 1))
    QTest.keyClick(made, Qt.Key.Key_Return)
    QTest.keyClick(made, Qt.Key.Key_Space)
    box = made.visualRect(made.rows_model.index(2, 0)).center()
    words = made.visualRect(made.rows_model.index(0, 1)).center()
    QTest.mouseClick(made.viewport(), Qt.MouseButton.LeftButton, NO_MODIFIER, box)
    QTest.mouseClick(made.viewport(), Qt.MouseButton.LeftButton, NO_MODIFIER, words)
    assert opened == ["r1", "r0"]
    assert ticked == [("r1", True), ("r2", True)]
    made.close()


def test_table_row_opens_in_place_and_survives_new_rows(qtbot: QtBot) -> None:
    """The opened widget stands under its row's cells, moves with it, and goes when its row is gone."""
    made = table(qtbot)
    detail = QWidget()
    detail.setFixedHeight(90)
    made.open_under("r1", detail)
    assert made.rowHeight(1) >= 48 + 90
    assert detail.y() == made.rowViewportPosition(1) + 48
    made.set_rows(tuple(Row(f"r{n}", (Tick(False), f"Item {n}", "")) for n in (1, 0)))
    assert made.opened_row() == 0
    assert detail.y() == made.rowViewportPosition(0) + 48
    made.set_rows((Row("r9", (Tick(False), "Item 9", "")),))
    assert made.opened_row() == -1
    made.close()


def test_table_drops_the_less_needed_column_when_narrow(qtbot: QtBot) -> None:
    """A column that may go is hidden when the room ends, and comes back."""
    made = table(qtbot)
    assert not made.isColumnHidden(2)
    made.resize(260, 400)
    QApplication.processEvents()
    assert made.isColumnHidden(2)
    made.resize(500, 400)
    QApplication.processEvents()
    assert not made.isColumnHidden(2)
    made.close()


def test_table_asks_for_more_once(qtbot: QtBot) -> None:
    """At the end of a page more rows are asked for, once until they come."""
    made, asked = table(qtbot), []
    made.rows_model.more_wanted.connect(asked.append)
    made.set_rows(tuple(Row(f"r{n}", (Tick(False), "x", "")) for n in range(3)), more=True)
    QApplication.processEvents()
    made.rows_model.fetchMore(made.rows_model.index(-1, -1))
    made.rows_model.append_rows((Row("r3", (Tick(False), "x", "")),))
    assert made.rows_model.rowCount() == 4
    assert asked[0] == 3
    assert not made.rows_model.canFetchMore(made.rows_model.index(-1, -1))
    made.close()


def test_fields_give_back_what_was_filled_in(qtbot: QtBot) -> None:
    """Each field returns the value it was given, and none where there is none."""
    text, number = TextField("Name"), NumberField("Worn", "h", 1)
    choice, day = ChoiceField("Crew", (("d", "Day"), ("n", "Night"))), DateField("Until", optional=True)
    for field in (text, number, choice, day):
        qtbot.addWidget(field)
    assert (number.value(), day.value()) == (None, None)
    text.set_value("  Łucja ")
    number.set_value(6.5)
    choice.set_value("n")
    day.set_value(dt.date(2027, 3, 12))
    assert (text.value(), number.value(), choice.value()) == ("Łucja", 6.5, "n")
    assert day.value() == dt.date(2027, 3, 12)
    number.set_fault("More than it was out.")
    assert number.fault() == "More than it was out."
    number.set_fault("")
    assert number.fault() == ""


def test_a_number_typed_takes_the_place_of_the_one_that_stood_there(qtbot: QtBot) -> None:
    """Come to by mouse, by Tab or by the program; a second click puts the cursor down, as everywhere."""
    page = QWidget()
    column = QVBoxLayout(page)
    other, number = TextField("Lot"), NumberField("Pieces")
    column.addWidget(other)
    column.addWidget(number)
    shown(qtbot, page)
    qtbot.waitActive(page)
    for come in (
        lambda: QTest.mouseClick(number.editor, Qt.MouseButton.LeftButton),
        lambda: QTest.keyClick(other.editor, Qt.Key.Key_Tab),
        lambda: number.editor.setFocus(),
    ):
        other.editor.setFocus()
        number.set_value(1)
        come()
        QTest.keyClicks(number.editor, "60")
        assert number.value() == 60
        QTest.mouseClick(number.editor, Qt.MouseButton.LeftButton)
        QTest.keyClick(number.editor, Qt.Key.Key_End)
        QTest.keyClicks(number.editor, "5")
        assert number.value() == 605
    page.close()


def test_what_is_past_is_not_said_to_be_left() -> None:
    """A screen reader hears hours left, hours past, or the note, as the row shows them."""
    rows = (("14 h", ""), ("2 h past", ""), ("", "none"))
    told = [PartLife("a", "Lens", figure, note=note).told() for figure, note in rows]
    assert told == ["14 h left", "2 h past", "none"]


@pytest.mark.parametrize(("low", "high", "words"), [
    (0, 50, ["0", "10", "20", "30", "40", "50"]),
    (-60, 110, ["−50", "0", "50", "100"]),
    (0, 1, ["0.0", "0.2", "0.4", "0.6", "0.8", "1.0"]),
    (1000, 3000, ["1\u00a0000", "1\u00a0500", "2\u00a0000", "2\u00a0500", "3\u00a0000"]),
])  # fmt: skip
def test_ticks_are_round_and_written_as_people_do(low: float, high: float, words: list[str]) -> None:
    """Steps of 1, 2 or 5, a true minus, a space in thousands, no float dust."""
    assert [word for _, word in ticks(low, high)] == words


@pytest.mark.parametrize("dark", [False, True])
def test_signs_differ_in_shape_alone(qapp: QApplication, dark: bool) -> None:
    """Painted in one grey, no two kinds of sign that mean different things look alike."""
    seen: dict[bytes, str] = {}
    alike = {"on hold": "stop", "ready": "fine", "overdue": "caution"}  # the same shape on purpose
    with wearing(dark):
        for kind in signs.Sign:
            if kind.value in alike:
                continue
            image = QImage(32, 32, QImage.Format.Format_ARGB32)
            image.fill(QColor(Qt.GlobalColor.transparent))
            painter = QPainter(image)
            signs.sign(painter, image.rect().toRectF(), kind)
            painter.end()
            shape = bytes(image.pixelColor(x, y).alpha() > 100 for y in range(32) for x in range(32))
            assert shape not in seen, f"{kind} looks like {seen.get(shape)}"
            seen[shape] = kind.value


def test_an_unknown_sign_is_a_fault(qapp: QApplication) -> None:
    """A word that is no sign raises, it does not pass unseen."""
    image = QImage(32, 32, QImage.Format.Format_ARGB32)
    painter = QPainter(image)
    with pytest.raises(ValueError, match="splendid"):
        signs.sign(painter, image.rect().toRectF(), "splendid")
    painter.end()


def test_a_fault_looks_other_than_good(qapp: QApplication) -> None:
    """Every picture of a fault differs from the good one, and one fault from another."""
    for thing in pictures._THINGS:
        seen = set()
        for words in ("", "burnt through", "cracked", "rim bent", "clogged", "torn", "wet", "missing"):
            image = QImage(120, 120, QImage.Format.Format_ARGB32)
            image.fill(QColor("white"))
            painter = QPainter(image)
            pictures.picture(painter, image.rect().toRectF(), thing, words)
            painter.end()
            seen.add(image.constBits().tobytes())
        assert len(seen) == 8, thing


def test_what_cannot_be_drawn_is_left_to_words() -> None:
    """No picture is claimed for a smell, a sound or an unknown thing."""
    assert not pictures.has_picture("battery", "smell or noise")
    assert not pictures.has_picture("storage")
    assert pictures.fault_kind("hole, burn or dent") == "hole"


@pytest.mark.parametrize("u", [1.0, 1.5, 2.0])
@pytest.mark.parametrize(("thing", "good", "bad"), [
    ("spark-arrestor", "even mesh, flat rim", ("burnt through", "rim bent", "clogged")),
    ("battery", "latched, two bars or more, case whole", ("pack comes off", "case cracked, swollen, hot or wet")),
    ("storage", "hanging free, clean, dry", ("bent or pressed flat", "dusty or wet")),
])  # fmt: skip
def test_look_step_words_fit(qtbot: QtBot, u: float, thing: str, good: str, bad: tuple[str, ...]) -> None:
    """Good and not good are shown whole, with pictures and without."""
    with wearing(u=u):
        pair = LookPictures()
        pair.set_step(thing, good, bad)
        pair.resize(look.current().px(900), look.current().px(380))
        shown(qtbot, pair)
        assert_words_fit(pair)
        pair.close()


def test_hover_is_not_needed_to_hit(qtbot: QtBot) -> None:
    """The whole rectangle of an action is its target, corners included."""
    button, pressed = ActionButton("Back", key="F9"), []
    button.resize(200, 56)
    shown(qtbot, button)
    button.clicked.connect(lambda: pressed.append(True))
    for point in (QPoint(1, 1), QPoint(198, 54)):
        QTest.mouseClick(button, Qt.MouseButton.LeftButton, NO_MODIFIER, point)
    assert len(pressed) == 2
    button.close()


def test_focus_ring_follows_the_keyboard_and_outlives_its_page(qtbot: QtBot, qapp: QApplication) -> None:
    """Tab brings the ring round an action, a mouse does not, and a page that goes takes no ring's owner along."""
    ring = FocusRing(qapp)
    page = QWidget()  # not given to qtbot: this test deletes it
    one, two = ActionButton("One"), ActionButton("Two")
    column = QVBoxLayout(page)
    column.addWidget(one)
    column.addWidget(two)
    page.show()
    page.activateWindow()
    qtbot.waitUntil(page.isActiveWindow)
    two.setFocus(Qt.FocusReason.TabFocusReason)
    drawn = ring.ring()
    assert drawn is not None
    assert drawn.isVisible()
    assert drawn.geometry() == two.geometry().adjusted(-5, -5, 5, 5)
    one.setFocus(Qt.FocusReason.MouseFocusReason)
    drawn = ring.ring()
    assert drawn is None or not drawn.isVisible()
    two.setFocus(Qt.FocusReason.TabFocusReason)
    page.close()
    page.deleteLater()
    qapp.sendPostedEvents(page, QEvent.Type.DeferredDelete)
    assert ring.ring() is None
    other = ActionButton("Other")
    shown(qtbot, other)
    other.setFocus(Qt.FocusReason.TabFocusReason)
    qapp.focusChanged.disconnect(ring.follow)
    other.close()
