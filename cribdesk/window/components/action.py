"""The action button: the word of the work at the left, its key at the right."""

from __future__ import annotations

from PySide6.QtCore import QRectF, QSize
from PySide6.QtGui import QColor, QPainter
from PySide6.QtWidgets import QSizePolicy, QWidget

from cribdesk.window import drawing
from cribdesk.window.components.base import Pressable
from cribdesk.window.look import Look
from cribdesk.window.signs import sign

HEIGHTS = {"row": 44, "bar": 48, "small": 56, "main": 88, "foot": 96}


class ActionButton(Pressable):
    """One action. Kinds: go (one a screen), plain, answer (equal weight, 3 px ink), quiet.

    Sizes: row 44, bar 48, small 56, main 88, foot 96; main and foot carry a word of 36 and a line of cost,
    unless `px` says otherwise. While `set_off(reason)` holds, it cannot be pressed and says why.
    """

    def __init__(
        self, word: str, kind: str = "plain", key: str = "", *, size: str = "small", cost: str = "",
        mark: str = "", px: int = 0, parent: QWidget | None = None,
    ) -> None:  # fmt: skip
        super().__init__(parent)
        self._kind, self._key, self._size, self._cost, self._mark = kind, key, size, cost, mark
        self._px = px or (36 if size in ("main", "foot") else 18)
        self._reason, self._said_elsewhere = "", False
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.set_word(word)

    def set_word(self, word: str) -> None:
        """Say another work."""
        self.setText(word.replace("&", "&&"))
        self._word = word
        self.setAccessibleName(word)
        self._tell()

    def set_kind(self, kind: str) -> None:
        """Become go, plain, answer or quiet."""
        self._kind = kind
        self.refit()

    def set_key(self, key: str) -> None:
        """Name another key on the cap; the key itself is an action of the window."""
        self._key = key
        self._tell()

    def set_off(self, reason: str = "", said_elsewhere: bool = False) -> None:
        """Not possible, and why; an empty reason makes it possible again.

        Where the page says the reason beside the button, the button keeps its cost.
        """
        self._reason, self._said_elsewhere = reason, said_elsewhere
        self.setEnabled(not reason)
        self._tell()

    def word(self) -> str:
        """The word shown."""
        return self._word

    def reason(self) -> str:
        """Why it is off, or nothing."""
        return self._reason

    def _tell(self) -> None:
        parts = (self._reason or self._cost, f"key {self._key}" if self._key else "")
        self.setAccessibleDescription(", ".join(part for part in parts if part))
        self.refit()

    def _under(self) -> str:
        return self._cost if self._said_elsewhere else self._reason or self._cost

    def _under_px(self) -> int:
        return 18 if self._size in ("main", "foot") else 14

    def measure(self, look: Look) -> QSize:
        words = drawing.width(self._word, look.font(self._px, True))
        if self._under():
            words = max(words, drawing.width(self._under(), look.font(self._under_px())))
        pad = 24 if self._size in ("main", "foot") else 16
        key = drawing.key_cap_width(self._key) + look.px(pad if self._key else 0)
        mark = look.px(self._mark_px() + 20) if self._mark else 0
        return QSize(round(words + key + mark + look.px(2 * pad) + 1), look.px(HEIGHTS[self._size]))

    def _mark_px(self) -> int:
        return 38 if self._size in ("main", "foot") else 24

    def _colours(self, look: Look) -> tuple[QColor | None, QColor | None, float, QColor]:
        c = look.colours
        fill, edge, thick, ink = {
            "go": (c.acc, None, 0.0, c.onacc),
            "plain": (c.sheet, c.edge, 2.0, c.ink),
            "answer": (c.sheet, c.ink, 3.0, c.ink),
            "quiet": (None, c.edge, 1.0, c.ink),
        }[self._kind]
        if not self.isEnabled():
            return (c.sheet if self._kind == "go" else fill), c.edge, max(1.0, thick), c.off
        if self.isDown() and self._kind != "go":
            fill = c.track
        elif self.underMouse() and self._kind == "quiet":
            fill = c.sheet
        return fill, edge, thick, ink

    def draw(self, painter: QPainter, look: Look) -> None:
        fill, edge, thick, ink = self._colours(look)
        body = QRectF(self.rect())
        if self._size == "row" and not self._key:  # with a key cap the whole height is needed
            body.adjust(0, look.px(4), 0, -look.px(4))
        drawing.box(painter, body, fill=fill, edge=edge, thick=thick, radius=4)
        if self.isDown() and self._kind == "go":
            drawing.box(painter, body.adjusted(3, 3, -3, -3), edge=ink, thick=2, radius=3)
        pad = look.px(24 if self._size in ("main", "foot") else 16)
        left, right = body.left() + pad, body.right() - pad
        if self._mark:
            side = look.px(self._mark_px())
            at = QRectF(left, body.center().y() - side / 2, side, side)
            sign(painter, at, self._mark, ground="acc" if self._kind == "go" else "sheet", colour=ink)
            left += side + look.px(20)
        if self._key:
            right = drawing.key_cap(painter, right, body.center().y(), self._key, ink) - pad / 2
        self._draw_words(painter, look, QRectF(left, body.top(), right - left, body.height()), ink)

    def _draw_words(self, painter: QPainter, look: Look, room: QRectF, ink: QColor) -> None:
        under = self._under()
        font = look.font(self._px, True)
        if not under:
            drawing.text(painter, room, self._word, font, ink)
            return
        big, small = look.px(self._px * 1.2), look.px(self._under_px() * 1.3)
        top = room.center().y() - (big + small) / 2
        drawing.text(painter, QRectF(room.left(), top, room.width(), big), self._word, font, ink)
        at = QRectF(room.left(), top + big, room.width(), small)
        drawing.text(painter, at, under, look.font(self._under_px()), ink)
