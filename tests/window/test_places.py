"""Lists, cards, journal and settings: what they show, what they ask for, what opens."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from cribdesk.crib.change import THUMB
from cribdesk.crib.label import Kind
from cribdesk.crib.serviceable import Serviceable
from cribdesk.desk.cards_lists import BenchList, InstrumentRow
from cribdesk.desk.settings import SETTINGS
from cribdesk.window.choices import Option
from cribdesk.window.components.fields import ChoiceField
from cribdesk.window.components.plate import Plate
from cribdesk.window.components.table import Table
from cribdesk.window.lists import PAUSE, Search
from cribdesk.window.lives import account_of, few, level_of, lives_of
from cribdesk.window.unit_page import plot_of
from cribdesk.window.views.settings import fault_of
from tests.window import samples
from tests.window.standing import Standing, settle, stand


@pytest.fixture
def standing(qapp: QApplication) -> Iterator[Standing]:
    """A window of 1440 x 900."""
    made = stand()
    yield made
    made.window.close()


def table_of(standing: Standing) -> Table:
    """The one table that is shown."""
    return next(one for one in standing.window.findChildren(Table) if one.isVisible())


def cells(table: Table) -> list[list[str]]:
    """What every row says."""
    model = table.rows_model
    return [[str(model.data(model.index(n, k))) for k in range(len(model.columns))] for n in range(len(model.rows))]


def test_units_ask_by_filter_and_by_search(standing: Standing) -> None:
    """Each change asks anew: the filter at once, the text when one stops typing."""
    standing.open("units", "on hold", samples.unit_rows())
    assert standing.asked("wanted")[-1] == ("units", "on hold")
    search = next(one for one in standing.window.findChildren(Search) if one.isVisible())
    search.setFocus()
    for character in "wl1":
        QTest.keyClick(standing.window.windowHandle(), character)
        QTest.qWait(45)
    QTest.qWait(PAUSE + 60)
    assert standing.asked("wanted")[-1] == ("units", "on hold\nwl1")


def test_a_row_of_units_says_how_it_stands_and_opens(standing: Standing) -> None:
    """Sign, label, words, next change, hours; Return on the row opens the unit."""
    rows = samples.unit_rows()
    standing.open("units", "", rows)
    table = table_of(standing)
    assert rows[0].label in cells(table)[0][1]
    assert cells(table)[0][3] == "Overdue, on the rack"
    table.setFocus()
    standing.key(Qt.Key.Key_Down)
    standing.key(Qt.Key.Key_Return)
    assert standing.window.place() == ("units", rows[1].label)
    assert standing.asked("wanted")[-1] == ("unit", rows[1].label)


def test_a_card_that_was_not_asked_for_is_not_shown(standing: Standing) -> None:
    """An answer that comes late, for another unit, changes nothing."""
    asked, other = samples.unit(417), samples.unit(291)
    standing.open("unit", asked.label, asked)
    standing.window.show_place("unit", other)
    settle()
    assert asked.label in standing.shown()
    assert other.unit.serial not in standing.shown()


def test_the_unit_page_tells_everything_of_a_unit(standing: Standing) -> None:
    """Parts, next change with its basis, hours, issues, serial, readings, history with exact moments."""
    card = samples.unit()
    standing.open("unit", card.label, card)
    shown = standing.shown()
    for words in (
        "Ready",
        "Spark arrestor, 130 h left",
        "Pre-filter: about 19 h left, so about Fri 27 Nov",
        "rule of thumb, common practice",
        "Worn in all: 1 216 h",
        "Issues: 163",
        "Serial: WL1-22-0417",
        "14 airflow readings",
        "412 entries",
        "Cleaned",
        "Wed 25 Nov 2026, 06:09:00 CET",
    ):
        assert words.replace(" ", "\u00a0") in shown or words in shown.replace("\u00a0", " "), words


def test_a_part_opens_to_how_its_figure_was_reached(standing: Standing) -> None:
    """Pressing a life bar tells item, lot, since when, hours, and what the figure rests on."""
    card = samples.unit()
    standing.open("unit", card.label, card)
    page = standing.window.page()
    page.unit.parts.opened.emit("face-seal")  # type: ignore[attr-defined]
    settle()
    shown = standing.shown().replace("\u00a0", " ")
    assert "Face seal: about 130 h left" in shown
    assert "Face seal, WL1, lot K2608, fitted" in shown


def test_keys_of_the_unit_page_name_the_unit(standing: Standing) -> None:
    """F5 issue, F7 change, F8 hold carry the label; F9 leads back to the list."""
    card = samples.unit()
    standing.open("unit", card.label, card)
    for key in (Qt.Key.Key_F5, Qt.Key.Key_F7, Qt.Key.Key_F8):
        standing.key(key)
    assert standing.asked("chosen") == [("issue", card.label), ("change", card.label), ("hold", card.label)]
    standing.key(Qt.Key.Key_F9)
    assert standing.window.place() == ("units", "")


def test_a_unit_that_is_out_is_taken_back_from_its_page(standing: Standing) -> None:
    """Nothing else can be begun with a unit somebody has, but a hold."""
    card = samples.out_slate().unit
    assert card is not None
    standing.open("unit", card.label, card)
    standing.key(Qt.Key.Key_F5)
    standing.key(Qt.Key.Key_F7)
    assert standing.asked("chosen") == [("take-back", card.label)]


def test_the_history_grows_page_by_page(standing: Standing) -> None:
    """Scrolled to its end it asks once for the next page and adds it; at the last page it asks no more."""
    rows = tuple(samples.timeline_row(n, "out", f"Issued {n}") for n in range(30))
    card = samples.unit(timeline=rows, before=971)
    standing.open("unit", card.label, card)
    history = standing.window.page().unit.history  # type: ignore[attr-defined]
    bar = history._scroll.verticalScrollBar()
    bar.setValue(bar.maximum())
    bar.setValue(bar.maximum() - 1)
    settle()
    assert standing.asked("wanted").count(("more", f"{card.label}\n971")) == 1
    standing.window.show_place("more", (card.label, tuple(samples.timeline_row(n) for n in range(30, 50)), None))
    settle()
    assert len(history.rows) == 50
    bar.setValue(bar.maximum())
    settle()
    assert len(standing.asked("wanted")) == len([one for one in standing.asked("wanted") if one[0] != "more"]) + 1
    standing.window.show_place("unit", replace(card, timeline=(samples.timeline_row(-1, "ready", "New"), *rows)))
    settle()
    assert len(history.rows) == 51


def test_people_show_what_is_lapsed_and_open(standing: Standing) -> None:
    """Who has trouble is bold with a sign; the badge's card tells clearances and what is held."""
    standing.open("people", "", samples.person_rows())
    table = table_of(standing)
    assert cells(table)[1][7] == "Training ended 22 Nov"
    table.opened.emit(samples.DOBROSI.label)
    standing.window.show_place("person", samples.person(samples.DOBROSI, ended=True, holds=True))
    settle()
    shown = standing.shown()
    assert "Imre Dobrosi" in shown
    assert "Training: ended Sun 22 Nov, stop" in shown
    assert "overdue, back yesterday 22:30, Repair bay" in shown


