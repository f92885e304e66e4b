"""What can be done at the counter besides issue and return: each module holds its `MATTERS`."""

from __future__ import annotations

import importlib
import pkgutil
from functools import cache

from cribdesk.desk.commands import BY_ID
from cribdesk.desk.matter import Matter


@cache
def matters() -> dict[str, Matter]:
    """Every matter by its id, in the order of the commands. Raises ValueError for a module without, or for doubles."""
    found: dict[str, Matter] = {}
    for module in pkgutil.iter_modules(__path__):
        rows = getattr(importlib.import_module(f"{__name__}.{module.name}"), "MATTERS", None)
        if not isinstance(rows, tuple) or not all(isinstance(one, Matter) for one in rows):
            raise ValueError(f"matters/{module.name}.py holds no MATTERS")
        for one in rows:
            if one.id in found or one.id not in BY_ID:
                raise ValueError(f"matter {one.id!r} stands twice, or has no command")
            found[one.id] = one
    order = list(BY_ID)
    return dict(sorted(found.items(), key=lambda pair: order.index(pair[0])))
