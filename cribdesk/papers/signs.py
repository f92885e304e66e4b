"""Signs as shapes in a unit square, so that no paper relies on a glyph: y runs down."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

Kind = Literal["stop", "caution", "tick", "cross", "next", "back", "break"]
Ink = Literal["fill", "clear", "line"]
Point = tuple[float, float]


@dataclass(frozen=True)
class Shape:
    """Filled black, cleared to white, or a line through the points; with a radius, a ring at the first."""

    ink: Ink
    points: tuple[Point, ...]
    radius: float = 0.0


def shapes(kind: Kind) -> tuple[Shape, ...]:
    """The shapes of a sign, in drawing order."""
    return _SIGNS[kind]


def _box(left: float, top: float, right: float, foot: float) -> tuple[Point, ...]:
    return (left, top), (right, top), (right, foot), (left, foot)


def _octagon() -> tuple[Point, ...]:
    turns = [math.pi / 8 + index * math.pi / 4 for index in range(8)]
    reach = 0.5 / math.cos(math.pi / 8)
    return tuple((0.5 + reach * math.cos(turn), 0.5 + reach * math.sin(turn)) for turn in turns)


def _ringed(*strokes: Sequence[Point]) -> tuple[Shape, ...]:
    ring = Shape("line", ((0.5, 0.5),), 0.45)
    return (ring, *(Shape("line", tuple(stroke)) for stroke in strokes))


_SIGNS: dict[Kind, tuple[Shape, ...]] = {
    "stop": (Shape("fill", _octagon()), Shape("clear", _box(0.22, 0.41, 0.78, 0.59))),
    "caution": (
        Shape("fill", ((0.5, 0.05), (1.0, 0.95), (0.0, 0.95))),
        Shape("clear", ((0.45, 0.36), (0.55, 0.36), (0.535, 0.66), (0.465, 0.66))),
        Shape("clear", _box(0.45, 0.72, 0.55, 0.82)),
    ),
    "tick": _ringed(((0.29, 0.52), (0.44, 0.67), (0.72, 0.35))),
    "cross": _ringed(((0.33, 0.33), (0.67, 0.67)), ((0.67, 0.33), (0.33, 0.67))),
    "next": _ringed(((0.24, 0.5), (0.72, 0.5)), ((0.52, 0.3), (0.72, 0.5), (0.52, 0.7))),
    "back": _ringed(((0.76, 0.5), (0.28, 0.5)), ((0.48, 0.3), (0.28, 0.5), (0.48, 0.7))),
    "break": _ringed(((0.3, 0.5), (0.7, 0.5))),
}