def test_the_bench_cleans_a_tray_of_ticked_units(standing: Standing) -> None:
    """Ticked rows go on the tray, F5 starts with their labels; a unit that left is ticked no more."""
    bench = samples.bench()
    standing.open("bench", "", bench)
    assert standing.window.scan_line.said().words == "10 units wait at the bench, 6 more fall due"
    rows = next(rows for title, _, rows in bench.groups if title == "Needs cleaning")
    page = standing.window.page()
    table = next(one for one in standing.window.findChildren(Table) if one.accessibleName() == "Needs cleaning")
    for number in (0, 1):
        table._turn(number)
    standing.window.show_place("bench", bench)
    assert page.ticked() == (rows[0].label, rows[1].label)  # type: ignore[attr-defined]
    standing.key(Qt.Key.Key_F5)
    assert standing.asked("chosen") == [("clean", f"{rows[0].label},{rows[1].label}")]
    standing.key(Qt.Key.Key_F5)
    assert len(standing.asked("chosen")) == 1


def test_returns_to_complete_open_their_form(standing: Standing) -> None:
    """The custody's number goes out."""
    standing.open("bench", "", samples.bench())
    standing.button(f"Complete the return of {samples.label(samples.Kind.UNIT, 350)}").click()
    assert standing.asked("chosen") == [("complete-return", "9")]


