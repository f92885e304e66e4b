"""Stock: every item, what is there, what will be used, what to order; the worst first, and a row opens in place."""

from __future__ import annotations

from collections.abc import Sequence

from cribdesk.crib.words import count, number
from cribdesk.desk.cards_item import ItemPage
from cribdesk.desk.cards_lists import StockRow
from cribdesk.desk.cards_stock import StockOutlook
from cribdesk.desk.entry_orders import chosen_words
from cribdesk.desk.stock_page import MODEL, NOW, SUPPLIER
from cribdesk.window.components.action import ActionButton
from cribdesk.window.components.base import Words
from cribdesk.window.components.cells import Column, Mark, PlateCell, Row, StockBar, Tick
from cribdesk.window.components.segment import Segmented
from cribdesk.window.doors import Doors
from cribdesk.window.entry_form import form_button
from cribdesk.window.layout import Panel, Size
from cribdesk.window.layout import Row as Line
from cribdesk.window.list_page import ListPage
from cribdesk.window.lists import NONE_FITS, Picker, fixed
from cribdesk.window.look import current
from cribdesk.window.stock_item import (
    StockItemPanel,
    advice_packs,
    chance_words,
    days_words,
    draft_words,
    too_low_words,
    use_words,
)
from cribdesk.window.view import View

COLUMNS = (
    Column("", 40),
    Column("", 40),
    Column("Item, worst first", 0, least=250),
    Column("Label", 130, need=9),
    Column("On hand", 80, right=True),
    Column("and where to reorder", 150, need=3),
    Column("Min", 56, right=True),
    Column("Max", 56, right=True, need=2),
    Column("Coming", 80, right=True, need=4),
    Column("Will be used", 120, right=True, need=5),
    Column("Lasts", 92, right=True),
    Column("Runs out", 112, right=True, need=1),
    Column("Order, packs", 112, right=True),
    Column("Cost", 96, right=True, need=6),
    Column("Bin", 84, need=8),
)
ANY = ""
MODELS = 2
"""So many unit models are named with an item; more of them tell nothing apart."""
FORM = "requisition"
"""The form that the ticked rows go to."""


def money(cents: int) -> str:
    """'203.00'."""
    return f"{cents / 100:,.2f}".replace(",", "\N{NO-BREAK SPACE}")


