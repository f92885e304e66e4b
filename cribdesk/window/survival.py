"""How long such parts last, as a picture: the share that lasts longer, with this part's age on it."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

from PySide6.QtCore import Signal

from cribdesk.crib.forecast import HOURS
from cribdesk.crib.words import count, hours, number
from cribdesk.desk.cards_lists import LifePicture
from cribdesk.window import plot_file
from cribdesk.window.components.action import ActionButton
from cribdesk.window.components.base import Rule, Words
from cribdesk.window.components.plot import Band, Line, Mark, Now, Plot, PlotData, ticks
from cribdesk.window.layout import Panel
from cribdesk.window.lists import button_line, fixed

SHARES = tuple((share / 100, f"{share} %") for share in (0, 25, 50, 75, 100))
END = 0.01
"""The picture ends where one part in a hundred lasts longer."""


LIFE_HEADS = ("model", "position", "measure", "dust_ug_m3", "use", "share_that_lasts_longer", "low_95", "high_95")
KINDS = (plot_file.PNG, plot_file.SVG, plot_file.CSV)


class Survival(Panel):
    """The picture with the words over it; hidden while there is none. `said` tells where a file of it was kept."""

    said = Signal(str)

    def __init__(self) -> None:
        super().__init__("sheet", gap=8)
        self._picture: LifePicture | None = None
        self._label = self._model = ""
        self.head, self.words = Words("How long they last", bold=True, wrap=True), Words("", 14, ink="ink2", wrap=True)
        self.plot = Plot(high=280)
        for one in (Rule(), self.head, self.words, self.plot):
            self.column.addWidget(one)
        buttons = []
        for kind in KINDS:
            button = fixed(ActionButton(f"Save {kind.upper()}", "quiet", size="row"))
            button.clicked.connect(partial(self._save, kind))
            buttons.append(button)
        self.column.addLayout(button_line(tuple(buttons)))
        self.hide()

    def show_picture(self, picture: LifePicture | None, label: str = "", model: str = "") -> None:
        """Show the survival of such parts and where this unit's part stands; None hides it."""
        self._picture, self._label, self._model = picture, label, model
        self.setVisible(picture is not None)
        if picture is None:
            self.plot.set_data(None)
            return
        self.head.setText(f"How long it lasts on this model: {picture.name.lower()}")
        due = f" The dotted lines say by when ones that have lasted to {hours(picture.age)} are due." if label else ""
        self.words.setText(rests_on(picture) + due)
        self.plot.set_data(survival_plot(picture, label))


    def _save(self, kind: str, _: bool = False) -> None:
        picture = self._picture
        if picture is None:
            return
        file = plot_file.folder() / f"{self._label or self._model} {picture.position} life.{kind}"
        try:
            if kind == plot_file.CSV:
                plot_file.save_table(file, [LIFE_HEADS, *life_rows(self._model, picture)])
            else:
                plot_file.save_plot(file, survival_plot(picture, self._label))
        except OSError as failure:
            self.said.emit(f"{str(failure).rstrip('.')}. Nothing was saved.")
            return
        self.said.emit(f"Saved as {file}")


def life_rows(model: str, life: LifePicture) -> list[Sequence[object]]:
    """The points of a survival curve with the bounds of each, for LIFE_HEADS."""
    named = (model, life.position, life.measure, life.dust_ug_m3 or "")
    bounds: Sequence[tuple[object, object]] = life.band or (("", ""),) * len(life.curve)
    return [(*named, *point, *pair) for point, pair in zip(life.curve, bounds, strict=True)]


def survival_plot(picture: LifePicture, label: str = "", brief: bool = False) -> PlotData:
    """The curve; with a `label` its unit's age and the three estimates stand on it, `brief` leaves words out."""
    points = tuple(picture.curve)
    far = next((use for use, share in points if share <= END), points[-1][0] if points else 1.0)
    thumb = picture.thumb_hours
    marks: list[Mark] = []
    now = None
    if label:
        far = max(far, picture.late, picture.age)
        marks = [
            Mark(picture.early, f"1 in 10: {hours(picture.early)}", dashed=False),
            Mark(picture.middle, f"half: {hours(picture.middle)}", dashed=False),
            Mark(picture.late, f"9 in 10: {hours(picture.late)}", dashed=False),
        ]
        now = Now(picture.age, f"{label}: {hours(picture.age)} now", share_at(picture, picture.age))
    if thumb:
        far = max(far, thumb)
        marks.append(Mark(thumb, f"rule of thumb, {hours(thumb)}"))
    right = max(far * 1.02, 1.0)
    kept = tuple(point for point in points if point[0] <= right)
    band = tuple((use, low, high) for (use, _), (low, high) in zip(kept, picture.band, strict=False))
    y_name = "share that lasts longer"
    if band and not brief:
        y_name += "; grey: the curve 95 times in 100"
    said = f"half last {hours(picture.typical)}"
    return PlotData(
        x=(0.0, right), y=(0.0, 1.0), x_ticks=ticks(0.0, right, 4 if brief else 6),
        y_ticks=SHARES[::2] if brief else SHARES,
        x_name=measure_words(picture), y_name=y_name,
        told=f"{picture.name}: {said}. {rests_on(picture)}" + (f" {now.words}." if now else ""),
        lines=(Line(kept),), bands=(Band(band),) if band else (), now=now, marks=tuple(marks),
    )  # fmt: skip


def share_at(picture: LifePicture, use: float) -> float:
    """The share that lasts longer than so much use, on the line between two points of the curve."""
    before = (0.0, 1.0)
    for point in picture.curve:
        if point[0] >= use:
            wide = point[0] - before[0]
            along = (use - before[0]) / wide if wide > 0 else 1.0
            return before[1] + along * (point[1] - before[1])
        before = point
    return before[1]


def measure_words(picture: LifePicture) -> str:
    """What is counted along the foot."""
    if picture.measure == HOURS:
        return "worn hours"
    return f"filter loading, as worn hours in {number((picture.dust_ug_m3 or 0) / 1000, 1)} mg/m³ of dust"


def rests_on(picture: LifePicture) -> str:
    """How many lives it rests on, the measure, and the two figures of the curve with their spread."""
    lives = picture.changed + picture.running
    ended = f"{number(picture.changed)} ended in a change"
    scale, shape = picture.scale, picture.shape
    why = "" if picture.measure == HOURS else " It explains these lives better than worn hours do."
    thumb = f" The rule of thumb, {hours(picture.thumb_hours or 0.0)}, counts the less the more lives there are."
    return (
        f"{count(lives, 'life', 'lives')}: {ended}, {number(picture.running)} still run or came out still good. "
        f"Counted in {measure_words(picture)}.{why} Weibull curve, scale {hours(scale[0])} "
        f"({number(scale[1])} to {number(scale[2])}), shape {number(shape[0], 1)} ({number(shape[1], 1)} to "
        f"{number(shape[2], 1)}), each 95 times in 100.{thumb if picture.thumb_hours else ''}"
    )
