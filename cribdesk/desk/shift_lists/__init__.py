"""The lists of the shift: one module each, holding one `LIST`."""

from __future__ import annotations

import importlib
import pkgutil
from datetime import datetime
from functools import cache

from cribdesk.desk.house import House
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


def shift_page(reader: Reader, house: House, argument: str, moment: datetime) -> ShiftPage:
    """The list of that id, the first where there is none such, with what waits in each of the others."""
    lists = shift_lists()
    chosen = lists.get(argument) or next(iter(lists.values()))
    titles = tuple(
        (one.id, one.title, one.count(reader, house, moment) if one.count else None) for one in lists.values()
    )
    return ShiftPage(titles, chosen.id, chosen.title, chosen.read(reader, house, moment))