@pytest.mark.parametrize(
    ("place", "data", "words"),
    [
        ("units", (), "No units yet"),
        ("people", (), "Nobody yet"),
        ("bench", samples.BENCH_NONE, "Nothing waits at the bench"),
        ("stock", (), "Nothing on the shelf yet"),
        ("batteries", (), "No batteries yet"),
        ("areas", (), "No areas yet"),
        ("journal", replace(samples.journal(0, None), count=0), "Nothing was done yet"),
    ],
)
def test_an_empty_place_says_what_to_do_first(standing: Standing, place: str, data: object, words: str) -> None:
    """No bare table: a sentence."""
    standing.open(place, "", data)
    empty = [one._empty for one in standing.window.findChildren(Table) if one.isVisible()]
    assert any(words in one for one in (*empty, standing.shown()))


def test_stock_puts_what_is_low_first_and_opens_to_lots(standing: Standing) -> None:
    """A row opens in place to its lots, blocked ones with a stop, and closes again."""
    standing.open("stock", "", samples.items())
    table = table_of(standing)
    assert [row[1] for row in cells(table)].count("caution") == 2
    assert cells(table)[0][1] == "caution"
    label = next(row.label for row in samples.items() if row.code == "WL1-P3")
    table.opened.emit(label)
    settle()
    assert "stop\nLot K2503: 4 pieces, blocked: recalled" in standing.shown()
    table.opened.emit(label)
    settle()
    assert "K2503" not in standing.shown()


def test_a_long_bench_scrolls_to_its_flow_meters(standing: Standing) -> None:
    """A list longer than the window has its bar at once; the button beside it leads to the meters at its end."""
    rows = samples.unit_rows() * 12
    standing.open("bench", "", BenchList((("Before next shift", "", rows),), (), ()))
    until = f"calibration ended {samples.TODAY:%d %b}"
    meter = InstrumentRow(4, samples.label(Kind.INSTRUMENT, 4), "Flow meter 4", "FM-4", "3 Nov 2025", "", until, False)
    standing.window.show_place("instruments", (meter,))
    settle()
    bar = standing.window.page()._scroll.verticalScrollBar()  # type: ignore[attr-defined]
    assert (bar.value(), bar.maximum() > 0) == (0, True)
    standing.button("All flow meters").click()
    settle()
    assert bar.value() == bar.maximum()
    assert f"Flow meter 4, FM-4: {until}" in standing.shown()
    odd = replace(meter, scale="scale for air of 1.293 kg/m³", odd_scale=True)
    standing.window.show_place("instruments", (odd,))
    settle()
    assert f"Flow meter 4, FM-4: {until}; scale for air of 1.293 kg/m³" in standing.shown()


def test_the_journal_pages_and_prints_again(standing: Standing) -> None:
    """A row opens to its exact moment and papers, which can be seen and printed; the end asks for more."""
    first = samples.journal()
    standing.open("journal", "", first)
    table = table_of(standing)
    table.opened.emit(str(first.rows[0].seq))
    settle()
    paper, of = first.rows[0].papers[0]
    standing.button(f"See Issue slip {of}").click()
    standing.button(f"Print Issue slip {of} again").click()
    assert standing.asked("preview_paper") == [(paper, of)]
    assert standing.asked("print_again") == [(paper, of)]
    assert "entry 1\u00a0000" in standing.shown()
    table.rows_model.fetchMore(table.rootIndex())
    assert standing.asked("wanted")[-1] == ("journal", "951")
    older = tuple(samples.timeline_row(n) for n in range(50, 80))
    standing.window.show_place("journal", replace(first, rows=older, entries=(), before=None))
    settle()
    assert len(table.rows_model.rows) == 80
    assert not table.rows_model.canFetchMore(table.rootIndex())


