"""Plots and tables kept in files: PNG and SVG in the light shade, which reads in grey too, and CSV."""

from __future__ import annotations

import csv
import io
import os
from collections.abc import Sequence
from pathlib import Path

from PySide6.QtCore import QRectF, QSize, QStandardPaths, Qt
from PySide6.QtGui import QImage, QImageWriter, QPainter

from cribdesk.window import look as looks
from cribdesk.window.components.plot import PlotData, paint

WIDE, HIGH = 960, 420
SCALE = 2  # dots of a PNG to a px of the drawing, so that it prints well
PNG, SVG, CSV = "png", "svg", "csv"


def folder() -> Path:
    """Where pictures and tables are kept: CribDesk in the user's documents."""
    found = QStandardPaths.writableLocation(QStandardPaths.StandardLocation.DocumentsLocation)
    return Path(found or Path.home()) / "CribDesk"


def save_plot(file: Path, data: PlotData) -> None:
    """Draws a plot into a file; its suffix says how. Raises OSError with plain words when it cannot."""
    if file.suffix == f".{SVG}":
        _save(file, svg(data))
    else:
        _save(file, png(data))


def save_table(file: Path, rows: Sequence[Sequence[object]]) -> None:
    """Writes rows as CSV, UTF-8 with its mark, so that office programs read names right."""
    _save(file, csv_file(rows))


def csv_file(rows: Sequence[Sequence[object]]) -> bytes:
    """Rows as a CSV file: UTF-8 with its mark."""
    return csv_text(rows).encode("utf-8-sig")


def csv_text(rows: Sequence[Sequence[object]]) -> str:
    """Rows as CSV; a text that an office program could take for a formula is set off by an apostrophe."""
    text = io.StringIO()
    csv.writer(text).writerows([[_cell(value) for value in row] for row in rows])
    return text.getvalue()


def _cell(value: object) -> object:
    if isinstance(value, str) and value[:1] in ("=", "+", "-", "@", "\t", "\r"):
        return f"'{value}"
    return round(value, 6) if isinstance(value, float) else value


def png(data: PlotData) -> bytes:
    """The plot as PNG on white."""
    from PySide6.QtCore import QBuffer, QByteArray, QIODevice

    image = QImage(WIDE * SCALE, HIGH * SCALE, QImage.Format.Format_RGB32)
    image.setDevicePixelRatio(SCALE)
    image.fill(Qt.GlobalColor.white)
    painter = QPainter(image)
    _draw(painter, data)
    painter.end()
    held = QByteArray()
    buffer = QBuffer(held)
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    QImageWriter(buffer, QByteArray(b"png")).write(image)
    return bytes(held.data())


def svg(data: PlotData) -> bytes:
    """The plot as SVG; its words are text in the program's typeface, with others where that is missing."""
    from PySide6.QtCore import QBuffer, QByteArray, QIODevice
    from PySide6.QtSvg import QSvgGenerator

    held = QByteArray()
    buffer = QBuffer(held)
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    made = QSvgGenerator()
    made.setOutputDevice(buffer)
    made.setSize(QSize(WIDE, HIGH))
    made.setViewBox(QRectF(0, 0, WIDE, HIGH))
    made.setResolution(96)
    made.setTitle(data.told.partition(".")[0])
    made.setDescription(data.told)
    painter = QPainter(made)
    _draw(painter, data)
    painter.end()
    return bytes(held.data())


def _draw(painter: QPainter, data: PlotData) -> None:
    """In the light shade at 100 %, whatever is worn; shared strokes read the worn look, so it is lent for a moment."""
    worn = looks.source.look
    looks.source.look = looks.make()
    try:
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        paint(painter, looks.source.look, data, QRectF(16, 16, WIDE - 32, HIGH - 32))
    finally:
        looks.source.look = worn


def _save(file: Path, content: bytes) -> None:
    try:
        file.parent.mkdir(parents=True, exist_ok=True)
        half = file.with_name(f".{file.name}.half")
        half.write_bytes(content)
        os.replace(half, file)
    except OSError as failure:
        raise OSError(f"{file} cannot be written: {failure.strerror or failure}.") from None
