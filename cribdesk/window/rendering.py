"""Pages of a PDF as pictures; the one place that knows pypdfium2, imported when first needed."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from PySide6.QtCore import QSizeF
from PySide6.QtGui import QImage


class NotAPaper(OSError):
    """The bytes are no PDF that can be shown."""


@contextmanager
def opened(pdf: bytes) -> Iterator[Document]:
    """The document in these bytes, closed at the end. Raises NotAPaper with plain words."""
    import pypdfium2

    try:
        made = pypdfium2.PdfDocument(pdf)
    except pypdfium2.PdfiumError as fault:
        raise NotAPaper(f"This paper cannot be shown: {fault}.") from fault
    try:
        yield Document(made)
    finally:
        made.close()


class Document:
    """The pages of one paper."""

    def __init__(self, made: Any) -> None:
        self._made = made

    def __len__(self) -> int:
        return len(self._made)

    def size(self, number: int) -> QSizeF:
        """Width and height of a page in points (1/72 inch)."""
        wide, high = self._made[number].get_size()
        return QSizeF(wide, high)

    def image(self, number: int, dots_per_inch: float) -> QImage:
        """A page as a picture on white."""
        from pypdfium2.raw import FPDFBitmap_BGRx

        bitmap = self._made[number].render(scale=dots_per_inch / 72, force_bitmap_format=FPDFBitmap_BGRx)
        image = QImage(bytes(bitmap.buffer), bitmap.width, bitmap.height, bitmap.stride, QImage.Format.Format_RGB32)
        return image.copy()
