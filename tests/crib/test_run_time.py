"""What is said of run time: whom it blames, when it blames nobody, and what it always adds."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from math import exp, inf, log

import pytest
from scipy.stats import norm

from cribdesk.crib.model import read_model
from cribdesk.crib.records import Fitted
from cribdesk.crib.run_time import (
    BATTERY,
    HEALTHY,
    RULE,
    UNIT,
    Advice,
    Pair,
    RunFit,
    RunOutlook,
    RunTime,
    Share,
    drag,
    drag_words,
    filter_hours,
    health,
    lasts_words,
)
from tests.procedure.house import text_of

AT = datetime(2026, 11, 25, 5, 0, tzinfo=UTC)
FIT = RunFit(
    model="WL1-PACK", mean=log(8.0), speeds=(("WL1 low", 0.0), ("WL1 high", log(5.5 / 8))), fade=(-0.0006, 0.0001),
    load=(-0.0009, 0.0001), sigma=0.05, runs=400, flat=150, most_cycles=300, groups=((4, 3), (1, 1)), known=(3,),
    left_out=(("without their speed", 2),), seq=9, at=AT,
)  # fmt: skip


def share(kind: str, effect: float, error: float = 0.02, **changes: object) -> Share:
    """A pack's or unit's share with runs enough, joined with others."""
    made = Share(BATTERY if kind == "battery" else UNIT, 1, "WL1-PACK", effect, error, 20, 10, 0)
    return replace(made, **changes)  # type: ignore[arg-type]


def pair(pack: float, drags: float, **changes: object) -> Pair:
    """Both joined, the pack new and the filter too."""
    return replace(Pair(FIT, share("battery", pack), share("unit", drags), 0, 0.0), **changes)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("given", "advice"),
    [
        (pair(0.0, 0.0), Advice.FINE),
        (pair(-0.30, 0.0), Advice.PACK),
        (pair(0.0, -0.30), Advice.FILTER),
        (pair(0.0, 0.0, filter_hours=300.0), Advice.FILTER),
        (pair(0.0, 0.0, cycles=400), Advice.PACK),
        (pair(0.0, 0.0, battery=share("battery", -0.30, 0.2)), Advice.EITHER),
        (pair(0.0, 0.0, battery=share("battery", -0.30, group=1)), Advice.EITHER),
        (
            pair(0.0, 0.0, battery=share("battery", -0.3, group=1), unit=share("unit", 0.0, group=1)),
            Advice.EITHER,
        ),
        (pair(-0.3, -0.3, battery=share("battery", -0.3, runs=4), unit=share("unit", -0.3, runs=4)), Advice.LEARNING),
        (pair(-0.3, -0.3, battery=None, unit=None), Advice.LEARNING),
    ],
    ids=[
        "well", "weak pack", "dragging unit", "loaded filter", "worn pack", "unsure", "not joined", "alone together",
        "few runs", "never seen",
    ],
)  # fmt: skip
def test_whom_a_short_run_is_laid_to(given: Pair, advice: Advice) -> None:
    """The worse of the two is named where it is surely low and swaps have joined both; else nobody is."""
    assert given.advice() is advice


def told(given: Pair, **changes: object) -> RunTime:
    """As a card shows it."""
    return replace(RunTime(given, "B000077D", "U000417Q", ("low", "high"), "WL1"), **changes)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("given", "words"),
    [
        (told(pair(-0.3, 0.0)), "Runs short. Swap this pack and see."),
        (told(pair(0.0, -0.3)), "Runs short. Look at the filter."),
        (told(pair(-0.3, 0.0), unit_label=""), "Runs short in every unit so far."),
        (
            told(pair(0.0, 0.0, battery=share("battery", -0.3, 0.2)), swap="B0000123"),
            "Runs short. The swaps so far cannot tell them apart; this swap would: B0000123 into this unit.",
        ),
        (told(pair(0.0, 0.0)), "Run time is as it should be."),
    ],
)
def test_it_is_said_as_an_action(given: RunTime, words: str) -> None:
    """Each advice reads as what to do."""
    assert given.action == words


def test_the_rule_always_stands_beside_it() -> None:
    """A hint never reads as a rule: the confidence ends with what makes a filter due, and the mark of the hint."""
    lines = told(pair(-0.3, 0.0)).confidence
    assert lines[-2:] == (HEALTHY, RULE)
    assert "common practice, no source" in HEALTHY
    assert "never the rule" in RULE
    assert "Left out: 2 without their speed." in lines


def test_health_and_drag_are_shares_with_intervals() -> None:
    """A pack's fade and a unit's load count in, and what is not known of them widens the interval."""
    pack = health(FIT, share("battery", -0.1), 200)
    assert pack.middle == pytest.approx(exp(-0.1 - 0.12))
    assert pack.high / pack.low == pytest.approx(exp(2 * 1.96 * (0.02**2 + 0.02**2) ** 0.5))
    unit = drag(FIT, share("unit", -0.05), 100.0)
    assert unit.middle == pytest.approx(exp(-0.05 - 0.09))


@pytest.mark.parametrize(("effect", "words"), [(-0.004, "none"), (-0.006, "costs 1 %"), (0.05, "none")])
def test_a_drag_that_rounds_to_nothing_is_none(effect: float, words: str) -> None:
    """From half a percent on it is told; a unit that runs longer than the others has none."""
    assert drag_words(FIT, share("unit", effect), 0.0) == words


def test_what_is_not_known_of_fade_is_not_said() -> None:
    """Below 100 charges on any pack, or with no estimate, fade is not told."""
    young = replace(FIT, most_cycles=60)
    assert "Fade per 100 charges: not known yet." in told(pair(0.0, 0.0, fit=young)).confidence
    blank = replace(FIT, fade=(0.0, inf))
    assert "Fade per 100 charges: not known yet." in told(pair(0.0, 0.0, fit=blank)).confidence


def test_the_chance_to_be_short_is_the_normal_law() -> None:
    """The chance that ln hours fall below those needed, by scipy; at no hours none, at an unknown speed no answer."""
    given = pair(-0.1, -0.05, cycles=100, filter_hours=50.0)
    located = given.log_hours("WL1 high")
    assert located is not None
    mean = log(5.5) - 0.1 - 0.06 - 0.05 - 0.045
    assert located[0] == pytest.approx(mean)
    assert given.chance_short("WL1 high", 4.0) == pytest.approx(norm.cdf(log(4.0), mean, located[1]))
    assert given.chance_short("WL1 high", 0.0) == 0.0
    assert given.chance_short("WL1 turbo", 4.0) is None
    assert given.lasts("WL1 turbo") is None


def test_how_long_it_lasts_in_words() -> None:
    """The speed is named where there are several."""
    assert lasts_words(RunOutlook("high", 5.1, 0.9)) == "it lasts about 5.1\u00a0h on high"
    assert lasts_words(RunOutlook("", 6.0, 0.9)) == "it lasts about 6\u00a0h"


def test_the_filter_that_loads_counts_since_its_own_change() -> None:
    """'Hours since filter change' (methods 4): of the last filter along the air path alone."""
    model = read_model(text_of("units", "wl1.toml"), "wl1.toml")
    pre = Fitted(unit_id=1, position="pre-filter", item_id=1, fitted_at=AT, fitted_at_hours=10.0)
    main = replace(pre, position="particulate-filter", fitted_at_hours=70.0)
    assert filter_hours(model, [pre, main], 90.0) == 20.0, "an old pre-filter does not stand in"
    assert filter_hours(model, [replace(pre, fitted_at_hours=85.0), main], 90.0) == 20.0, "nor a new one"
    assert filter_hours(model, [pre], 90.0) is None
