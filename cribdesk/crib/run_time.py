"""Run time as it is kept: what a pack's and a unit's runs say, and what to do about a short one. Plain numbers only.

Run time is a hint and never the rule: a filter is due when flow or alarm fails, when it is wet, torn or crushed,
past its date, or by a substance rule. The estimates come from `compute`, by way of the desk.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from math import erf, exp, hypot, inf, isfinite, log, sqrt
from typing import Literal

from cribdesk.crib.model import UnitModel
from cribdesk.crib.records import Fitted
from cribdesk.crib.words import count, hours, number, percent

HEALTHY = "Healthy: 4 to 5 h on high, 6 to 8 h on low (common practice, no source)."
RULE = (
    "Run time is a hint, never the rule. A filter is due when flow or alarm fails, when it is wet, torn or crushed, "
    "past its date, or by a substance rule."
)

SHORT = 0.80
"""A pair that runs less than this share of an average new one is called short (common practice, no source)."""

SURE = 1.645
"""So many standard errors below none before a share is blamed: one in twenty by chance alone."""

SAID_FROM = 5
"""Runs from which on a pack or a unit is judged: the first five are learning (common practice, no source)."""

FADE_FROM = 100
"""Charges on some pack from which on fade is told (common practice, no source)."""

CAUTION_FROM = 0.25
"""An issue is cautioned where the pack runs down before the return with at least this chance (a house rule)."""

Kind = Literal["battery", "unit"]
BATTERY: Kind = "battery"
UNIT: Kind = "unit"
Shares = dict[tuple[str, int, str], "Share"]
"""By what it is, its id, and the pack model the runs were with."""


@dataclass(frozen=True)
class RunFit:
    """What all runs with packs of one model say of ln hours = `mean` + pack + unit + slopes + noise.

    `speeds` are (unit model and speed, effect); `fade` is per charge, `load` per hour since the filter was
    changed, each with its standard error (infinite: nothing known). `groups` count the (packs, units) that swaps
    have joined. `known` are the ids of the packs known best. `left_out` says how many runs were not used, and why.
    """

    model: str
    mean: float
    speeds: tuple[tuple[str, float], ...]
    fade: tuple[float, float]
    load: tuple[float, float]
    sigma: float
    runs: int
    flat: int
    most_cycles: int
    groups: tuple[tuple[int, int], ...]
    known: tuple[int, ...]
    left_out: tuple[tuple[str, int], ...]
    seq: int
    at: datetime

    def speed(self, name: str) -> float | None:
        """The effect of a speed; None where no run had it."""
        return next((effect for one, effect in self.speeds if one == name), None)


@dataclass(frozen=True)
class Share:
    """What belongs to one pack or unit, in logs of run time, with its standard error, runs, and joined group.

    Of a unit also whether its runs changed: `since` when, and whether they grew `longer`.
    """

    kind: Kind
    record_id: int
    model: str
    effect: float
    error: float
    runs: int
    flat: int
    group: int
    since: datetime | None = None
    longer: bool = False

    @property
    def learning(self) -> bool:
        """Whether there are too few runs to judge by."""
        return self.runs < SAID_FROM


@dataclass(frozen=True)
class Part:
    """A share of run time against an average new one, with the bounds of its 95 % interval; 1 is no loss."""

    middle: float
    low: float
    high: float

    @property
    def words(self) -> str:
        """'78 %, 73 to 84'."""
        return f"{number(100 * self.middle)} %, {number(100 * self.low)} to {number(100 * self.high)}"


def health(fit: RunFit, share: Share, cycles: int) -> Part:
    """A pack's run time against an average new one's. The two errors are added as if independent: rather wider."""
    return _part(*_of_battery(fit, share, cycles))


def drag(fit: RunFit, share: Share, filter_hours: float) -> Part:
    """A unit's run time against an average one's with a new filter."""
    return _part(*_of_unit(fit, share, filter_hours))


def _part(effect: float, error: float) -> Part:
    return Part(exp(effect), exp(effect - 1.96 * error), exp(effect + 1.96 * error))


def _of_battery(fit: RunFit, share: Share | None, cycles: float) -> tuple[float, float]:
    return _sum(share, BATTERY_SD, fit.fade, cycles)


def _of_unit(fit: RunFit, share: Share | None, filter_hours: float) -> tuple[float, float]:
    return _sum(share, UNIT_SD, fit.load, filter_hours)


BATTERY_SD, UNIT_SD = 0.10, 0.07
"""How far packs and units not seen yet lie apart, in logs: the belief the estimates start from."""


def _sum(share: Share | None, belief: float, slope: tuple[float, float], much: float) -> tuple[float, float]:
    effect, error = (share.effect, share.error) if share else (0.0, belief)
    rate, unsure = slope if isfinite(slope[1]) else (0.0, 0.0)
    return effect + rate * much, hypot(error, unsure * much)


def filter_hours(model: UnitModel, fitted: Iterable[Fitted], meter_hours: float) -> float | None:
    """Worn hours since the filter that loads the blower was changed; None where the unit has none.

    It is the last filter along the air path. What sits before it, as a pre-filter, takes sparks and little of the flow,
    and is changed far more often: its hours say nothing of the load.
    """
    loading = [one for one in model.positions if "filter" in one.code]
    last = max(loading, key=lambda one: one.order, default=None)
    there = next((one for one in fitted if last is not None and one.position == last.code), None)
    return None if there is None else there.worn(meter_hours)


class Advice(StrEnum):
    """What to do about the run time of a pack in a unit."""

    LEARNING = "learning"
    FINE = "fine"
    PACK = "pack"
    FILTER = "filter"
    EITHER = "either"


@dataclass(frozen=True)
class Pair:
    """A pack in a unit now, as far as its run time goes: what the fit, both shares and both counters say."""

    fit: RunFit
    battery: Share | None
    unit: Share | None
    cycles: int
    filter_hours: float

    @property
    def joined(self) -> bool:
        """Whether swaps have joined them in one group with another pack and another unit to compare with.

        Where only one of the two is at hand, whether it is joined with others.
        """
        groups = {one.group for one in (self.battery, self.unit) if one is not None}
        return len(groups) == 1 and min(self.fit.groups[groups.pop()]) > 1

    @property
    def blame(self) -> tuple[tuple[float, float], tuple[float, float]]:
        """(effect, error) of the pack with its charges, and of the unit with its filter."""
        return _of_battery(self.fit, self.battery, self.cycles), _of_unit(self.fit, self.unit, self.filter_hours)

    def advice(self) -> Advice:
        """Which of the two to look at first. The worse is named where it is surely low; else nobody is blamed."""
        if not any(one is not None and not one.learning for one in (self.battery, self.unit)):
            return Advice.LEARNING
        (pack, pack_error), (unit, unit_error) = self.blame
        if exp(pack + unit) >= SHORT:
            return Advice.FINE
        if self.joined:
            if pack <= unit and pack < -SURE * pack_error:
                return Advice.PACK
            if unit < pack and unit < -SURE * unit_error:
                return Advice.FILTER
        return Advice.EITHER

    def log_hours(self, speed: str) -> tuple[float, float] | None:
        """Mean and deviation of ln hours of the next run at that speed; None where no run had it."""
        effect = self.fit.speed(speed)
        if effect is None:
            return None
        (pack, pack_error), (unit, unit_error) = self.blame
        return self.fit.mean + effect + pack + unit, sqrt(pack_error**2 + unit_error**2 + self.fit.sigma**2)

    def lasts(self, speed: str) -> float | None:
        """Hours it runs at that speed, half of the times longer."""
        told = self.log_hours(speed)
        return exp(told[0]) if told else None

    def chance_short(self, speed: str, needed: float) -> float | None:
        """The chance that it runs down within so many hours at that speed."""
        told = self.log_hours(speed)
        if told is None:
            return None
        if needed <= 0:
            return 0.0
        return 0.5 * (1 + erf((log(needed) - told[0]) / told[1] / sqrt(2)))


@dataclass(frozen=True)
class RunOutlook:
    """What the issue at hand needs of the pack: at which speed, how long it lasts, the chance that it is too short."""

    speed: str
    lasts: float
    chance: float


@dataclass(frozen=True)
class RunTime:
    """The run time of a pack, or of a unit with the pack in it, as a card shows it.

    `swap` is the label of a pack whose run in this unit would tell the two apart, where that is in question.
    """

    pair: Pair
    battery_label: str
    unit_label: str
    speeds: tuple[str, ...]
    unit_model: str
    swap: str = ""
    since: str = ""

    @property
    def action(self) -> str:
        """What to do, in one short sentence."""
        advice = self.pair.advice()
        if advice is Advice.LEARNING:
            return "Run time: learning."
        if advice is Advice.FINE:
            return "Run time is as it should be."
        if advice is Advice.PACK:
            return "Runs short. Swap this pack and see." if self.unit_label else "Runs short in every unit so far."
        if advice is Advice.FILTER:
            return "Runs short. Look at the filter."
        if not self.unit_label:
            return "Runs short. Its units and the pack cannot be told apart yet. Run it in another unit."
        if self.swap:
            return f"Runs short. The swaps so far cannot tell them apart; this swap would: {self.swap} into this unit."
        return "Runs short. The swaps so far cannot tell them apart. Run another pack in this unit."

    @property
    def health(self) -> str:
        """'86 %' or 'learning' of the pack, or nothing where it had no run."""
        pair = self.pair
        return health_words(pair.fit, pair.battery, pair.cycles) if pair.battery is not None else ""

    @property
    def figures(self) -> tuple[tuple[str, str], ...]:
        """What stands beside it at once: health of the pack, drag of the unit, how long it lasts."""
        found = []
        pair = self.pair
        if pair.battery is not None:
            found.append(("Pack, of an average new one", health_words(pair.fit, pair.battery, pair.cycles)))
        if pair.unit is not None:
            found.append(("Unit's drag", drag_words(pair.fit, pair.unit, pair.filter_hours)))
        lasting = [
            f"{hours(lasts)}{f' on {speed}' if len(self.speeds) > 1 else ''}"
            for speed in self.speeds
            if (lasts := pair.lasts(f"{self.unit_model} {speed}")) is not None
        ]
        if lasting and self.unit_label:
            found.append(("Lasts about", ", ".join(lasting)))
        return tuple(found)

    @property
    def confidence(self) -> tuple[str, ...]:
        """What it all rests on: estimates with their intervals, runs, what is joined, what was left out."""
        pair, fit = self.pair, self.pair.fit
        found = []
        if pair.battery is not None:
            found.append(_told(self.battery_label, pair.battery, health(fit, pair.battery, pair.cycles)))
        if pair.unit is not None:
            found.append(_told(self.unit_label, pair.unit, drag(fit, pair.unit, pair.filter_hours)))
        found.append(_slope("Fade per 100 charges", fit.fade, fit.most_cycles >= FADE_FROM))
        found.append(_slope("Filter per 100 h since its change", fit.load, True))
        if pair.battery is not None and pair.unit is not None:
            found.append(_joined(pair))
        flats = f"{count(fit.flat, 'run was', 'runs were')} driven flat or to the alarm"
        found.append(f"{number(fit.runs)} runs with {fit.model}; {flats}, the others stopped before.")
        if fit.left_out:
            rows = "; ".join(f"{number(many)} {why}" for why, many in fit.left_out)
            found.append(f"Left out: {rows}.")
        return (*found, HEALTHY, RULE)


def health_words(fit: RunFit, share: Share, cycles: int) -> str:
    """'86 %', or 'learning'."""
    return "learning" if share.learning else f"{number(100 * health(fit, share, cycles).middle)} %"


def drag_words(fit: RunFit, share: Share, filter_hours: float) -> str:
    """'costs 12 %', 'none' or 'learning'."""
    if share.learning:
        return "learning"
    lost = 100 * (1 - drag(fit, share, filter_hours).middle)
    return f"costs {number(lost)} %" if lost >= 0.5 else "none"


def run_time_caution(outlook: RunOutlook | None) -> bool:
    """Whether the pack may well not last until the return."""
    return outlook is not None and outlook.chance >= CAUTION_FROM


def lasts_words(outlook: RunOutlook) -> str:
    """'it lasts about 5.1 h on high'."""
    on = f" on {outlook.speed}" if outlook.speed else ""
    return f"it lasts about {hours(outlook.lasts)}{on}"


def chance_of(outlook: RunOutlook, planned: float) -> str:
    """'38 % that it runs down within the 7 h planned'."""
    return f"{percent(outlook.chance)} that it runs down within the {hours(planned)} planned"


def _told(label: str, share: Share, part: Part) -> str:
    runs = f"{count(share.runs, 'run')}, {share.flat} of them flat"
    return f"{label}: {part.words} (95 %) of an average new one; {runs}."


def _slope(name: str, slope: tuple[float, float], known: bool) -> str:
    if not known or slope[1] == inf:
        return f"{name}: not known yet."
    low, high = (100 * (exp(100 * (slope[0] + way * slope[1])) - 1) for way in (-1.96, 1.96))
    return f"{name}: {number(100 * (exp(100 * slope[0]) - 1))} % of run time, {number(low)} to {number(high)} (95 %)."


def _joined(pair: Pair) -> str:
    if not pair.joined:
        return "No swap joins this pack and this unit with others: their shares rest on belief."
    packs, units = pair.fit.groups[pair.unit.group] if pair.unit else (0, 0)
    return f"Swaps join them with {count(packs - 1, 'other pack')} and {count(units - 1, 'other unit')}."


__all__ = [
    "BATTERY", "CAUTION_FROM", "HEALTHY", "RULE", "SAID_FROM", "UNIT", "Advice", "Pair", "Part", "RunFit", "RunOutlook",
    "RunTime", "Share", "chance_of", "drag", "drag_words", "health", "health_words", "lasts_words", "run_time_caution",
]  # fmt: skip
