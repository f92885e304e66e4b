"""The lists of the shift: one module each, holding one `LIST`."""

from __future__ import annotations

import importlib
import pkgutil
from datetime import datetime
from functools import cache

from cribdesk.desk.house import House
from cribdesk.desk.one_look import one_look
from cribdesk.desk.ports import Reader
from cribdesk.desk.shift_list import ShiftList, ShiftPage


@cache
def shift_lists() -> dict[str, ShiftList]:
    """Every list by its id, in order. Raises ValueError for a module without, or for doubles."""
    found: dict[str, ShiftList] = {}
    for module in pkgutil.iter_modules(__path__):
        one = getattr(importlib.import_module(f"{__name__}.{module.name}"), "LIST", None)
        if not isinstance(one, ShiftList):
            raise ValueError(f"shift_lists/{module.name}.py holds no LIST")
        if one.id in found or any(one.order == other.order for other in found.values()):
            raise ValueError(f"shift list {one.id!r} stands twice, or shares its place")
        found[one.id] = one
    return dict(sorted(found.items(), key=lambda pair: pair[1].order))


def seen_by(roles: str | None) -> dict[str, ShiftList]:
    """The lists that a clerk of these roles sees ('' for nobody signed on), by id, in order; all of them for None."""
    held = None if roles is None else set(roles.split(","))
    return {
        id_: one
        for id_, one in shift_lists().items()
        if held is None or not one.who or held & {role.value for role in one.who}
    }


def shift_page(
    reader: Reader, house: House, argument: str, moment: datetime, roles: str | None = None
) -> ShiftPage:
    """The list of that id, the first where there is none such for these roles, with what waits in each of the others.

    What several of them rest on is read once.
    """
    lists, reader = seen_by(roles), one_look(reader)
    chosen = lists.get(argument) or next(iter(lists.values()))
    titles = tuple(
        (one.id, one.title, one.count(reader, house, moment) if one.count else None) for one in lists.values()
    )
    return ShiftPage(titles, chosen.id, chosen.title, chosen.read(reader, house, moment))
