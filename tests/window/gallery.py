"""Every component once, with invented people and things, for the gallery test and for looking at."""

from __future__ import annotations

import datetime as dt

from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QVBoxLayout, QWidget

from cribdesk.window import look
from cribdesk.window.components.action import ActionButton
from cribdesk.window.components.base import Rule, SignMark, Words
from cribdesk.window.components.board import Board, Cell, Legend
from cribdesk.window.components.cells import Column, LifeCell, Mark, PlateCell, Row, StockBar, Tick
from cribdesk.window.components.fields import (
    ChoiceField,
    DateField,
    NumberField,
    TextField,
    TickField,
    side_by_side,
)
from cribdesk.window.components.life import Life, PartLife, PartsPath
from cribdesk.window.components.pad import NumberPad
from cribdesk.window.components.plate import Plate
from cribdesk.window.components.plot import Band, Dots, Limit, Line, Now, Patch, Plot, PlotData, ticks
from cribdesk.window.components.plot import Mark as PlotMark
from cribdesk.window.components.rail import Place, Rail
from cribdesk.window.components.reading import FlowTube, ReadingField, Tube, VerdictLine
from cribdesk.window.components.scan_line import Said, ScanLine
from cribdesk.window.components.segment import Segmented
from cribdesk.window.components.table import Table
from cribdesk.window.components.tile import NumberTile
from cribdesk.window.components.timed import TimedField, TimedWords, Window
from cribdesk.window.components.timeline import Happened, ShiftStrip, Timeline
from cribdesk.window.components.track import Step, Track
from cribdesk.window.components.verdict import Finding, FindingList, VerdictBand

BARS = tuple((3 * n + n % 2, 1 + n % 3 % 2) for n in range(32))  # an ornament of the right kind, no real code


def sheet(*widgets: QWidget, ground: str = "page", margin: int = 24, gap: int = 16) -> QWidget:
    """Widgets one above the other on a ground, the rest left free."""
    page = QWidget()
    look.ground(page, ground)
    column = QVBoxLayout(page)
    worn = look.current()
    column.setContentsMargins(*(worn.px(margin),) * 4)
    column.setSpacing(worn.px(gap))
    for widget in widgets:
        column.addWidget(widget)
    column.addStretch(1)
    return page


def beside(*widgets: QWidget, gap: int = 8) -> QWidget:
    """Widgets in a row."""
    row = QWidget()
    line = QHBoxLayout(row)
    line.setContentsMargins(0, 0, 0, 0)
    line.setSpacing(look.current().px(gap))
    for widget in widgets:
        line.addWidget(widget)
    return row


def rail_and_strip() -> QWidget:
    """The frame: strip over rail and tiles, shift at the foot."""
    page = QWidget()
    look.ground(page, "page")
    grid = QGridLayout(page)
    grid.setContentsMargins(0, 0, 0, 0)
    grid.setSpacing(0)
    strip = ScanLine()
    strip.say(Said("Not to Imre Dobrosi: training ended 22 Nov", "U000417Q", BARS, "stop", "scanned 06:12"))
    rail = Rail(tuple(Place(w.lower(), w, f"Ctrl+{n + 1}") for n, w in enumerate(
        ("Counter", "Units", "Bench", "Batteries", "Stock", "People", "Areas", "Journal", "Settings"))))  # fmt: skip
    rail.set_open("counter")
    rail.set_count("bench", 5)
    rail.set_foot("06:12", ("Wed 25 Nov", "Counter 1", "Rhea Castel"))
    tiles = QWidget()
    line = QHBoxLayout(tiles)
    line.setContentsMargins(0, 0, 0, 0)
    line.setSpacing(0)
    for number, (word, mark, count, against) in enumerate((
        ("Ready", "ready", 36, "31 wanted 06:30"), ("Out", "out", 15, "9 back by 14:30"),
        ("Overdue", "overdue", 1, "since Tue 22:30"), ("On hold", "on hold", 0, "none"),
        ("Charged", "battery", 41, "34 needed"))):  # fmt: skip
        tile = NumberTile(word, mark, first=number == 0)
        tile.set_number(count, against)
        line.addWidget(tile, 1)
    shift = ShiftStrip()
    shift.set_head("9 handed out, 4 taken back, 1 held", "Ctrl+9 whole journal")
    shift.set_events((
        Happened("1", "06:09", "Issued U000402K to Abel Nkemba, plate shop, until 14:30", mark="out",
                 paper="Issue slip 3118"),
        Happened("2", "06:03", "U000291M on hold: airflow 158 after the whole ladder", mark="on hold", bold=True,
                 paper="Tag T000231"),
        Happened("3", "05:58", "U000350X back from the night crew, 6.5 h worn, not checked", mark="not checked"),
    ))  # fmt: skip
    inner = sheet(tiles, board(), shift, margin=0, gap=8)
    grid.addWidget(strip, 0, 0, 1, 2)
    grid.addWidget(rail, 1, 0)
    grid.addWidget(inner, 1, 1)
    return page


