"""A unit's airflow since its last filter change: the sentence, the series, the fleet's help, the plot."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any, cast

import pytest

from cribdesk.crib.change import PartOutlook
from cribdesk.crib.records import Fitted, Reading, Unit
from cribdesk.desk.airflow_trend import airflow_words, loading_positions, trend_of, with_airflow
from cribdesk.desk.cards import AirflowTrend, FlowPoint
from cribdesk.desk.ports import Reader
from cribdesk.desk.unit_lookup import unit_card
from cribdesk.window.unit_page import plot_of
from tests.desk.shop import Shop, house

START = datetime(2026, 1, 5, 6, 0, tzinfo=UTC)
WL1 = house().models["WL1"]
HOURS = (0.0, 20.0, 40.0, 60.0, 80.0, 100.0)
FLOWS = (205.0, 201.0, 196.0, 190.0, 187.0, 181.0)


class Stored:
    """A reader of these rows and no others; counts what it was asked."""

    def __init__(self, readings: list[Reading], units: list[Unit], fitted: list[Fitted]) -> None:
        self.rows: dict[type, list[Any]] = {Reading: readings, Unit: units, Fitted: fitted}
        self.asked = 0

    def newest(self, kind: type, count: int, **_: object) -> list[Any]:
        self.asked += 1
        return self.rows[kind][-count:]

    def find(self, kind: type, **_: object) -> list[Any]:
        self.asked += 1
        return self.rows[kind]


def unit(worn: float = 100.0, id_: int = 1) -> Unit:
    """A unit of WL1 worn so long."""
    return Unit(id=id_, label=f"U{id_}", model="WL1", worn_hours=worn, added_at=START)


def flow(hours: tuple[float, ...] = HOURS, flows: tuple[float, ...] = FLOWS) -> tuple[FlowPoint, ...]:
    """One reading a worn hour, a clock's hour apart each."""
    return tuple(FlowPoint(START + timedelta(hours=x), x, y, 170.0) for x, y in zip(hours, flows, strict=True))


def fitted(position: str, hours: float) -> Fitted:
    """What was fitted at the position after so many hours."""
    return Fitted(
        unit_id=1, position=position, item_id=1, fitted_at=START + timedelta(hours=hours), fitted_at_hours=hours
    )


def trend(
    points: tuple[FlowPoint, ...], *changes: Fitted, worn: float = 100.0, stored: Stored | None = None
) -> AirflowTrend | None:
    """The trend of these readings after these changes."""
    reader = cast("Reader", stored or Stored([], [], []))
    return trend_of(reader, house(), unit(worn), WL1, changes, points)


def said(*given: Any, **more: Any) -> str:
    """The sentence."""
    found = trend(*given, **more)
    assert found is not None
    return found.words.replace("\N{NO-BREAK SPACE}", " ")


def test_what_brings_airflow_back_is_what_the_ladder_changes() -> None:
    """By the procedures of the model, not by any name in the code."""
    assert loading_positions(house(), WL1) == {"pre-filter", "particulate-filter"}


def test_the_worked_row_as_a_sentence() -> None:
    """Methods, worked example 2c (computed): 147.08 h, Fieller 141.76 to 153.29; 100 h are worn."""
    assert said(flow()) == (
        "Airflow falls 0.24 L/min an hour, 6 readings since the last filter change: at 170 in about 47 h "
        "(42 to 53 h, 4 times in 5)."
    )


def test_a_filter_change_between_begins_anew() -> None:
    """Readings from before the pre-filter's change count no more; another part's change changes nothing."""
    assert said(flow(), fitted("pre-filter", 70)) == (
        "Airflow: 2 readings since the last filter change, too few for a trend."
    )
    assert said(flow(), fitted("breathing-tube", 70)) == said(flow())
    assert said(flow(), fitted("pre-filter", 200)) == "No airflow was read since the last filter change."


def test_no_decline_is_said_where_there_is_none() -> None:
    """A row that rises, and one that its own scatter hides; neither has a date."""
    assert said(flow(HOURS, FLOWS[::-1])).startswith("Airflow: no decline seen, 6 readings")
    hidden = said(flow(HOURS, (190, 201, 185, 199, 188, 194)))
    assert hidden.startswith("Airflow: no decline seen")
    assert "about" not in hidden


