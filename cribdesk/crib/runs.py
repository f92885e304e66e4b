"""How the hours worn in one custody are shared among the packs that ran in it."""

from __future__ import annotations

from collections.abc import Sequence


def shared(weights: Sequence[float], worn_hours: float) -> tuple[float, ...]:
    """The hours each of several runs has of `worn_hours`, by weight, in whole minutes; together exactly that many.

    Where no weight counts, as after the clock was set back, the last run has them all.
    """
    whole = sum(weights)
    minutes = round(worn_hours * 60)
    if not weights:
        return ()
    if whole <= 0:
        return (*(0.0 for _ in weights[1:]), minutes / 60)
    ends, so_far = [], 0.0
    for weight in weights[:-1]:
        so_far += weight
        ends.append(min(minutes, round(minutes * so_far / whole)))
    ends.append(minutes)
    starts = [0, *ends[:-1]]
    return tuple((end - start) / 60 for start, end in zip(starts, ends, strict=True))
