"""A place that is one list whose rows open in place: batteries, stock, areas."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Generic, Protocol, TypeVar

from cribdesk.window.components.cells import Column, Row
from cribdesk.window.doors import Doors
from cribdesk.window.layout import Boxes, Panel, Size
from cribdesk.window.lists import ListPanel, Opening
from cribdesk.window.view import Page


class Labelled(Protocol):
    """A row of the desk that stands for one thing with a label."""

    @property
    def label(self) -> str: ...


T = TypeVar("T", bound=Labelled)


class ListPage(Page, Generic[T]):
    """The list, its one-sentence answer, and what a row opens to; a place says what its rows are.

    `kind` is the data it asks for and takes, `title` its name, `none` what an empty list says.
    """

    kind = ""
    title = ""
    none = ""
    columns: tuple[Column, ...] = ()
    row_type: type[T]

    def __init__(self, doors: Doors) -> None:
        super().__init__(doors)
        self.list = ListPanel(doors, self.kind, self.columns, self.title, search="Search", none=self.none)
        self._answer = ""
        self._rows: dict[str, T] = {}
        self._opening = Opening(doors, self.list, self._detail)
        Boxes(self).addWidget(self.list)

    def answer_of(self, rows: Sequence[T]) -> str:
        """The place's one sentence."""
        raise TypeError(f"{type(self).__name__} says not what its rows come to")

    def counted(self, number: int) -> str:
        """'156 packs'."""
        raise TypeError(f"{type(self).__name__} says not what it counts")

    def row_of(self, row: T) -> Row:
        """One row as shown."""
        raise TypeError(f"{type(self).__name__} says not how a row is shown")

    def detail_of(self, row: T) -> Panel:
        """What the row opens to."""
        raise TypeError(f"{type(self).__name__} says not what a row opens to")

    def open(self, kind: str, argument: str) -> None:
        if argument and self.list.search is not None:
            self.list.search.clear()  # what is wanted must not be narrowed away
        self._opening.want(argument)

    def want(self) -> None:
        self.list.want()

    def take(self, kind: str, data: object) -> None:
        if kind != self.kind or not isinstance(data, tuple):
            return
        rows = [row for row in data if isinstance(row, self.row_type)]
        self._rows = {row.label: row for row in rows}
        if not self.list.query():  # the place's sentence is about all of it
            self._answer = self.answer_of(rows)
        self.list.show_rows(tuple(self.row_of(row) for row in rows), self.counted(len(rows)))
        self._opening.rows_shown()

    def _detail(self, label: str) -> Panel | None:
        row = self._rows.get(label)
        return self.detail_of(row) if row is not None else None

    def fit(self, size: Size) -> None:
        self.list.fit(size)

    def answer(self) -> str:
        return self._answer or self.title
