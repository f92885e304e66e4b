"""The button that shows the wearer's card of a unit model, to be printed from there."""

from __future__ import annotations

from cribdesk.crib.model import UnitModel
from cribdesk.window.components.action import ActionButton
from cribdesk.window.doors import Doors
from cribdesk.window.lists import fixed

PAPER = "wearer_card"


def card_button(doors: Doors, model: UnitModel, size: str = "bar") -> ActionButton:
    """It opens the card; a model without one has no such button."""
    button = fixed(ActionButton("Wearer's card", "quiet", size=size))
    button.setAccessibleName(f"See and print the wearer's card of the {model.short_name}")
    button.clicked.connect(lambda: doors.preview_paper.emit(PAPER, model.code))
    return button
