"""The places of the window: one module each, holding one `VIEW`; the register lists them."""

from __future__ import annotations

import importlib
import pkgutil

from cribdesk.window.view import View


def views() -> tuple[View, ...]:
    """Every place in the order of the rail. Raises ValueError for a module without a VIEW, or for doubles."""
    found: list[View] = []
    for module in pkgutil.iter_modules(__path__):
        view = getattr(importlib.import_module(f"{__name__}.{module.name}"), "VIEW", None)
        if not isinstance(view, View):
            raise ValueError(f"views/{module.name}.py holds no VIEW")
        check(view, found)
        found.append(view)
    return tuple(sorted(found, key=lambda view: view.order))


def check(view: View, others: list[View]) -> None:
    """Raise ValueError where another place has the same id, title, order or kind of data."""
    for other in others:
        for name in ("id", "title", "order"):
            if getattr(view, name) == getattr(other, name):
                raise ValueError(f"two places have the {name} {getattr(view, name)!r}")
        if doubles := set(view.answers) & set(other.answers):
            raise ValueError(f"two places answer {sorted(doubles)}")
