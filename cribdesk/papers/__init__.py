"""Everything printed, by reportlab and python-barcode."""

from __future__ import annotations

from collections.abc import Iterator

from cribdesk.papers.settings import CannotPrint, LabelGeometry, PaperSettings

__all__ = ["CannotPrint", "LabelGeometry", "PaperSettings", "render", "render_in_steps"]


def render(name: str, record: object, settings: PaperSettings) -> bytes:
    """The PDF of the paper `name` from its record; see `register.render`. Loads reportlab late."""
    from cribdesk.papers import register

    return register.render(name, record, settings)


def render_in_steps(name: str, record: object, settings: PaperSettings) -> Iterator[float | bytes]:
    """The same in steps: how far it is, and at the end the PDF; see `register.render_in_steps`."""
    from cribdesk.papers import register

    yield from register.render_in_steps(name, record, settings)
