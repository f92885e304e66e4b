"""Why a run was short: the battery's share, the unit's, and what cycles, filter, speed and altitude do."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from cribdesk.compute import checks
from cribdesk.compute.normal import mean_beyond
from cribdesk.compute.swaps import Node, Pair, components, tells_apart

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from cribdesk.compute.rows import Row

__all__ = ["Node", "Pair", "Run", "Separation", "components", "separate", "tells_apart"]

LEAST_SIGMA = 0.001  # run times are written down no closer than to the minute (common practice, no source)
WEAK_SD = 100.0  # of a slope per standard deviation of its column: no belief, yet every sum is solvable
UNKNOWN = 10.0  # a standard error of that size, in the same measure: the runs say nothing
CLOSE = 1e-11
LEAST_WEIGHT = 1e-9
STALE = 0.7  # a factor serves for variances within this ratio
FIRST_ROUNDS, ROUNDS = 20, 2_000
FEWEST_FLAT = 2
LOW = "low"


@dataclass(frozen=True, slots=True)
class Run:
    """One discharge: hours until flat, or (`flat` False) until stopped with charge left.

    `speed`: the blower's, by name ('low', 'high') or as a number; `cycles`: charges of this battery so far;
    `filter_hours`: worn hours since this unit's filter was changed.
    """

    battery: str
    unit: str
    hours: float
    flat: bool
    speed: str | float
    cycles: float
    filter_hours: float
    altitude_km: float = 0.0


@dataclass(frozen=True, slots=True)
class Separation:
    """ln hours = mean_log + battery + unit + slopes x (cycles, filter_hours, altitude_km, speed) + noise.

    `slopes`, keyed by the fields of Run, are per cycle, per hour, per km. A numeric speed has the slope
    'speed'. Named speeds are told against 'low' (or the first by name): the only other has the slope 'speed', of
    several each has 'speed ' and its name. `standard_errors` has the key 'mean_log', those of slopes, and
    ('battery', name), ('unit', name); infinite where the runs say nothing. `sigma` is the noise by maximum
    likelihood, with allowance for the freedom that battery and unit effects took; `sigma_corrected` also allows for
    that of mean and slopes.
    """

    mean_log: float
    battery: Mapping[str, float]
    unit: Mapping[str, float]
    slopes: Mapping[str, float]
    sigma: float
    standard_errors: Mapping[str | Node, float]
    components: list[set[Node]]
    sigma_corrected: float
    speeds: tuple[str, ...] = ()

    def expected_log(self, run: Run) -> float:
        """Expected ln hours of a run; a battery or unit not seen yet counts as an average one."""
        known = self.battery.get(run.battery, 0.0) + self.unit.get(run.unit, 0.0)
        columns = _columns([run], self.speeds)
        return self.mean_log + known + sum(self.slopes[name] * values[0] for name, values in columns.items())

    def residual(self, run: Run) -> float:
        """How far the run lies off what was expected, in sigmas: what a cusum of a unit is fed with.

        A run that was not driven flat counts as the mean of all that lie beyond it.
        """
        off = (math.log(run.hours) - self.expected_log(run)) / self.sigma_corrected
        return off if run.flat else mean_beyond(off)

    def battery_health(self, battery: str, cycles: float) -> float:
        """Run time with this battery after so many cycles, as a share of an average new one's."""
        charges = checks.not_negative("The cycles", cycles)
        return math.exp(self.battery[battery] + self.slopes["cycles"] * charges)

    def unit_drag(self, unit: str, filter_hours: float) -> float:
        """Share of run time that this unit costs against an average one with a new filter; under 0: none."""
        hours = checks.not_negative("The filter's hours", filter_hours)
        return 1 - math.exp(self.unit[unit] + self.slopes["filter_hours"] * hours)


