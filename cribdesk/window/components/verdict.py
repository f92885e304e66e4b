"""The verdict band and the reasons under it."""

from __future__ import annotations

from dataclasses import dataclass

from PySide6.QtCore import QRectF, QSize, Signal
from PySide6.QtGui import QPainter
from PySide6.QtWidgets import QSizePolicy, QWidget

from cribdesk.window import drawing
from cribdesk.window.components.base import Drawn, Pressable
from cribdesk.window.look import Look
from cribdesk.window.signs import sign

STOP, CAUTION, FINE = "stop", "caution", "fine"


class VerdictBand(Drawn):
    """The answer, 88 high, 64 when compact; stop and caution fill it, fine leaves it paper."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._level, self._word, self._counts, self._compact = "", "", "", False
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    def set_verdict(self, level: str, word: str, counts: str = "") -> None:
        """Level stop, caution, fine, or empty for no verdict yet; its word; the counts at the right."""
        self._level, self._word, self._counts = level, word, counts
        self.setAccessibleName(f"{word}. {counts}" if counts else word)
        self.update()

    def set_compact(self, compact: bool) -> None:
        """64 high."""
        self._compact = compact
        self.refit()

    def measure(self, look: Look) -> QSize:
        return QSize(look.px(300), look.px(64 if self._compact else 88))

    def draw(self, painter: QPainter, look: Look) -> None:
        c, whole = look.colours, QRectF(self.rect())
        fill, ink, ground = {
            STOP: (c.stop, c.onstop, "stop"),
            CAUTION: (c.caut, c.oncaut, "caut"),
        }.get(self._level, (c.sheet, c.ink, "sheet"))
        painter.fillRect(whole, fill)
        if ground == "sheet":
            drawing.hairline(painter, 0, whole.right(), whole.bottom() - look.px(1), c.line)
        left, right = float(look.px(24)), whole.right() - look.px(24)
        if self._level:
            side = look.px(48 if self._compact else 56)
            at = QRectF(left, whole.center().y() - side / 2, side, side)
            sign(painter, at, self._level, ground=ground)
            left += side + look.px(24)
        if self._counts:
            wide = drawing.width(self._counts, look.font(18))
            room = right - left - drawing.width(self._word, look.font(36, True)) - look.px(16)
            if wide <= room:
                at = QRectF(right - wide, 0, wide, whole.height())
                drawing.text(painter, at, self._counts, look.font(18), ink)
                right -= wide + look.px(8)
        room_left = QRectF(left, 0, right - left, whole.height())
        drawing.text(painter, room_left, self._word, look.font(36, True), ink)


@dataclass(frozen=True)
class Finding:
    """One reason for or against: level, reason, detail, and the basis it stands on."""

    level: str
    reason: str
    detail: str = ""
    basis: str = ""


class FindingList(Pressable):
    """All reasons, the worst as given first; one target that opens the whole account: `clicked`.

    The fine ones fold to a count when a stop asks, the last of them where the room ends.
    """

    ring_inside = True
    return_presses = True
    more = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._findings: tuple[Finding, ...] = ()
        self._fold = False
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.MinimumExpanding)

    def set_findings(self, findings: tuple[Finding, ...], fold: bool = False) -> None:
        """Show these; `fold` folds the fine ones whatever the room."""
        self._findings, self._fold = findings, fold
        words = ". ".join(f"{f.level}: {f.reason} {f.detail} {f.basis}".strip() for f in findings)
        self.setAccessibleName(words or "No reasons")
        self.refit()

    def _weighty(self) -> list[Finding]:
        return [f for f in self._findings if f.level != FINE]

    def _fine(self) -> list[Finding]:
        return [f for f in self._findings if f.level == FINE]

    def _row_height(self, finding: Finding, look: Look, wide: float) -> float:
        detail = drawing.broken(finding.detail, look.font(18), wide - look.px(96)) if finding.detail else []
        reason = drawing.broken(finding.reason, look.font(18, True), wide - look.px(96))
        basis = drawing.broken(finding.basis, look.font(14), wide - look.px(96)) if finding.basis else []
        return look.px(29) + (len(reason) + len(detail)) * look.px(23) + len(basis) * look.px(20)

    def _shown_fine(self, look: Look) -> list[Finding]:
        """The fine ones as the room has it: all, or the first and how many others there are."""
        fine, weighty = self._fine(), self._weighty()
        used = sum(self._row_height(f, look, self.width()) for f in weighty) + look.px(8)
        folded = self._fold or any(f.level == STOP for f in weighty)
        rows = 1 if folded else max(1, int((self.height() - used) // look.px(36)))
        if len(fine) <= rows:
            return fine
        kept = fine[: rows - 1]
        rest = len(fine) - len(kept)
        return [*kept, Finding(FINE, f"{rest} others are fine" if weighty or kept else f"{rest} fine")]

    def measure(self, look: Look) -> QSize:
        wide = max(self.width(), look.px(300))
        high = sum(self._row_height(f, look, wide) for f in self._weighty())
        return QSize(look.px(300), round(high + (look.px(52) if self._fine() else look.px(8))))

    def resizeEvent(self, event: object) -> None:
        self.updateGeometry()

    def draw(self, painter: QPainter, look: Look) -> None:
        c, top = look.colours, 0.0
        for finding in self._weighty():
            top = self._draw_weighty(painter, look, finding, top)
            drawing.hairline(painter, 0, self.width(), top - look.px(1), c.line)
        for finding in self._shown_fine(look):
            self._draw_fine(painter, look, finding, top + look.px(8))
            top += look.px(36)

    def _draw_weighty(self, painter: QPainter, look: Look, finding: Finding, top: float) -> float:
        c = look.colours
        sign(painter, QRectF(look.px(24), top + look.px(18), look.px(32), look.px(32)), finding.level,
             ground="sheet")  # fmt: skip
        room = QRectF(look.px(72), top + look.px(15), self.width() - look.px(96), 0)
        bold, plain, small = look.font(18, True), look.font(18), look.font(14)
        used = drawing.paragraph(painter, room, finding.reason, bold, c.ink, look.px(23))
        if finding.detail:
            at = room.translated(0, used + look.px(2))
            used += drawing.paragraph(painter, at, finding.detail, plain, c.ink, look.px(23))
        if finding.basis:
            at = room.translated(0, used + look.px(2))
            drawing.paragraph(painter, at, finding.basis, small, c.ink2, look.px(20))
        return top + self._row_height(finding, look, self.width())

    def _draw_fine(self, painter: QPainter, look: Look, finding: Finding, top: float) -> None:
        c = look.colours
        sign(painter, QRectF(look.px(30), top + look.px(8), look.px(20), look.px(20)), FINE, ground="sheet")
        room = QRectF(look.px(72), top, self.width() - look.px(96), look.px(36))
        reason, basis = look.font(18), look.font(14)
        wide = drawing.width(finding.basis, basis)
        if wide and drawing.width(finding.reason, reason) + look.px(12) + wide <= room.width():
            at = QRectF(room.right() - wide, top, wide, room.height())
            drawing.text(painter, at, finding.basis, basis, c.ink2, drawing.RIGHT)
        drawing.text(painter, room, finding.reason, reason, c.ink, elide=True)
