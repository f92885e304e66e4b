"""The doors of the window: what a person did, as signals, and what every view knows of house and moment."""

from __future__ import annotations

from datetime import UTC, datetime

from PySide6.QtCore import QObject, Signal

from cribdesk.crib import words
from cribdesk.desk.house import House


class Doors(QObject):
    """One for a window. Views emit here and nowhere else; they never see the store or the app."""

    chosen = Signal(str, str)
    filled = Signal(str, str)
    answered = Signal(object, float)
    wanted = Signal(str, str)
    print_again = Signal(str, str)
    preview_paper = Signal(str, str)
    open_place = Signal(str, str)
    say = Signal(str)
    station_set = Signal(str, str)
    site_set = Signal(str, str)
    entry_wanted = Signal(str, str)  # form, label of what it is about
    entered = Signal(str, object)  # form, values as typed by name of the field
    entry_left = Signal()

    def __init__(self, house: House, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.house = house
        self.moment = datetime.now(UTC)
        self.titles: dict[str, str] = {}  # place -> its word on the rail
        self.forecast_trouble = ""  # why forecasts are not up to date, in words

    def when(self, moment: datetime) -> str:
        """The moment as people say it, in the site's zone."""
        return words.when(moment, self.house.zone, self.moment)

    def clock(self, moment: datetime) -> str:
        """'06:12'."""
        return words.clock(moment, self.house.zone)

    def exactly(self, moment: datetime) -> str:
        """The exact moment, for the hover."""
        return words.exactly(moment, self.house.zone)

    def open_label(self, label: str) -> None:
        """Open the page of what carries this label: a unit or a person; everything else is looked up first."""
        place = {"U": "unit", "P": "person"}.get(label[:1])
        if place:
            self.open_place.emit(place, label)
        else:
            self.wanted.emit("label", label)


PAPER_WORDS = {
    "tag": "Tag",
    "issue_slip": "Issue slip",
    "call_in_slip": "Call-in slip",
    "information_sheet": "Information sheet",
    "inspection_record": "Inspection record",
    "repair_note": "Repair note",
    "certification_tag": "Certification tag",
    "label_sheet": "Label sheet",
    "answer_card": "Answer card",
    "bag_label": "Bag label",
    "ready_seal": "Seal of inspection",
    "shift_page": "Shift page",
    "requisition": "Requisition",
    "due_list": "Due list",
    "count_sheet": "Counting sheet",
    "use_register": "Register of use",
    "wearer_card": "Wearer's card",
}


def paper_words(paper: str, of: str) -> str:
    """'Issue slip S003119F'."""
    return f"{PAPER_WORDS.get(paper, words.capital(paper.replace('_', ' ')))} {of}".strip()
