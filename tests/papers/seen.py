"""What a paper shows, seen from outside: pages as pictures, bars as a scanner reads them, text, boxes."""

from __future__ import annotations

import io
from dataclasses import dataclass
from typing import Any

import pypdf
import pypdfium2
import pypdfium2.raw as pdfium
import zxingcpp
from PIL import Image

DPI = 200
MM = 72 / 25.4
FORMATS: Any = zxingcpp.BarcodeFormat.Code128


@dataclass(frozen=True)
class Code:
    """A barcode as decoded, with the box of its bars in pixels."""

    text: str
    left: int
    top: int
    right: int
    foot: int


@dataclass(frozen=True)
class Box:
    """Where a text or path stands, in mm from the lower left, and the text where it is one."""

    left: float
    foot: float
    right: float
    top: float
    text: str = ""

    def overlaps(self, other: Box, slack: float = 0.0) -> bool:
        """Whether the two share more than `slack` mm both ways."""
        wide = min(self.right, other.right) - max(self.left, other.left)
        high = min(self.top, other.top) - max(self.foot, other.foot)
        return wide > slack and high > slack


def pictures(pdf: bytes) -> list[Image.Image]:
    """The pages in grey at 200 dpi."""
    document = pypdfium2.PdfDocument(pdf)
    return [page.render(scale=DPI / 72).to_pil().convert("L") for page in document]


def codes(picture: Image.Image) -> list[Code]:
    """Every Code 128 on the picture, by an independent decoder."""
    found = zxingcpp.read_barcodes(picture, formats=FORMATS)
    read = []
    for code in found:
        corners = [getattr(code.position, f"{v}_{h}") for v in ("top", "bottom") for h in ("left", "right")]
        xs, ys = [corner.x for corner in corners], [corner.y for corner in corners]
        read.append(Code(code.text, min(xs), min(ys), max(xs), max(ys)))
    return read


def texts(pdf: bytes) -> list[str]:
    """The text of each page as another program reads it, spaces between words made single."""
    reader = pypdf.PdfReader(io.BytesIO(pdf))
    return [" ".join(page.extract_text().split()) for page in reader.pages]


def sizes(pdf: bytes) -> list[tuple[float, float]]:
    """Width and height of each page, mm, to a tenth."""
    reader = pypdf.PdfReader(io.BytesIO(pdf))
    return [(round(float(p.mediabox.width) / MM, 1), round(float(p.mediabox.height) / MM, 1)) for p in reader.pages]


def boxes(pdf: bytes) -> list[tuple[list[Box], list[Box]]]:
    """For each page the boxes of its texts and those of its shapes."""
    pages = []
    for page in pypdfium2.PdfDocument(pdf):
        reading = page.get_textpage()
        drawn = [(thing.type, _box(thing)) for thing in page.get_objects(textpage=reading)]
        pages.append(
            (
                [box for kind, box in drawn if kind == pdfium.FPDF_PAGEOBJ_TEXT],
                [box for kind, box in drawn if kind != pdfium.FPDF_PAGEOBJ_TEXT],
            )
        )
    return pages


def _box(thing: Any) -> Box:
    left, foot, right, top = (edge / MM for edge in thing.get_bounds())
    text = thing.extract() if thing.type == pdfium.FPDF_PAGEOBJ_TEXT else ""
    return Box(left, foot, right, top, text)
