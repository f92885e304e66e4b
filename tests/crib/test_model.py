"""A unit model's TOML: what is read, and every fault told with its line."""

from __future__ import annotations

import csv
import io

import pytest

from cribdesk.crib.model import (
    CERTIFICATION_FLOORS,
    INSPECTION_NOT_FINISHED,
    PROCEDURE_KINDS,
    ModelFaults,
    read_floors,
    read_model,
)
from cribdesk.crib.reference import DAILY
from tests.procedure.house import models, procedures, text_of

WL1 = text_of("units", "wl1.toml")


def faults_of(text: str) -> dict[str, int | None]:
    """Each fault's words and line; the text must have some."""
    with pytest.raises(ModelFaults) as caught:
        read_model(text, "some.toml")
    assert all(fault.file == "some.toml" for fault in caught.value.faults)
    return {str(fault).split(": ", 1)[1]: fault.line for fault in caught.value.faults}


def line_of(text: str, part: str) -> int:
    """The number of the one line that holds the part."""
    return next(n for n, line in enumerate(text.splitlines(), 1) if part in line)


def test_shipped_loose_fitting_model_reads_as_written() -> None:
    """The figures of the text arrive in the record, positions in the order of the air path."""
    model = read_model(WL1, "wl1.toml")
    assert (model.flow_minimum_lpm, model.flow_plausible_lpm) == (170, 206)
    assert model.alarm_window_s == (15, 20)
    assert model.alarm_vibrates
    assert dict(model.run_hours) == {"low": 8, "high": 5.5}
    assert [p.code for p in model.positions[:3]] == ["spark-arrestor", "pre-filter", "particulate-filter"]
    blower = model.position("blower")
    assert blower is not None
    assert blower.labelled
    assert blower.items == ("WL1-BLOWER",)
    assert model.hold_reasons[0] == INSPECTION_NOT_FINISHED
    assert set(model.procedures) == set(PROCEDURE_KINDS)
    assert model.cautions[0] == ("Before each use", "Check air and alarm: close the tube end.")


def test_positions_are_sorted_by_the_air_path() -> None:
    """Order in the text does not matter, the number does."""
    swapped = WL1.replace("order = 1\n", "order = 99\n")
    assert read_model(swapped, "x").positions[-1].code == "spark-arrestor"


def test_five_models_are_shipped_and_say_that_they_are_invented() -> None:
    """Each facepiece kind has one model, and none passes for a maker's."""
    assert set(models()) == {"WL1", "WH1", "FF1", "HM1", "AD1"}
    assert {model.facepiece for model in models().values()} == {
        "loose_fitting_facepiece", "helmet_hood", "full_facepiece", "half_mask", "none",
    }
    assert all("Invented" in model.origin for model in models().values())


def test_every_shipped_procedure_is_named_by_a_model() -> None:
    """No procedure lies about unused, and each kind leads to a procedure of that kind."""
    named = {code for model in models().values() for code in model.procedures.values()}
    assert named | {DAILY} == set(procedures())  # a flow meter's check is of no unit
    for model in models().values():
        assert all(procedures()[code].kind == kind for kind, code in model.procedures.items())


def test_floors_are_those_of_the_published_table() -> None:
    """42 CFR 84.179(a): the built-in floors equal the reference table's rows af01 and af02."""
    table = text_of("tables", "airflow_minimums.csv")
    rows = {row["row_id"]: row for row in csv.DictReader(io.StringIO(table))}
    assert rows["af01"]["source"] == rows["af02"]["source"] == "42 CFR 84.179(a)"
    assert CERTIFICATION_FLOORS.tight_fitting_lpm == float(rows["af01"]["value"])
    assert CERTIFICATION_FLOORS.loose_fitting_lpm == float(rows["af02"]["value"])
    assert read_floors(table) == CERTIFICATION_FLOORS


def test_shipped_minimums_keep_to_the_floors() -> None:
    """No shipped powered model asks for less than the certification figure of its kind."""
    floors = read_floors(text_of("tables", "airflow_minimums.csv"))
    powered = [model for model in models().values() if model.powered]
    assert len(powered) == 3
    for model in powered:
        floor = floors.tight_fitting_lpm if model.tight_fitting else floors.loose_fitting_lpm
        assert model.flow_minimum_lpm is not None
        assert model.flow_minimum_lpm >= floor


