"""Code 128 as bars: python-barcode's encoding, as runs of modules that a page or a window can draw."""

from __future__ import annotations

import re
from functools import lru_cache

import barcode

from cribdesk.papers.settings import CannotPrint

QUIET_MODULES = 10  # each side, ISO/IEC 15417
LEAST_MODULE_MM = 0.254  # below it prints at 200 dpi no longer read (tried)
DOT_MM = 25.4 / 600  # modules are whole dots of a 600 dpi printer; 6 of them are 2 dots at 200, 3 at 300
GRID_MM = 0.254  # bars begin on whole dots of 200, 300 and 600 dpi alike
ROOMY_MODULE_MM = 8 * DOT_MM  # 0.339
LEAST_HEIGHT_MM = 6.35  # for hand scanners: meets all the texts we know of


@lru_cache(4096)
def runs(code: str) -> tuple[int, tuple[tuple[int, int], ...]]:
    """The bars of a code: its length in modules, and (start, width) of each bar, quiet zones left out.

    Raises CannotPrint (a ValueError) unless the code begins with a letter (the encoder drops some leading
    digits without a word) and all of it is printable ASCII.
    """
    if not code[:1].isalpha() or not code.isascii() or not code.isprintable():
        raise CannotPrint(f"'{code}' cannot be printed as a barcode. Give it a label of ours.")
    bits: str = barcode.get_barcode_class("code128")(code).build()[0]
    return len(bits), tuple((bar.start(), bar.end() - bar.start()) for bar in re.finditer("1+", bits))


def modules_with_quiet(code: str) -> int:
    """The length of a code in modules with the quiet zones of both sides."""
    return runs(code)[0] + 2 * QUIET_MODULES


def module_for(code: str, room: float, most: float = ROOMY_MODULE_MM) -> float:
    """The widest module in mm, of whole dots, with which the code and its quiet zones fit into `room` mm."""
    return int(min(most, room / modules_with_quiet(code)) / DOT_MM + 1e-6) * DOT_MM
