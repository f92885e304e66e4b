"""Everything printed, by reportlab and python-barcode."""

from __future__ import annotations

from cribdesk.papers.settings import CannotPrint, LabelGeometry, PaperSettings

__all__ = ["CannotPrint", "LabelGeometry", "PaperSettings", "render"]


def render(name: str, record: object, settings: PaperSettings) -> bytes:
    """The PDF of the paper `name` from its record; see `register.render`. Loads reportlab late."""
    from cribdesk.papers import register

    return register.render(name, record, settings)
