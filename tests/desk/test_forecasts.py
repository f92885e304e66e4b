"""Forecasts out of records: the published sets through the whole path, edge cases, and catching up."""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime, timedelta
from math import exp, log

import pytest

from cribdesk.compute.life import LifeModel, fit_life
from cribdesk.compute.weibull import weibull_mle
from cribdesk.crib.forecast import HOURS, LOADING, TOO_FEW, Fit
from cribdesk.crib.lives import Doubt
from cribdesk.crib.records import Area, Custody, Fitted, Unit, Where
from cribdesk.desk import forecasts
from cribdesk.desk.fitting import ENOUGH_ALONE
from cribdesk.desk.forecasts import catch_up, recompute
from cribdesk.desk.house import House
from cribdesk.desk.life_pictures import fleet_pictures, life_picture
from cribdesk.desk.standings import due_now, fleet
from cribdesk.desk.unit_lookup import unit_card
from cribdesk.store.connect import open_store
from tests.desk.lived import START, Lived, house_with

LATER = START + timedelta(days=500)
PRE = ("WL1", "pre-filter")


@pytest.fixture
def lived(address: str) -> Iterator[Lived]:
    """An empty store with a clerk and an item, and two areas: one of 1 000, one of 4 000 ug/m3."""
    with open_store(address, create=True, entropy=random.Random(7).randbytes) as store:
        made = Lived(store)
        made.ground(light=1000, heavy=4000, unknown=None)
        yield made


def run(lived: Lived, house: House, moment: datetime = LATER) -> dict[tuple[str, str], Fit]:
    """Everything made anew; the fits."""
    for _ in recompute(lived.store, house, moment):
        pass
    with lived.store.reading() as reader:
        return reader.fits()


def exact(monkeypatch: pytest.MonkeyPatch) -> list[LifeModel]:
    """Every life model that is fitted from here on; ends count at the hour they were found."""
    made: list[LifeModel] = []
    import cribdesk.compute.life as life

    real = life.fit_life

    def noted(*data: object, **settings: object) -> LifeModel:
        made.append(real(*data, **settings))  # type: ignore[arg-type]
        return made[-1]

    monkeypatch.setattr(life, "fit_life", noted)
    return made


@pytest.mark.parametrize(
    ("ended", "running", "expected"),
    [
        ([], [], (3.68888, 0.69315)),
        ([25], [], (3.52837, 0.74183)),
        ([], [60, 70, 80], (4.58714, 0.75750)),
        ([22, 31, 35, 44], [10, 28, 50], (3.80777, 0.83786)),
    ],
)
def test_worked_figures_of_the_grid(
    lived: Lived,
    monkeypatch: pytest.MonkeyPatch,
    ended: list[float],
    running: list[float],
    expected: tuple[float, float],
) -> None:
    """methods.md 1d, from fitted parts of a store: means of ln scale and ln shape within 2e-4.

    Each ended life has no use on record, so its end is known to the hour, as in the worked figures.
    """
    for hours in ended:
        lived.unit(0.0, (hours, "Pre-filter"), told=False)
    for hours in running:
        lived.unit(hours)
    if not ended and not running:
        lived.unit(0.0)
    made = exact(monkeypatch)
    fits = run(lived, house_with("pre-filter", thumb_hours=40.0))
    model = made[0]
    assert (model.mean_log_scale, model.mean_log_shape) == pytest.approx(expected, abs=2e-4)
    assert fits[PRE].scale[0] == pytest.approx(exp(expected[0]), rel=1e-3)
    assert fits[PRE].changed == len(ended)


NIST = [54, 187, 216, 240, 244, 335, 361, 373, 375, 386]
"""NIST/SEMATECH e-Handbook 8.4.1.3: failures; ten more units ran to 500."""

ABSORBERS = (
    "6700f 6950 7820 8790 9120f 9660 9820 11310 11690 11850 11880 12140 12200f 12870 13150f 13330 13470 14040 14300f "
    "17520f 17540 17890 18450 18960 18980 19410 20100f 20100 20150 20320 20900f 22700f 23490 26510f 27410 27490f "
    "27890 28100"
)
"""Meeker and Escobar 1998, p. 630: kilometres of shock absorbers, f = failed. Here hundreds of km are hours."""