def separate(runs: Sequence[Run], *, battery_sd: float = 0.10, unit_sd: float = 0.07) -> Separation:
    """Split the logarithm of run times into what belongs to battery, unit, use and place.

    Batteries and units are drawn towards none by normal beliefs of those deviations (common practice, no
    source); runs not driven flat are right-censored. Estimator: ridge regression by EM, then Newton's steps, for
    censored normal data (Schmee and Hahn 1979; Tobin 1958; ridge as best linear unbiased prediction,
    Robinson 1991; all from memory). Effects may be compared within one of `components` only.
    ValueError: no runs, fewer than two flat, hours of zero or less, speeds of which some are named and some not.
    """
    checks.not_empty("Runs", runs)
    design = _Design.of(runs, checks.positive("The batteries' deviation", battery_sd),
                        checks.positive("The units' deviation", unit_sd))  # fmt: skip
    logs, flat = _outcomes(runs)
    estimate, variance = _fit(design, logs, flat)
    return design.told(estimate, logs, flat, variance, components((run.battery, run.unit) for run in runs))


def _outcomes(runs: Sequence[Run]) -> tuple[Row, NDArray[np.bool_]]:
    import numpy as np

    logs = np.array([math.log(checks.positive("A run's hours", run.hours)) for run in runs])
    flat = np.array([bool(run.flat) for run in runs])
    if flat.sum() < FEWEST_FLAT:
        raise ValueError("Fewer than two runs were driven flat: run time cannot be told")
    return logs, flat


def _fit(design: _Design, logs: Row, flat: NDArray[np.bool_]) -> tuple[Row, float]:
    """Coefficients and noise variance at the top: some rounds of EM to come near it, then Newton's steps."""
    import numpy as np

    estimate, variance = _near(design, logs, flat)
    for _ in range(ROUNDS):
        step = _step(design, logs, flat, estimate, variance)
        estimate = estimate + step
        old, variance = variance, _noise(logs - design.matrix @ estimate, flat, variance)
        if max(float(np.abs(step).max()), abs(math.sqrt(variance) - math.sqrt(old))) < CLOSE:
            return estimate, variance
    raise ValueError("The runs do not settle on an answer: too few were driven flat")


def _near(design: _Design, logs: Row, flat: NDArray[np.bool_]) -> tuple[Row, float]:
    """Expectation and maximisation in turn, from nothing: sure to climb, but slow near the top."""
    import numpy as np
    from scipy.linalg import cho_factor, cho_solve

    stopped = ~flat
    gram = (design.matrix.T @ design.matrix).toarray()
    filled = logs.copy()
    variance, factored_at = max(float(np.var(logs)), LEAST_SIGMA**2), math.inf
    estimate, mean = np.zeros(gram.shape[0]), np.zeros(logs.size)
    for _ in range(FIRST_ROUNDS):
        # A factor for a variance nearby serves too: what it leaves over is made good in the next round.
        if not STALE < variance / factored_at < 1 / STALE:
            factored_at, factor = variance, cho_factor(gram + variance * np.diag(design.pull))
        slack = design.matrix.T @ (filled - mean) - variance * design.pull * estimate
        estimate = estimate + cho_solve(factor, slack)
        mean = design.matrix @ estimate
        sigma = math.sqrt(variance)
        z = (logs[stopped] - mean[stopped]) / sigma
        beyond = mean_beyond(z)
        filled[stopped] = mean[stopped] + sigma * beyond
        extra = variance * np.maximum(1 + z * beyond - beyond**2, 0.0)
        variance = max(float(np.sum((filled - mean) ** 2) + extra.sum()) / logs.size, LEAST_SIGMA**2)
    return estimate, variance


def _step(design: _Design, logs: Row, flat: NDArray[np.bool_], estimate: Row, variance: float) -> Row:
    """Newton's step of the coefficients at that noise; their likelihood has one top."""
    import numpy as np
    from scipy.linalg import cho_factor, cho_solve
    from scipy.sparse import diags_array

    left = logs - design.matrix @ estimate
    z = left / math.sqrt(variance)
    beyond = mean_beyond(z)
    weight = np.where(flat, 1.0, np.clip(beyond * (beyond - z), LEAST_WEIGHT, 1.0))
    slack = design.matrix.T @ np.where(flat, left, math.sqrt(variance) * beyond) - variance * design.pull * estimate
    known = (design.matrix.T @ diags_array(weight) @ design.matrix).toarray()
    return np.asarray(cho_solve(cho_factor(known + variance * np.diag(design.pull)), slack))