def board() -> QWidget:
    """The board with its legend."""
    conditions = ["overdue", "on hold", "on hold", "not checked", "needs cleaning", "out", "out", *["ready"] * 14]
    cells = tuple(
        Cell(f"U{n}", f"{204 + 7 * n}", c, f"U000{204 + 7 * n}, {c}") for n, c in enumerate(conditions)
    )
    made = Board()
    made.set_cells(cells)
    legend = Legend(("overdue", "on hold", "not checked", "needs cleaning", "out", "ready"))
    return sheet(beside(Words("Every unit", 24, True), legend, gap=24), made)


def answer() -> QWidget:
    """Verdict, reasons and actions for a caution."""
    band = VerdictBand()
    band.set_verdict("caution", "Caution", "1 caution, 3 fine")
    reasons = FindingList()
    reasons.set_findings((
        Finding("caution", "Pre-filter may fall due this shift",
                "About 19 h left, 8 h planned: 1 chance in 4. Send a spare along, or change it now.",
                "Forecast from 62 lives; house rule 6"),
        Finding("fine", "Medically cleared", basis="until 12 Mar 2027"),
        Finding("fine", "Trained", basis="until 3 Feb 2027"),
        Finding("fine", "Protection 25, needed 6", basis="1910.134 Table 1"),
    ))  # fmt: skip
    reasons.setMinimumHeight(look.current().px(260))
    go = ActionButton("Check", "go", "F5", size="main", cost="hand-over, 4 steps, about 15 s")
    off = ActionButton("Issue", "plain", "F7")
    off.set_off("no badge yet")
    foot = sheet(go, beside(ActionButton("Put aside", key="F9"), off), ground="sheet")
    return sheet(band, reasons, foot, ground="sheet", margin=0, gap=0)


def stop() -> QWidget:
    """Verdict and reasons for a stop, the fine ones folded."""
    band, fine = VerdictBand(), VerdictBand()
    band.set_verdict("stop", "Stop", "1 stop, 1 caution, 2 fine")
    fine.set_verdict("fine", "Fine", "7 fine")
    reasons = FindingList()
    reasons.set_findings((
        Finding("stop", "Training ended 3 days ago", "Ran until Sun 22 Nov; good for 12 months.",
                "29 CFR 1910.134(k)(5)"),
        Finding("caution", "Still holds U000388A, overdue", "Due back yesterday 22:30, repair bay.", "House rule 2"),
        Finding("fine", "Medically cleared"), Finding("fine", "Shade 9 to 13, needed 10"),
    ))  # fmt: skip
    return sheet(band, reasons, fine, ground="sheet", margin=0, gap=0)


def parts() -> QWidget:
    """Life bars on the air path, plates and signs."""
    path = PartsPath()
    path.set_parts((
        PartLife("arrestor", "Spark arrestor", "190 h", Life(0.54, 1, 0.03)),
        PartLife("prefilter", "Pre-filter", "19 h", Life(0.06, 0.75, 0.13, "caution"), "caution"),
        PartLife("filter", "Particulate filter", "214 h", Life(0.39, 0.79, 0.02)),
        PartLife("lens", "Outer lens plate", "2 h past", Life(0, 0, None, "stop", beyond=True), "stop"),
        PartLife("blower", "Blower", "1 400 h", Life(0.37, 0.83, 0.005)),
        PartLife("seal", "Face seal", "", None, note="computing"),
    ))  # fmt: skip
    head = beside(SignMark("ready"), Words("Ready", 24, True), Words("on the rack", 18, ink="ink2"))
    return sheet(beside(Plate("U000417Q"), Plate("P000138F")), head, path, Rule())