def test_a_table_without_floors_is_refused() -> None:
    """A table that lacks the rows must not read as 'no floor'."""
    with pytest.raises(ValueError, match="lacks its two rows"):
        read_floors("row_id,topic,applies_to,value,unit\naf03,test_duration,x,240,min\n")


@pytest.mark.parametrize(
    ("model", "low"), [("wl1.toml", "169.9"), ("ff1.toml", "114.9")], ids=["loose", "tight"]
)
def test_a_minimum_below_the_floor_is_refused(model: str, low: str) -> None:
    """Just below 170 (loose-fitting) or 115 (tight-fitting) is refused, with its line."""
    text = text_of("units", model)
    line = line_of(text, "flow_minimum_lpm =")
    broken = "\n".join(
        f"flow_minimum_lpm = {low}" if n == line else row for n, row in enumerate(text.splitlines(), 1)
    )
    (words, where), *rest = faults_of(broken).items()
    assert not rest
    assert where == line
    assert "below the floor" in words
    assert "42 CFR 84.179(a)" in words


def test_all_faults_come_at_once_each_with_its_line() -> None:
    """Four slips in one text are four faults, each on the line where it stands."""
    text = WL1.replace('items = ["WL1-PREFILTER"]', 'items = ["wl1 prefilter"]')
    text = text.replace('proof = "cleaned"', 'proof = "hope"')
    text = text.replace("alarm_window_s = [15, 20]", "alarm_window_s = [20, 15]")
    text = text.replace("inspect_days = 30", "inspect_dayz = 30")
    found = faults_of(text)
    assert len(found) == 4
    for part, words in {
        'items = ["wl1 prefilter"]': "is not a stock item code",
        'proof = "hope"': "is not one of: bench inspection",
        "alarm_window_s = [20, 15]": "the lower first",
        "inspect_dayz = 30": "is not known here",
    }.items():
        assert any(words in fault and line == line_of(text, part) for fault, line in found.items()), part


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ('code = "WL1"\n', "", "this key is missing"),
        ('code = "WL1"', 'code = "wl 1"', "does not have the right form"),
        ('name = "Welding PAPR, loose-fitting"', 'name = ""', "a text in quotes is needed"),
        ("powered = true", 'powered = "yes"', "true or false is needed"),
        ("tight_fitting = false", "tight_fitting = true", "does not go with facepiece"),
        ("flow_plausible_lpm = 206", "flow_plausible_lpm = 170", "must be above flow_minimum_lpm"),
        ("flow_plausible_lpm = 206\n", "", "a powered unit needs it"),
        ("flow_minimum_lpm = 170", "flow_minimum_lpm = nan", "a number above zero"),
        ("flow_minimum_lpm = 170", "flow_minimum_lpm = true", "a number above zero"),
        ("max_days = 180", "max_days = 1.5", "a whole number above zero"),
        ('code = "pre-filter"', 'code = "spark-arrestor"', "is named twice"),
        ("order = 2\n", "order = 1\n", "another position already has place 1"),
        ('items = ["WL1-PREFILTER"]', "items = []", "at least one approved stock item"),
        ('code = "alarm"', 'code = "airflow"', "is named twice, or is built in"),
        ('code = "alarm"', 'code = "inspection-not-finished"', "is named twice, or is built in"),
        ('proof = "cleaned"', 'proof = "inspection passed"', "is not one of"),
        ("high = 5.5\n", "", "one figure for each of the speeds"),
        ('bench = "welding-papr-bench"\n', "", "this key is missing"),
        ("shade_range = [8, 13]", "shade_range = [8.5, 13]", "shade numbers are whole"),
        ("sizes = []", 'sizes = ["M", "M"]', "names something twice"),
        ('speeds = ["low", "high"]', "speeds = 2", "a list of texts"),
        ('facepiece = "loose_fitting_facepiece"', 'facepiece = "none"', "has a facepiece, hood or helmet"),
        ("alarm_window_s = [15, 20]\n", "", "no alarm that could vibrate"),
        ('battery_models = ["WL1-PACK"]', 'battery_models = ["a pack"]', "not a battery model code"),
        ("[run_hours]\nlow = 8\nhigh = 5.5\n", "", "one figure for each of the speeds"),
    ],
)
def test_each_slip_is_told(old: str, new: str, words: str) -> None:
    """Each rule of a unit model has its own sentence, and its line."""
    assert old in WL1
    found = faults_of(WL1.replace(old, new, 1))
    assert any(words in fault for fault in found), found