@pytest.mark.parametrize(
    ("changed", "running", "shape", "scale"),
    [
        ([float(one) for one in NIST], [500.0] * 10, 1.7208, 606.528),
        (
            [float(one[:-1]) / 100 for one in ABSORBERS.split() if one.endswith("f")],
            [float(one) / 100 for one in ABSORBERS.split() if not one.endswith("f")],
            3.16046,
            277.187,
        ),
    ],
    ids=["NIST", "absorbers"],
)
def test_published_lives_through_the_path(
    lived: Lived,
    monkeypatch: pytest.MonkeyPatch,
    changed: list[float],
    running: list[float],
    shape: float,
    scale: float,
) -> None:
    """methods.md 1a and 1b from records: the very lives reach the fit, and their maximum is the published one."""
    for hours in changed:
        lived.unit(0.0, (hours, ""), told=False)
    for hours in running:
        lived.unit(0.0, (hours, "by the calendar"))
    seen: list[tuple[list[float], list[float]]] = []
    import cribdesk.compute.life as life

    real = life.fit_life

    def noted(ended: list[float], still: list[float], *rest: object, **settings: object) -> LifeModel:
        seen.append((sorted(ended), sorted(one for one in still if one > 0)))
        return real(ended, still, *rest, **settings)  # type: ignore[arg-type]

    monkeypatch.setattr(life, "fit_life", noted)
    fits = run(lived, house_with("pre-filter", thumb_hours=scale))
    assert seen[0] == (sorted(changed), pytest.approx(sorted(running), abs=0.01))
    best = weibull_mle(*seen[0])
    assert (best.shape, best.scale) == pytest.approx((shape, scale), rel=2e-4)
    low, high = fits[PRE].shape[1:]
    assert low < shape < high


def test_no_data_gives_the_rule_of_thumb(lived: Lived) -> None:
    """One new unit: the scale is the rule of thumb, nothing is doubted, its forecast is there."""
    unit = lived.unit(0.0)
    fits = run(lived, house_with("pre-filter", thumb_hours=60.0))
    assert fits[PRE].scale[0] == pytest.approx(60.0, rel=1e-3)
    with lived.store.reading() as reader:
        forecast = reader.forecasts([unit])[unit]["pre-filter"]
        cover = reader.cover()
    assert (forecast.changed, forecast.measure, forecast.a_day) == (0, HOURS, None)
    assert cover is not None
    assert dict(cover.doubts) == {}


def test_more_history_moves_smoothly_from_the_thumb_to_the_maximum(lived: Lived) -> None:
    """Lives of 100 h about, a thumb of 40: with more lives the scale goes on from the thumb to their maximum."""
    rng = random.Random(3)
    drawn = [rng.weibullvariate(100.0, 2.5) for _ in range(200)]
    house, shares, done = house_with("pre-filter", thumb_hours=40.0), [], 0
    for until in (2, 5, 20, 60, 200):
        for hours in drawn[done:until]:
            lived.unit(0.0, (hours, ""), told=False)
        done = until
        scale, best = run(lived, house)[PRE].scale[0], weibull_mle(drawn[:until]).scale
        shares.append(log(scale / 40.0) / log(best / 40.0))
    assert shares == sorted(shares)
    assert 0 < shares[0] < 0.8
    assert shares[-1] == pytest.approx(1.0, abs=0.02)


def test_without_a_rule_of_thumb_enough_lives_are_needed(lived: Lived) -> None:
    """Nine changes and no thumb: no forecast, and it is counted; with the tenth there is one."""
    house = house_with("pre-filter", thumb_hours=None)
    for number in range(ENOUGH_ALONE - 1):
        lived.unit(0.0, (50.0 + number, ""), told=False)
    assert PRE not in run(lived, house)
    with lived.store.reading() as reader:
        cover = reader.cover()
    assert cover is not None
    assert sum(count for words, count in cover.doubts if "no rule of thumb" in words) == 1
    lived.unit(0.0, (62.0, ""), told=False)
    assert run(lived, house)[PRE].typical == pytest.approx(53, abs=6)