def _noise(left: Row, flat: NDArray[np.bool_], variance: float) -> float:
    """The noise variance after Newton's step of ln sigma, at most half of a logarithm at a time."""
    import numpy as np

    z = left / math.sqrt(variance)
    seen, beyond = z[flat], mean_beyond(z[~flat])
    over = z[~flat]
    slope = float(np.sum(seen**2 - 1) + np.sum(over * beyond))
    bend = float(2 * np.sum(seen**2) + np.sum(over * beyond * (1 + over * (beyond - over))))
    moved = min(max(slope / bend if bend > 0 else math.copysign(0.1, slope), -0.5), 0.5)
    return max(variance * math.exp(2 * moved), LEAST_SIGMA**2)


@dataclass(frozen=True, slots=True, eq=False)
class _Design:
    """The runs as a sparse matrix: ones, scaled measures, then a column for each battery and unit."""

    matrix: Any
    pull: Row
    names: tuple[str, ...]
    centres: Row
    scales: Row
    batteries: tuple[str, ...]
    units: tuple[str, ...]
    speeds: tuple[str, ...]

    @classmethod
    def of(cls, runs: Sequence[Run], battery_sd: float, unit_sd: float) -> _Design:
        import numpy as np
        from scipy.sparse import csr_array, hstack

        speeds = _speeds(runs)
        columns = _columns(runs, speeds)
        measures = np.array(list(columns.values())).T
        centres, scales = measures.mean(axis=0), measures.std(axis=0)
        scales[np.ptp(measures, axis=0) == 0] = 0.0
        scaled = (measures - centres) / np.where(scales > 0, scales, 1.0)
        scaled[:, scales == 0] = 0.0
        batteries = tuple(dict.fromkeys(run.battery for run in runs))
        units = tuple(dict.fromkeys(run.unit for run in runs))
        fixed = csr_array(np.column_stack([np.ones(len(runs)), scaled]))
        matrix = hstack([fixed, _marks([run.battery for run in runs], batteries),
                         _marks([run.unit for run in runs], units)]).tocsr()  # fmt: skip
        pull = np.concatenate([
            [0.0], np.full(len(columns), WEAK_SD**-2),
            np.full(len(batteries), battery_sd**-2), np.full(len(units), unit_sd**-2),
        ])  # fmt: skip
        return cls(matrix, pull, tuple(columns), centres, scales, batteries, units, speeds)

    def told(
        self, estimate: Row, logs: Row, flat: NDArray[np.bool_], variance: float, groups: list[set[Node]]
    ) -> Separation:
        """The estimate in the runs' own units, with its standard errors."""
        import numpy as np

        covariance, sigma, corrected = self._information(estimate, logs, flat, variance)
        count = len(self.names)
        divisors = np.where(self.scales > 0, self.scales, np.inf)
        slopes = estimate[1 : count + 1] / divisors
        errors = np.sqrt(np.diag(covariance))
        unknown = (self.scales == 0) | (errors[1 : count + 1] > UNKNOWN)
        slope_errors = np.where(unknown, np.inf, errors[1 : count + 1] / np.where(unknown, 1.0, self.scales))
        back = np.concatenate([[1.0], -self.centres / divisors])  # the mean at zero of every measure
        mean_error = math.sqrt(float(back @ covariance[: count + 1, : count + 1] @ back))
        effects = dict(zip(self._nodes(), estimate[count + 1 :].tolist(), strict=True))
        standard: dict[str | Node, float] = {"mean_log": math.inf if mean_error > UNKNOWN else mean_error}
        standard |= dict(zip(self.names, slope_errors.tolist(), strict=True))
        standard |= dict(zip(self._nodes(), errors[count + 1 :].tolist(), strict=True))
        return Separation(
            float(estimate[0] - slopes @ self.centres),
            {name: effects["battery", name] for name in self.batteries},
            {name: effects["unit", name] for name in self.units},
            dict(zip(self.names, slopes.tolist(), strict=True)),
            sigma,
            standard,
            groups,
            corrected,
            self.speeds,
        )

    def _nodes(self) -> list[Node]:
        batteries: list[Node] = [("battery", name) for name in self.batteries]
        units: list[Node] = [("unit", name) for name in self.units]
        return batteries + units

    def _information(
        self, estimate: Row, logs: Row, flat: NDArray[np.bool_], variance: float
    ) -> tuple[Row, float, float]:
        """Covariance by the observed information, a censored run weighing h^2 - h z; sigma twice.

        The freedom that drawn effects take is the trace of (known + pull)^-1 known over their columns.
        """
        import numpy as np
        from scipy.linalg import cho_factor, cho_solve
        from scipy.sparse import diags_array

        z = (logs - self.matrix @ estimate) / math.sqrt(variance)
        beyond = mean_beyond(z)
        weight = np.where(flat, 1.0, np.clip(beyond**2 - beyond * z, 0.0, 1.0))
        known = (self.matrix.T @ diags_array(weight) @ self.matrix).toarray()
        whole = np.eye(known.shape[0])
        inverse = cho_solve(cho_factor(known + variance * np.diag(self.pull)), whole)
        taken = np.sum(inverse * known, axis=1)
        total = float(weight.sum())
        drawn = float(taken[len(self.names) + 1 :].sum())
        sigma = math.sqrt(variance * total / max(total - drawn, 1.0))
        corrected = variance * total / max(total - float(taken.sum()), 1.0)
        ridge = cho_factor(known + corrected * np.diag(self.pull))
        return corrected * cho_solve(ridge, whole), sigma, math.sqrt(corrected)