def test_a_unit_without_power_has_no_air_figures() -> None:
    """A half mask with a flow minimum is a slip, not a feature."""
    text = text_of("units", "hm1.toml").replace("sizes =", "flow_minimum_lpm = 170\nsizes =")
    assert any("not powered has none" in words for words in faults_of(text))


@pytest.mark.parametrize(
    ("text", "line"), [("code = ", 1), ('code = "WL1"\nname = oops\n', 2), ("[[positions]\n", 1)]
)
def test_broken_toml_is_told_with_its_line(text: str, line: int) -> None:
    """Text that is not TOML gives one fault, its line, and no traceback."""
    (words, where), *rest = faults_of(text).items()
    assert not rest
    assert "this is not TOML" in words
    assert where == line


def test_text_nested_beyond_reason_is_told() -> None:
    """Ten thousand brackets end in a fault, not in a crash."""
    assert any("nested too deep" in words or "not TOML" in words for words in faults_of("a = " + "[" * 10_000))


def test_an_empty_text_is_no_model() -> None:
    """Nothing at all lacks everything, said key by key."""
    with pytest.raises(ModelFaults) as caught:
        read_model("", "empty.toml")
    lacking = {fault.place for fault in caught.value.faults}
    assert {"code", "name", "facepiece", "powered", "positions", "hold_reasons"} <= lacking
    assert "procedures, pre-use" in lacking


def test_the_air_of_a_model_arrives() -> None:
    """The ball's range of WL1; the chart of WH1, colder air asking for more."""
    assert read_model(WL1, "wl1.toml").ball_range_c == (10, 35)
    chart = read_model(text_of("units", "wh1.toml"), "wh1.toml").must_show
    assert [(one.temperature_c, one.lpm) for one in chart][:2] == [(-10, 186), (0, 182)]
    assert all(one.pressure_hpa is None for one in chart)


@pytest.mark.parametrize(
    ("rows", "words"),
    [
        ("temperature_c = 0\nlpm = 180\n|temperature_c = 0\nlpm = 181\n", "speak of the same air"),
        ("temperature_c = 0\nlpm = 180\n|temperature_c = 20\nlpm = 181\n", "colder air never asks for less"),
        ("temperature_c = 0\nlpm = 180\npressure_hpa = 900\n|temperature_c = 20\nlpm = 170\n", "at every pressure"),
        ("lpm = 180\n", "this key is missing"),
        ("temperature_c = 0\nlpm = -1\n", "above zero"),
        ("temperature_c = 'cold'\nlpm = 180\n", "a number is needed"),
    ],
)
def test_a_chart_that_cannot_be_is_told(rows: str, words: str) -> None:
    """Gaps, rows twice, less in colder air: nothing is read between wrong lines."""
    text = WL1 + "".join(f"\n[[must_show]]\n{row}" for row in rows.split("|"))
    assert any(words in one for one in faults_of(text))


def test_a_ball_range_needs_both_ends_in_order() -> None:
    """35 to 10 is no range, and one end is none; a unit without a blower has none at all."""
    for wrong in ("{ low = 35, high = 10 }", "{ low = 10 }"):
        text = WL1.replace("ball_range_c = { low = 10, high = 35 }", f"ball_range_c = {wrong}")
        assert any("low and high" in one for one in faults_of(text))
    helmet = text_of("units", "ad1.toml")
    helmet = helmet.replace("powered = false", "powered = false\nball_range_c = { low = 1, high = 2 }")
    assert any("not powered" in one for one in faults_of(helmet))
