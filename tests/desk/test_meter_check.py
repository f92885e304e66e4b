"""A flow meter's daily check as an operation: what it keeps, what it does to the meter, what it refuses."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest

from cribdesk.crib.records import Hold, Inspection, Instrument, MeterCheck, Unit, Verdict
from cribdesk.crib.reference import DAILY, reference_model
from cribdesk.crib.refusal import NotAllowed, NotMadeWhole, WrongFigure
from cribdesk.crib.words import clock
from cribdesk.desk.counter import Counter
from cribdesk.desk.equipment import Calibrate
from cribdesk.desk.facts import IssueIds, facts_of, meters
from cribdesk.desk.house import House
from cribdesk.desk.inspection import FinishInspection
from cribdesk.desk.lists import instrument_rows
from cribdesk.desk.lookup import instrument_card
from cribdesk.desk.meter_check import FinishMeterCheck, reference_flow, reference_of
from cribdesk.desk.receipt import Receipt
from cribdesk.desk.settings import BY_NAME
from cribdesk.procedure.answers import Answer, Good, Measured, NotGood, RemedyDone, RemedyNotPossible
from cribdesk.procedure.run import Run, answer, break_off, start
from tests.desk.operating import later
from tests.desk.shop import Shop, house, passed


def with_blower(flow: str = "190", tolerance: str = "5", check: str = "off") -> House:
    """The shop's house with a reference blower."""
    said = {"reference_lpm": flow, "reference_tolerance_lpm": tolerance, "meter_check": check}
    return replace(house(), settings=dict(house().settings) | said)


def checked(shop: Shop, *answers: Answer, by: str = "") -> Run:
    """A run of the daily check with these answers."""
    made = start(house().procedures[DAILY], reference_model(190.0, 5.0), shop.moment, by or shop.clerk_label)
    for given in answers:
        made = answer(made, given, shop.moment, 2.0)
    return made


def reads(shop: Shop, value: float, name: str = "meter") -> Measured:
    """A reading with the meter itself."""
    return Measured(value, shop.names[name])


def finish(shop: Shop, made: Run, at: House | None = None, name: str = "meter") -> Receipt:
    """The check is kept, at a site with a reference blower."""
    shop.moment += timedelta(seconds=1)
    counter = Counter(shop.store, at or with_blower(), lambda: shop.moment, "Counter 1")
    operation = FinishMeterCheck(
        operation_id=shop.tokens(), instrument_id=shop.record(Instrument, name).id, run_made=made
    )
    return counter.do(operation, shop.clerk_id)


def kept(shop: Shop) -> list[MeterCheck]:
    """Every check there is."""
    with shop.store.reading() as reader:
        return reader.find(MeterCheck)


@pytest.mark.parametrize(("value", "verdict"), [(185, "pass"), (195, "pass"), (184.9, None), (195.1, None)])
def test_a_reading_on_the_edge_of_the_tolerance_is_good(own_shop: Shop, value: float, verdict: str | None) -> None:
    """190 with a tolerance of 5 takes 185 and 195 themselves, and a tenth beyond neither."""
    assert checked(own_shop, Good(), reads(own_shop, value)).verdict == verdict


def test_a_good_check_is_kept_and_changes_nothing_else(own_shop: Shop) -> None:
    """With its reference, its reading and the wording it was made with."""
    receipt = finish(own_shop, checked(own_shop, Good(), reads(own_shop, 191)))
    (one,) = kept(own_shop)
    assert (one.reference_lpm, one.read_lpm, one.good) == (190.0, 191.0, True)
    assert own_shop.record(Instrument, "meter").active
    assert receipt.sentence == "Daily check of Flow meter meter: good, read 191 at 190 L/min."


def test_not_good_puts_the_meter_out_of_use(own_shop: Shop) -> None:
    """It stands among the meters no more, its card and its row say why, and a pass made with it does not count."""
    made = checked(own_shop, Good(), reads(own_shop, 240), RemedyDone(), reads(own_shop, 240))
    assert made.verdict == "fail"
    finish(own_shop, made)
    label, meter = own_shop.names["meter"], own_shop.record(Instrument, "meter")
    with own_shop.store.reading() as reader:
        assert label not in {one.label for one in meters(reader, house(), own_shop.moment)}
        card = instrument_card(reader, house(), meter.id, own_shop.moment)
        row = next(one for one in instrument_rows(reader, house(), own_shop.moment) if one.label == label)
    assert not card.good
    assert card.why == f"check {clock(own_shop.moment, house().zone)} was not good"
    assert (row.good, row.trouble) == (False, "out of use: its check was not good")
    unit = own_shop.record(Unit, "wl-1")
    later(own_shop, 0.1)
    run = passed(unit, "bench", own_shop.moment, own_shop.clerk_label, label)
    own_shop.do(FinishInspection, unit_id=unit.id, run_made=run)
    with own_shop.store.reading() as reader:
        last = reader.latest(Inspection, unit_id=unit.id)
    assert last is not None
    assert (last.verdict, last.instrument_good) == (Verdict.PASS, False)


def test_item_twelves_rule_applies_with_the_error_it_found(own_shop: Shop) -> None:
    """188 read by a meter 50 too high is 138, under 170 (42 CFR 84.179(a)); the hold names the figures."""
    made = checked(own_shop, Good(), reads(own_shop, 240), RemedyDone(), reads(own_shop, 240))
    receipt = finish(own_shop, made)
    unit = own_shop.record(Unit, "wl-1")
    with own_shop.store.reading() as reader:
        holds = reader.find(Hold, reason="meter", unit_id=unit.id)
    assert len(holds) == 1
    assert "read 188, meter read 50 too much: 138; 175 is needed to be sure" in holds[0].detail
    assert ("tag", holds[0].tag) in receipt.papers