def test_a_rule_of_thumb_that_is_gone_leaves_no_forecast_behind(lived: Lived) -> None:
    """The model's file names none any more and too few lives ended: what rested on it stands no more."""
    unit = lived.unit(10.0, (50.0, ""))
    run(lived, house_with("pre-filter", thumb_hours=60.0))
    with lived.store.reading() as reader:
        assert "pre-filter" in reader.forecasts([unit])[unit]
    for _ in catch_up(lived.store, house_with("pre-filter", thumb_hours=None), LATER):
        pass
    with lived.store.reading() as reader:
        assert PRE not in reader.fits()
        assert "pre-filter" not in reader.forecasts([unit]).get(unit, {})
        cover = reader.cover()
    assert cover is not None
    assert dict(cover.doubts)[TOO_FEW] == 1


def test_preventive_changes_are_censored(lived: Lived) -> None:
    """Changed at 40 h every time by the calendar: the life is longer than the thumb of 40, never shorter."""
    for _ in range(12):
        lived.unit(0.0, (40.0, "by the calendar"))
    fit = run(lived, house_with("pre-filter", thumb_hours=40.0))[PRE]
    assert (fit.changed, fit.scale[0] > 60) == (0, True)


def test_absurd_records_are_left_out_and_counted(lived: Lived) -> None:
    """Hours set back, 9 999 h in a day, changed at nought: none reaches the fit, each is told."""
    lived.unit(0.0, (0.0, "Pre-filter"))
    unit = lived.unit(0.0)
    moment = START + timedelta(days=400)
    row = Fitted(
        unit_id=unit, position="pre-filter", item_id=1, fitted_at=moment, fitted_at_hours=50.0,
        removed_at=moment + timedelta(days=1), removed_at_hours=20.0,
    )  # fmt: skip
    lived.write([row, replace(row, fitted_at_hours=0.0, removed_at_hours=9999.0)])
    back = replace(row, removed_at=moment - timedelta(days=2), fitted_at_hours=0.0, removed_at_hours=30.0)
    lived.write([back])
    fit = run(lived, house_with("pre-filter", thumb_hours=40.0))[PRE]
    with lived.store.reading() as reader:
        cover = reader.cover()
    assert cover is not None
    wanted = {Doubt.NEGATIVE: 1, Doubt.TOO_MANY: 1, Doubt.NEVER_USED: 1, Doubt.SET_BACK: 1}
    assert dict(cover.doubts) == {doubt.value: count for doubt, count in wanted.items()}
    assert fit.changed == 1  # the one whose clock was set back keeps its 30 h


def test_a_part_that_moved_is_one_life(lived: Lived) -> None:
    """Robbed at 30 h for another unit, worn out there at 50 in all: one life of 50, not one of 30 more."""
    lived.unit(0.0, (30.0, "robbed for U000009X"))
    other = lived.unit(0.0, (20.0, ""))
    with lived.store.work() as work:
        (row, *_) = work.find(Fitted, unit_id=other)
        work.save(replace(row, worn_before_hours=30.0))
        lived.entry(work)
    fit = run(lived, house_with("pre-filter", thumb_hours=40.0))[PRE]
    assert (fit.changed, fit.running) == (1, 2)  # and two new ones, still fitted


def test_loading_is_used_where_it_explains_better(lived: Lived) -> None:
    """Lives of 120 h in light and 30 h in heavy dust: filter loading it is, and a unit in heavy dust has less left."""
    rng = random.Random(5)
    for _ in range(40):
        whole = rng.weibullvariate(60.0, 4.0)
        lived.unit(0.0, (2 * whole, ""), area_id=1, at_once=False)
        lived.unit(0.0, (whole / 2, ""), area_id=2, at_once=False)
    light, heavy = lived.unit(10.0, area_id=1), lived.unit(10.0, area_id=2)
    fit = run(lived, house_with("pre-filter", thumb_hours=60.0))[PRE]
    assert fit.measure == LOADING
    assert fit.shape[0] > 3  # by hours it would look like a shape of about 1.5
    with lived.store.reading() as reader:
        found = reader.forecasts([light, heavy])
    left = [found[one]["pre-filter"].hours_left(0.5, 10.0) for one in (light, heavy)]
    assert left[0] > 3 * left[1]


