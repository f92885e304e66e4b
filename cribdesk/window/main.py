"""The window: rail, scan line and places; every key, every scan and every touch comes in here."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime

from PySide6.QtCore import Signal
from PySide6.QtGui import QAction, QCloseEvent, QResizeEvent
from PySide6.QtWidgets import QApplication, QMainWindow, QStackedWidget, QWidget

from cribdesk.desk.actions import Action
from cribdesk.desk.cards_lists import CounterBoard
from cribdesk.desk.entry_form import EntryForm, Troubles
from cribdesk.desk.find import Found
from cribdesk.desk.house import House
from cribdesk.desk.slate import Line as Said_
from cribdesk.desk.slate import Slate
from cribdesk.window.check.page import CheckPage
from cribdesk.window.components.base import FocusRing, Pressable
from cribdesk.window.components.rail import PLACES, Place, Rail
from cribdesk.window.components.scan_line import Bars, ScanLine
from cribdesk.window.components.table import Table
from cribdesk.window.doors import Doors
from cribdesk.window.entry_form import EntryPage
from cribdesk.window.keys import add_keys
from cribdesk.window.layout import Boxes, Row, Size, size_of
from cribdesk.window.look import Look, current, source, wear
from cribdesk.window.notes import NoteLine, PlaceList, TypedLabel
from cribdesk.window.preview import PaperTable, Preview
from cribdesk.window.scanner import Wedge
from cribdesk.window.strip import Strip
from cribdesk.window.view import Page, View
from cribdesk.window.views import views
from cribdesk.window.views.counter import Counter

KEYS = ("F5", "F6", "F7", "F8", "F9", "F10", "F11", "F12", "Esc")
FORM_KEYS = {"done": "F5", "go": "F5", "good": "F5", "put-aside": "F9", "back": "F9"}


def no_bars(_: str) -> Bars:
    """No ornament: used where no encoder was given."""
    return ()


class MainWindow(QMainWindow):
    """A picture of the slate and of cards. What a person does goes out by signals; slots show what came of it.

    `bars` encodes a label for the ornament of the scan line. `counter` is this workstation's name.
    """

    raw_scan = Signal(str, str)
    overlong_scan = Signal()
    found = Signal(str)
    chosen = Signal(str, str)
    filled = Signal(str, str)
    answered = Signal(object, float)
    wanted = Signal(str, str)
    print_again = Signal(str, str)
    preview_paper = Signal(str, str)
    station_set = Signal(str, str)
    site_set = Signal(str, str)
    entry_wanted = Signal(str, str)
    entered = Signal(str, object)
    closing = Signal()

    def __init__(
        self, house: House, look: Look | None = None, *, counter: str = "Counter 1",
        bars: Callable[[str], Bars] = no_bars, prefix: str = "",
    ) -> None:  # fmt: skip
        super().__init__()
        if look is not None:
            wear(look)
        self.setWindowTitle("CribDesk")
        self.doors = Doors(house, self)
        self._slate = Slate()
        self._station: dict[str, str] = {}
        self._size = Size.WIDE
        self._place, self._argument, self._kind = "counter", "", "board"
        self._make_pages()
        self._lay_out()
        self._strip = Strip(self.scan_line, self._rail, self.doors, bars, counter)
        self._connect()
        self._actions = add_keys(self, (*KEYS, "F2", "F3", *(view.key for view in self._views)), self._key)
        app = QApplication.instance()
        assert isinstance(app, QApplication)
        self.wedge = Wedge(self, prefix)
        self.wedge.scanned.connect(self.raw_scan)
        self.wedge.overlong.connect(self.overlong_scan)
        app.installEventFilter(self.wedge)
        self._ring = FocusRing(app)
        source.look_changed.connect(self._refit)
        self.setMinimumSize(960, 540)
        self.resize(1440, 900)
        self._rail.set_open("counter")
        self.show_slate(self._slate, ())
        self._say()

    # What it is made of.

    def _make_pages(self) -> None:
        self._views: tuple[View, ...] = views()
        self.doors.titles = {view.id: view.title for view in self._views}
        self._pages: dict[str, Page] = {}  # made when first opened, so that a start stays quick
        self.counter = Counter(self.doors)
        self._pages["counter"] = self.counter
        self._of_kind = {kind: view.id for view in self._views for kind in view.answers}
        self.check = CheckPage(self.doors)
        self._entry: EntryPage | None = None

    def _lay_out(self) -> None:
        self._rail = Rail(tuple(Place(view.id, view.title, view.key) for view in self._views))
        self.scan_line = ScanLine()
        self.typed = TypedLabel()
        self.note = NoteLine()
        self._places = QStackedWidget()
        self._places.addWidget(self.counter)
        self.place_list = PlaceList(tuple((view.id, view.title, view.key) for view in self._views))
        self._places.addWidget(self.place_list)
        self.typed.lie_over(self._places)
        desk = QWidget()
        column = Boxes(desk)
        column.addWidget(self.scan_line)
        column.addWidget(self.typed)
        column.addWidget(self.note)
        body = Row()
        body.addWidget(self._rail)
        body.addWidget(self._places, 1)
        column.addLayout(body, 1)
        self._desk = desk
        self._front = QStackedWidget()
        self._front.addWidget(desk)
        self._front.addWidget(self.check)
        self.setCentralWidget(self._front)

    def _connect(self) -> None:
        doors = self.doors
        for name in ("chosen", "filled", "answered", "wanted", "print_again", "preview_paper", "station_set",
                     "site_set", "entry_wanted", "entered"):  # fmt: skip
            getattr(doors, name).connect(getattr(self, name))
        doors.open_place.connect(self.open_place)
        doors.say.connect(self._say_plainly)
        doors.entry_left.connect(self._leave_entry)
        self._rail.chosen.connect(self._rail_chosen)
        self._rail.clerk_pressed.connect(self._change_clerk)
        self.place_list.chosen.connect(self._open_plain)
        self.scan_line.pressed.connect(lambda: self.type_label(find=True))
        self.typed.entered.connect(self._typed)
        self.typed.chosen.connect(self.found)
        self.typed.looked_for.connect(lambda text: self.wanted.emit("find", text))

    # What comes in.

    def _key(self) -> None:
        action = self.sender()
        if isinstance(action, QAction):
            self.press(action.text())

    def press(self, key: str) -> None:
        """What a key does: a page's own meaning first, then the window's."""
        paper = self.paper()
        if paper is not None:
            paper.press(key)
            return
        if self._front.currentWidget() is self.check:
            self.check.press("F12" if key == "Esc" else key)
            return
        if key.startswith("Ctrl+"):
            self._open_plain(next(view.id for view in self._views if view.key == key))
            table = next((one for one in self.page().findChildren(Table) if one.isVisible()), None)
            if table is not None:
                table.setFocus()  # the arrows go on from here
        elif key in ("F2", "F3"):
            self.type_label(find=key == "F3")
        elif key == "Esc" and (self.typed.isVisible() or self.place_list.isVisible()):
            self.typed.close_field()
            if not self.entry_open():
                self._show_place()
        elif self.entry_open() and self.entry.press(key):
            return
        elif not self.page().press(key) and key == "Esc":
            self._open_plain("counter")

    def type_label(self, find: bool = False) -> None:
        """Open the field in which a label can be typed by hand, or something found."""
        if self._front.currentWidget() is not self.check:
            self.typed.open_field(find)

    def _typed(self, text: str) -> None:
        self.raw_scan.emit(text, text)

    def _rail_chosen(self, place: str) -> None:
        if place == PLACES:
            self._places.setCurrentWidget(self.place_list)
            self.place_list.setFocus()
        else:
            self._open_plain(place)

    def _change_clerk(self) -> None:
        self._open_plain("counter")
        self.chosen.emit("sign-on", "")

    def _open_plain(self, place: str) -> None:
        self.open_place(place, "")

    # What is shown.

    def place(self) -> tuple[str, str]:
        """The open place and what it shows: ('units', 'ready')."""
        return self._place, self._argument

    def page(self) -> Page:
        """The page of the open place."""
        return self._page_of(self._place)

    def _page_of(self, id_: str) -> Page:
        page = self._pages.get(id_)
        if page is None:
            page = next(view for view in self._views if view.id == id_).make(self.doors)
            self._pages[id_] = page
            self._places.addWidget(page)
            page.fit(self._size)
        return page

    def open_place(self, place: str, argument: str = "") -> None:
        """Open a place ('units', filter), or a card in it ('unit', label); it asks for its data by `wanted`."""
        self._place = place if place in self.doors.titles else self._of_kind.get(place, "counter")
        self._argument, self._kind = argument, place
        self._strip.fresh = self._place == "counter"
        self.typed.close_field()
        self.page().open(place, argument)
        if self._place == "settings":
            self.page().take("station", self._station)
        self._show_place()
        self.page().want()
        self._say()

    def _show_place(self) -> None:
        focused, turns = self.focusWidget(), self._places.currentWidget() is not self.page()
        unseen = isinstance(focused, Pressable) and not focused.ringed()
        if turns and focused is not None and (unseen or self._places.isAncestorOf(focused)):
            self.setFocus()  # else Qt hands the focus, ring and all, to whatever comes next
        self._places.setCurrentWidget(self.page())
        self._rail.set_open(self._place)

    def show_place(self, place: str, data: object) -> None:
        """Data that a view asked for; it shows them if it still wants them."""
        if isinstance(data, Found):
            self.typed.show_found(data)
            return
        owner = self._of_kind.get(place)
        for id_, page in self._pages.items():
            if owner == id_ or (owner is None and id_ == self._place):
                page.take(place, data)
        if not self._strip.fresh:
            self._say()

    def show_entry(self, form: EntryForm, troubles: Troubles = ()) -> None:
        """Show a form for somebody's own records in place of the open view; with troubles what is typed stays."""
        self.typed.close_field()
        same = self.entry_open() and self.entry.form_id() == form.id
        self._places.setCurrentWidget(self.entry)
        self.entry.show_clerk(self._slate.clerk)
        self.entry.show_form(form, troubles)
        self._strip.fresh = self._strip.fresh and (bool(troubles) or same)
        self._say()

    def entry_open(self) -> bool:
        """Whether a form for own records stands in place of a view."""
        return self._entry is not None and self._places.currentWidget() is self._entry

    @property
    def entry(self) -> EntryPage:
        """The page for own records, made when it is first wanted."""
        if self._entry is None:
            self._entry = EntryPage(self.doors)
            self._places.addWidget(self._entry)
            self._entry.fit(self._size)
        return self._entry

    def entry_takes(self, label: str) -> bool:
        """A label was scanned: whether the open form has a choice for it, and took it."""
        return self.entry_open() and self.entry.take_label(label)

    def _leave_entry(self) -> None:
        self._show_place()
        self.page().want()
        self._say()

    def show_changed(self, topics: frozenset[str]) -> None:
        """Topics changed: the open place asks again if it shows one of them; the board always does."""
        view = next(one for one in self._views if one.id == self._place)
        labels = {topic for topic in topics if topic == self._argument}
        if view.topics & topics or labels:
            self.page().want()
        if self._place != "counter":
            self.counter.want()

    def show_slate(self, slate: Slate, actions: tuple[Action, ...]) -> None:
        """Show what lies on the counter, and its buttons; a check covers all places."""
        self._slate = slate
        if self._entry is not None:
            self._entry.show_clerk(slate.clerk)
        if slate.check is not None:
            self.check.show_slate(slate)
            if self.paper() is None and self._front.currentWidget() is not self.check:
                self._front.setCurrentWidget(self.check)
                self.check.take_focus()
        else:
            if self._front.currentWidget() is self.check:
                self.check.leave()
                self._front.setCurrentWidget(self._desk)
            self.counter.show_slate(slate, actions)
        self._foot()

    def show_board(self, board: CounterBoard) -> None:
        """Show the numbers, the units and this shift, and what waits at each place."""
        self.counter.show_board(board)
        for view in self._views:
            self._rail.set_count(view.id, board.waiting.get(view.id, 0))

    def show_line(self, line: Said_) -> None:
        """Say what became of a scan, in the strip over every place."""
        self._strip.line, self._strip.fresh = line, True
        self._say(flash=line.level != "quiet")
        self.check.show_line(line)

    def show_clock(self, moment: datetime, words: str = "") -> None:
        """The moment now, and words beside it (a sample store's own clock)."""
        self.doors.moment = moment
        self._strip.beside = words
        self._foot()

    def show_note(self, words: str) -> None:
        """A line under the strip that stays: the sample store's notice. Empty words take it away."""
        self.note.show_words(words)

    def show_busy(self, words: str | None, *, may_stop: bool = False) -> None:
        """Long work in progress, in words, and whether it may be called off; None when it is over."""
        self.note.show_busy(words, may_stop=may_stop)

    def show_station(self, values: dict[str, str]) -> None:
        """The workstation's own settings: scale, shade, volume, prefix, printer."""
        self._station = dict(values)
        self.scan_line.reduce_motion = values.get("motion") == "off"
        self.show_place("station", values)
        self.wedge.prefix = values.get("prefix", self.wedge.prefix)
        self.scan_line.reduce_motion = values.get("motion") == "off"

    def answer_by_command(self, command: str) -> bool:
        """An answer card was scanned: 'good', 'not-good', 'next', 'back', 'break-off'; whether it fitted.

        While a form for records is open 'done' and 'good' enter it and 'put aside' leaves it.
        """
        if self.entry_open() and command in FORM_KEYS:
            return self.entry.press(FORM_KEYS[command])
        return self._front.currentWidget() is self.check and self.check.answer_by_command(command)

    def show_paper(self, title: str, pdf: bytes, paper: str = "", of: str = "", table: PaperTable = ()) -> None:
        """Show a paper page by page, with print (asked for by `print_again(paper, of)`) and save, its `table` too."""
        self._close_paper()
        preview = Preview(title, pdf, table)
        preview.closed.connect(self._close_paper)
        preview.printed.connect(lambda: self.print_again.emit(paper, of))
        self._front.addWidget(preview)
        self._front.setCurrentWidget(preview)

    def paper(self) -> Preview | None:
        """The paper that is shown, if one is."""
        return self._front.findChild(Preview)

    def _close_paper(self) -> None:
        shown = self.paper()
        if shown is not None:
            self._front.removeWidget(shown)
            shown.setParent(None)
            shown.deleteLater()
        self._front.setCurrentWidget(self._desk if self._slate.check is None else self.check)

    # The strip and the foot of the rail.

    def _say_plainly(self, words: str) -> None:
        self.show_line(Said_("caution", words))

    def _say(self, flash: bool = False) -> None:
        answer = self.entry.answer() if self.entry_open() else None
        if answer is None and self._place != "counter":
            answer = self.page().answer()
        self._strip.say(self._size, answer, at_counter=self._place == "counter", flash=flash)

    def _foot(self) -> None:
        self._strip.foot(self._size, self._slate.clerk)

    # Room.

    def size_class(self) -> Size:
        """Wide, middle or small, by effective size."""
        return self._size

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._refit()

    def _refit(self) -> None:
        self._size = size_of(self.width(), self.height(), current().u)
        small = self._size is Size.SMALL
        self._rail.set_compact(small)
        self.scan_line.set_compact(small)
        for page in (*self._pages.values(), self.check):
            page.fit(self._size)
        if self._entry is not None:
            self._entry.fit(self._size)
        self._say()
        self._foot()

    def closeEvent(self, event: QCloseEvent) -> None:
        app = QApplication.instance()
        if app is not None:
            app.removeEventFilter(self.wedge)
        self.closing.emit()
        super().closeEvent(event)