class Stock(ListPage[StockRow]):
    """One list; ticked rows become requisitions."""

    kind = "stock"
    title = "Stock"
    none = "Nothing on the shelf yet. Enter an item, or load all with cribdesk load."
    columns = COLUMNS
    row_type = StockRow

    def __init__(self, doors: Doors) -> None:
        super().__init__(doors)
        self.ticked: set[str] = set()
        self._pages: dict[str, ItemPage] = {}
        self._asked: set[str] = set()
        self._size = Size.WIDE
        self.only = Segmented(((ANY, "All"), (NOW, "Order now")), "Show")
        self.supplier, self.model = Picker("Supplier", ((ANY, "Any supplier"),)), Picker("Unit model", ())
        self.as_of = Words("", 14, ink="ink2")
        self.chosen = Words("", ink="ink2")
        self.order = fixed(ActionButton("Requisition", "go", "F5", size="bar"))
        self.order.clicked.connect(self._order)
        self._filters, self._ordering = Line(margins=(24, 0, 24, 12), gap=16), Line(margins=(24, 0, 24, 12), gap=16)
        self._office = (
            form_button(doors, "recall", "A maker's notice"), form_button(doors, "count-sheet", "Counting sheet"),
        )  # fmt: skip
        self._lay_tools()
        self.list.table.ticked.connect(self._tick)
        self.list.table.opened.connect(lambda _: self.list.table.fit_detail())
        self.only.chosen.connect(self._narrow)
        self.supplier.activated.connect(self._narrow)
        self.model.activated.connect(self._narrow)
        self.list.query = self._query  # type: ignore[method-assign]
        self._say_chosen()

    def _lay_tools(self) -> None:
        """Filters and what is chosen stand in a line of their own under the search."""
        models = sorted(self.doors.house.models.values(), key=lambda one: one.code)
        self.model.addItem("Any unit model", ANY)
        for one in models:
            self.model.addItem(f"{one.code}: {one.short_name}", MODEL + one.code)
        for widget in (self.only, self.supplier, self.model):
            self._filters.addWidget(widget)
        self._filters.addStretch(1)
        self._ordering.addStretch(1)
        self.list.column.insertLayout(1, self._filters)
        self.list.column.insertLayout(2, self._ordering)
        self._lay_order()
        for button in self._office:
            self.list.tools.addWidget(button)

    def _lay_order(self) -> None:
        """What is chosen: beside the filters where there is room, else below them, and only once something is."""
        wide = self._size is Size.WIDE
        for line in (self._filters, self._ordering):
            for widget in (self.as_of, self.chosen, self.order):
                line.removeWidget(widget)
        target = self._filters if wide else self._ordering
        for widget in (self.as_of, self.chosen, self.order):
            target.addWidget(widget)
        self.as_of.setVisible(wide)
        self.order.setVisible(wide or bool(self.ticked))
        self._ordering.set_margins((24, 0, 24, 12 if self.ticked and not wide else 0))

    def _query(self) -> str:
        """Filters and text as one argument; nothing for all."""
        text = self.list.search.text().strip() if self.list.search else ""
        parts = (self.only.value(), str(self.supplier.currentData() or ""), str(self.model.currentData() or ""))
        narrowed = ";".join(part for part in parts if part)
        return f"{narrowed}\n{text}" if text else narrowed

    def _narrow(self, _: object = None) -> None:
        alone = self.list.query() == NOW
        self.list.none_fits = "Nothing to order now: what is here and what comes is enough." if alone else NONE_FITS
        self.list.want()

    def open(self, kind: str, argument: str) -> None:
        if argument:  # what is wanted must not be narrowed away
            self.only.set_value(ANY)
            self.supplier.setCurrentIndex(0)
            self.model.setCurrentIndex(0)
        super().open(kind, argument)

    def take(self, kind: str, data: object) -> None:
        if kind == "stock-item" and isinstance(data, ItemPage):
            self._pages[data.label] = data
            self._opening.rows_shown()
            self.list.table.fit_detail()
            return
        if kind == self.kind and isinstance(data, tuple):
            self._asked.clear()
            self._tell_suppliers([row for row in data if isinstance(row, StockRow)])
        super().take(kind, data)
        self._say_chosen()

    def _tell_suppliers(self, rows: Sequence[StockRow]) -> None:
        """Suppliers as they come up; none is taken away while a list is narrowed."""
        known = {str(self.supplier.itemData(n)) for n in range(self.supplier.count())}
        outlooks = (row.outlook for row in rows)
        there = {(one.supplier, f"{SUPPLIER}{one.supplier_id}") for one in outlooks if one and one.supplier}
        for name, id_ in sorted(there):
            if id_ not in known:
                self.supplier.addItem(name, id_)

    def answer_of(self, rows: Sequence[StockRow]) -> str:
        due = [row.outlook for row in rows if row.outlook and row.outlook.advice.order_now]
        drafted = sum(bool(one.in_draft) for one in due)
        now = len(due) - drafted
        low = sum(row.short for row in rows)
        told = [count(now, "item to order now", "items to order now")] if now else []
        told += [f"{count(drafted, 'item')} on a draft to be handed over"] if drafted else []
        along = sum(bool(row.outlook.advice.along) for row in rows if row.outlook)
        told += [f"{count(along, 'more goes', 'more go')} along"] if along else []
        outlooks = [row.outlook for row in rows if row.short]
        covered = ", what comes is enough" if not due and all(one and one.as_of for one in outlooks) else ""
        told += [f"{count(low, 'item is', 'items are')} below the minimum{covered}"] if low else []
        bare = sum(row.outlook.own_too_low for row in rows if row.outlook)
        told += [f"{count(bare, 'own minimum is', 'own minima are')} too low by the figures"] if bare else []
        worked = [row.outlook.as_of for row in rows if row.outlook and row.outlook.as_of]
        self.as_of.setText(f"Figures of {self.doors.when(min(worked))}" if worked else "")
        return ", ".join(told) or "Nothing is to be ordered"

    def counted(self, number: int) -> str:
        return count(number, "item")

    def row_of(self, row: StockRow) -> Row:
        return _row(row, row.label in self.ticked)

    def detail_of(self, row: StockRow) -> Panel:
        if row.label not in self._asked:
            self._asked.add(row.label)
            self.doors.wanted.emit("stock-item", row.label)
        roomy = self.window().width() / current().u >= 1180
        panel = StockItemPanel(self.doors, row, self._pages.get(row.label), roomy)
        panel.grown.connect(self.list.table.fit_detail)
        return panel

    # What is ordered.

    def _tick(self, label: str, ticked: bool) -> None:
        self.ticked = self.ticked | {label} if ticked else self.ticked - {label}
        self._say_chosen()

    def lines(self) -> tuple[tuple[str, int, int], ...]:
        """The ticked items still in sight or not: label, pieces, cents; what is not advised starts with one pack."""
        found = []
        for label in sorted(self.ticked):
            row = self._rows.get(label)
            if row is not None and row.outlook is not None:
                pieces = row.outlook.advice.pieces or row.outlook.advice.along or row.outlook.pack_size
                found.append((label, pieces, pieces * row.outlook.price_cents))
        return tuple(found)

    def _say_chosen(self) -> None:
        lines = self.lines()
        cost = sum(cents for _, _, cents in lines)
        self.chosen.setText(f"Chosen: {count(len(lines), 'line')}, {money(cost)}" if lines else "")
        self.chosen.setVisible(bool(lines))
        self.order.setEnabled(bool(lines))
        self._lay_order()

    def _order(self) -> None:
        lines = self.lines()
        if lines:
            self.doors.entry_wanted.emit(FORM, chosen_words(tuple((label, pieces) for label, pieces, _ in lines)))

    def press(self, key: str) -> bool:
        if key == "F5" and self.order.isEnabled():
            self._order()
            return True
        return super().press(key)

    def fit(self, size: Size) -> None:
        self._size = size
        super().fit(size)
        self._lay_order()
        for button in self._office:  # the lists of the shift have them too
            button.setVisible(size is not Size.SMALL)
        self._opening.rows_shown()