def test_what_is_reached_is_now() -> None:
    """The line is under the minimum already."""
    assert "at 170 by now. Look at the filter." in said(flow(), worn=150.0)


def parts_of(*changes: Fitted) -> tuple[PartOutlook, ...]:
    """What sits at these positions, without a limit."""
    return tuple(
        PartOutlook(one.position, one.position, one, 0.0, None, None, None, None, None, None, "", "") for one in changes
    )


def test_the_counter_is_told_the_last_reading_and_its_drop() -> None:
    """205 to 181 L/min, 170 needed: 11 above, 24 dropped; after a change only what was read since."""
    positions, parts = loading_positions(house(), WL1), parts_of(fitted("pre-filter", 0.0))
    told = airflow_words(parts, positions, flow((0.0, 100.0), (205.0, 181.0)), WL1)
    assert told.replace("\N{NO-BREAK SPACE}", " ") == (
        "Airflow 181 L/min when last read, 11 above the minimum; it has dropped 24 since the filter change"
    )
    shorter = "Airflow 181 L/min when last read, 11 above the minimum"
    assert airflow_words(parts, positions, flow((0.0, 100.0), (205.0, 181.0)), WL1, parts[0]) == shorter  # it says it
    later = parts_of(fitted("pre-filter", 50.0))
    assert airflow_words(later, positions, flow((0.0, 100.0), (205.0, 181.0)), WL1) == shorter
    assert airflow_words(parts_of(fitted("pre-filter", 150.0)), positions, flow(), WL1) == ""
    assert airflow_words(parts, positions, (), WL1) == ""
    assert airflow_words(parts, positions, flow((0.0,), (9999.0,)), WL1) == ""
    wrong = (FlowPoint(START, 0.0, 175.0, 170.0, 9.0),)
    assert airflow_words(parts, positions, wrong, WL1).endswith("166 L/min when last read, 4 below the minimum")
    under = (FlowPoint(START, 0.0, 169.9, 170.0),)
    assert airflow_words(parts, positions, under, WL1).endswith("169 L/min when last read, 1 below the minimum")
    at = (FlowPoint(START, 0.0, 170.0, 170.0),)
    assert airflow_words(parts, positions, at, WL1).endswith(", at the minimum")


def test_far_beyond_the_readings_is_said() -> None:
    """Fifteen hours were seen; 170 lies more than twice that further on."""
    assert "Far beyond what was read" in said(flow((0, 5, 10, 15), (205, 203.9, 202.7, 201.4)), worn=15.0)


def test_a_meter_found_wrong_moves_the_trend() -> None:
    """Every reading 9 too much: 37.5 h sooner at 0.24 L/min an hour."""
    wrong = tuple(replace(one, error_lpm=9.0) for one in flow())
    found, right = trend(wrong), trend(flow())
    assert found is not None
    assert right is not None
    assert found.found is not None
    assert right.found is not None
    assert found.found.left is not None
    assert right.found.left == pytest.approx(found.found.left + 37.5)


@pytest.mark.parametrize("wild", [0.0, -5.0, 999.0, 9999.0, 240.0])
def test_what_is_no_honest_reading_is_left_out(wild: float) -> None:
    """Nothing, or more than the model can give: the trend is the same, and says what it left out."""
    told = said((*flow(), FlowPoint(START + timedelta(hours=90), 90.0, wild, 170.0)))
    assert told == f"{said(flow())} Left out: 1 reading that cannot be."


def test_a_retest_at_the_same_hours_counts_once() -> None:
    """Of readings at the same worn hours the last one decided."""
    first = FlowPoint(START + timedelta(hours=99.9), 100.0, 150.0, 170.0)
    assert said((*flow(), first)) == said(flow())


def test_few_readings_lean_on_other_units() -> None:
    """Five others that fall 0.24 an hour: one reading of 194 has 100 h to go from where it was made; three queries."""
    readings = [
        Reading(
            inspection_id=1, unit_id=n, quantity="airflow", flow_lpm=205 + n / 10 - 0.24 * x + (x == 50) * n / 10,
            at=START + timedelta(hours=x), at_hours=x,
        )
        for n in range(2, 8) for x in (0.0, 50.0, 100.0)
    ]  # fmt: skip
    stored = Stored(readings, [unit(id_=n) for n in range(2, 8)], [])
    words = said(flow((100.0,), (194.0,)), stored=stored)
    assert "at 170 in about 100 h" in words
    assert words.endswith("Leans on other units of this model.")
    assert stored.asked == 3
    alone = Stored([], [], [])
    said(flow(), stored=alone)
    assert alone.asked == 0, "a unit with readings enough asks nothing"


