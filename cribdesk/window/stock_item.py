"""A stock item opened in its row: what will be used, what the shop would miss, why so many, its lots and movements."""

from __future__ import annotations

from datetime import date
from math import isfinite

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QSizePolicy

from cribdesk.crib.words import capital, count, day, number
from cribdesk.desk.cards_item import ItemPage
from cribdesk.desk.cards_lists import LotRow, StockRow
from cribdesk.desk.cards_stock import OrderAdvice, StockDetail, StockOutlook, UnitsMissed
from cribdesk.desk.prices import money
from cribdesk.window.components.action import ActionButton
from cribdesk.window.components.base import Rule, SignMark, Words
from cribdesk.window.components.plot import Band, Limit, Now, Plot, PlotData, ticks
from cribdesk.window.components.plot import Line as PlotLine
from cribdesk.window.doors import Doors
from cribdesk.window.entry_form import change_buttons, form_button
from cribdesk.window.layout import Boxes, Panel
from cribdesk.window.layout import Row as Line
from cribdesk.window.lists import button_line, fixed
from cribdesk.window.rows import Fact

PRICES = 4
"""So many of an item's prices are shown, the latest first."""

UNITS = 8
"""So many of the units whose changes make up the forecast are named."""


def price_words(outlook: StockOutlook | None) -> str:
    """What a piece costs where no price has its day."""
    return money(outlook.price_cents) if outlook is not None and outlook.price_cents else "none entered"


def days_words(days: float | None) -> str:
    """'3 d', 'over 1 y'; a dash where nothing is used."""
    if days is None or not isfinite(days):
        return "\N{EN DASH}"
    return f"{days:.0f} d" if days <= 365 else "over 1 y"


def chance_words(chance: float | None) -> str:
    """'97 %', 'under 1 %', 'over 99 %'."""
    if chance is None:
        return "\N{EN DASH}"
    if chance < 0.01:
        return "under 1 %"
    return "over 99 %" if chance > 0.99 else f"{100 * chance:.0f} %"


def use_words(outlook: StockOutlook) -> str:
    """'18 to 31'; 'not yet' until it was worked out for the first time."""
    if outlook.low is None or outlook.high is None:
        return "no figure" if outlook.as_of else "not yet"
    low, high = f"{outlook.low:.0f}", f"{outlook.high:.0f}"
    return low if low == high else f"{low} to {high}"


