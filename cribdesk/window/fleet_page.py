"""The fleet picture: the five worst units and the five commonest faults, then one model at a time."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from pathlib import Path

from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QGridLayout, QWidget

from cribdesk.crib.forecast import NO_FIT
from cribdesk.crib.words import capital, count, hours, number, percent
from cribdesk.desk.cards_lists import LifePicture
from cribdesk.desk.fleet_cards import Change, FleetFault, FleetModel, FleetPicture, FleetUnit
from cribdesk.desk.fleet_picture import COUNTED
from cribdesk.window import plot_file
from cribdesk.window.components.action import ActionButton
from cribdesk.window.components.base import Rule, Words
from cribdesk.window.components.cells import Column, Mark, PlateCell, Row
from cribdesk.window.components.plot import Plot
from cribdesk.window.components.segment import Segmented
from cribdesk.window.doors import Doors
from cribdesk.window.fleet_plots import money, plots, rate_words, repairs_plot, tables
from cribdesk.window.layout import Boxes, Panel, Scroll, Size, empty
from cribdesk.window.layout import Row as Line
from cribdesk.window.lists import Picker, button_line, fixed
from cribdesk.window.look import current
from cribdesk.window.rows import Head
from cribdesk.window.survival import survival_plot
from cribdesk.window.wearer_card import card_button
from cribdesk.window.whole_table import WholeTable

UNITS = (
    Column("", 40), Column("Label", 150), Column("Repairs", 90, right=True), Column("Usual", 90, right=True, need=3),
    Column("By chance", 120, right=True), Column("Verdict", 280, need=2), Column("Held for", 0),
)  # fmt: skip
FAULTS = (
    Column("", 40), Column("Fault", 0), Column("Times", 90, right=True), Column("Units", 90, right=True),
    Column("So far", 90, right=True, need=3),
)  # fmt: skip
CHANGES = (
    Column("Position", 0), Column("Changes", 110, right=True), Column("Still good", 110, right=True, need=4),
    Column("Hours at each", 140, right=True), Column("Cost of one", 130, right=True, need=2),
    Column("In 1 000 h worn", 150, right=True, need=1),
)  # fmt: skip
TEST = (
    "Usual is what its worn hours would bring at the rate of its model. By chance is how often a unit like the others "
    "would have so many repairs or more (exact binomial test). With many units some are always far out: a unit is "
    "called worse only where of all so called at most 1 in 20, on average, is a false alarm (Benjamini and Hochberg). "
    "A hint for whom to look at first; a hold decides, not this."
)
COST = (
    "Of the last year, by what they cost in all. Still good: changed by the calendar, along with another part, or by a "
    "recall. Cost at the price of the item, in the site's own money; work is not in it."
)
ACROSS = {Size.WIDE: 3, Size.MIDDLE: 2, Size.SMALL: 1}


def doubt_words(doubts: tuple[tuple[str, int], ...]) -> str:
    """'3 records of parts doubtful: negative hours: left out (3). 1 position: too few lives, ...', or nothing."""
    records = [one for one in doubts if one[0] not in NO_FIT]
    said = [f"{count(many, 'position')}: {words}." for words, many in doubts if words in NO_FIT]
    if records:
        told = "; ".join(f"{words} ({number(many)})" for words, many in records)
        said.insert(0, f"{capital(count(sum(many for _, many in records), 'record'))} of parts doubtful: {told}.")
    return " ".join(said)


class FleetPage(Panel):
    """Asks once when it is opened, and again by F5; what was read stays meanwhile."""

    def __init__(self, doors: Doors) -> None:
        super().__init__()
        self._doors = doors
        self.picture: FleetPicture | None = None
        self._fresh, self._size, self._model = False, Size.WIDE, ""
        self._waiting: list[tuple[Path, Callable[[Path], None]]] = []
        self._saved = 0
        head = Line(margins=(24, 16, 24, 16), gap=8)
        self.as_of = Words("Looking it up.", ink="ink2", wrap=True)
        head.addWidget(self.as_of, 1)
        self._buttons = tuple(
            self._button(words, key, kind) for words, key, kind in (
                ("Read again", "F5", ""), ("Save PNG", "F6", plot_file.PNG), ("Save SVG", "F7", plot_file.SVG),
                ("Save CSV", "F8", plot_file.CSV),
            )
        )  # fmt: skip
        for one in self._buttons:
            head.addWidget(one)
        self.column.addLayout(head)
        self.column.addWidget(Rule())
        self._inside = Panel("page", (24, 12, 24, 24), 8)
        self.body = Scroll(self._inside)
        self.column.addWidget(self.body, 1)
        self._inside.hide()  # until the fleet was read: empty tables would say that there was nothing
        self._make_body()

    def _button(self, words: str, key: str, kind: str) -> ActionButton:
        button = fixed(ActionButton(words, "plain", key, size="bar"))
        button.clicked.connect(partial(self._do, kind))
        return button

    def _make_body(self) -> None:
        column = self._inside.column
        self._worst_head, self._fault_head = Head("Five worst units"), Head("Five commonest faults")
        self.worst, self.faults = WholeTable(UNITS, "Worst units"), WholeTable(FAULTS, "Commonest faults")
        self.worst.opened.connect(self._doors.open_label)
        self._no_worst, self._no_fault = Words("No unit had a repair.", wrap=True), Words("No fault.", wrap=True)
        for one in (self._worst_head, self.worst, self._no_worst, Words(TEST, 14, ink="ink2", wrap=True),
                    self._fault_head, self.faults, self._no_fault, Words(COUNTED, 14, ink="ink2", wrap=True),
                    Rule("edge")):  # fmt: skip
            column.addWidget(one)
        self.models = Segmented((), "Model")
        self.models.chosen.connect(self._choose)
        self.few = Picker("Model", ())
        self.few.activated.connect(lambda: self._choose(str(self.few.currentData())))
        column.addWidget(self.models)
        column.addWidget(self.few)
        self._of_model = Boxes(gap=8)
        column.addLayout(self._of_model)
        column.addStretch(1)

    # What it shows.

    def stale(self) -> None:
        """It was opened: the next `want` asks."""
        self._fresh = False

    def want(self) -> None:
        """Ask, unless it did since it was opened."""
        if not self._fresh:
            self._fresh = True
            self.as_of.setText("Reading the fleet. The counter works meanwhile.")
            self._doors.wanted.emit("fleet", "")

    def take(self, data: object) -> None:
        """The picture, or nothing where the reading was called off."""
        if not isinstance(data, FleetPicture):
            self.as_of.setText("Not read. F5 reads it again.")
            return
        self.picture = data
        self._inside.show()
        self._show_top(data)
        names = tuple((model.code, capital(model.short_name)) for model in data.models)
        if self._model not in [code for code, _ in names]:
            self._model = names[0][0] if names else ""
        self.models.set_choices(names)
        self.few.clear()
        for code, name in names:
            self.few.addItem(name, code)
        self._choose(self._model)

    def answer(self) -> str:
        """The page's one sentence."""
        if self.picture is None:
            return "Fleet"
        if self.picture.called:
            return f"{count(self.picture.called, 'unit is', 'units are')} worse than chance allows"
        return f"No unit is worse than chance allows, {number(self.picture.tested)} compared"

    def _show_top(self, data: FleetPicture) -> None:
        units = sum(model.units for model in data.models)
        said = (f"{count(units, 'unit')}, last 12 months, as of {self._doors.when(data.at)}.", doubt_words(data.doubts),
                self._doors.forecast_trouble)  # fmt: skip
        self.as_of.setText(" ".join(one for one in said if one))
        self._worst_head.set_beside(f"{count(data.tested, 'unit')} compared, {number(data.called)} called worse")
        self._fault_head.set_beside(f"{count(data.all_faults, 'fault')} in all")
        self.worst.show_rows(tuple(unit_row(one) for one in data.worst))
        self.faults.show_rows(tuple(fault_row(one) for one in data.faults))
        for table, none in ((self.worst, self._no_worst), (self.faults, self._no_fault)):
            there = bool(table.rows_model.rows)
            table.setVisible(there)
            none.setVisible(not there)

    def _choose(self, code: object) -> None:
        """Show one model."""
        self._model = str(code)
        self.models.set_value(self._model)
        self.few.setCurrentIndex(max(0, self.few.findData(self._model)))
        many = self.picture is not None and len(self.picture.models) > 1
        self.models.setVisible(many and self._size is Size.WIDE)
        self.few.setVisible(many and self._size is not Size.WIDE)
        empty(self._of_model)
        model = next((one for one in self.picture.models if one.code == self._model), None) if self.picture else None
        if model is not None:
            self._show_model(model)

    def _show_model(self, model: FleetModel) -> None:
        add = self._of_model.addWidget
        add(Head(capital(model.name), count(model.units, "unit")))
        known = self._doors.house.models.get(model.code)
        if known is not None and known.card is not None:
            self._of_model.addLayout(button_line((card_button(self._doors, known, "row"),)))
        add(Words(rate_words(model), wrap=True))
        data = repairs_plot(model)
        if data is not None:
            add(Words(data.told, bold=True, wrap=True))
            add(Words("Grey: where the mean lies 95 times in 100, by the spread between units "
                      "(Nelson; Lawless and Nadeau).", 14, ink="ink2", wrap=True))  # fmt: skip
            add(Plot(data, 240))
        seen = [life for life in model.lives if life.changed]
        if seen:
            add(Rule())
            add(Head("How long parts last", "grey: the curve 95 times in 100; dashed: rule of thumb"))
            add(self._lives(seen))
        if not model.lives:
            add(Words("How long parts last is not worked out yet: no forecast was made.", wrap=True))
        unseen = [life.name.lower() for life in model.lives if not life.changed]
        if unseen:
            add(Words(f"Never changed yet, so known by the rule of thumb alone: {', '.join(unseen)}.", wrap=True))
        if model.changes:
            add(Rule())
            add(Head("Worn hours and cost of each change"))
            table = WholeTable(CHANGES, "Changes")
            worn = model.rate.hours if model.rate else 0.0
            table.show_rows(tuple(change_row(one, worn) for one in model.changes))
            add(table)
            add(Words(COST, 14, ink="ink2", wrap=True))

    def _lives(self, lives: list[LifePicture]) -> QWidget:
        holder = QWidget()
        grid = QGridLayout(holder)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setSpacing(current().px(24))
        across = ACROSS[self._size]
        for n, life in enumerate(lives):
            box = Boxes(gap=4)
            box.addWidget(Words(life.name, bold=True, wrap=True))
            told = f"half last {hours(life.typical)}; {number(life.changed)} changed, {number(life.running)} not"
            box.addWidget(Words(told, 14, ink="ink2", wrap=True))
            box.addWidget(Plot(survival_plot(life, brief=True), 190))
            grid.addLayout(box, n // across, n % across)
        for n in range(across):
            grid.setColumnStretch(n, 1)
        return holder

    def fit(self, size: Size) -> None:
        """Fewer pictures side by side where the window is small."""
        changed = size is not self._size
        self._size = size
        for button, words in zip(self._buttons, ("Read again", "Save PNG", "Save SVG", "Save CSV"), strict=True):
            button.set_word(words if size is Size.WIDE else words.removeprefix("Save "))
        for button, key in zip(self._buttons, ("F5", "F6", "F7", "F8"), strict=True):
            button.set_key(key if size is not Size.SMALL else "")
        if changed and self.picture is not None:
            self._choose(self._model)

    # What it does.

    def press(self, key: str) -> bool:
        """F5 reads again, F6 to F8 save."""
        kind = {"F5": "", "F6": plot_file.PNG, "F7": plot_file.SVG, "F8": plot_file.CSV}.get(key)
        if kind is None:
            return False
        self._do(kind)
        return True

    def _do(self, kind: str, _: bool = False) -> None:
        if not kind:
            self.stale()
            self.want()
        elif self.picture is not None and not self._waiting:
            self._begin_saving(self.picture, kind)

    def _begin_saving(self, picture: FleetPicture, kind: str) -> None:
        """One file a turn of the window, so that it never stands still."""
        local = picture.at.astimezone(self._doors.house.zone)
        into = plot_file.folder() / f"fleet {local:%Y-%m-%d %H.%M}"
        if kind == plot_file.CSV:
            self._waiting = [(into / f"{name}.csv", partial(plot_file.save_table, rows=rows))
                             for name, rows in tables(picture)]  # fmt: skip
        else:
            self._waiting = [(into / f"{name}.{kind}", partial(plot_file.save_plot, data=data))
                             for name, data in plots(picture)]  # fmt: skip
        self._saved = 0
        if not self._waiting:
            self._doors.say.emit("There is no picture to save yet. Nothing was saved.")
        else:
            QTimer.singleShot(0, self, self._save_next)

    def _save_next(self) -> None:
        file, save = self._waiting.pop(0)
        try:
            save(file)
        except OSError as failure:
            self._waiting = []
            saved = f"{count(self._saved, 'file')} saved before." if self._saved else "Nothing was saved."
            self._doors.say.emit(f"{str(failure).rstrip('.')}. {saved}")
            return
        self._saved += 1
        if self._waiting:
            QTimer.singleShot(0, self, self._save_next)
        else:
            self._doors.say.emit(f"{count(self._saved, 'file')} saved in {file.parent}")


def unit_row(one: FleetUnit) -> Row:
    """One of the worst units."""
    verdict = "worse than the others" if one.worse else "no more than chance allows"
    told = f"{one.label}, {one.model}: {count(one.repairs, 'repair')} in {hours(one.hours)}, usual {one.expected:.1f}."
    cells = (
        Mark("caution" if one.worse else "dot"), PlateCell(one.label), number(one.repairs), number(one.expected, 1),
        percent(one.chance), verdict, one.faults,
    )  # fmt: skip
    return Row(one.label, cells, bold=one.worse, told=f"{told} {verdict}. {one.faults}")


def fault_row(one: FleetFault) -> Row:
    """One of the commonest faults."""
    cells = (Mark("dot"), one.name, number(one.count), number(one.units), percent(one.share))
    return Row(one.name, cells, told=f"{one.name}: {one.count} on {count(one.units, 'unit')}")


def change_row(one: Change, worn: float) -> Row:
    """One position's changes; `worn` hours of the whole model share the cost."""
    whole = None if one.cost_cents is None or worn <= 0 else one.cost_cents * one.count * 1000 / worn
    cells = (
        one.name, number(one.count), number(one.still_good), hours(one.hours), money(one.cost_cents), money(whole)
    )  # fmt: skip
    return Row(one.position, cells, told=f"{one.name}: {count(one.count, 'change')}, each at {hours(one.hours)}")
