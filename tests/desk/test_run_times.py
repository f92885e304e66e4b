"""Run times out of records: what counts, what is found of it, when it is made anew, and how often it holds."""

from __future__ import annotations

import csv
import random
import shutil
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from math import exp, log
from pathlib import Path

import pytest
from scipy.stats import truncnorm

from cribdesk import resources
from cribdesk.crib.reasons import cautions, reasons, stops
from cribdesk.crib.records import Battery, BatteryRun, Person, RunEnd, Unit
from cribdesk.crib.run_time import BATTERY, UNIT, Advice, RunFit, Share
from cribdesk.desk import run_times
from cribdesk.desk.facts import IssueIds, facts_of
from cribdesk.desk.lookup import battery_card, unit_card
from cribdesk.desk.run_times import Usable, catch_up, changed, enough, run_of
from cribdesk.opening import finished_sample, load_house, open_desk
from cribdesk.store.connect import open_store
from tests.crib.test_run_time import FIT as FADING
from tests.crib.test_run_time import share
from tests.desk.lived import START, Lived
from tests.desk.shop import Shop, house

NOW = START + timedelta(days=400)
RUN = BatteryRun(
    battery_id=1, unit_id=1, custody_id=None, worn_hours=5.0, ended=RunEnd.FLAT, speed="high", cycles=9,
    filter_hours=20.0, ended_at=START,
)  # fmt: skip


@pytest.mark.parametrize(
    ("record", "hours", "flat"),
    [
        (RUN, 5.0, True),
        (replace(RUN, ended=RunEnd.ALARM, worn_hours=4.75), 5.0, True),
        (replace(RUN, ended=RunEnd.STOPPED), 5.0, False),
        (replace(RUN, filter_hours=None), 5.0, True),
    ],
)
def test_a_record_is_a_run(record: BatteryRun, hours: float, flat: bool) -> None:
    """'ran flat' is exact, the alarm comes at 0.95 of the run time, 'stopped before' is censored."""
    run = run_of(record, house().models["WL1"])
    assert not isinstance(run, str)
    assert (run.hours, run.flat) == (pytest.approx(hours), flat)
    assert (run.battery, run.unit, run.speed) == ("1", "1", "WL1 high")


@pytest.mark.parametrize(
    ("record", "why"),
    [
        (replace(RUN, speed=""), "without their speed"),
        (replace(RUN, speed="turbo"), "without their speed"),
        (replace(RUN, worn_hours=0.0), "without hours"),
        (replace(RUN, worn_hours=-3.0), "without hours"),
        (replace(RUN, filter_hours=-1.0), "with filter hours below none"),
        (replace(RUN, worn_hours=9999.0), "longer than one charge lasts"),
        (replace(RUN, worn_hours=0.2), "flat within a tenth of the usual time, not charged or faulty"),
    ],
)
def test_what_cannot_be_true_is_left_out(record: BatteryRun, why: str) -> None:
    """An absurd run does not count, and the reason is told."""
    assert run_of(record, house().models["WL1"]) == why


def test_a_model_without_a_file_tells_nothing() -> None:
    """A run in a unit whose model is gone is left out."""
    assert run_of(RUN, None) == "of a unit model without a file"


def test_one_speed_need_not_be_said() -> None:
    """A model that runs at one speed has it."""
    run = run_of(replace(RUN, speed=""), house().models["FF1"])
    assert not isinstance(run, str)
    assert run.speed == "FF1 one"


@pytest.mark.parametrize(
    ("values", "longer"), [([0.1, -0.2, 0.0, 0.1, *[-2.0] * 6], False), ([0.1, -0.2, 0.0, 0.1, *[2.0] * 6], True)]
)
def test_a_change_is_told_from_its_first_run(values: list[float], longer: bool) -> None:
    """Both sides: the date is that of the first run since the sum was last nought."""
    days = [START + timedelta(days=day) for day in range(len(values))]
    assert changed(list(zip(values, days, strict=True))) == (days[4], longer)


def test_no_change_is_told_where_there_is_none() -> None:
    """Fewer than five runs are learning; noise and a change that went away again are none."""
    days = [START + timedelta(days=day) for day in range(40)]
    assert changed([(-9.0, days[0])] * 4) == (None, False)
    assert changed([(0.4 if n % 2 else -0.4, day) for n, day in enumerate(days)]) == (None, False)
    gone = [-2.0] * 6 + [1.0] * 34
    since, longer = changed(list(zip(gone, days, strict=True)))
    assert since is None or longer, "the shorter runs are over"


@pytest.fixture
def lived(address: str) -> Iterator[Lived]:
    """An empty store with a clerk and an item."""
    with open_store(address, create=True, entropy=random.Random(7).randbytes) as store:
        made = Lived(store)
        made.ground()
        yield made


WEAK, DRAGGING = 2, 3


