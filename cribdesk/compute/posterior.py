"""What the lives and a rule of thumb together say about scale and shape: weights over a grid."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from cribdesk.compute.rows import Row
    from cribdesk.compute.weibull import Lives

POINTS = 41  # along each axis
REACH = 5.0  # standard deviations of the prior that the first grid spans to each side
ZOOM_REACH = 6.0  # the same for a finer grid, in its own standard deviations
EDGE = 1e-5  # more weight than this on the border: the grid is in the wrong place
NEGLIGIBLE = 1e-14  # weight against the largest, below which a point is dropped
PASSES = 60
BLOCK = 400_000  # numbers worked on at once for intervals


@dataclass(frozen=True, slots=True)
class Prior:
    """Normal beliefs about ln scale and ln shape, independent of each other."""

    log_scale: float
    scale_sd: float
    log_shape: float
    shape_sd: float


@dataclass(frozen=True, slots=True)
class Frame:
    """Where a grid lies: its centre, half its widths, and how ln scale leans on ln shape."""

    log_scale: float
    log_shape: float
    half_scale: float
    half_shape: float
    lean: float = 0.0

    def axes(self) -> tuple[Row, Row]:
        """ln shape by row, and ln scale by row and column."""
        import numpy as np

        unit = np.linspace(-1.0, 1.0, POINTS)
        shape = self.log_shape + self.half_shape * unit
        middle = self.log_scale + self.lean * (shape - self.log_shape)
        return shape, middle[:, None] + self.half_scale * unit[None, :]

    @property
    def cell(self) -> tuple[float, float]:
        """The steps of the grid in ln scale and ln shape."""
        return 2 * self.half_scale / (POINTS - 1), 2 * self.half_shape / (POINTS - 1)


@dataclass(frozen=True, slots=True, eq=False)
class Posterior:
    """The points of the last grid that matter, their weights (sum 1), the moments, the evidence."""

    log_scale: Row
    scale: Row
    shape: Row
    weight: Row
    means: tuple[float, float]
    deviations: tuple[float, float]
    log_evidence: float


def posterior(data: Lives, prior: Prior) -> Posterior:
    """Integrate prior times likelihood over a grid of 41 x 41 points.

    The first grid spans the prior; while the data speak more sharply than its steps, or elsewhere than it
    lies, a finer or a moved one follows, leaning along the ridge. An even sum over such a grid errs by
    exp(-2 pi^2) where the steps are as wide as the standard deviation (Poisson's summation formula).
    ValueError where the data and the prior are too far apart to be reconciled.
    """
    import numpy as np

    frame = Frame(prior.log_scale, prior.log_shape, REACH * prior.scale_sd, REACH * prior.shape_sd)
    for _ in range(PASSES):
        shape, scale = frame.axes()
        logs = log_posterior(data, prior, scale, shape)
        most = float(logs.max())
        if not math.isfinite(most):
            break
        weight = np.exp(logs - most)
        total = float(weight.sum())
        weight /= total
        found = _Moments.of(weight, scale, shape)
        border = float(weight[[0, -1], :].sum() + weight[:, [0, -1]].sum())
        if border < EDGE and found.resolved(frame):
            cell = frame.cell
            return _kept(weight, scale, shape, found, most + math.log(total * cell[0] * cell[1]))
        frame = found.next_frame(frame, border >= EDGE)
    raise ValueError("The lives and the typical hours are too far apart: check both, and their unit")


def _kept(weight: Row, scale: Row, shape: Row, found: _Moments, evidence: float) -> Posterior:
    import numpy as np

    keep = weight > NEGLIGIBLE * weight.max()
    kept = weight[keep]
    shapes = np.broadcast_to(shape[:, None], weight.shape)[keep]
    deviations = (math.sqrt(found.scale_var), math.sqrt(found.shape_var))
    means = (found.scale, found.shape)
    logs = scale[keep]
    return Posterior(logs, np.exp(logs), np.exp(shapes), kept / kept.sum(), means, deviations, evidence)


@dataclass(frozen=True, slots=True)
class _Moments:
    """Means, variances and covariance of ln scale and ln shape under the weights."""

    scale: float
    shape: float
    scale_var: float
    shape_var: float
    covariance: float

    @classmethod
    def of(cls, weight: Row, scale: Row, shape: Row) -> _Moments:
        across = weight.sum(axis=1)
        mean_scale, mean_shape = float((weight * scale).sum()), float(across @ shape)
        off_scale, off_shape = scale - mean_scale, shape - mean_shape
        return cls(
            mean_scale,
            mean_shape,
            float((weight * off_scale**2).sum()),
            float(across @ off_shape**2),
            float(((weight * off_scale).sum(axis=1)) @ off_shape),
        )

    @property
    def lean(self) -> float:
        return self.covariance / self.shape_var if self.shape_var > 0 else 0.0

    @property
    def narrow(self) -> float:
        """The standard deviation of ln scale for a given ln shape."""
        return math.sqrt(max(self.scale_var - self.lean * self.covariance, 0.0))

    def resolved(self, frame: Frame) -> bool:
        """Whether the steps are narrower than what is to be summed, in both directions."""
        scale_step, shape_step = frame.cell
        across = math.sqrt(self.shape_var)
        if self.scale_var > 0:  # ln shape for a given ln scale, along the lean of the grid
            off = self.covariance - frame.lean * self.shape_var
            along = self.scale_var - 2 * frame.lean * self.covariance + frame.lean**2 * self.shape_var
            across = math.sqrt(max(self.shape_var - off**2 / along, 0.0)) if along > 0 else 0.0
        return self.narrow >= scale_step and across >= shape_step

    def next_frame(self, frame: Frame, outside: bool) -> Frame:
        """A frame about the weights; a wider one where they run over the border."""
        scale_step, shape_step = frame.cell
        half_scale = ZOOM_REACH * max(self.narrow, 0.6 * scale_step)
        half_shape = ZOOM_REACH * max(math.sqrt(self.shape_var), 0.6 * shape_step)
        if outside:
            half_scale = max(half_scale, 1.5 * frame.half_scale)
            half_shape = max(half_shape, 1.5 * frame.half_shape)
        lean = self.lean if self.shape_var > (0.5 * shape_step) ** 2 else frame.lean
        return Frame(self.scale, self.shape, half_scale, half_shape, lean)


def log_posterior(data: Lives, prior: Prior, log_scale: Row, log_shape: Row) -> Row:
    """Log of prior density times likelihood; `log_scale` has a row for each value of `log_shape`.

    Contributions: a change, the log density; no change yet, the log survival; between two ages,
    the log of the difference of survivals (Meeker and Escobar 1998, chapter 2; from memory).
    """
    import numpy as np

    shape = np.exp(log_shape)
    belief = (
        -0.5 * ((log_scale - prior.log_scale) / prior.scale_sd) ** 2
        - 0.5 * ((log_shape - prior.log_shape) / prior.shape_sd)[:, None] ** 2
        - math.log(2 * math.pi * prior.scale_sd * prior.shape_sd)
    )
    with np.errstate(over="ignore", divide="ignore", invalid="ignore"):
        result = belief + _single(data, log_scale, log_shape, shape) + _between(data, log_scale, shape)
    return np.where(np.isnan(result), -np.inf, result)


def _single(data: Lives, log_scale: Row, log_shape: Row, shape: Row) -> Row:
    """Log likelihood of single ages. They enter by one sum a shape, so the cost is points x ages."""
    import numpy as np

    ages = np.log(np.concatenate([data.changed, data.running]))
    if ages.size == 0:
        return np.zeros_like(log_scale)
    top = float(ages.max())
    sums = np.array([np.exp(b * (ages - top)).sum() for b in shape])
    used = sums[:, None] * np.exp(shape[:, None] * (top - log_scale))
    count = data.changed.size
    logs = float(ages[:count].sum())
    first = count * (log_shape[:, None] - shape[:, None] * log_scale) + ((shape - 1) * logs)[:, None]
    return np.asarray(first - used, dtype=np.float64)


def _between(data: Lives, log_scale: Row, shape: Row) -> Row:
    """Log likelihood of changes known between two ages; equal bounds are worked out once."""
    import numpy as np

    result = np.zeros_like(log_scale)
    if data.low.size == 0:
        return result
    bounds, count = np.unique(np.stack([data.low, data.high]), axis=1, return_counts=True)
    low, high = np.log(bounds[0]), np.log(bounds[1])
    step = max(1, BLOCK // log_scale.shape[1])
    for i, b in enumerate(shape):
        centre = log_scale[i][:, None]
        for start in range(0, low.size, step):
            part = slice(start, start + step)
            used = np.exp(b * (low[part][None, :] - centre))
            width = np.exp(b * (high[part][None, :] - centre)) - used
            result[i] += (np.log(-np.expm1(-width)) - used) @ count[part]
    return result
