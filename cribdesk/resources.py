"""Where the data folders and the typeface are, in a checkout and in an installed copy alike."""

from __future__ import annotations

import importlib.resources
from functools import cache
from importlib.resources.abc import Traversable
from pathlib import Path

TYPEFACE = "FiraGO"


def data(name: str) -> Traversable:
    """The data folder of that name, for example `resources`; FileNotFoundError when this install lacks it."""
    inside = importlib.resources.files("cribdesk") / "_data" / name
    if inside.is_dir():
        return inside
    beside = Path(__file__).resolve().parent.parent / name
    if beside.is_dir():
        return beside
    raise FileNotFoundError(f"data folder {name!r} is missing from this install")


@cache
def typeface(bold: bool) -> bytes:
    """The TrueType file of FiraGO, regular or bold, one typeface for screen and paper."""
    import pymupdf_fonts

    return bytes(pymupdf_fonts.myfont("figbo" if bold else "figo"))