def test_the_journal_opens_at_an_entry(standing: Standing) -> None:
    """From a history the journal begins with that entry."""
    standing.window.open_place("journal", "412")
    assert standing.asked("wanted")[-1] == ("journal", "413")
    page = samples.journal()
    standing.window.show_place("journal", page)
    settle()
    assert table_of(standing).opened_row() == 0


def test_a_row_of_the_journal_opens_to_all_of_it(standing: Standing) -> None:
    """The whole sentence, who, where, the exact moment, the entry's number, figures; subjects are plates that open."""
    page = samples.journal()
    subjects = tuple(samples.label(Kind.UNIT, n) for n in range(300, 307))
    rows = (replace(page.rows[0], figures="148 L/min, 148 L/min"), *page.rows[1:])
    entries = (replace(page.entries[0], subjects=subjects, late=True), *page.entries[1:])
    standing.open("journal", "", replace(page, rows=rows, entries=entries))
    table = table_of(standing)
    assert cells(table)[0][3] == "Rhea Castel"
    table.opened.emit(str(rows[0].seq))
    settle()
    shown = standing.shown()
    assert f"{rows[0].what}." in shown
    assert "Rhea Castel, counter 1, Wed 25 Nov 2026, 06:09:00 CET, entry 1\u00a0000, 148 L/min, 148 L/min" in shown
    assert "clock stood earlier" in shown
    plates = [one for one in standing.window.findChildren(Plate) if one.isVisible()]
    assert [one.text() for one in plates] == list(subjects)
    plates[6].click()
    assert standing.window.place() == ("units", subjects[6])


def test_settings_of_the_workstation_are_told_at_once(standing: Standing) -> None:
    """Text size, shade, sound, printer."""
    standing.window.show_station({"scale": "1", "printers": "Office\nTags", "printer": "Tags"})
    standing.open("settings", "", dict(samples.HOUSE.settings))
    for words in ("150 %", "dark", "off", "Office"):
        next(
            one
            for one in standing.window.findChildren(Option)
            if one.isVisibleTo(standing.window) and one.words == words
        ).click()
    assert standing.asked("station_set") == [
        ("scale", "1.5"),
        ("shade", "dark"),
        ("volume", "0"),
        ("printer", "Office"),
    ]


def test_settings_of_the_site_are_checked_before_they_are_saved(standing: Standing) -> None:
    """A wrong value is told in place and cannot be saved; a right one goes out by its name."""
    standing.open("settings", "", dict(samples.HOUSE.settings))
    page = standing.window.page()
    field = page.fields["zone"]  # type: ignore[attr-defined]
    field.set_value("Middle earth")
    field.changed.emit()
    assert "is no time zone" in field.fault()
    save = standing.button("Save Time zone of the site (IANA name)")
    assert not save.isEnabled()
    field.set_value("America/Chicago")
    field.changed.emit()
    assert save.isEnabled()
    save.click()
    assert standing.asked("site_set") == [("zone", "America/Chicago")]


def test_what_has_few_values_is_chosen_from_a_list(standing: Standing) -> None:
    """Rules by their name and not by their code; nothing else can be chosen; it goes out by its code."""
    standing.open("settings", "", dict(samples.HOUSE.settings))
    page = standing.window.page()
    for setting in SETTINGS:
        if setting.choices:
            assert isinstance(page.fields[setting.name], ChoiceField)  # type: ignore[attr-defined]
            for value in setting.choices:
                setting.check(value)
    field = page.fields["rule_set"]  # type: ignore[attr-defined]
    words = [field.editor.itemText(number) for number in range(field.editor.count())]
    names = samples.HOUSE.rule_sets
    assert words == [names[code].name if code in names else code for code in ("us_federal", "us_california", "uk")]
    field.set_value("us_california")
    field.changed.emit()
    standing.button("Save Rules in force (none is for all of the EU)").click()
    assert standing.asked("site_set") == [("rule_set", "us_california")]


