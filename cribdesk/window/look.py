"""The look: both colour tables, the text scale, the typeface; nothing else knows a colour."""

from __future__ import annotations

from dataclasses import dataclass, fields
from functools import cache

from PySide6.QtCore import QObject, Qt, Signal
from PySide6.QtGui import QColor, QFont, QFontDatabase, QGuiApplication, QPalette
from PySide6.QtWidgets import QApplication, QWidget

from cribdesk import resources

SCALES = (1.0, 1.25, 1.5, 1.75, 2.0)


@dataclass(frozen=True)
class Colours:
    """One colour for each role; the roles are told in the developers' pages."""

    page: QColor
    sheet: QColor
    rail: QColor
    ink: QColor
    ink2: QColor
    off: QColor
    edge: QColor
    line: QColor
    steel: QColor
    maybe: QColor
    track: QColor
    acc: QColor
    onacc: QColor
    stop: QColor
    onstop: QColor
    stopink: QColor
    stop2: QColor
    caut: QColor
    oncaut: QColor
    caut2: QColor
    strip: QColor
    onstrip: QColor
    onstrip2: QColor

    def role(self, name: str) -> QColor:
        """The colour of a role by its name."""
        colour: QColor = getattr(self, name)
        return colour


def _table(words: str) -> Colours:
    return Colours(*(QColor(f"#{word}") for word in words.split()))


LIGHT = _table(
    "E9ECEB FAFBFA D3D8D7 161B1E 414C51 5A666A 6B777B C2C9C8 5C6A71 A6B1B5 DDE2E1 1A4C96 FFFFFF "
    "B0151C FFFFFF A0131A E3A7A5 FFB400 161B1E FFDD8C 1D2528 F3F6F5 B4BFC1"
)
DARK = _table(
    "151A1D 1E2528 0D1113 ECF0EF B1BCBF 8A969A 83929A 374246 8D9BA2 56646A 2A3437 8DB9F2 0C1722 "
    "C9252C FFFFFF FF9088 6E3034 F2AE1C 14181A 80622A 070A0B F3F6F5 A9B5B8"
)


@cache
def _base_font() -> QFont:
    """FiraGO with figures of equal width; copies keep the feature, a font made anew would not."""
    for bold in (False, True):
        QFontDatabase.addApplicationFontFromData(resources.typeface(bold))
    font = QFont(resources.TYPEFACE)
    font.setFeature(QFont.Tag("tnum"), 1)
    return font


@dataclass(frozen=True)
class Look:
    """What everything is drawn with: colours, text scale `u` from 1.0 to 2.0, dark or light."""

    colours: Colours
    u: float
    dark: bool

    def px(self, n: float) -> int:
        """A measure of the 100 % drawing at this scale, never under one pixel for a measure over zero."""
        return max(1, round(n * self.u)) if n > 0 else round(n * self.u)

    def font(self, px: float, bold: bool = False) -> QFont:
        """The typeface at a 100 % size in px."""
        font = QFont(_base_font())
        font.setPixelSize(self.px(px))
        font.setBold(bold)
        return font


def make(dark: bool = False, u: float = 1.0) -> Look:
    """The look of one shade and scale; a scale outside 1.0 to 2.0 is brought to the nearer end."""
    return Look(DARK if dark else LIGHT, min(2.0, max(1.0, u)), dark)


class LookSource(QObject):
    """Holds the look that is worn and tells when it changes."""

    look_changed = Signal()

    def __init__(self) -> None:
        super().__init__()
        self.look = make()
        self.shade: bool | None = None  # None: as the system has it

    def follow(self) -> None:
        """Take over the system's shade, unless a person chose one."""
        if self.shade is None and self.look.dark != system_dark():
            wear(make(system_dark(), self.look.u))


source = LookSource()


def current() -> Look:
    """The look worn now."""
    return source.look


def system_dark() -> bool:
    """Whether the system asks for dark; an unknown answer counts as light."""
    return QGuiApplication.styleHints().colorScheme() == Qt.ColorScheme.Dark


def system_scale(app: QApplication) -> float:
    """The nearest lower scale step to the system's own text size; ask before `install` replaces the font.

    15 px counts as 100 % (common practice, no source).
    """
    font = app.font()
    px = font.pixelSize() if font.pixelSize() > 0 else font.pointSizeF() * _dots_per_inch() / 72
    return max((step for step in SCALES if step <= px / 15), default=1.0)


def _dots_per_inch() -> float:
    screen = QGuiApplication.primaryScreen()
    return screen.logicalDotsPerInch() if screen else 96.0


def install(app: QApplication, u: float = 1.0, dark: bool | None = None) -> None:
    """Dress the application; `dark` None follows the system from then on."""
    app.setStyle("Fusion")
    app.setCursorFlashTime(0)  # nothing blinks
    source.shade = dark
    app.styleHints().colorSchemeChanged.connect(source.follow, Qt.ConnectionType.UniqueConnection)
    wear(make(system_dark() if dark is None else dark, u))


def wear(look: Look) -> None:
    """Change the look of everything at once."""
    source.look = look
    app = QApplication.instance()
    if isinstance(app, QApplication):
        app.setFont(look.font(18))
        app.setPalette(palette(look))
        app.setStyleSheet(style_sheet(look))
    source.look_changed.emit()