def _marks(names: list[str], order: tuple[str, ...]) -> Any:
    """A sparse matrix with a one in the column of each row's name."""
    import numpy as np
    from scipy.sparse import csr_array

    place = {name: at for at, name in enumerate(order)}
    columns = [place[name] for name in names]
    return csr_array((np.ones(len(names)), (np.arange(len(names)), columns)), shape=(len(names), len(order)))


def _speeds(runs: Sequence[Run]) -> tuple[str, ...]:
    """The names of speeds, the one that others are told against first; none when speeds are numbers."""
    named = {run.speed for run in runs if isinstance(run.speed, str)}
    if not named:
        return ()
    if any(not isinstance(run.speed, str) for run in runs):
        raise ValueError("Speeds must be all names or all numbers")
    first = LOW if LOW in named else min(named)
    return (first, *sorted(named - {first}))


def _columns(runs: Sequence[Run], speeds: tuple[str, ...]) -> dict[str, list[float]]:
    """The measures of the runs by the name of their slope. ValueError where one is negative or unknown."""
    columns = {
        "cycles": [checks.not_negative("A battery's cycles", run.cycles) for run in runs],
        "filter_hours": [checks.not_negative("A filter's hours", run.filter_hours) for run in runs],
        "altitude_km": [checks.number("An altitude", run.altitude_km) for run in runs],
    }
    if not speeds:
        return columns | {"speed": [_speed(run.speed) for run in runs]}
    unknown = {run.speed for run in runs} - set(speeds)
    if unknown:
        raise ValueError(f"No run so far had the speed {unknown.pop()!r}")
    others = speeds[1:]
    if len(others) <= 1:
        return columns | {"speed": [float(run.speed != speeds[0]) for run in runs]}
    return columns | {f"speed {name}": [float(run.speed == name) for run in runs] for name in others}


def _speed(speed: str | float) -> float:
    if isinstance(speed, str):
        raise ValueError("Speeds must be all names or all numbers")
    return checks.number("A speed", speed)