def fill(lived: Lived, runs: int = 160) -> tuple[list[int], list[int]]:
    """Six packs, one weak by 30 %, in four units, one taking 35 %; by chance of a fixed seed."""
    packs = lived.write([Battery(label=f"B{n:06}X", model="WL1-PACK", cycles=50) for n in range(1, 7)])
    units = lived.write([Unit(label=f"U{n:06}X", model="WL1", worn_hours=50, added_at=START) for n in range(1, 5)])
    battery_ids = [one.id for one in packs if isinstance(one, Battery)]
    unit_ids = [one.id for one in units if isinstance(one, Unit)]
    add(lived, battery_ids, unit_ids, runs, 11)
    return battery_ids, unit_ids


def add(lived: Lived, battery_ids: list[int], unit_ids: list[int], runs: int, seed: int) -> None:
    """So many runs more."""
    chance, rows = random.Random(seed), []
    for n in range(runs):
        pack, unit = chance.randrange(6), chance.randrange(4)
        speed, filter_hours, cycles = chance.choice(["low", "high"]), chance.uniform(0, 100), chance.randrange(150)
        mean = log(8.0 if speed == "low" else 5.5) - 0.0006 * cycles - 0.0009 * filter_hours
        mean += (log(0.7) if pack == WEAK else 0.0) + (log(0.65) if unit == DRAGGING else 0.0)
        lasts = exp(chance.gauss(mean, 0.05))
        worn = min(lasts, chance.uniform(3.0, 9.0))
        rows.append(
            BatteryRun(
                battery_id=battery_ids[pack], unit_id=unit_ids[unit], custody_id=None, worn_hours=round(worn, 1),
                ended=RunEnd.FLAT if worn == lasts else RunEnd.STOPPED, speed=speed, cycles=cycles,
                filter_hours=round(filter_hours, 1), ended_at=START + timedelta(hours=12 * n),
            )
        )  # fmt: skip
    lived.write(rows)


def kept(lived: Lived) -> tuple[dict[str, RunFit], dict[tuple[str, int, str], Share]]:
    """What is kept now."""
    with lived.store.reading() as reader:
        return reader.run_times(None, None)


def test_pack_and_unit_are_told_apart(lived: Lived) -> None:
    """The weak pack and the dragging unit are found, each for itself, and the cards say what to do."""
    packs, units = fill(lived)
    assert list(catch_up(lived.store, house(), NOW)) != []
    fits, shares = kept(lived)
    assert fits["WL1-PACK"].runs == 160
    spread = shares[BATTERY, packs[WEAK], "WL1-PACK"].effect - shares[BATTERY, packs[0], "WL1-PACK"].effect
    assert spread == pytest.approx(log(0.7), abs=0.06)
    spread = shares[UNIT, units[DRAGGING], "WL1-PACK"].effect - shares[UNIT, units[0], "WL1-PACK"].effect
    assert spread == pytest.approx(log(0.65), abs=0.06)
    with lived.store.reading() as reader:
        weak = battery_card(reader, house(), packs[WEAK], NOW).run_time
        good = battery_card(reader, house(), packs[0], NOW).run_time
        drags = unit_card(reader, house(), units[DRAGGING], NOW).run_time
    assert weak is not None
    assert weak.pair.advice() is Advice.PACK
    assert good is not None
    assert good.pair.advice() is Advice.FINE
    assert drags is not None
    assert drags.pair.advice() is Advice.FILTER