def palette(look: Look) -> QPalette:
    """The table as palette roles, for menus, tooltips and what else the style draws itself."""
    c, role = look.colours, QPalette.ColorRole
    roles = {
        role.Window: c.page, role.Base: c.sheet, role.AlternateBase: c.page, role.Button: c.sheet,
        role.WindowText: c.ink, role.Text: c.ink, role.ButtonText: c.ink, role.PlaceholderText: c.ink2,
        role.ToolTipBase: c.strip, role.ToolTipText: c.onstrip, role.Highlight: c.acc,
        role.HighlightedText: c.onacc, role.Accent: c.acc, role.Link: c.acc, role.Mid: c.edge,
    }  # fmt: skip
    made = QPalette(c.page)
    for name, colour in roles.items():
        made.setColor(name, colour)
    for name in (role.WindowText, role.Text, role.ButtonText):
        made.setColor(QPalette.ColorGroup.Disabled, name, c.off)
    return made


_SHEET = """
*[ground="page"] {{ background: {page}; }}
*[ground="sheet"] {{ background: {sheet}; }}
*[ground="rail"] {{ background: {rail}; }}
*[ground="strip"] {{ background: {strip}; }}
QLabel {{ color: {ink}; background: transparent; }}
QLabel[role="ink2"] {{ color: {ink2}; }}
QLabel[role="off"] {{ color: {off}; }}
QLabel[role="stopink"] {{ color: {stopink}; }}
QLabel[role="acc"] {{ color: {acc}; }}
QLabel[role="onstrip"] {{ color: {onstrip}; }}
QLabel[role="onstrip2"] {{ color: {onstrip2}; }}
QToolTip {{ background: {strip}; color: {onstrip}; border: 1px solid {edge}; padding: {p4}px; }}
QLineEdit, QPlainTextEdit, QDateEdit, QComboBox {{ background: {sheet}; color: {ink};
  border: {p2}px solid {edge}; border-radius: {p4}px; padding: 0 {p10}px; min-height: {p40}px;
  selection-background-color: {acc}; selection-color: {onacc}; }}
QPlainTextEdit {{ padding: {p8}px; }}
QLineEdit:focus, QPlainTextEdit:focus, QDateEdit:focus, QComboBox:focus {{ border: {p3}px solid {acc}; }}
QLineEdit:disabled, QPlainTextEdit:disabled, QDateEdit:disabled, QComboBox:disabled {{ color: {off};
  background: {track}; }}
QComboBox::drop-down, QDateEdit::drop-down {{ border: 0; width: {p44}px; }}
QComboBox QAbstractItemView {{ background: {sheet}; color: {ink}; border: 1px solid {edge}; outline: 0;
  selection-background-color: {acc}; selection-color: {onacc}; }}
QComboBox QAbstractItemView::item {{ min-height: {p44}px; padding-left: {p10}px; }}
QScrollArea {{ background: transparent; border: 0; }}
QScrollBar:vertical {{ background: transparent; width: {p16}px; margin: 0; }}
QScrollBar:horizontal {{ background: transparent; height: {p16}px; margin: 0; }}
QScrollBar::handle {{ background: {edge}; margin: {p4}px; }}
QScrollBar::handle:vertical {{ min-height: {p44}px; }}
QScrollBar::handle:horizontal {{ min-width: {p44}px; }}
QScrollBar::add-line, QScrollBar::sub-line {{ width: 0; height: 0; }}
QScrollBar::add-page, QScrollBar::sub-page {{ background: transparent; }}
QTableView, QListView {{ background: {page}; color: {ink}; border: 0; outline: 0; gridline-color: {line}; }}
QHeaderView {{ background: {page}; border: 0; }}
QHeaderView::section {{ background: {page}; color: {ink2}; border: 0; border-bottom: {p1}px solid {edge};
  padding: 0 {p8}px; height: {p36}px; }}
QTableCornerButton::section {{ background: {page}; border: 0; }}
QMenu {{ background: {sheet}; color: {ink}; border: 1px solid {edge}; }}
QMenu::item {{ padding: {p10}px {p24}px; }}
QMenu::item:selected {{ background: {acc}; color: {onacc}; }}
QCalendarWidget QWidget {{ alternate-background-color: {page}; }}
"""


def style_sheet(look: Look) -> str:
    """Grounds, label roles, fields and scroll bars; everything else is painted by its own widget."""
    colours = {f.name: look.colours.role(f.name).name() for f in fields(Colours)}
    measures = {f"p{n}": look.px(n) for n in (1, 2, 3, 4, 8, 10, 16, 24, 36, 40, 44)}
    return _SHEET.format(**colours, **measures)


def ground(widget: QWidget, name: str) -> None:
    """Lay a widget on `page`, `sheet`, `rail` or `strip`."""
    widget.setAttribute(Qt.WidgetAttribute.WA_StyledBackground, True)
    _set_property(widget, "ground", name)


def role(widget: QWidget, name: str) -> None:
    """Give a label the colour of a role: ink, ink2, off, stopink, acc, onstrip, onstrip2."""
    _set_property(widget, "role", name)


def _set_property(widget: QWidget, name: str, value: str) -> None:
    widget.setProperty(name, value)
    # Before the first show the style does this itself; done too early it would drop the widget's own font.
    if widget.testAttribute(Qt.WidgetAttribute.WA_WState_Polished):
        widget.style().unpolish(widget)
        widget.style().polish(widget)


def luminance(colour: QColor) -> float:
    """Relative luminance as WCAG 2.2 defines it."""
    parts = (colour.redF(), colour.greenF(), colour.blueF())
    r, g, b = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts)
    return 0.2126 * r + 0.7152 * g + 0.0722 * b


def contrast(one: QColor, other: QColor) -> float:
    """Contrast ratio of two colours as WCAG 2.2 defines it, from 1 to 21."""
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)
