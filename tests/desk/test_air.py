"""A flow meter in today's air: worked corrections through the path, what is refused, who turns the band off."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest
from fluids.atmosphere import ATMOSPHERE_1976
from hypothesis import given
from hypothesis import strategies as st

from cribdesk.crib.model import MustShow, UnitModel
from cribdesk.crib.records import Instrument, Reading, SiteSetting, Unit
from cribdesk.crib.refusal import NotQualified
from cribdesk.desk import air
from cribdesk.desk.air import AirNow
from cribdesk.desk.house import House
from cribdesk.desk.inspection import FinishInspection
from cribdesk.desk.office import SetSetting
from cribdesk.desk.settings import BY_NAME
from cribdesk.procedure.answers import Ball, Measured
from cribdesk.procedure.run import answer, page, start
from tests.desk.refused import as_clerk, refused
from tests.desk.shop import Shop, good_answer, house

METER = "M000001V"
WL1 = house().models["WL1"]
WH1 = house().models["WH1"]


def site(**said: str) -> House:
    """The house with these settings."""
    return replace(house(), settings=dict(house().settings) | said)


def flowed(shown: float, celsius: float, hpa: float | None = None, model: UnitModel = WL1) -> float:
    """What flowed at the sea-level site."""
    return air.flowed(site(), model, shown, celsius, hpa)


@pytest.mark.parametrize(
    ("shown", "celsius", "pascal", "true"),
    [
        (155.3, 20, 84559.67, 170.0),  # fl3: 1500 m, factor 1.09465
        (170, -10, 101325, 161.067),  # fl4: the dangerous one, 'about 161 true'
        (179.4, -10, 101325, 170.0),  # fl4: what is needed there
        (165.8, 35, 101325, 170.0),  # fl5: factor 1.02527
        (170, 20, 101325, 170.0),
    ],
)
def test_worked_corrections(shown: float, celsius: float, pascal: float, true: float) -> None:
    """Worked examples fl3 to fl5 (computed, by EPA-330/1-78-003's float-meter formula), to their printed tenth."""
    assert flowed(shown, celsius, pascal / 100) == pytest.approx(true, abs=0.06)


@pytest.mark.parametrize("altitude", [0, 350, 1500, 3000])
def test_the_altitude_stands_in_for_a_barometer(altitude: int) -> None:
    """Oracle: fluids' US Standard Atmosphere 1976 for the pressure, an ideal gas for the density."""
    told = air.flowed(site(altitude_m=str(altitude)), WL1, 170, 20, None)
    assert told == pytest.approx(170 * (101325 / ATMOSPHERE_1976(altitude).P) ** 0.5, rel=2e-5)
    assert told >= 170, "altitude alone errs on the safe side"


@given(st.floats(0, 400), st.floats(-30, 50), st.floats(-30, 50), st.sampled_from(["WL1", "FF1", "WH1"]))
def test_colder_air_never_turns_a_fail_into_a_pass(shown: float, one: float, other: float, code: str) -> None:
    """Of the same reading less flows in the colder air, by formula and by chart; pass there is pass in the warmer."""
    model = house().models[code]
    cold, warm = sorted((one, other))
    try:
        least, most = flowed(shown, cold, None, model), flowed(shown, warm, None, model)
    except ValueError:
        assert model.must_show, "only a chart ends"
        return
    assert least <= most + 1e-9


def test_the_makers_chart_outranks_the_formula() -> None:
    """At 0 °C the chart of WH1 asks for 182 where 175 flows; between two rows the one asking more; never beyond."""
    assert flowed(182, 0, None, WH1) == 175
    assert flowed(182, 5, None, WH1) == 175
    assert flowed(175, 20, None, WH1) == 175
    with pytest.raises(ValueError, match="-10 to 40 °C, not -11"):
        flowed(182, -11, None, WH1)
    grid = (MustShow(0, 900, 172), MustShow(0, 1000, 181), MustShow(20, 900, 166), MustShow(20, 1000, 175))
    both = replace(WH1, must_show=grid)
    assert flowed(181, 10, 950, both) == 175
    assert flowed(166, 20, 900, both) == 175
    with pytest.raises(ValueError, match="900 to 1000 hPa"):
        flowed(181, 10, 1013, both)


@pytest.mark.parametrize(
    ("certificate", "celsius"),
    [(1.293, 0), (1.225, 15), (1.184, 25)],  # dry air at 101 325 Pa as it stands on certificates (CRC Handbook, tables)
)
def test_a_scale_for_other_air_holds_in_that_air(certificate: float, celsius: float) -> None:
    """A meter calibrated in such air shows there what flows; at 20 °C, by the ratio of absolute temperatures, more."""
    there = air.flowed(site(), WL1, 170, celsius, 1013.25, certificate)
    assert there == pytest.approx(170, abs=0.1)
    elsewhere = air.flowed(site(), WL1, 170, 20, 1013.25, certificate)
    assert elsewhere == pytest.approx(170 * (293.15 / (273.15 + celsius)) ** 0.5, abs=0.1)


def test_a_chart_asks_of_a_meter_with_another_scale_what_the_same_air_needs() -> None:
    """182 at 0 °C on the usual scale; on one for 0 °C air (1.293) less, by the root of the densities."""
    shown = 182 * (1.204 / 1.293) ** 0.5
    assert air.flowed(site(), WH1, shown, 0, None, 1.293) == pytest.approx(175, abs=0.02)


def test_the_usual_scale_is_that_of_a_meter_without_word_of_it() -> None:
    """A record, a certificate that says 1.204, and the formula's own 20 °C, 101 325 Pa are one: no digit is lost."""
    said = Instrument(label=METER, name="", uncertainty_lpm=3.0, calibrated_on=date.min, calibrated_until=date.max)
    assert said.calibration_kg_m3 == air.USUAL_KG_M3 == round(air.CALIBRATION_DENSITY, 3)
    assert air.flowed(site(), WL1, 170, 20, 1013.25, said.calibration_kg_m3) == 170


def measured(value: float, celsius: float | None, hpa: float | None = None, known: AirNow | None = None) -> Measured:
    """The reading as it counts, with a meter of 3 L/min."""
    return air.measured(site(), WL1, Measured(value, METER, None, celsius, hpa), known, 3.0, True)


def test_a_reading_carries_all_that_decided_it() -> None:
    """Raw value, temperature, what flowed, the meter's uncertainty and the band of JCGM 106: 4.9346 for 3 L/min."""
    told = measured(170, -10)
    assert (told.value, told.temperature_c, told.uncertainty_lpm) == (170, -10, 3.0)
    assert told.actual == pytest.approx(161.067, abs=1e-3)
    assert told.guard_lpm == pytest.approx(4.9346, abs=5e-5)


@pytest.mark.parametrize(
    ("celsius", "hpa", "words"),
    [
        (None, None, "Type the air temperature at the meter first"),
        (68, None, "between −30 °C and 50 °C"),
        (-31, None, "between"),
        (float("nan"), None, "between"),
        (20, 30, "between 500 and 1"),
        (20, 880, "read the barometer here"),
        (20, float("nan"), "between 500"),
    ],
)
def test_air_that_cannot_be_is_refused(celsius: float | None, hpa: float | None, words: str) -> None:
    """Not known, in Fahrenheit, no number, or a pressure of another place: nothing is judged."""
    with pytest.raises(ValueError, match=words):
        measured(180, celsius, hpa)


def test_a_weather_reports_pressure_is_told_at_altitude() -> None:
    """At 1500 m the standard is 845.6 hPa (US Standard Atmosphere 1976); 1013 is the report's figure."""
    with pytest.raises(ValueError, match="about 846 is"):
        air.check(site(altitude_m="1500"), 20, 1013)
    air.check(site(altitude_m="1500"), 20, 850)


def test_weather_moves_the_pressure_so_far_and_no_farther() -> None:
    """Common practice, no source: 7 % either way of 1013.25 hPa at sea level, 942.3 to 1084.2."""
    for hpa in (942.4, 1084.1):
        air.check(site(), 20, hpa)
    for hpa in (942.2, 1084.3):
        with pytest.raises(ValueError, match="is not the pressure at 0"):
            air.check(site(), 20, hpa)


def test_the_air_is_offered_again_that_day_only() -> None:
    """What was entered yesterday says nothing of today."""
    entered = AirNow(4.0, None, datetime(2026, 11, 25, 6, 0, tzinfo=UTC))
    assert air.today(site(), entered, entered.at + timedelta(hours=8)) is entered
    assert air.today(site(), entered, entered.at + timedelta(hours=24)) is None
    assert air.today(site(), None, entered.at) is None
    assert measured(170, None, None, entered).temperature_c == 4.0


def test_a_ball_is_refused_outside_the_models_range() -> None:
    """The mark of WL1 holds from 10 to 35 °C; a model that names none takes no ball; both ends still hold."""
    for celsius in (10.0, 35.0):
        assert air.ball(site(), WL1, Ball("above", METER, None, celsius), None).temperature_c == celsius
    for celsius in (9.9, 35.1, -10.0):
        with pytest.raises(ValueError, match="The ball's mark holds"):
            air.ball(site(), WL1, Ball("above", METER, None, celsius), None)
    with pytest.raises(ValueError, match="A number is needed"):
        air.ball(site(), replace(WL1, ball_range_c=None), Ball("above", METER, None, 20.0), None)
    with pytest.raises(ValueError, match="Type the air temperature"):
        air.ball(site(), WL1, Ball("above", METER), None)


def test_the_screen_says_which_way_it_errs() -> None:
    """Cold: the unsafe way. Warm: the safe one. At the meter's own air: neither. By chart: said so."""
    assert air.way_words(site(), WL1, -10, None) == "Cold or dense air: 5.3 % less flows than the meter shows."
    assert air.way_words(site(), WL1, 35, None) == "Warm or thin air: 2.5 % more flows than the meter shows."
    assert air.way_words(site(), WL1, 20, None) == "In this air the meter shows what flows."
    assert air.way_words(site(), WH1, 0, None).endswith("By the maker's chart.")


def test_the_band_can_be_turned_off_by_the_program_administrator_alone(own_shop: Shop) -> None:
    """Nobody else, not even who keeps the system's settings; off, the minimum itself decides again."""
    assert air.guard_of(site(), 170, 3.0) == pytest.approx(4.9346, abs=5e-5)
    assert air.guard_of(site(guard_band="off"), 170, 3.0) is None
    assert "every second one" in BY_NAME["guard_band"].words
    with as_clerk(own_shop, "Castel"), refused(own_shop, NotQualified):
        own_shop.do(SetSetting, setting="guard_band", value="off")
    own_shop.do(SetSetting, setting="guard_band", value="off")
    with own_shop.store.reading() as reader:
        assert [one.value for one in reader.find(SiteSetting, name="guard_band")] == ["off"]


@pytest.mark.parametrize("text", ["", "-431", "5001", "nan", "high"])
def test_an_altitude_that_cannot_be_is_refused(text: str) -> None:
    """From the lowest shore to the highest towns."""
    with pytest.raises(ValueError, match="is no altitude"):
        BY_NAME["altitude_m"].check(text)


def test_what_flowed_is_what_the_store_keeps_for_the_trend(own_shop: Shop) -> None:
    """190 read at 4 °C: the reading kept apart is what flowed; the record keeps what was read."""
    unit = own_shop.record(Unit, "wl-1")
    procedure = house().procedure_of(WL1, "bench")
    assert procedure is not None
    run = start(procedure, WL1, own_shop.moment, own_shop.clerk_label)
    meter = own_shop.names["meter"]
    while run.verdict is None:
        given = good_answer(run, meter)
        if page(run).kind == "reading":
            given = air.measured(site(), WL1, Measured(190, meter, temperature_c=4.0), None, 3.0, True)
        run = answer(run, given, own_shop.moment, 2.0)
    own_shop.do(FinishInspection, unit_id=unit.id, run_made=run)
    with own_shop.store.reading() as reader:
        kept = reader.latest(Reading, unit_id=unit.id, instrument_id=1)
    assert kept is not None
    assert kept.flow_lpm == pytest.approx(190 * (277.15 / 293.15) ** 0.5, abs=1e-3)
