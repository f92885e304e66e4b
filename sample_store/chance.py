"""Chance that comes out the same everywhere: every draw is built on `random()` alone, in plain arithmetic."""

from __future__ import annotations

import random
import uuid
from collections.abc import Sequence
from math import exp, log
from statistics import NormalDist
from typing import TypeVar

T = TypeVar("T")
_NORMAL = NormalDist()


class Chance:
    """One stream of chance from a seed. The methods of `random` that changed between versions are not used."""

    def __init__(self, seed: int) -> None:
        self._random = random.Random(seed)

    def one(self) -> float:
        """A number from 0 to below 1."""
        return self._random.random()

    def happens(self, chance: float) -> bool:
        """Whether something of that chance happens."""
        return self.one() < chance

    def between(self, low: float, high: float) -> float:
        """A number between the two, each as likely."""
        return low + (high - low) * self.one()

    def whole(self, low: int, high: int) -> int:
        """A whole number from `low` to `high`, both included."""
        return low + int((high - low + 1) * self.one())

    def pick(self, some: Sequence[T]) -> T:
        """One of them."""
        return some[int(len(some) * self.one())]

    def normal(self, mean: float, sd: float) -> float:
        """A normal draw."""
        return mean + sd * _NORMAL.inv_cdf(min(max(self.one(), 1e-12), 1 - 1e-12))

    def lognormal(self, median: float, log_sd: float) -> float:
        """A lognormal draw."""
        return median * exp(self.normal(0.0, log_sd))

    def weibull(self, shape: float, scale: float) -> float:
        """A Weibull life."""
        return float(scale * (-log(1.0 - self.one())) ** (1.0 / shape))

    def bytes(self, count: int) -> bytes:
        """So many bytes."""
        return self._random.getrandbits(8 * count).to_bytes(count, "big")

    def uuid(self) -> str:
        """A UUID of version 4."""
        return str(uuid.UUID(int=self._random.getrandbits(128), version=4))