def history() -> QWidget:
    """A timeline and choices."""
    line = Timeline()
    line.set_events((
        Happened("1", "today 05:40", "Full inspection passed", "184 L/min, alarm 17.2 s, Rhea Castel", "fine",
                 "Wed 25 Nov 2026, 05:40"),
        Happened("2", "Tue 22:40", "Cleaned", "product C2, 10 min, tray 4"),
        Happened("3", "Tue 22:05", "Put on hold: airflow 158 L/min after the whole ladder, blower suspected",
                 "by Rhea Castel", "on hold", bold=True),
    ))  # fmt: skip
    return sheet(Segmented((("a", "By urgency"), ("b", "By part"), ("c", "By unit")), "Order"), line)


def plots() -> QWidget:
    """Airflow readings with limit and forecast, and a shelf's count with what is ordered."""
    before = tuple((-58.0 + 6 * n, 188.0 - 1.6 * n) for n in range(10))
    after = tuple((5.0 * n, 191.0 - 0.7 * n) for n in range(10))
    air = PlotData(
        (-60, 110), (150, 200), ticks(-60, 100), ticks(150, 200), "worn hours, 0 = pre-filter changed",
        "L/min, corrected", "Airflow falls 1.1 in 8 worn hours",
        lines=(Line(((0, 191), (50, 184))), Line(((50, 184), (110, 176)), "forecast")),
        dots=(Dots(before, "hollow"), Dots(after)), bands=(Band(((50, 184, 184), (110, 171, 180)), True),),
        limit=Limit(170, "minimum 170"), now=Now(50, "today 184", 184, upright=False),
        marks=(PlotMark(0, "pre-filter changed", False),),
    )  # fmt: skip
    steps = tuple((float(n), 44 - 0.8 * n) for n in range(0, 50, 2))
    shelf = PlotData(
        (0, 84), (0, 50), ((0, "30 Sep"), (28, "28 Oct"), (56, "today"), (84, "23 Dec")), ticks(0, 50),
        y_name="pieces on the shelf", told="4 left, bare in about 3 days",
        lines=(Line(steps, "step"), Line(((66, 40), (84, 16)), "forecast", "with 40 ordered")),
        bands=(Band(((66, 40, 40), (84, 8, 24))),), limit=Limit(22, "reorder at 22", "none"),
        now=Now(50, "4 now"), patches=(Patch(54, 60, "bare 6 to 9 days"),),
    )  # fmt: skip
    return sheet(Plot(air), Plot(shelf), ground="sheet")


def step_track() -> QWidget:
    """The track of an inspection with its ladder."""
    track = Track()
    track.set_steps((
        Step("1 to 11", "done", "good"), Step("Airflow", "caution"), Step("first, mean of 3", "done", "148", True),
        Step("spark arrestor cleaned", "done", rung=True), Step("retest 1", "done", "161", True),
        Step("retest 2", "now", rung=True), Step("still low: on hold", rung=True), Step("Low-flow alarm"),
    ))  # fmt: skip
    track.setMinimumHeight(look.current().px(440))
    return sheet(track, margin=0)


def reading() -> QWidget:
    """The big field, the tube, the pad."""
    tube = FlowTube()
    tube.set_tube(Tube(120, 222, 170, "min 170", 206, "over 206:\nlook inside", 178, "now 178",
                       (("retest 1  161", 161), ("first 148", 148))))  # fmt: skip
    tube.setMinimumHeight(look.current().px(500))
    field = ReadingField("L/min", "Airflow")
    field.setText("178")
    verdict = VerdictLine()
    verdict.set_verdict("fine", "8 above the minimum: passes", "Retest 1 was 9 short")
    middle = sheet(field, verdict, margin=0)
    middle.setMinimumWidth(look.current().px(380))
    answers = beside(
        ActionButton("Good", "answer", "F5", size="foot", mark="fine"),
        ActionButton("Not good", "answer", "F8", size="foot", mark="not good"),
        ActionButton("Back", "plain", "F9", size="foot", px=18),
        ActionButton("Break off", "quiet", "F12", size="foot", px=18),
    )
    return sheet(beside(tube, middle, NumberPad(), gap=24), answers)