def _row(row: StockRow, ticked: bool) -> Row:
    outlook = row.outlook
    point = outlook.advice.point if outlook and outlook.advice.point is not None else row.minimum
    coming = outlook.on_order if outlook else 0
    whole = max(point * 2.5, row.on_hand + coming, 1)
    act = row.short or bool(outlook and outlook.advice.order_now)
    bar = StockBar(
        row.on_hand / whole, point / whole, coming / whole, "caution" if act else "fine",
        f"{row.on_hand}, reorder at {point}",
    )  # fmt: skip
    maximum = outlook.maximum if outlook else None
    cells = (
        Tick(ticked),
        Mark("caution" if act else ""),
        named(row),
        PlateCell(row.label),
        number(row.on_hand),
        bar,
        number(row.minimum) if row.minimum else "",
        number(maximum) if maximum is not None else "",
        number(coming) if coming else "",
        use_words(outlook) if outlook else "",
        days_words(outlook.days_of_cover) if outlook else "",
        chance_words(outlook.runs_out) if outlook else "",
        _packs(outlook) if outlook else "",
        _cost(outlook) if outlook else "",
        row.bin,
    )
    return Row(row.label, cells, bold=act, told=_told(row, point))


def named(row: StockRow) -> str:
    """'Pre-filter, WL1': many items are called alike."""
    models = [one for one in (row.outlook.models if row.outlook else ()) if one not in row.name]
    return ", ".join((row.name, *models)) if len(models) <= MODELS else row.name


def _packs(outlook: StockOutlook) -> str:
    """'8 x 5': packs, and pieces in each; '+ 2 x 5' where they only go along with what is due; 'on a draft'."""
    if outlook.in_draft:
        return "on a draft"
    packs = advice_packs(outlook)
    plus = "" if outlook.advice.pieces else "+ "
    return f"{plus}{number(packs)} \N{MULTIPLICATION SIGN} {number(outlook.pack_size)}" if packs else ""


def _cost(outlook: StockOutlook) -> str:
    pieces = outlook.advice.pieces or outlook.advice.along
    return money(pieces * outlook.price_cents) if pieces else ""


def _told(row: StockRow, point: int) -> str:
    told = [f"{named(row)}, {row.code}: {row.on_hand} that may be fitted, minimum {row.minimum}, reorder at {point}"]
    outlook = row.outlook
    if outlook is not None:
        told += [f"{outlook.expired} past their date"] * bool(outlook.expired)
        told += [f"{outlook.blocked} blocked"] * bool(outlook.blocked)
        told += [f"set aside: {outlook.kept}"] * bool(outlook.kept)
        told += [f"{outlook.on_order} coming"] * bool(outlook.on_order)
        told.append(outlook.advice.words.rstrip("."))
        told += [too_low_words(outlook).rstrip(".")] * outlook.own_too_low
        told += [draft_words(outlook).rstrip(".")] * bool(outlook.in_draft)
    told += [row.trouble] if row.trouble else []
    return ". ".join(told)


VIEW = View(
    "stock", "Stock", 6,
    frozenset({"stock_item", "lot", "bin", "movement", "order_rule", "requisition", "requisition_line", "recall",
               "set_aside", "price", "forecast"}),
    ("stock", "stock-item"), Stock,
)  # fmt: skip
