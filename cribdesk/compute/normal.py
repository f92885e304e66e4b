"""Two small things about the normal law that scipy has no short name for."""

from __future__ import annotations

from typing import TYPE_CHECKING, overload

if TYPE_CHECKING:
    from cribdesk.compute.rows import Row


@overload
def mean_beyond(z: float) -> float: ...
@overload
def mean_beyond(z: Row) -> Row: ...
def mean_beyond(z: float | Row) -> float | Row:
    """The mean of a standard normal value that is known to lie beyond z: phi(z) / (1 - Phi(z)).

    What a run stopped before it was flat counts as on a chart; never z itself. Stable for every z, by the
    scaled complementary error function.
    """
    import numpy as np
    from scipy.special import erfcx

    if isinstance(z, np.ndarray):
        return np.asarray(np.sqrt(2 / np.pi) / erfcx(z / np.sqrt(2)), dtype=np.float64)
    return float(np.sqrt(2 / np.pi) / erfcx(z / np.sqrt(2)))
