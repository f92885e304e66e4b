"""Papers on screen and on the printer: pages, save, print; a printer that fails says so in plain words."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
import zxingcpp
from pypdf import PdfReader
from PySide6.QtCore import Qt
from PySide6.QtGui import QImage
from PySide6.QtWidgets import QApplication

from cribdesk.papers.register import render
from cribdesk.papers.settings import PaperSettings
from cribdesk.window.printing import QtPrinter
from cribdesk.window.rendering import NotAPaper, opened
from tests.papers import samples as papers
from tests.window import samples
from tests.window.standing import Standing, settle, stand


@pytest.fixture(scope="module")
def tag() -> bytes:
    """A tag as the papers room makes it."""
    return render("tag", papers.tag, PaperSettings())


@pytest.fixture
def standing(qapp: QApplication) -> Iterator[Standing]:
    """A window of 1440 x 900."""
    made = stand()
    yield made
    made.window.close()


def decoded(image: QImage) -> set[str]:
    """The bar codes in a picture, read by an independent decoder (zxing-cpp)."""
    grey = image.convertToFormat(QImage.Format.Format_Grayscale8)
    rows = memoryview(grey.constBits()).cast("B", (grey.height(), grey.bytesPerLine()))
    import numpy

    return {one.text for one in zxingcpp.read_barcodes(numpy.asarray(rows)[:, : grey.width()])}


def test_a_paper_is_shown_and_printed_from_there(standing: Standing, tag: bytes) -> None:
    """It covers the window; F5 asks to print it, F9 goes back to where one was."""
    standing.open("journal", "", samples.journal())
    standing.window.show_paper("Tag T002314", tag, "tag", papers.TAG)
    settle()
    assert "Tag T002314" in standing.shown()
    assert standing.window.paper() is not None
    standing.key(Qt.Key.Key_F5)
    assert standing.asked("print_again") == [("tag", papers.TAG)]
    standing.key(Qt.Key.Key_F9)
    assert standing.window.paper() is None
    assert standing.window.place()[0] == "journal"


def test_a_paper_is_saved_whole_or_not_at_all(standing: Standing, tag: bytes, tmp_path: Path) -> None:
    """The file holds the bytes; a folder that is not there gives plain words and no file."""
    standing.window.show_paper("Tag", tag, "tag", papers.TAG)
    paper = standing.window.paper()
    assert paper is not None
    paper.save(str(tmp_path / "tag.pdf"))
    assert (tmp_path / "tag.pdf").read_bytes() == tag
    paper.save(str(tmp_path / "nowhere" / "tag.pdf"))
    assert paper.said.text().startswith("Not saved: ")
    assert list(tmp_path.iterdir()) == [tmp_path / "tag.pdf"]


def test_what_is_no_paper_is_told(standing: Standing) -> None:
    """Broken bytes show a sentence, and nothing can be printed or saved."""
    standing.window.show_paper("Tag", b"no paper", "tag", papers.TAG)
    settle()
    assert "This paper cannot be shown" in standing.shown()
    standing.key(Qt.Key.Key_F5)
    assert standing.asked("print_again") == []
    standing.key(Qt.Key.Key_Escape)
    assert standing.window.paper() is None


def test_a_page_on_screen_keeps_its_codes(qapp: QApplication, tag: bytes) -> None:
    """The rendered page decodes to the unit's and the tag's label."""
    with opened(tag) as document:
        assert len(document) == 1
        found = decoded(document.image(0, 300))
    assert {papers.UNIT, papers.TAG} <= found


def test_a_print_keeps_size_and_codes(qapp: QApplication, tag: bytes, tmp_path: Path) -> None:
    """Printed into a file: the same page size within a millimetre, and codes that still decode."""
    file = tmp_path / "printed.pdf"
    QtPrinter(file=str(file)).print("tag", tag)
    (before,), (after,) = PdfReader(_copy(tag, tmp_path)).pages, PdfReader(file).pages
    for side in ("width", "height"):
        assert float(getattr(after.mediabox, side)) == pytest.approx(float(getattr(before.mediabox, side)), abs=2.9)
    with opened(file.read_bytes()) as document:
        assert {papers.UNIT, papers.TAG} <= decoded(document.image(0, 300))


def _copy(pdf: bytes, folder: Path) -> Path:
    file = folder / "given.pdf"
    file.write_bytes(pdf)
    return file


def test_no_printer_is_told_in_plain_words(qapp: QApplication, tag: bytes) -> None:
    """A printer that is not there, or none at all, raises OSError with a sentence."""
    with pytest.raises(OSError, match="The printer Nowhere is not there any more"):
        QtPrinter(lambda: "Nowhere").print("tag", tag)


def test_broken_bytes_are_not_printed(qapp: QApplication, tmp_path: Path) -> None:
    """No page comes out, and the words say why."""
    with pytest.raises(NotAPaper, match="cannot be shown"):
        QtPrinter(file=str(tmp_path / "printed.pdf")).print("tag", b"no paper")
    assert not (tmp_path / "printed.pdf").exists()