class StockItemPanel(Panel):
    """What one row opens to; `roomy` puts two columns side by side. `grown` when it needs other room than before."""

    grown = Signal()

    def __init__(self, doors: Doors, row: StockRow, page: ItemPage | None, roomy: bool) -> None:
        super().__init__("sheet", (24, 4, 24, 16), 12)
        self._doors, self._row = doors, row
        self._disclosed: list[Words] = []
        left, right = Boxes(gap=8), Boxes(gap=8)
        self._first(left, row.outlook, page)
        self._second(right, row, page)
        if roomy:
            line = Line(gap=32)
            line.addLayout(left, 3)
            line.addLayout(right, 2)
            self.column.addLayout(line)
        else:
            self.column.addLayout(left)
            self.column.addLayout(right)
        count_it = form_button(doors, "count", "Count a lot", row.label, size="row")
        own = form_button(doors, "order-rule", "Own minimum and maximum", row.label, size="row")
        aside = form_button(doors, "set-aside", "Set aside", row.label, size="row")
        price = form_button(doors, "price", "Price", row.label, size="row")
        buttons = (count_it, own, aside, price, *change_buttons(doors, "item", row.label, "row"))
        if roomy:
            self.column.addLayout(button_line(buttons))
        else:
            for at in range(0, len(buttons), 2):
                self.column.addLayout(button_line(buttons[at : at + 2]))

    def _say(self, column: Boxes, words: str, bold: bool = False, ink: str = "ink", px: int = 18) -> Words:
        one = Words(words, px, bold, ink, wrap=True)
        column.addWidget(one)
        return one

    def _today(self) -> date:
        return self._doors.house.today(self._doors.moment)

    # At the left: what will be used.

    def _first(self, column: Boxes, outlook: StockOutlook | None, page: ItemPage | None) -> None:
        self._say(column, lead_words(self._row), bold=True)
        detail = page.detail if page else None
        if page is None:
            self._say(column, "Looking it up.", ink="ink2")
        elif outlook is not None:
            plot = Plot(plot_of(outlook, detail, page, self._today()), high=260)
            plot.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
            column.addWidget(plot)
        if outlook is not None and outlook.how_wrong:
            self._say(column, f"How wrong it was last quarter: {outlook.how_wrong}.", ink="ink2", px=14)
        if detail is not None and detail.units:
            self._units(column, detail)
        column.addStretch(1)

    def _units(self, column: Boxes, detail: StockDetail) -> None:
        self._say(column, "Whose changes these are", bold=True)
        today = self._today()
        for one in detail.units[:UNITS]:
            due = f", about {day(one.due_on, today)}" if one.due_on else ""
            self._say(column, f"{one.label}: {one.position.lower()}, {chance_words(one.chance)}{due}")
        if len(detail.units) > UNITS:
            self._say(column, f"and {count(len(detail.units) - UNITS, 'more', 'more')}", ink="ink2")

    # At the right: what is missed, why, what lies there.

    def _second(self, column: Boxes, row: StockRow, page: ItemPage | None) -> None:
        detail, outlook, today = (page.detail if page else None), row.outlook, self._today()
        if detail is not None and detail.missed is not None:
            self._say(column, "What stands still without it", bold=True)
            self._say(column, missed_words(detail.missed, today))
            for unit in detail.missed.units[:3]:
                told = f"{unit.label}, {unit.position.lower()}: from {day(unit.from_on, today)}"
                self._say(column, f"{told}, {chance_words(unit.chance)}", ink="ink2")
            column.addWidget(Rule())
        if outlook is not None:
            self._why(column, outlook, detail)
            column.addWidget(Rule())
        self._shelf(column, row, page)

    def _why(self, column: Boxes, outlook: StockOutlook, detail: StockDetail | None) -> None:
        advice = outlook.advice
        self._say(column, f"Why {number(advice.pieces)}" if advice.pieces else "Why nothing now", bold=True)
        self._say(column, advice.words)
        if outlook.own_too_low:
            self._say(column, too_low_words(outlook))
        if outlook.in_draft:
            self._say(column, draft_words(outlook))
        if advice.along:
            self._say(column, along_words(outlook))
        self._say(column, own_words(outlook), ink="ink2")
        if not advice.lines:
            return
        button = fixed(ActionButton("How this was worked out", "plain", size="row"))
        button.clicked.connect(self._disclose)
        column.addLayout(button_line((button,)))
        scores = detail.scores if detail else ()
        told = [f"{one.name}: {one.figure}. {one.basis}" for one in advice.lines]
        told += [
            f"{one.method}{', used' if one.used else ''}: {one.miss:.2g} pieces off in the mean, "
            f"{one.periods} times tried" for one in scores
        ]  # fmt: skip
        for words in told:
            line = self._say(column, words, px=14)
            line.hide()
            self._disclosed.append(line)

    def _disclose(self) -> None:
        for line in self._disclosed:
            line.setVisible(line.isHidden())
        self.grown.emit()

    def _shelf(self, column: Boxes, row: StockRow, page: ItemPage | None) -> None:
        if not row.lots:
            self._say(column, "No lot is on the shelf.")
        for lot in row.lots:
            column.addLayout(self._lot(row.label, lot))
        facts = [("Bin", row.bin)]
        if row.outlook is not None:
            facts.append(("On hand", on_hand_words(row.outlook, self._today())))
        if page is not None:
            counted = ", ".join(part for part in (page.last_count, page.next_count) if part)
            facts += [("Last count", counted), ("Last delivery", page.last_delivery)]
            facts.append(("Price", "; ".join(page.prices[:PRICES]) or price_words(row.outlook)))
            facts.append(("Instead of it", "; ".join(page.instead) or "nothing: no unit model allows another"))
        for name, words in facts:
            if words:
                column.addWidget(Fact(name, words, bold=False))
        if page is not None and page.movements:
            self._say(column, "Movements", bold=True)
            for one in page.movements:
                of = ", ".join(part for part in (f"lot {one.lot}" if one.lot else "", one.unit) if part)
                sign = "+" if one.quantity > 0 else "\N{MINUS SIGN}"
                self._say(column, f"{sign}{abs(one.quantity)}  {one.why}, {of}, {one.when}", px=14)
            more = page.movements_all - len(page.movements)
            if more > 0:
                self._say(column, f"and {number(more)} before; the journal has them all", ink="ink2", px=14)

    def _lot(self, label: str, lot: LotRow) -> Boxes:
        until = f"good until {lot.expires}" if lot.expires else ""
        words = ", ".join(part for part in (count(lot.on_hand, "piece"), until, lot.trouble) if part)
        whole, line = Boxes(gap=4), Line(gap=8)
        if lot.trouble:
            line.addWidget(SignMark("stop", 20, "sheet"))
        line.addWidget(Words(f"Lot {lot.code}: {words}", wrap=True), 1)
        about, told = f"{label} {lot.lot_id}", f"lot {lot.code}"
        block = "Lift the block" if lot.blocked else "Block"
        buttons = (
            form_button(self._doors, "count", "Count", about, told, "row"),
            form_button(self._doors, "block", block, about, told, "row"),
            form_button(self._doors, "recall", "Recall", about, told, "row"),
        )
        whole.addLayout(line)
        whole.addLayout(button_line(buttons))
        return whole