def timed() -> QWidget:
    """The alarm clock in its three grounds."""
    window = Window(15, 20, 25)
    words = TimedWords(
        ("Keep it closed", "Not yet: {left} s to go"),
        ("Now: listen, feel", "It must sound and vibrate within {left} s"),
        ("Too late", "The step closes as not good"),
    )  # fmt: skip
    fields = []
    for seconds in (4.2, 16.8, 21.3):
        fields.append(TimedField(window, words))
        fields[-1].set_time(seconds)
        fields[-1].setMinimumWidth(look.current().px(900))
    return sheet(*fields)


def form() -> QWidget:
    """Every kind of field, one with a fault."""
    date = DateField("Medical until", optional=True)
    date.set_value(dt.date(2027, 3, 12))
    number = NumberField("Worn", "h", 1, "What the wearer says")
    number.set_value(6.5)
    number.set_fault("6 h 30 is longer than it was out, 5 h 10. Type what was worn.")
    name = TextField("Name", "As on the badge")
    name.set_value("Łucja Wronecka")
    choice = ChoiceField("Crew", (("d", "Day crew"), ("n", "Night crew")))
    tick = TickField("A spare pre-filter goes along")
    tick.set_value(True)
    return sheet(side_by_side(name, choice), side_by_side(number, date), TextField("Note", lines=3), tick)


def table() -> QWidget:
    """A table with a cell of every kind, one row opened."""
    columns = (Column("", 40), Column("", 40), Column("Unit", 130), Column("Item, worst first", key="item"),
               Column("Left", 170), Column("On hand, reorder", 200), Column("Order", 90, True, 2),
               Column("Cost", 90, True, 3))  # fmt: skip
    made = Table(columns, "Stock")
    made.set_rows((
        Row("1", (Tick(True), Mark("caution"), PlateCell("U000417Q"), "Outer lens plate",
                  LifeCell(Life(0.06, 0.7, 0.1, "caution"), "19 h"), StockBar(0.07, 0.37, level="caution"), "8 × 5",
                  "74.00"), True),
        Row("2", (Tick(False), Mark(""), PlateCell("U000355M"), "Particulate filter",
                  LifeCell(Life(0.4, 0.8, 0.1), "80 h"), StockBar(0.18, 0.32, 0.24), "", "129.00")),
        Row("3", (Tick(False), Mark("on hold"), "", "Face seal", LifeCell(Life(0, 0, beyond=True), "over"),
                  StockBar(0.45, 0.28), "1 × 6", "41.40")),
    ))  # fmt: skip
    made.setMinimumHeight(look.current().px(330))
    made.open_under("1", sheet(Words("4 left, 8 used a week. Bare in about 3 days.", 18, True), ground="sheet"))
    empty = Table((Column("Item"), Column("Bin", 120)), "Bins")
    empty.set_empty_words("No stock yet. Take in a delivery with F5, or add the first item in Settings.")
    empty.setMinimumHeight(look.current().px(120))
    return sheet(made, empty)


# Each page with the width it is looked at, in 100 % px.
PAGES = {
    "frame": (rail_and_strip, 1180), "answer": (answer, 472), "stop": (stop, 472), "parts": (parts, 520),
    "history": (history, 520), "plots": (plots, 760), "track": (step_track, 360), "reading": (reading, 1090),
    "timed": (timed, 1000), "form": (form, 720), "table": (table, 1120),
}  # fmt: skip


def page(name: str) -> QWidget:
    """One page of the gallery at the look worn now, sized as it would stand."""
    make, wide = PAGES[name]
    made = make()
    made.resize(look.current().px(wide), made.sizeHint().height())
    return made