def test_hours_stand_where_dust_explains_nothing(lived: Lived) -> None:
    """The same lives in both areas: worn hours, the simpler."""
    rng = random.Random(5)
    for _ in range(40):
        lived.unit(0.0, (rng.weibullvariate(60.0, 4.0), ""), area_id=1, at_once=False)
        lived.unit(0.0, (rng.weibullvariate(60.0, 4.0), ""), area_id=2, at_once=False)
    assert run(lived, house_with("pre-filter", thumb_hours=60.0))[PRE].measure == HOURS


def test_an_end_found_after_a_use_is_no_longer_life(lived: Lived) -> None:
    """True lives of 40 h scale, found at the look after a use of 5 h: the scale is 40 and not 42.5."""
    rng = random.Random(11)
    for _ in range(400):
        true = rng.weibullvariate(40.0, 2.0)
        lived.unit(0.0, (5.0 * (int(true // 5) + 1), ""), at_once=False)
    fit = run(lived, house_with("pre-filter", thumb_hours=40.0))[PRE]
    assert fit.scale[1] < 40.0 < fit.scale[2]
    assert fit.shape[1] < 2.0 < fit.shape[2]
    assert fit.scale[0] == pytest.approx(40.0, rel=0.04)


def test_catching_up_takes_in_one_unit(lived: Lived) -> None:
    """After one more use of one unit only its forecast is of the newer entry; nothing is read again without one."""
    first, second = lived.unit(20.0), lived.unit(20.0)
    house = house_with("pre-filter", thumb_hours=60.0)
    run(lived, house)
    with lived.store.work() as work:
        unit = work.get(Unit, first)
        work.save(replace(unit, worn_hours=25.0))
        lived.entry(work)
    assert [step.words for step in catch_up(lived.store, house, LATER)] != []
    assert list(catch_up(lived.store, house, LATER)) == []
    with lived.store.reading() as reader:
        found, head, cover = reader.forecasts([first, second]), reader.head().seq, reader.cover()
    assert cover is not None
    assert cover.seq == head
    assert found[first]["pre-filter"].seq == head > found[second]["pre-filter"].seq
    assert found[first]["pre-filter"].worn_hours == 25.0


def test_a_change_fits_its_position_anew(lived: Lived) -> None:
    """A life that ended is in the fit after catching up, without making everything anew."""
    house = house_with("pre-filter", thumb_hours=60.0)
    unit = lived.unit(30.0)
    before = run(lived, house)[PRE]
    with lived.store.work() as work:
        row = work.first(Fitted, unit_id=unit, removed_at=None)
        assert row is not None
        work.save(replace(row, removed_at=LATER, removed_at_hours=30.0, removed_why="Pre-filter"))
        lived.entry(work)
    steps = list(catch_up(lived.store, house, LATER))
    assert not any(step.words == "Reading areas" for step in steps)
    with lived.store.reading() as reader:
        after, kept = reader.fits()[PRE], reader.forecasts([unit])
    assert (before.changed, after.changed) == (0, 1)
    assert after.scale[0] < before.scale[0]
    assert kept == {}  # nothing sits there now


def test_another_rule_of_thumb_makes_everything_anew(lived: Lived) -> None:
    """The model's file was changed: no old fit stands."""
    lived.unit(0.0)
    run(lived, house_with("pre-filter", thumb_hours=60.0))
    for _ in catch_up(lived.store, house_with("pre-filter", thumb_hours=90.0), LATER):
        pass
    with lived.store.reading() as reader:
        assert reader.fits()[PRE].scale[0] == pytest.approx(90.0, rel=1e-3)


def test_another_dust_makes_everything_anew(lived: Lived) -> None:
    """The one area it was worn in gets another finding: from then on loading is told at that dust."""
    lived.unit(10.0, area_id=1)
    given = house_with("pre-filter", thumb_hours=60.0)
    run(lived, given)
    with lived.store.work() as work:
        work.save(replace(work.find(Area, id=1)[0], dust_ug_m3=3000))
        lived.entry(work)
    for _ in catch_up(lived.store, given, LATER):
        pass
    with lived.store.reading() as reader:
        cover = reader.cover()
    assert cover is not None
    assert cover.reference_ug_m3 == 3000


def test_a_refit_waits_for_a_hundredth(lived: Lived, monkeypatch: pytest.MonkeyPatch) -> None:
    """With a share of one half a position of 3 changes is fitted anew at the second one more, not at the first."""
    monkeypatch.setattr(forecasts, "REFIT_SHARE", 0.5)
    house = house_with("pre-filter", thumb_hours=60.0)
    for _ in range(3):
        lived.unit(0.0, (50.0, ""))
    run(lived, house)
    counts = []
    for _ in range(2):
        lived.unit(0.0, (50.0, ""))
        for _ in catch_up(lived.store, house, LATER):
            pass
        with lived.store.reading() as reader:
            counts.append(reader.fits()[PRE].changed)
    assert counts == [3, 5]


def test_stopping_in_between_keeps_what_is_done(lived: Lived) -> None:
    """Called off after the first position: its fit stands, nothing says that all is covered, the next time goes on."""
    lived.unit(0.0)
    lived.unit(0.0, position="belt")
    house = house_with("pre-filter", thumb_hours=60.0)
    steps = recompute(lived.store, house, LATER)
    for step in steps:
        if step.share > 0.5:
            break
    steps.close()  # type: ignore[attr-defined]
    with lived.store.reading() as reader:
        assert (len(reader.fits()), reader.cover()) == (1, None)
    for _ in catch_up(lived.store, house, LATER):
        pass
    with lived.store.reading() as reader:
        assert len(reader.fits()) == 2


def test_a_scrapped_unit_has_no_forecast(lived: Lived) -> None:
    """It is not fitted anywhere that matters."""
    unit = lived.unit(10.0)
    with lived.store.work() as work:
        work.save(replace(work.get(Unit, unit), where=Where.SCRAPPED))
        lived.entry(work)
    run(lived, house_with("pre-filter", thumb_hours=60.0))
    with lived.store.reading() as reader:
        assert reader.forecasts([unit]) == {}


def test_its_own_rate(lived: Lived) -> None:
    """Six uses of 5 h in the last four weeks: 30 h in 28 days."""
    unit = lived.unit(30.0, at_once=False)
    last = _last_use(lived, unit)
    house = house_with("pre-filter", thumb_hours=60.0)
    run(lived, house, last + timedelta(days=20))
    with lived.store.reading() as reader:
        rate = reader.forecasts([unit])[unit]["pre-filter"].a_day
    assert rate == pytest.approx(30 / 24.2, rel=0.02)


def _last_use(lived: Lived, unit_id: int) -> datetime:
    with lived.store.reading() as reader:
        found = [one.returned_at for one in reader.find(Custody, unit_id=unit_id) if one.returned_at]
    return max(found)


def test_fit_life_is_the_oracle_of_the_path(lived: Lived) -> None:
    """The forecast of one part is that of the life model at its age, within one in a hundred."""
    for hours in (22.0, 31.0, 35.0, 44.0):
        lived.unit(0.0, (hours, ""), told=False)
    unit = lived.unit(30.0)
    run(lived, house_with("pre-filter", thumb_hours=40.0))
    with lived.store.reading() as reader:
        forecast = reader.forecasts([unit])[unit]["pre-filter"]
    model = fit_life((22.0, 31.0, 35.0, 44.0), (30.0,), typical_hours=40.0)
    for chance in (0.05, 0.1, 0.5, 0.9):
        exact_hours = model.remaining(30.0, chance, counted=True)
        assert forecast.hours_left(chance, 30.0) == pytest.approx(exact_hours, rel=0.015)
    assert forecast.chance(8.0) == pytest.approx(model.chance(30.0, 8.0, counted=True), abs=0.01)



def test_the_picture_behind_a_forecast(lived: Lived) -> None:
    """The curve falls from one, this part's age and bounds lie on it, lives are counted, the thumb stands beside."""
    for hours in (22.0, 31.0, 35.0, 44.0):
        lived.unit(0.0, (hours, ""), told=False)
    unit, bare = lived.unit(30.0), house_with("pre-filter", thumb_hours=40.0)
    with lived.store.reading() as reader:
        assert life_picture(reader, bare, unit, "pre-filter") is None  # none is made yet
    run(lived, bare)
    with lived.store.reading() as reader:
        picture = life_picture(reader, bare, unit, "pre-filter")
        fleet = fleet_pictures(reader, bare)
        assert life_picture(reader, bare, unit, "belt") is None
    assert picture is not None
    assert (picture.name, picture.age, picture.thumb_hours) == ("Pre-filter", 30.0, 40.0)
    assert (picture.changed, picture.running) == (4, 5)
    shares = [share for _, share in picture.curve]
    assert shares[0] == 1.0
    assert shares == sorted(shares, reverse=True)
    assert 30.0 < picture.early < picture.middle < picture.late
    assert picture.scale[1] < picture.scale[0] < picture.scale[2]
    assert (set(fleet), fleet[PRE].age, fleet[PRE].curve) == ({PRE}, 0.0, picture.curve)


def test_lists_of_the_bench_use_the_early_bound_of_the_site(lived: Lived) -> None:
    """A part with 11 % within the shift: due at a bound of 95 %, not yet at one of 80 %."""
    unit = lived.unit(13.0, told=False)
    house = house_with("pre-filter", thumb_hours=60.0, max_days=None)
    run(lived, house)
    with lived.store.reading() as reader:
        found = fleet(reader, house, LATER)
        (part,) = [one for member in found for one in member.parts if one.fitted is not None]
        chance = part.forecast.chance(7.0) if part.forecast else 0.0
        assert 0.05 < chance < 0.2
        for bound, due in (("95", [unit]), ("80", [])):
            told = replace(house, settings={**house.settings, "due_bound": bound})
            ready = [replace(one, state="ready") for one in found]
            assert [member.unit.id for member, _ in due_now(ready, told, SHIFT)] == due


SHIFT = START + timedelta(days=500, hours=-0.5)
"""Just before a day shift: the usual seven hours are still to come."""


def test_an_area_where_enough_lives_ended_tells_of_itself(lived: Lived) -> None:
    """Belts last three times as long in one area: a unit is told its own; nine elsewhere tell nothing."""
    rng = random.Random(5)
    for _ in range(ENOUGH_ALONE + 5):
        lived.unit(0.0, (rng.weibullvariate(30.0, 4.0), ""), position="belt", area_id=1, at_once=False)
        lived.unit(0.0, (rng.weibullvariate(90.0, 4.0), ""), position="belt", area_id=2, at_once=False)
    for _ in range(ENOUGH_ALONE - 1):
        lived.unit(0.0, (rng.weibullvariate(60.0, 4.0), ""), position="belt", area_id=3, at_once=False)
    units = [lived.unit(10.0, position="belt", area_id=area, at_once=False) for area in (1, 2, 3)]
    now = START + timedelta(days=40)
    fit = run(lived, house_with("belt", thumb_hours=60.0), now)["WL1", "belt"]
    assert [(area, many) for area, _, many in fit.areas] == [(1, ENOUGH_ALONE + 5), (2, ENOUGH_ALONE + 5)]
    with lived.store.reading() as reader:
        light, heavy, unknown = (reader.forecasts(units)[unit]["belt"] for unit in units)
    assert (light.area, heavy.area, unknown.area) == ("light", "heavy", "")
    assert heavy.typical_there == pytest.approx(3 * light.typical_there, rel=0.2)
    assert light.typical_there < fit.typical < heavy.typical_there


@pytest.mark.parametrize(
    ("moment", "worn", "words"),
    [
        (START + timedelta(days=2), 500.0, "more hours than the clock allows"),
        (START - timedelta(days=1), 10.0, "the clock was set back"),
    ],
)
def test_a_card_calls_hours_doubtful_that_the_clock_does_not_allow(
    lived: Lived, moment: datetime, worn: float, words: str
) -> None:
    """500 h in two days; or a clock that stands before the change: the part's own sentence says so."""
    unit = lived.unit(10.0)
    with lived.store.work() as work:
        work.save(replace(work.get(Unit, unit), worn_hours=worn))
        lived.entry(work)
    with lived.store.reading() as reader:
        card = unit_card(reader, house_with("pre-filter"), unit, moment)
    said = {part.position: part.why for part in card.parts}
    assert words in said["pre-filter"]
    assert "doubtful" not in said["belt"], "nothing sits there"
