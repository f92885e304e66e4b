"""The due list at the bench: groups, the tray, the calendar, the keys, and that every word fits."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from cribdesk.desk.due import SORTED_BY
from cribdesk.desk.due_cards import NOW, SHIFT, WEEK, DueList, DueRow, Duty, FetchRow
from cribdesk.window.components.action import ActionButton
from cribdesk.window.components.cells import LifeCell
from cribdesk.window.doors import Doors
from cribdesk.window.due_page import COLUMNS, PART, UNIT, URGENCY, DuePage, first_job, groups, row_of
from cribdesk.window.layout import Size
from cribdesk.window.whole_table import WholeTable
from tests.window import samples
from tests.window.desk_window import DeskWindow
from tests.window.helpers import words_that_do_not_fit

AT = datetime(2026, 11, 25, 5, 12, tzinfo=UTC)


def row(group: str, label: str, item: str, score: float, level: str = "due", in_hand: bool = True) -> DueRow:
    """One part that falls due."""
    return DueRow(group, label, "welding PAPR", item.lower(), item.capitalize(), item, f"{item.capitalize()}, WL1",
                  level, "9 to 40 h", "41 % before 14:30", "ready" if in_hand else "back today 14:30", in_hand, score,
                  9.0, 40.0, 60.0, 8.0)  # fmt: skip


DUE = DueList(
    at=AT, end=datetime(2026, 11, 25, 13, 30, tzinfo=UTC), bound=95,
    rows=(
        row(NOW, "U000291M", "LENS", 6.0, "stop", in_hand=False), row(SHIFT, "U000355M", "LENS", 0.9, "caution"),
        row(SHIFT, "U000355M", "PREFILTER", 0.4), row(WEEK, "U000310B", "PREFILTER", 0.2),
    ),
    fetch=(FetchRow("K000001X", "LENS", "Lens, WL1", 2, "C-02", 1, "lot L1 first"),
           FetchRow("K000002X", "PREFILTER", "Prefilter, WL1", 1, "C-04", 11, "lot P1 first", 1)),
    duties=(Duty("due", "Flow meter 2", "Calibration ends Fri 27 Nov", "M000002T", date(2026, 11, 27)),
            Duty("due", "Inspection by its model's interval", "By Mon 30 Nov", "U000310B", date(2026, 11, 30))),
)  # fmt: skip


@pytest.fixture
def page(qtbot: QtBot) -> DuePage:
    """The page with a list on it."""
    doors = Doors(samples.HOUSE)
    doors.moment = AT
    made = DuePage(doors)
    qtbot.addWidget(made)
    made.resize(1312, 760)
    made.show()
    made.take(DUE)
    return made


def test_groups_by_urgency() -> None:
    """Now, before next shift, this week, each with units and parts; the words of the shift name its end."""
    found = list(groups(DUE, URGENCY, "14:30"))
    assert [title for title, _, _ in found] == ["Now", "Before next shift", "This week"]
    assert found[1][1] == "1 unit, 2 parts by 14:30"


def test_groups_by_part_are_a_tray() -> None:
    """All lenses together, the heaviest group first, with bin, what is there, and the lot that goes first."""
    first, second = groups(DUE, PART, "14:30")
    assert (first[0], first[1]) == ("Lens, WL1, LENS", "2 to change, bin C-02, only 1 there, lot L1 first")
    assert [one.label for one in first[2]] == ["U000291M", "U000355M"]
    assert second[1].endswith("1 more this week")


def test_groups_by_unit() -> None:
    """A unit with two parts is one group, however far apart they are due."""
    found = {title: (words, len(rows)) for title, words, rows in groups(DUE, UNIT, "14:30")}
    assert found["U000355M"] == ("Welding PAPR, ready, 2 parts", 2)


def test_a_row_shows_what_is_left() -> None:
    """Bar and pin are shares of one whole life: 9 of 60 h sure, 40 perhaps, 8 needed."""
    cell = row_of(DUE.rows[1]).cells[3]
    assert isinstance(cell, LifeCell)
    assert (cell.life.sure, cell.life.perhaps) == (9 / 60, 40 / 60)
    assert cell.life.pin == pytest.approx(8 / 60)


def test_the_first_job_is_in_hand() -> None:
    """What is worst but out with somebody cannot be begun at the bench."""
    found = first_job(DUE)
    assert found is not None
    assert found.label == "U000355M"


def test_keys_print_and_start(page: DuePage) -> None:
    """F7 prints the list, F5 takes the first unit in hand to a change."""
    printed: list[tuple[str, str]] = []
    chosen: list[tuple[str, str]] = []
    page._doors.print_again.connect(lambda *one: printed.append(one))
    page._doors.chosen.connect(lambda *one: chosen.append(one))
    assert page.press("F7")
    assert page.press("F5")
    assert printed == [("due_list", "")]
    assert chosen == [("change", "U000355M")]
    assert not page.press("F8")


def test_its_sentence(page: DuePage) -> None:
    """How many units now, how many before the end of the shift."""
    assert page.answer() == "1 unit due now, 1 may be before 14:30"


def test_a_duty_opens_what_it_is_about(page: DuePage) -> None:
    """A meter opens its calibration, a unit its page."""
    opened: list[tuple[str, str]] = []
    page._doors.entry_wanted.connect(lambda *one: opened.append(one))
    page._doors.open_place.connect(lambda *one: opened.append(one))
    for duty in DUE.duties:
        page._open_duty(duty)
    assert opened == [("calibrate", "M000002T"), ("unit", "U000310B")]


def test_the_order_is_told_before_the_list(page: DuePage) -> None:
    """At the top in a word, on hover and at the foot in full; where rows stand by unit it is another order."""
    assert "Worst first, by risk x consequence" in page._words.text()
    assert page._words.toolTip() == SORTED_BY
    page.ways.set_value(UNIT)
    page._lay()
    assert page._words.text() == "3 units, 4 parts"


def test_where_the_unit_is_stays_in_a_small_window(page: DuePage) -> None:
    """At 1024 the bar goes, for its figure says the same; who has the unit is said nowhere else in the row."""
    page.resize(896, 700)
    page.fit(Size.MIDDLE)
    QApplication.processEvents()
    table = page.findChild(WholeTable)
    assert table is not None
    heads = [one.head for n, one in enumerate(COLUMNS) if not table.isColumnHidden(n)]
    assert heads == ["", "Label", "Part", "", "Why", "Unit"]


@pytest.mark.parametrize("size", list(Size))
@pytest.mark.parametrize("way", [URGENCY, PART, UNIT])
def test_its_words_fit(page: DuePage, size: Size, way: str) -> None:
    """In every layout and order no word is wider than its box, and tray and calendar are on the page."""
    page.resize({Size.WIDE: 1312, Size.MIDDLE: 896, Size.SMALL: 856}[size], 600)
    page.fit(size)
    page.ways.set_value(way)
    page._lay()
    QApplication.processEvents()
    assert not words_that_do_not_fit(page)
    assert page._side.isVisible()
    assert page._side.width() > (300 if size is Size.WIDE else 700)


@pytest.mark.parametrize("many", [60, 130])
def test_many_groups_come_in_turns(page: DuePage, qtbot: QtBot, many: int) -> None:
    """Eight units at once, sixty after some turns of the window, then it asks; another order begins from the top."""
    page.ways.set_value(UNIT)
    page.take(replace(DUE, rows=tuple(row(WEEK, f"U{n:06}M", "LENS", 1.0) for n in range(many))))

    def laid() -> int:
        return len(page._inside.findChildren(WholeTable))

    def more() -> list[ActionButton]:
        return [one for one in page._inside.findChildren(ActionButton) if one.isVisible()]

    assert laid() == 8
    qtbot.waitUntil(lambda: page._laid == 60)
    for expected in range(120, many + 60, 60):
        qtbot.waitUntil(lambda: [one.accessibleName() for one in more()] == ["Show 60 more"])
        more()[0].click()
        qtbot.waitUntil(lambda expected=expected: page._laid == min(expected, many))
    qtbot.wait(20)
    assert more() == []
    page.ways.set_value(URGENCY)
    page._sort(URGENCY)
    qtbot.wait(20)
    assert page._laid == 1


def test_opened_from_the_bench_and_printed(signed_on: DeskWindow) -> None:
    """F6 at the bench opens it, F7 prints it, Esc leads back to what waits."""
    signed_on.window.open_place("bench")
    signed_on.rest()
    signed_on.press("F6")
    signed_on.shows("Fetch for the tray", "By the calendar", "By urgency")
    signed_on.press("F7")
    assert signed_on.printer.names() == ["due_list"]
    signed_on.key(Qt.Key.Key_Escape)
    signed_on.lacks("Fetch for the tray")
