"""What a view is: its record for the register, and the page it makes."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from PySide6.QtWidgets import QWidget

from cribdesk.window.doors import Doors
from cribdesk.window.layout import Size
from cribdesk.window.look import ground

CLERK = "clerk"
"""The topic of views that show to one role what they do not show to another: somebody else is signed on."""


@dataclass(frozen=True)
class View:
    """One place of the rail. `order` counts from 1 to 10 and is its key; `topics` make it reload.

    `answers` are the kinds of data it shows, as `show_place` names them.
    """

    id: str
    title: str
    order: int
    topics: frozenset[str]
    answers: tuple[str, ...]
    make: Callable[[Doors], Page]

    @property
    def key(self) -> str:
        """Ctrl+1 to Ctrl+9, and Ctrl+0 for the tenth."""
        return f"Ctrl+{self.order % 10}"


class Page(QWidget):
    """A page of the window: a picture of what it was given. It keeps a query at most."""

    def __init__(self, doors: Doors) -> None:
        super().__init__()
        self.doors = doors
        ground(self, "page")

    def want(self) -> None:
        """Ask for the data it shows now, by `doors.wanted`."""

    def open(self, kind: str, argument: str) -> None:
        """Turn to one of the things it can show: ('unit', label), ('units', filter); then `want` follows."""

    def take(self, kind: str, data: object) -> None:
        """Show data that came for it."""

    def fit(self, size: Size) -> None:
        """Lay itself out for the room there is."""

    def press(self, key: str) -> bool:
        """A key ('F5', 'F9' ...) was pressed; whether it meant something here."""
        return False

    def answer(self) -> str:
        """The page's one-sentence answer, for the strip."""
        return ""