def test_a_good_check_bounds_what_a_later_one_reaches(own_shop: Shop) -> None:
    """What was read before this morning's good check stands."""
    later(own_shop, 1)
    finish(own_shop, checked(own_shop, Good(), reads(own_shop, 190)))
    later(own_shop, 1)
    made = checked(own_shop, Good(), reads(own_shop, 240), RemedyDone(), reads(own_shop, 240))
    assert "0 units rest on it" in finish(own_shop, made).sentence


def test_without_a_figure_nothing_is_held_and_that_is_said(own_shop: Shop) -> None:
    """A stuck ball tells no error: the meter goes out of use, how far it was wrong stays open."""
    made = checked(own_shop, NotGood(), RemedyNotPossible())
    assert made.verdict == "fail"
    receipt = finish(own_shop, made)
    assert receipt.sentence.endswith("How far it was wrong is not known.")
    assert receipt.papers == ()
    assert not own_shop.record(Instrument, "meter").active


def test_a_calibration_brings_it_back(own_shop: Shop) -> None:
    """As does a good check; either way it is a meter of the crib again."""
    bad = (NotGood(), RemedyNotPossible())
    finish(own_shop, checked(own_shop, *bad))
    own_shop.do(
        Calibrate, instrument_id=own_shop.record(Instrument, "meter").id, made_on=date(2026, 11, 25),
        good_until=date(2027, 11, 25),
    )  # fmt: skip
    assert own_shop.record(Instrument, "meter").active
    finish(own_shop, checked(own_shop, *bad))
    finish(own_shop, checked(own_shop, Good(), reads(own_shop, 190)))
    assert own_shop.record(Instrument, "meter").active


def test_broken_off_after_trouble_is_not_good_and_before_it_is_nothing(own_shop: Shop) -> None:
    """A check is not begun anew until it fits."""
    finish(own_shop, break_off(checked(own_shop, Good()), own_shop.moment, "called away"))
    assert kept(own_shop) == []
    finish(own_shop, break_off(checked(own_shop, Good(), reads(own_shop, 250)), own_shop.moment, "called away"))
    (one,) = kept(own_shop)
    assert (one.good, one.read_lpm) == (False, 250.0)


def test_what_is_no_check_of_this_meter_is_refused(own_shop: Shop) -> None:
    """Another meter's reading, another procedure, a run not ended, somebody else's, one left idle, no blower."""

    def refused(made: Run, words: str, at: House | None = None, kind: type[NotAllowed] = NotMadeWhole) -> None:
        with pytest.raises(kind) as caught:
            finish(own_shop, made, at)
        assert words in caught.value.words()
        assert kept(own_shop) == []

    refused(checked(own_shop, Good()), "has not ended")
    refused(checked(own_shop, Good(), reads(own_shop, 190, "meter-old")), "of something else")
    unit = own_shop.record(Unit, "wl-1")
    bench = passed(unit, "bench", own_shop.moment, own_shop.clerk_label, own_shop.names["meter"])
    refused(bench, "of something else")
    good = checked(own_shop, Good(), reads(own_shop, 190))
    refused(good, "settings name no flow", house(), WrongFigure)
    refused(good, "figures changed", with_blower("200"))
    refused(checked(own_shop, Good(), reads(own_shop, 190), by="P000001X"), "somebody else")
    own_shop.moment += timedelta(minutes=11)
    refused(good, "10 minutes")


def test_the_site_says_whether_it_is_daily(own_shop: Shop) -> None:
    """Off by default: nobody is reminded. Daily: until today's check the meter is marked, in card and facts."""
    meter = own_shop.record(Instrument, "meter")

    ids = IssueIds(own_shop.record(Unit, "wl-1").id)

    def marked(at: House) -> tuple[bool, bool]:
        with own_shop.store.reading() as reader:
            facts = facts_of(reader, at, ids, own_shop.moment)
            card = instrument_card(reader, at, meter.id, own_shop.moment)
        return card.unchecked, meter.id in facts.unchecked_meters

    daily = with_blower(check="daily")
    assert BY_NAME["meter_check"].default == "off"
    assert marked(house()) == (False, False)
    assert marked(daily) == (True, True)
    finish(own_shop, checked(own_shop, Good(), reads(own_shop, 190)))
    assert marked(daily) == (False, False)
    later(own_shop, 24)
    assert marked(daily) == (True, True)


def test_reference_figures_that_cannot_be_are_told() -> None:
    """Of the settings, and of the model made of them."""
    for text in ("many", "12", "1000"):
        with pytest.raises(ValueError, match="no flow from 50 to 900"):
            BY_NAME["reference_lpm"].check(text)
    BY_NAME["reference_lpm"].check("")
    with pytest.raises(ValueError, match="no flow from 1 to 40"):
        BY_NAME["reference_tolerance_lpm"].check("")
    with pytest.raises(ValueError, match="below 1000"):
        reference_model(190.0, 0.0)
    assert reference_of(house()) is None
    made = reference_of(with_blower("187.5", "4"))
    assert made is not None
    assert (made.flow_minimum_lpm, made.flow_plausible_lpm, reference_flow(made)) == (183.5, 191.5, 187.5)