def test_a_sheet_of_labels_asks_for_what_first(standing: Standing) -> None:
    """Nothing chosen: it says so; then the sheet and the answer card go out."""
    standing.open("settings", "", dict(samples.HOUSE.settings))
    standing.button("Print label sheet").click()
    assert standing.asked("print_again") == []
    assert standing.window.scan_line.said().words == "Choose first what the labels are for."
    next(one for one in standing.window.findChildren(Option) if one.id == "batteries").click()
    standing.button("Print label sheet").click()
    standing.button("See answer card").click()
    assert standing.asked("print_again") == [("label_sheet", "batteries")]
    assert standing.asked("preview_paper") == [("answer_card", "")]


def test_faults_of_settings_are_plain_words() -> None:
    """What is wrong and how to write it."""
    assert fault_of("shift_plan", "from six") == "'from six' is no shift; write it like 'Day 06:00-14:30'."
    assert fault_of("page", "A4") == ""


def test_life_bars_follow_what_is_needed(qapp: QApplication) -> None:
    """Pin in solid is fine, in pale a caution, beyond a limit that binds a stop; a rule of thumb only cautions."""
    part = next(one for one in samples.parts() if one.position == "pre-filter")  # 4, 19, 47 h
    bound = replace(part, basis="limit of the model")
    assert [level_of(bound, needed) for needed in (3, 8, 60)] == ["fine", "caution", "stop"]
    assert level_of(replace(bound, early=-3.0, middle=-3.0, late=-3.0), 0) == "stop"
    thumb = replace(part, basis=THUMB)
    assert [level_of(thumb, needed) for needed in (3, 8, 60)] == ["fine", "caution", "caution"]
    assert level_of(replace(thumb, early=-3.0, middle=-3.0, late=-3.0), 0) == "caution"
    lives = lives_of(samples.unit(), 8)
    assert [one.id for one in lives if one.level != "fine"] == ["pre-filter"]
    shown, rest = few(lives, samples.unit())
    assert [one.id for one in shown] == [
        "spark-arrestor",
        "pre-filter",
        "particulate-filter",
        "lens-plate",
        "face-seal",
    ]
    assert rest.replace("\u00a0", " ") == "2 more parts, at least 440 h left"


def test_an_account_names_what_a_figure_rests_on(standing: Standing) -> None:
    """Item, lot, label of the part, hours, and the basis."""
    words = account_of(samples.unit(), "blower", standing.window.doors).replace("\u00a0", " ")
    assert f"Blower, WL1, lot K2608, {samples.label(samples.Kind.PART, 51)}, fitted Wed 18 Nov." in words
    assert "1 600 h worn; the rule of thumb is 3 000 h." in words
    assert "Basis: rule of thumb, common practice, no source." in words


def test_the_plot_of_readings_has_its_limit() -> None:
    """Hours before now at the left, the limit inside the frame; nothing to plot gives no plot."""
    data = plot_of(samples.unit().flow, 1216.0)
    assert data is not None
    assert data.limit is not None
    assert data.limit.value == 170.0
    assert data.y[0] < 170.0 < data.y[1]
    assert data.dots[0].points[0][0] == -100.0
    assert plot_of((), 10.0) is None


def test_a_unit_that_needs_cleaning_goes_to_the_counter(standing: Standing) -> None:
    """It cannot be issued from its page; its first button brings it to the counter."""
    card = samples.unit(211, Serviceable.NEEDS_CLEANING, ("not cleaned since its last wearer",))
    standing.open("unit", card.label, card)
    assert standing.button("To the counter").isEnabled()
    assert "Needs cleaning" in standing.shown()