def test_a_unit_does_not_lean_on_itself() -> None:
    """Four others and its own older readings are no five others: too few, nothing is said."""
    readings = [
        Reading(
            inspection_id=1, unit_id=n, quantity="airflow", flow_lpm=205 + n / 10 - 0.24 * x + (x == 50) * n / 10,
            at=START + timedelta(hours=x), at_hours=x,
        )
        for n in range(1, 6) for x in (0.0, 50.0, 100.0)
    ]  # fmt: skip
    stored = Stored(readings, [unit(id_=n) for n in range(1, 6)], [])
    assert said(flow((100.0,), (194.0,)), stored=stored).endswith("too few for a trend.")


def test_nothing_read_is_no_trend() -> None:
    """No reading at all, or a model that gives no air."""
    assert trend(()) is None
    helmet = house().models["AD1"]
    assert trend_of(cast("Reader", Stored([], [], [])), house(), unit(), helmet, (), flow()) is None


def test_only_the_units_own_page_asks(own_shop: Shop) -> None:
    """At a scan no numbers are loaded; the page's question brings the sentence along."""
    id_ = own_shop.record(Unit, "wl-1").id
    with own_shop.store.reading() as reader:
        assert unit_card(reader, house(), id_, own_shop.moment).air_trend is None
        asked = unit_card(reader, house(), id_, own_shop.moment, trend=True).air_trend
    assert asked is not None
    assert "too few for a trend" in asked.words


def test_the_plot_draws_line_band_and_limit() -> None:
    """Dashed from the first reading to where it may be late; the band about it; now is 0."""
    found = trend(flow())
    data = plot_of(flow(), 100.0, found)
    assert data is not None
    dashed = next(one for one in data.lines if one.kind == "forecast")
    assert dashed.points[0] == (-100.0, pytest.approx(205.3))
    assert dashed.points[1][0] == pytest.approx(53.2886, abs=1e-3)
    (band,) = data.bands
    assert all(low < high for _, low, high in band.points)
    assert data.limit is not None
    assert data.limit.value == 170
    assert data.x[1] == pytest.approx(dashed.points[1][0])


def outlook_at(position: str, fitted_hours: float | None) -> PartOutlook:
    """What sits there since so many worn hours, or nothing."""
    sits = None if fitted_hours is None else fitted(position, fitted_hours)
    return PartOutlook(position, "", sits, 0.0, None, None, None, None, None, None, "48 h worn", "")


def test_a_part_says_what_the_airflow_did_since_its_change() -> None:
    """205 to 181 in all, 190 to 181 since the pre-filter; nothing of one reading, of no part, of what does not load."""
    loading = frozenset({"pre-filter", "particulate-filter"})

    def said_of(position: str, since: float | None, read: tuple[FlowPoint, ...] = flow()) -> str:
        (part,) = with_airflow((outlook_at(position, since),), loading, read, WL1)
        return part.why

    assert said_of("particulate-filter", 0.0) == "48 h worn; its airflow has dropped 24 L/min since the change"
    assert said_of("pre-filter", 60.0) == "48 h worn; its airflow has dropped 9 L/min since the change"
    assert said_of("pre-filter", 0.0, flow(HOURS, FLOWS[::-1])).endswith("has not dropped since the change")
    assert said_of("pre-filter", 100.0) == "48 h worn"
    assert said_of("pre-filter", None) == "48 h worn"
    assert said_of("belt", 0.0) == "48 h worn"
    wrong = tuple(replace(one, error_lpm=9.0 if one.at_hours > 90 else 0.0) for one in flow())
    both = (outlook_at("pre-filter", 60.0), outlook_at("particulate-filter", 0.0))
    assert [one.why for one in with_airflow(both, loading, flow(), WL1)] == [
        "48 h worn; its airflow has dropped 9 L/min since the change", "48 h worn",
    ], "what was changed later brought the airflow back"
    assert "dropped 33 L/min" in said_of("particulate-filter", 0.0, wrong), "by what is known of the meter now"