def test_it_catches_up_in_small_steps(lived: Lived, monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing new: nothing is done. A run more: only its unit's chart. One in a hundred more: all is fitted anew."""
    packs, units = fill(lived, 300)
    list(catch_up(lived.store, house(), NOW))
    assert list(catch_up(lived.store, house(), NOW)) == []
    before = kept(lived)[0]["WL1-PACK"]
    add(lived, packs, units, 1, 12)
    list(catch_up(lived.store, house(), NOW))
    fits, shares = kept(lived)
    assert fits["WL1-PACK"] == before
    assert sum(share.runs for (kind, _, _), share in shares.items() if kind == UNIT) == 301
    add(lived, packs, units, 5, 13)
    list(catch_up(lived.store, house(), NOW))
    assert kept(lived)[0]["WL1-PACK"].runs == 306
    assert run_times.REFIT_SHARE == 0.01


def test_too_few_flat_runs_say_nothing(lived: Lived) -> None:
    """A young crib gets no figure at all, and no card claims one."""
    packs, units = fill(lived, 24)
    list(catch_up(lived.store, house(), NOW))
    assert kept(lived) == ({}, {})
    with lived.store.reading() as reader:
        assert unit_card(reader, house(), units[0], NOW).run_time is None
        assert battery_card(reader, house(), packs[0], NOW).run_time is None
    assert not enough(Usable().runs)


FIT = RunFit(
    model="WL1-PACK", mean=log(8.0), speeds=(("WL1 low", 0.0), ("WL1 high", log(5.1 / 8))), fade=(0.0, 0.0001),
    load=(0.0, 0.0001), sigma=0.05, runs=400, flat=150, most_cycles=300, groups=((4, 3),), known=(), left_out=(),
    seq=1, at=START,
)  # fmt: skip


@pytest.mark.parametrize(("hours", "said"), [(4.0, False), (7.0, True)])
def test_a_pack_that_may_not_last_is_cautioned(own_shop: Shop, hours: float, said: bool) -> None:
    """At the speed that takes most, where the wearer's is not known, and never as a stop."""
    unit, pack = own_shop.record(Unit, "wl-1"), own_shop.record(Battery, "pack-1")
    person = own_shop.record(Person, "Wronecka")
    with own_shop.store.deriving() as deriving:
        deriving.put_runs(FIT, [Share(BATTERY, pack.id, "WL1-PACK", 0.0, 0.02, 20, 10, 0)])
    moment = own_shop.moment
    ids = IssueIds(unit.id, person.id, pack.id, None, moment + timedelta(hours=hours))
    with own_shop.store.reading() as reader:
        facts = facts_of(reader, house(), ids, moment)
        days = facts_of(reader, house(), replace(ids, due_at=moment + timedelta(days=3)), moment)
    found = reasons(facts, moment)
    assert facts.run_time is not None
    assert facts.run_time.lasts == pytest.approx(5.1, rel=0.01)
    assert ("run-time" in {one.code for one in cautions(found)}) is said
    assert "run-time" not in {one.code for one in stops(found)}
    assert days.run_time is None, "over several days the wearer charges it on the way"


@pytest.mark.long
def test_the_sample_store_gives_back_packs_and_units(tmp_path: Path) -> None:
    """True effects of packs and units lie in most of their 95 % intervals; fade and load within three deviations.

    Effects are compared from their mean: where that lies is a matter of the level alone. One store is one draw, and
    what fade is off all its packs are off together: how often intervals hold is counted over stores, in
    `tests/bench/coverage.py` and the tests that hold it.
    """
    copy = tmp_path / "sample.sqlite"
    shutil.copyfile(finished_sample(), copy)
    models, _ = load_house()
    desk = open_desk(str(copy), models, "Test")
    list(catch_up(desk.store, desk.house, datetime(2026, 11, 25, 5, 0, tzinfo=UTC)))
    with desk.store.reading() as reader:
        fits, shares = reader.run_times(None, None)
        labels = {(BATTERY, one.id): one.label for one in reader.find(Battery)}
        labels |= {(UNIT, one.id): one.label for one in reader.find(Unit)}
    desk.store.close()
    true = {row[kind]: float(row["log_run_effect"]) for kind in ("battery", "unit") for row in truth(kind)}
    for kind, least in ((BATTERY, 0.85), (UNIT, 0.85)):
        off = [
            (share.effect - true[labels[kind, id_]], share.error)
            for (one, id_, model), share in shares.items()
            if one == kind and model == "WL1-PACK"
        ]
        middle = sum(error for error, _ in off) / len(off)
        inside = sum(abs(error - middle) < 1.96 * se for error, se in off) / len(off)
        assert len(off) >= 40
        assert inside >= least, kind
    fit = fits["WL1-PACK"]
    assert abs(fit.load[0] + 0.0009) < 3 * fit.load[1]
    assert abs(fit.fade[0] + 0.0006) < 3 * fit.fade[1]


def truth(kind: str) -> Iterator[dict[str, str]]:
    """What was dealt."""
    name = "batteries" if kind == "battery" else "units"
    text = (resources.data("sample_store") / "truth" / f"{name}.csv").read_text("utf-8")
    yield from csv.DictReader(text.splitlines())


def test_a_run_that_was_stopped_counts_as_what_it_would_have_become() -> None:
    """Between two fits the chart goes on: a flat run by its own residual, a stopped one by its mean beyond (scipy)."""
    flat = run_of(RUN, house().models["WL1"])
    stopped = run_of(replace(RUN, ended=RunEnd.STOPPED), house().models["WL1"])
    assert not isinstance(flat, str)
    assert not isinstance(stopped, str)
    fit = replace(FADING, speeds=((str(flat.speed), log(0.7)),))
    pack, unit = share("battery", -0.02), share("unit", -0.05)
    z = (log(5.0 / 8.0 / 0.7) + 0.02 + 0.05 + 9 * 0.0006 + 20 * 0.0009) / 0.05
    assert run_times._off(fit, flat, pack, unit) == pytest.approx(z)
    assert run_times._off(fit, stopped, pack, unit) == pytest.approx(truncnorm.mean(z, float("inf")))
    assert run_times._off(FADING, replace(flat, speed="WL1 turbo"), pack, unit) is None
