"""The window itself: keys, scans, typed labels, places, and the words over them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QAction
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QComboBox, QLineEdit

from cribdesk.desk.slate import Line, Pending, Slate
from cribdesk.window.counter.verdict import note_of
from cribdesk.window.views import check, views
from tests.window import samples
from tests.window.helpers import wearing
from tests.window.standing import Standing, settle, stand


@pytest.fixture
def standing(qapp: QApplication) -> Iterator[Standing]:
    """A window of 1440 x 900 with the board shown."""
    made = stand()
    yield made
    made.window.close()


def test_places_are_registered_once_and_in_order(qapp: QApplication) -> None:
    """Ten places, keys 1 to 9 and 0, no double id, title, order or kind of data."""
    found = views()
    assert [view.order for view in found] == list(range(1, 11))
    assert [view.key for view in found][-2:] == ["Ctrl+9", "Ctrl+0"]
    assert [view.id for view in found][:3] == ["counter", "shift", "units"]
    for name, value in (("id", "shift"), ("title", "Shift"), ("order", 2)):
        double = replace(found[3], **{name: value})  # type: ignore[arg-type]
        with pytest.raises(ValueError, match=name):
            check(double, [found[1]])
    with pytest.raises(ValueError, match="two places answer"):
        check(replace(found[3], answers=("shift",)), [found[1]])


def test_no_key_has_two_actions(standing: Standing) -> None:
    """Two live actions with one key would both be dead."""
    keys = [
        action.shortcut().toString() for action in standing.window.findChildren(QAction) if action.shortcut().toString()
    ]
    assert len(keys) == len(set(keys))
    assert {"F5", "F6", "F7", "F8", "F9", "F10", "F12", "Esc", "F2", "Ctrl+1", "Ctrl+9", "Ctrl+0"} <= set(keys)


def test_keys_choose_what_their_buttons_say(standing: Standing) -> None:
    """F5, F7 and F9 of an issue that may go on are its check, its change and putting both aside."""
    standing.lay(samples.issue_slate())
    for key in (Qt.Key.Key_F5, Qt.Key.Key_F6, Qt.Key.Key_F7, Qt.Key.Key_F9):
        standing.key(key)
    assert standing.asked("chosen") == [("go", ""), ("area", ""), ("change", ""), ("put-aside", "")]


def test_a_click_is_the_same_as_its_key(standing: Standing) -> None:
    """The blue field emits its command once."""
    standing.lay(samples.issue_slate())
    standing.button("Check").click()
    assert standing.asked("chosen") == [("go", "")]


def test_the_counter_says_how_the_airflow_stands(standing: Standing) -> None:
    """Under the next change of the unit on the counter: last read, against the minimum, and what it dropped."""
    standing.lay(samples.issue_slate())
    assert "Airflow 176 L/min when last read, 6 above the minimum" in standing.shown()


def test_what_is_not_possible_yet_says_why(standing: Standing) -> None:
    """Without a battery the check is off, F5 says what to scan, and nothing is chosen."""
    standing.lay(replace(samples.issue_slate(), battery=None))
    assert not standing.button("Check").isEnabled()
    standing.key(Qt.Key.Key_F5)
    assert standing.asked("chosen") == []
    assert standing.window.scan_line.said().words == "Scan the battery that goes along."


def test_a_stop_leaves_no_blue_on_the_screen(standing: Standing) -> None:
    """With a stop there is no go, and F5 does nothing."""
    standing.lay(samples.stop_slate())
    standing.key(Qt.Key.Key_F5)
    assert standing.asked("chosen") == []
    assert "Not to be issued to Imre Dobrosi" in standing.shown()
    assert "29 CFR 1910.134(k)(5)" in standing.shown()


def test_nothing_is_pressed_while_an_operation_is_under_way(standing: Standing) -> None:
    """A pending operation takes the buttons away and says what is being done."""
    standing.lay(replace(samples.issue_slate(), pending=Pending("id", "Issuing U000418M")))
    for key in (Qt.Key.Key_F5, Qt.Key.Key_F9):
        standing.key(key)
    assert standing.asked("chosen") == []
    assert "Issuing U000418M" in standing.shown()


def test_the_empty_counter_takes_returns_with_f6(standing: Standing) -> None:
    """F6 on the empty counter begins returns."""
    standing.key(Qt.Key.Key_F6)
    assert standing.asked("chosen") == [("returns", "")]


def test_a_scan_goes_out_whatever_has_the_focus(standing: Standing) -> None:
    """Focus in a search field: the label is told, the field stays empty, no button is pressed."""
    standing.open("units", "", samples.unit_rows())
    field = next(one for one in standing.window.findChildren(QLineEdit) if one.isVisible())
    field.setFocus()
    standing.burst(samples.unit().label)
    QTest.qWait(60)
    assert standing.asked("raw_scan") == [(samples.unit().label,) * 2]
    assert field.text() == ""


def test_a_label_can_be_typed_by_hand(standing: Standing) -> None:
    """F2 opens the field, slow keys fill it, Return tells the label and closes it."""
    standing.key(Qt.Key.Key_F2)
    for character in "u0":
        QTest.keyClick(standing.window.windowHandle(), character)
        QTest.qWait(60)
    assert standing.window.typed.field.text() == "u0"
    standing.key(Qt.Key.Key_Return)
    assert standing.asked("raw_scan") == [("u0", "u0")]
    assert not standing.window.typed.isVisible()


def test_escape_closes_the_typed_label_and_leads_back(standing: Standing) -> None:
    """Esc takes the field away; once more, from another place, it opens the counter."""
    standing.open("stock", "", samples.items())
    standing.key(Qt.Key.Key_F2)
    standing.key(Qt.Key.Key_Escape)
    assert not standing.window.typed.isVisible()
    assert standing.window.place()[0] == "stock"
    standing.key(Qt.Key.Key_Escape)
    assert standing.window.place()[0] == "counter"


@pytest.mark.parametrize(
    ("digit", "place"), [(2, "shift"), (3, "units"), (4, "bench"), (7, "people"), (9, "journal"), (0, "settings")]
)
def test_control_and_a_digit_open_a_place(standing: Standing, digit: int, place: str) -> None:
    """Ctrl+digit opens the place and it asks for its data."""
    standing.key(Qt.Key(Qt.Key.Key_0 + digit), Qt.KeyboardModifier.ControlModifier)
    assert standing.window.place() == (place, "")
    assert standing.asked("wanted")[-1][0] == place


def test_tiles_cells_and_first_things_open_what_they_count(standing: Standing) -> None:
    """A tile opens its list with its filter, a cell its unit, a first thing its place."""
    tile = next(
        one
        for one in standing.window.counter.empty.findChildren(type(standing.button("Overdue: 1. since Tue 22:30")))
        if one.accessibleName().startswith("On hold")
    )
    tile.click()
    assert standing.window.place() == ("units", "on hold")
    assert standing.asked("wanted")[-1] == ("units", "on hold")
    standing.window.open_place("counter")
    label = samples.BOARD.cells[0].label
    standing.window.counter.empty.board.opened.emit(label)
    assert standing.asked("wanted")[-1] == ("unit", label)


def test_the_line_says_what_became_of_a_scan(standing: Standing) -> None:
    """A refused scan shows its label, its sign and its words, over every place."""
    standing.window.open_place("areas")
    standing.window.show_line(Line("refused", "Label B000077D is unknown here.", "B000077D", samples.NOW))
    said = standing.window.scan_line.said()
    assert (said.words, said.label, said.mark, said.right) == (
        "Label B000077D is unknown here.",
        "B000077D",
        "stop",
        "scanned 06:12",
    )
    standing.window.open_place("stock")
    standing.window.show_place("stock", samples.items())
    assert "below the minimum" in standing.window.scan_line.said().words


def test_the_rail_shows_what_waits_and_who_is_signed_on(standing: Standing) -> None:
    """Counts stand beside places; the foot has clock, date, counter and clerk."""
    shown = standing.shown()
    assert "Bench, 5 waiting" in shown
    assert "06:12, Wed 25 Nov, Counter 1, Rhea Castel" in shown
    standing.lay(Slate())
    assert "nobody signed on" in standing.shown()


def test_notes_and_work_in_progress_stand_under_the_strip(standing: Standing) -> None:
    """A notice stays until it is taken away; so does work in progress."""
    standing.window.show_note("A crib of our own invention.")
    standing.window.show_busy("Making the sample store: 40 %")
    settle()
    assert "A crib of our own invention." in standing.shown()
    assert "Making the sample store: 40 %" in standing.shown()
    standing.window.show_note("")
    standing.window.show_busy(None)
    settle()
    assert not standing.window.note.isVisible()


def test_small_windows_fold_the_rail_into_a_list(qapp: QApplication) -> None:
    """At 960 x 540 the rail has 'Places', and the list over the page opens them."""
    standing = stand("960 x 540")
    standing.button("Places").click()
    settle()
    assert standing.window.place_list.isVisible()
    standing.button("Journal").click()
    assert standing.window.place()[0] == "journal"
    standing.open("units", "", samples.unit_rows())
    few = next(one for one in standing.window.findChildren(QComboBox) if one.isVisible())
    few.setCurrentIndex(few.findData("on hold"))
    few.activated.emit(few.currentIndex())
    assert standing.asked("wanted")[-1] == ("units", "on hold")
    standing.window.close()


def test_everything_changes_with_the_look(qapp: QApplication) -> None:
    """At 200 % the same window counts as small; back at 100 % it is wide again."""
    standing = stand()
    standing.lay(samples.issue_slate())
    with wearing(u=2.0):
        settle()
        assert standing.window.size_class().name == "SMALL"
        assert not standing.window.counter.shift.isVisible()
    settle()
    assert standing.window.size_class().name == "WIDE"
    assert standing.window.counter.shift.isVisible()
    standing.window.close()


def test_topics_make_the_open_place_ask_again(standing: Standing) -> None:
    """Only a place that shows a touched topic asks; the board is always kept fresh."""
    standing.open("stock", "", samples.items())
    standing.said.clear()
    standing.window.show_changed(frozenset({"custody"}))
    assert standing.asked("wanted") == [("board", "")]
    standing.window.show_changed(frozenset({"lot"}))
    assert standing.asked("wanted")[1:] == [("stock", ""), ("board", "")]


def test_what_becomes_of_a_caution_is_said() -> None:
    """It stands on the slip, whether the check has a step for it or not; nothing is said of it where there is none."""
    told = {
        number: note_of(samples.issue_slate((*[samples.CAUTION] * number, *samples.FINE)), ())[1]
        for number in (0, 1, 2)
    }
    assert told == {0: "", 1: "The caution stands on the slip.", 2: "The cautions stand on the slip."}
