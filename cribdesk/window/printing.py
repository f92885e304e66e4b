"""The desk's printer: papers as pictures of 600 dots an inch, through QPrinter."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from PySide6.QtCore import QMarginsF, QRectF
from PySide6.QtGui import QPageLayout, QPageSize, QPainter

from cribdesk.window.rendering import Document, opened

if TYPE_CHECKING:
    from PySide6.QtPrintSupport import QPrinter

DOTS = 600


def printers() -> tuple[str, ...]:
    """The printers this machine knows."""
    from PySide6.QtPrintSupport import QPrinterInfo

    return tuple(QPrinterInfo.availablePrinterNames())


def no_name() -> str:
    """The machine's own default."""
    return ""


class QtPrinter:
    """Prints on the printer the workstation names, else on the machine's default; with `file`, into a PDF file."""

    def __init__(self, name: Callable[[], str] = no_name, file: str = "") -> None:
        self._name, self._file = name, file

    def print(self, paper: str, pdf: bytes) -> None:
        """Print a paper. Raises OSError with plain words when it cannot; nothing is half said to be printed."""
        device = self._device()
        with opened(pdf) as document:
            if not len(document):
                raise OSError("The paper has no page.")
            device.setDocName(f"CribDesk {paper}")
            _paint(device, document)

    def _device(self) -> QPrinter:
        from PySide6.QtPrintSupport import QPrinter, QPrinterInfo

        device = QPrinter(QPrinter.PrinterMode.HighResolution)
        if self._file:
            device.setOutputFormat(QPrinter.OutputFormat.PdfFormat)
            device.setOutputFileName(self._file)
        else:
            name = self._name() or QPrinterInfo.defaultPrinterName()
            if not name:
                raise OSError("No printer is set up on this machine.")
            if name not in printers():
                raise OSError(f"The printer {name} is not there any more.")
            device.setPrinterName(name)
            if not device.isValid():
                raise OSError(f"The printer {name} does not answer.")
        device.setResolution(DOTS)
        device.setFullPage(True)
        return device


def _paint(device: QPrinter, document: Document) -> None:
    painter = QPainter()
    try:
        for number in range(len(document)):
            _set_page(device, document, number)
            started = device.newPage() if painter.isActive() else painter.begin(device)
            if not started:
                raise OSError("The printer does not answer.")
            size = document.size(number)
            target = QRectF(0, 0, size.width() / 72 * DOTS, size.height() / 72 * DOTS)
            image = document.image(number, DOTS)
            painter.drawImage(target, image, QRectF(image.rect()))
    except BaseException:
        device.abort()
        raise
    finally:
        if painter.isActive() and not painter.end():
            raise OSError("The printer stopped before the end.")


def _set_page(device: QPrinter, document: Document, number: int) -> None:
    size = document.size(number)
    landscape = size.width() > size.height()
    upright = size.transposed() if landscape else size
    page = QPageSize(upright, QPageSize.Unit.Point, "", QPageSize.SizeMatchPolicy.FuzzyMatch)
    turned = QPageLayout.Orientation.Landscape if landscape else QPageLayout.Orientation.Portrait
    device.setPageLayout(QPageLayout(page, turned, QMarginsF(), QPageLayout.Unit.Point, QMarginsF()))
