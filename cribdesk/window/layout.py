"""Columns and lines that keep their measures when the text scale changes, and the three sizes of a window."""

from __future__ import annotations

from enum import IntEnum

from PySide6.QtCore import QEvent, QObject, QSize, Qt
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import (
    QFrame,
    QHBoxLayout,
    QLayout,
    QScrollArea,
    QSizePolicy,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from cribdesk.window.look import current, ground, source

Margins = tuple[int, int, int, int]
NONE: Margins = (0, 0, 0, 0)


class Size(IntEnum):
    """How much room there is, by effective size: the window's divided by the text scale."""

    SMALL = 0
    MIDDLE = 1
    WIDE = 2


def size_of(wide: float, high: float, u: float) -> Size:
    """Wide from 1280 x 820, middle from 1000 x 700, small below (in effective px)."""
    wide, high = wide / u, high / u
    if wide >= 1280 and high >= 820:
        return Size.WIDE
    return Size.MIDDLE if wide >= 1000 and high >= 700 else Size.SMALL


class Boxes(QVBoxLayout):
    """A column whose margins and gap are given in 100 % px."""

    def __init__(self, parent: QWidget | None = None, margins: Margins = NONE, gap: int = 0) -> None:
        super().__init__(*((parent,) if parent else ()))
        self._margins, self._gap = margins, gap
        source.look_changed.connect(self.refit)
        self.refit()

    def set_margins(self, margins: Margins) -> None:
        """Other margins, in 100 % px."""
        self._margins = margins
        self.refit()

    def refit(self) -> None:
        """Take the text scale anew."""
        _fit(self, self._margins, self._gap)


class Row(QHBoxLayout):
    """A line of widgets whose margins and gap are given in 100 % px."""

    def __init__(self, parent: QWidget | None = None, margins: Margins = NONE, gap: int = 0) -> None:
        super().__init__(*((parent,) if parent else ()))
        self._margins, self._gap = margins, gap
        source.look_changed.connect(self.refit)
        self.refit()

    def set_margins(self, margins: Margins) -> None:
        """Other margins, in 100 % px."""
        self._margins = margins
        self.refit()

    def refit(self) -> None:
        """Take the text scale anew."""
        _fit(self, self._margins, self._gap)


def _fit(layout: QLayout, margins: Margins, gap: int) -> None:
    look = current()
    layout.setContentsMargins(*(look.px(side) for side in margins))
    layout.setSpacing(look.px(gap))


class Gap(QWidget):
    """Empty room of so many 100 % px."""

    def __init__(self, high: int, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._high = high
        source.look_changed.connect(self.refit)
        self.refit()

    def refit(self) -> None:
        """Take the text scale anew."""
        self.setFixedHeight(current().px(self._high))


class Panel(QWidget):
    """A plain ground with a column in it."""

    def __init__(self, on: str = "page", margins: Margins = NONE, gap: int = 0, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        ground(self, on)
        self.column = Boxes(self, margins, gap)


class Fixed(Panel):
    """A panel of a fixed width in 100 % px."""

    def __init__(self, wide: int, on: str = "page", margins: Margins = NONE, gap: int = 0) -> None:
        super().__init__(on, margins, gap)
        self._wide = wide
        source.look_changed.connect(self.refit)
        self.refit()

    def set_wide(self, wide: int) -> None:
        """Another width."""
        self._wide = wide
        self.refit()

    def refit(self) -> None:
        """Take the text scale anew."""
        self.setFixedWidth(current().px(self._wide))


class Scroll(QScrollArea):
    """What scrolls up and down, never sideways; the content is as high as its words need at this width."""

    def __init__(self, content: QWidget, on: str = "page", parent: QWidget | None = None) -> None:
        super().__init__(parent)
        ground(self, on)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self._on = on
        self.set_content(content)

    def set_content(self, content: QWidget) -> None:
        """Another content in place of the one before, which goes."""
        ground(content, self._on)
        self._content = content
        self.setWidget(content)
        content.installEventFilter(self)
        self._fit()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if watched is self._content and event.type() == QEvent.Type.LayoutRequest:
            self._fit()
        return bool(super().eventFilter(watched, event))  # which lets the bars follow the content's height

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fit()

    def _fit(self) -> None:
        show_new(self._content)
        whole, port = self.maximumViewportSize(), self.viewport().size()
        if self._tall(whole.width()) <= whole.height():  # fits without the bar, which itself takes width
            port = whole
        self._content.resize(port.width(), max(self._tall(port.width()), port.height()))

    def _tall(self, wide: int) -> int:
        """The height the content needs at this width."""
        layout = self._content.layout()
        if layout is None:
            return self._content.sizeHint().height()
        layout.activate()
        return layout.heightForWidth(wide) if layout.hasHeightForWidth() else layout.sizeHint().height()

    def sizeHint(self) -> QSize:
        return QSize(current().px(160), current().px(80))

    def minimumSizeHint(self) -> QSize:
        return QSize(current().px(80), current().px(44))


def show_new(content: QWidget) -> None:
    """Shows what a layout has just been given and will show only at its next turn.

    Until then it counts as empty, and a page that is measured and painted in between is squeezed for a moment.
    """
    if not content.isVisible():
        return
    decided = Qt.WidgetAttribute.WA_WState_ExplicitShowHide
    for child in content.findChildren(QWidget):
        if child.isHidden() and not child.isWindow() and not child.testAttribute(decided):
            child.show()


class Stack(QStackedWidget):
    """One of several pages; it takes no more room than the page that shows."""

    def sizeHint(self) -> QSize:
        page = self.currentWidget()
        return page.sizeHint() if page else super().sizeHint()

    def minimumSizeHint(self) -> QSize:
        page = self.currentWidget()
        return page.minimumSizeHint() if page else super().minimumSizeHint()


def empty(layout: QLayout) -> None:
    """Take everything out of a layout and let it go."""
    while layout.count():
        item = layout.takeAt(0)
        if item is None:
            return
        inner, widget = item.layout(), item.widget()
        if inner is not None:
            empty(inner)
            inner.deleteLater()
        if widget is not None:
            widget.hide()
            widget.setParent(None)
            widget.deleteLater()
