"""Limit kinds by name: each judges a value and prints itself."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

_ROUND = 6  # a mean of three readings must not miss its limit by a float's last digit


def figure(value: float) -> str:
    """A number as people read it: at most one decimal, none when it is whole."""
    return f"{value:.1f}".removesuffix(".0")


@dataclass(frozen=True)
class Limit:
    """What a value must keep to. `low` and `high` are inclusive, None where there is none."""

    low: float | None
    high: float | None
    unit: str

    def side(self, value: float) -> str:
        """'low' below the limit, 'high' above it, 'in' on it or inside."""
        value = round(value, _ROUND)
        if self.low is not None and value < self.low:
            return "low"
        if self.high is not None and value > self.high:
            return "high"
        return "in"

    def holds(self, value: float) -> bool:
        """Whether the value keeps to the limit."""
        return self.side(value) == "in"

    @property
    def words(self) -> str:
        """The limit in words, as it stands on screen and paper."""
        return str(self)


@dataclass(frozen=True)
class AtLeast(Limit):
    """A lowest value only: 'at least 10 min'."""

    def __str__(self) -> str:
        return f"at least {figure(_known(self.low))} {self.unit}".rstrip()


@dataclass(frozen=True)
class AtMost(Limit):
    """A highest value only: 'at most 43 °C'."""

    def __str__(self) -> str:
        return f"at most {figure(_known(self.high))} {self.unit}".rstrip()


@dataclass(frozen=True)
class Between(Limit):
    """A window: '15 to 20 s'."""

    def __str__(self) -> str:
        return f"{figure(_known(self.low))} to {figure(_known(self.high))} {self.unit}".rstrip()


@dataclass(frozen=True)
class Plausible(Limit):
    """A lowest value, and a highest one that the thing measured cannot honestly exceed.

    It prints the lowest only ('at least 170 L/min'): the upper one is no aim, but a reason to look inside.
    """

    def __str__(self) -> str:
        return f"at least {figure(_known(self.low))} {self.unit}".rstrip()


def _known(value: float | None) -> float:
    if value is None:
        raise ValueError("This limit lacks a figure that its kind needs.")
    return value


Make = Callable[[float | None, float | None, str], Limit]


@dataclass(frozen=True)
class LimitKind:
    """One row of the register: which figures the kind needs, and how it is made."""

    needs: tuple[str, ...]
    make: Make


LIMITS: dict[str, LimitKind] = {}


def register(name: str, needs: tuple[str, ...], make: Make) -> None:
    """Add a limit kind; raises ValueError when the name is taken."""
    if name in LIMITS:
        raise ValueError(f"The limit kind '{name}' is there already.")
    LIMITS[name] = LimitKind(needs, make)


register("at least", ("low",), AtLeast)
register("at most", ("high",), AtMost)
register("between", ("low", "high"), Between)
register("plausible", ("low", "high"), Plausible)


def limit_figures(limit: Limit | None) -> tuple[str, str, str]:
    """Lowest figure, highest figure and the whole limit as texts; empty where there is none."""
    if limit is None:
        return "", "", ""
    low, high = ("" if value is None else figure(value) for value in (limit.low, limit.high))
    return low, high, limit.words