def on_hand_words(outlook: StockOutlook, today: date) -> str:
    """'4 usable, 2 past their date, set aside: 1 in the bench's tray'."""
    parts = ((outlook.expired, "past their date"), (outlook.blocked, "blocked"))
    told = [f"{number(outlook.usable)} usable", *(f"{number(pieces)} {words}" for pieces, words in parts if pieces)]
    told += [f"set aside: {outlook.kept}"] * bool(outlook.kept)
    coming = f"; {number(outlook.on_order)} coming" if outlook.on_order else ""
    if coming and outlook.next_arrival:
        coming += f", promised {day(outlook.next_arrival, today)}"
    return ", ".join(told) + coming


def lead_words(row: StockRow) -> str:
    """'4 left, 8 used a week. Bare in about 3 days; a delivery takes 9.', or what is known without a figure."""
    outlook = row.outlook
    left = f"{number(row.on_hand)} left"
    if outlook is None or outlook.expected is None or not outlook.horizon_days:
        return f"{left}. {capital(outlook.basis) if outlook else 'What will be used is not worked out yet'}."
    week = 7 * outlook.expected / outlook.horizon_days
    used = f"{week:.0f} used a week" if week >= 1.5 else f"{30 * week / 7:.1f} used a month"
    days = outlook.days_of_cover
    takes = f"a delivery takes {count(round(outlook.lead_days), 'day')}"
    if row.on_hand == 0:
        return f"{left}, {used}. Bare now; {takes}."
    if days is None or not isfinite(days) or days > 365:
        return f"{left}, {used}. It lasts over a year; {takes}."
    return f"{left}, {used}. Bare in about {count(round(days), 'day')}; {takes}."


def along_words(outlook: StockOutlook) -> str:
    """That it would be due before the next order of that supplier, to which something is due now."""
    packs = count(advice_packs(outlook), "pack")
    pieces = count(outlook.advice.along, "piece")
    return f"Something else of {outlook.supplier} is due now: {packs}, {pieces}, would go along and spare an order."


def too_low_words(outlook: StockOutlook) -> str:
    """What the storekeeper's own minimum leaves to chance."""
    chance = chance_words(outlook.runs_out)
    return f"By the figures too little is there: {chance} that it runs out before a delivery ordered today could come."


