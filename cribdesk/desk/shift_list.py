"""A list of the shift: what waits, row by row, each with what can be done about it. The modules of `shift_lists/`
hold them; the place Shift shows any of them.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime

from cribdesk.crib.records import Role
from cribdesk.desk.house import House
from cribdesk.desk.ports import Reader


@dataclass(frozen=True)
class ShiftAction:
    """One button. `kind` says what `id` is: a command (about `of`), an entry form (about `of`), a paper that prints or
    is looked at first ('preview'; of `of`), or a place (showing `of`).
    """

    words: str
    kind: str
    id: str
    of: str = ""


@dataclass(frozen=True)
class ShiftRow:
    """One thing that waits: its sign, what, a line of detail, the label it opens, its buttons. `key` names the row.

    Rows of one `group` stand together under its words; a list without groups leaves it empty.
    """

    key: str
    sign: str
    what: str
    detail: str = ""
    label: str = ""
    actions: tuple[ShiftAction, ...] = ()
    bold: bool = False
    group: str = ""


@dataclass(frozen=True)
class ShiftRows:
    """What a list holds now. `lead` is its one-sentence answer, `none` what an empty one says."""

    lead: str
    rows: tuple[ShiftRow, ...]
    none: str = "Nothing waits here."
    actions: tuple[ShiftAction, ...] = ()
    caution: str = ""  # what has to be said beside it: who decides, what it is no substitute for


@dataclass(frozen=True)
class ShiftList:
    """One list: its place among the others, its title, and how it is read. `count` is what the rail counts as waiting.

    `who` are the roles that see it; empty means everybody. `topics` are the tables it rests on.
    """

    id: str
    title: str
    order: int
    read: Callable[[Reader, House, datetime], ShiftRows]
    count: Callable[[Reader, House, datetime], int] | None = None
    who: tuple[Role, ...] = ()


@dataclass(frozen=True)
class ShiftPage:
    """What the place shows: every list's (id, title, how many wait or None), and the open one."""

    titles: tuple[tuple[str, str, int | None], ...]
    open: str
    title: str
    rows: ShiftRows
