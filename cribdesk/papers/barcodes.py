"""Code 128 as bars: python-barcode's encoding, as runs of modules that a page or a window can draw."""

from __future__ import annotations

import re
from functools import lru_cache

import barcode

QUIET_MODULES = 10  # each side, ISO/IEC 15417
LEAST_MODULE_MM = 0.254  # below it prints at 200 dpi no longer read (tried)
LEAST_HEIGHT_MM = 6.35  # for hand scanners: meets all the texts we know of


@lru_cache(4096)
def runs(code: str) -> tuple[int, tuple[tuple[int, int], ...]]:
    """The bars of a code: its length in modules, and (start, width) of each bar, quiet zones left out.

    Raises ValueError unless the code begins with a letter (the encoder drops some leading digits without
    a word) and all of it is printable ASCII.
    """
    if not code[:1].isalpha() or not code.isascii() or not code.isprintable():
        raise ValueError(f"{code!r} cannot be a barcode: it must begin with a letter and be plain ASCII")
    bits: str = barcode.get_barcode_class("code128")(code).build()[0]
    return len(bits), tuple((bar.start(), bar.end() - bar.start()) for bar in re.finditer("1+", bits))


def modules_with_quiet(code: str) -> int:
    """The length of a code in modules with the quiet zones of both sides."""
    return runs(code)[0] + 2 * QUIET_MODULES