def draft_words(outlook: StockOutlook) -> str:
    """That some stand on a draft, which nobody ordered yet."""
    return f"{count(outlook.in_draft, 'piece')} on a draft: nothing comes before that is handed over."


def advice_packs(outlook: StockOutlook) -> int:
    """Packs to order now, or that go along with what is."""
    return (outlook.advice.pieces or outlook.advice.along) // max(1, outlook.pack_size)


def own_words(outlook: StockOutlook) -> str:
    """The storekeeper's own minimum and maximum beside those suggested: theirs go first."""
    own = f"Own minimum {outlook.minimum}" if outlook.minimum else "No own minimum"
    own += f", own maximum {outlook.maximum}" if outlook.maximum is not None else ", no own maximum"
    advice: OrderAdvice = outlook.advice
    if advice.suggested_point is None:
        return f"{own}."
    top = f" and fill up to {advice.suggested_up_to}" if advice.suggested_up_to is not None else ""
    return f"{own}; suggested: reorder at {advice.suggested_point}{top}. Your own go first."


def missed_words(missed: UnitsMissed, today: date) -> str:
    """'6 units from Sat 28 Nov, at worst 19, until a delivery could come on 9 Dec.'"""
    until = f"until a delivery could come, {day(missed.next_delivery_on, today)}"
    if missed.expected < 0.5 and missed.from_on is None:
        worst = f"; at worst {count(missed.most, 'unit')}" if missed.most else ""
        return f"Probably nothing, {until}{worst}."
    since = f" from {day(missed.from_on, today)}" if missed.from_on else ""
    return f"About {count(round(missed.expected), 'unit')}{since}, at worst {missed.most}, {until}."


def plot_of(outlook: StockOutlook, detail: StockDetail | None, page: ItemPage, today: date) -> PlotData:
    """The shelf as it was, day by day; ahead of now what will be left of it with its band, and where to reorder."""
    there = page.shelf[-1][1] if page.shelf else outlook.usable
    ahead = [one for one in (detail.plot if detail else ()) if one.expected is not None]
    start = -page.shelf[0][0] if page.shelf else 30.0
    line, band = [(0.0, float(there))], [(0.0, float(there), float(there))]
    expected = low = high = 0.0
    before = 0.0
    for one in ahead:
        at = float((one.week - today).days)
        if at <= before or one.expected is None:
            continue
        weeks, before = (at - before) / 7, at
        expected += weeks * one.expected
        low += weeks * (one.low if one.low is not None else one.expected)
        high += weeks * (one.high if one.high is not None else one.expected)
        line.append((at, max(0.0, there - expected)))
        band.append((at, max(0.0, there - high), max(0.0, there - low)))
    right = max(14.0, before)
    point = outlook.advice.point
    top = max([there, point or 0, *(pieces for _, pieces in page.shelf), 4]) * 1.1
    also = "" if outlook.usable == there else f", {outlook.usable} usable"
    told = f"On the shelf now {there}{also}" + (f", reorder at {point}" if point is not None else "")
    days = tuple((float(n), "today" if n == 0 else f"{abs(n)} d {'ago' if n < 0 else 'on'}")
                 for n in range(-84, int(right) + 1, 28) if -start <= n <= right)  # fmt: skip
    return PlotData(
        x=(-start, right), y=(0.0, top), x_ticks=days, y_ticks=ticks(0.0, top, 4), y_name="pieces on the shelf",
        told=told,
        lines=(
            PlotLine(tuple((at, float(pieces)) for at, pieces in page.shelf), "step"),
            PlotLine(tuple(line), "forecast"),
        ),
        bands=(Band(tuple(band)),) if len(band) > 1 else (),
        limit=Limit(float(point), f"reorder at {point}", "none") if point is not None else None,
        now=Now(0.0, f"{there} now{also}", float(there)),
    )  # fmt: skip
