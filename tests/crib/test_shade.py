"""The least shade: 29 CFR 1910.133(a)(5) row by row, edges, refusals, and tables that do not fit."""

import csv
import io
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cribdesk.crib.shade import ShadeTable, deciding_row, minimum_shade, read_table

TEXT = (Path(__file__).parents[2] / "resources" / "tables" / "shade_minimums.csv").read_text("utf-8")
TABLE = read_table(TEXT)

# 29 CFR 1910.133(a)(5), table "Filter Lenses for Protection Against Radiant Energy", row by row (verified:
# whole table seen). Written here once more from the printed table, not read from our file: the row's name in
# our file, operation, a figure inside the row, shade.
ROWS: list[tuple[str, str, dict[str, float], float]] = [
    ("sh01", "SMAW", {"electrode_32nds": 2}, 7),
    ("sh01", "SMAW", {"current_a": 59}, 7),
    ("sh02", "SMAW", {"electrode_32nds": 4}, 8),
    ("sh02", "SMAW", {"current_a": 100}, 8),
    ("sh03", "SMAW", {"electrode_32nds": 6}, 10),
    ("sh03", "SMAW", {"current_a": 200}, 10),
    ("sh04", "SMAW", {"electrode_32nds": 9}, 11),
    ("sh04", "SMAW", {"current_a": 400}, 11),
    ("sh05", "GMAW_FCAW", {"current_a": 50}, 7),
    ("sh06", "GMAW_FCAW", {"current_a": 100}, 10),
    ("sh07", "GMAW_FCAW", {"current_a": 200}, 10),
    ("sh08", "GMAW_FCAW", {"current_a": 400}, 10),
    ("sh09", "GTAW", {"current_a": 40}, 8),
    ("sh10", "GTAW", {"current_a": 100}, 8),
    ("sh11", "GTAW", {"current_a": 300}, 10),
    ("sh12", "AIR_CARBON_ARC_CUTTING", {"current_a": 300}, 10),
    ("sh13", "AIR_CARBON_ARC_CUTTING", {"current_a": 800}, 11),
    ("sh14", "PLASMA_ARC_WELDING", {"current_a": 15}, 6),
    ("sh15", "PLASMA_ARC_WELDING", {"current_a": 60}, 8),
    ("sh16", "PLASMA_ARC_WELDING", {"current_a": 200}, 10),
    ("sh17", "PLASMA_ARC_WELDING", {"current_a": 600}, 11),
    ("sh18", "PLASMA_ARC_CUTTING", {"current_a": 200}, 8),
    ("sh19", "PLASMA_ARC_CUTTING", {"current_a": 350}, 9),
    ("sh20", "PLASMA_ARC_CUTTING", {"current_a": 600}, 10),
    ("sh21", "TORCH_BRAZING", {}, 3),
    ("sh22", "TORCH_SOLDERING", {}, 2),
    ("sh23", "CARBON_ARC_WELDING", {}, 14),
    ("sh24", "GAS_WELDING", {"plate_in": 0.1}, 4),
    ("sh25", "GAS_WELDING", {"plate_in": 0.25}, 5),
    ("sh26", "GAS_WELDING", {"plate_in": 0.75}, 6),
    ("sh27", "OXYGEN_CUTTING", {"plate_in": 0.5}, 3),
    ("sh28", "OXYGEN_CUTTING", {"plate_in": 3}, 4),
    ("sh29", "OXYGEN_CUTTING", {"plate_in": 8}, 5),
]

# A figure on the edge of two rows: the darker one.
EDGES: list[tuple[str, dict[str, float], float]] = [
    ("SMAW", {"current_a": 60}, 8),
    ("SMAW", {"current_a": 160}, 10),
    ("SMAW", {"current_a": 250}, 11),
    ("SMAW", {"current_a": 550}, 11),
    ("SMAW", {"electrode_32nds": 3}, 8),
    ("SMAW", {"electrode_32nds": 5}, 10),
    ("GMAW_FCAW", {"current_a": 60}, 10),
    ("GMAW_FCAW", {"current_a": 500}, 10),
    ("GTAW", {"current_a": 150}, 10),
    ("AIR_CARBON_ARC_CUTTING", {"current_a": 500}, 11),
    ("PLASMA_ARC_WELDING", {"current_a": 20}, 8),
    ("PLASMA_ARC_WELDING", {"current_a": 100}, 10),
    ("PLASMA_ARC_WELDING", {"current_a": 400}, 11),
    ("PLASMA_ARC_CUTTING", {"current_a": 300}, 9),
    ("PLASMA_ARC_CUTTING", {"current_a": 400}, 10),
    ("GAS_WELDING", {"plate_in": 0.125}, 5),
    ("OXYGEN_CUTTING", {"plate_in": 1}, 4),
]

# The printed table says "more than 8", "over 1/2" and "over 6": there the darker row is one step on the safe side.
SAFE_SIDE: list[tuple[str, dict[str, float], float]] = [
    ("SMAW", {"electrode_32nds": 8}, 11),
    ("GAS_WELDING", {"plate_in": 0.5}, 6),
    ("OXYGEN_CUTTING", {"plate_in": 6}, 5),
]


@pytest.mark.parametrize(("row_id", "operation", "figures", "shade"), ROWS)
def test_table_row_by_row(row_id: str, operation: str, figures: dict[str, float], shade: float) -> None:
    """29 CFR 1910.133(a)(5): a figure inside the row gives the row's shade, by that row."""
    assert minimum_shade(operation, **figures, table=TABLE) == shade
    assert deciding_row(operation, **figures, table=TABLE).row_id == row_id


def test_no_row_is_left_out() -> None:
    """The checks above reach every row of the file, and each row was checked against its source."""
    assert {row.row_id for row in TABLE.rows} == {row_id for row_id, *_ in ROWS}
    assert {row.checked for row in TABLE.rows} == {"verified"}
    assert all(row.source.startswith("29 CFR 1910.133(a)(5)") for row in TABLE.rows)


@pytest.mark.parametrize(("operation", "figures", "shade"), EDGES + SAFE_SIDE)
def test_shared_edge_takes_the_darker(operation: str, figures: dict[str, float], shade: float) -> None:
    """A figure that stands on the edge of two rows gets the darker shade; the last edge still belongs."""
    assert minimum_shade(operation, **figures, table=TABLE) == shade


@pytest.mark.parametrize(
    ("electrode", "current", "shade"), [(2, 200, 10), (6, 50, 10), (4, 100, 8), (9, 100, 11), (2, 60, 8)]
)
def test_size_and_current_apart_take_the_darker(electrode: float, current: float, shade: float) -> None:
    """Where electrode size and current point to different rows the darker decides."""
    assert minimum_shade("SMAW", current, electrode, table=TABLE) == shade


def test_figures_that_a_row_does_not_ask_for_decide_nothing() -> None:
    """An electrode size changes nothing for gas-shielded welding, a current nothing for a torch."""
    assert minimum_shade("GTAW", 40, 20, table=TABLE) == 8
    assert minimum_shade("TORCH_BRAZING", 500, table=TABLE) == 3


REFUSED: list[tuple[str, dict[str, Any], str]] = [
    ("LASER_WELDING", {"current_a": 100}, "not in the shade table"),
    ("smaw", {"current_a": 100}, "not in the shade table"),
    ("SMAW", {}, "electrode size or current, which is not given"),
    ("GTAW", {"electrode_32nds": 4}, "current, which is not given"),
    ("GAS_WELDING", {"current_a": 4}, "plate thickness, which is not given"),
    ("SMAW", {"current_a": 551}, "outside the shade table"),
    ("SMAW", {"current_a": 551, "electrode_32nds": 4}, "outside the shade table"),
    ("GMAW_FCAW", {"current_a": 500.5}, "outside the shade table"),
    ("GTAW", {"current_a": 501}, "outside the shade table"),
    ("AIR_CARBON_ARC_CUTTING", {"current_a": 1001}, "outside the shade table"),
    ("PLASMA_ARC_WELDING", {"current_a": 801}, "outside the shade table"),
    ("GTAW", {"current_a": 0}, "above zero"),
    ("GTAW", {"current_a": -5}, "above zero"),
    ("GTAW", {"current_a": float("nan")}, "above zero"),
    ("GTAW", {"current_a": float("inf")}, "above zero"),
    ("GTAW", {"current_a": "100"}, "above zero"),
    ("GTAW", {"current_a": 100, "electrode_32nds": -1}, "above zero"),
    ("OXYGEN_CUTTING", {"plate_in": 0}, "above zero"),
]


@pytest.mark.parametrize(("operation", "figures", "reason"), REFUSED)
def test_outside_the_table_is_refused(operation: str, figures: dict[str, Any], reason: str) -> None:
    """What the table does not answer raises ValueError instead of a guess."""
    with pytest.raises(ValueError, match=reason):
        minimum_shade(operation, **figures, table=TABLE)


currents = st.floats(0.1, 500)
sizes = st.floats(0.1, 20)


@given(st.sampled_from(["SMAW", "GMAW_FCAW", "GTAW", "PLASMA_ARC_WELDING", "PLASMA_ARC_CUTTING"]), currents, currents)
def test_more_current_is_never_lighter(operation: str, one: float, other: float) -> None:
    """The shade grows with the current."""
    low, high = sorted((one, other))
    assert minimum_shade(operation, low, table=TABLE) <= minimum_shade(operation, high, table=TABLE)


@given(currents, sizes)
def test_one_figure_more_is_never_lighter(current: float, size: float) -> None:
    """Size and current together give the darker of the two alone, which is one of the rows' shades."""
    alone = minimum_shade("SMAW", current, table=TABLE), minimum_shade("SMAW", None, size, table=TABLE)
    assert minimum_shade("SMAW", current, size, table=TABLE) == max(alone)
    assert max(alone) in {row.minimum_shade for row in TABLE.of("SMAW")}


def changed(column: str, value: str, row: int = 0) -> str:
    """The shipped table with one cell changed."""
    rows = list(csv.DictReader(io.StringIO(TEXT)))
    rows[row][column] = value
    text = io.StringIO()
    writer = csv.DictWriter(text, list(rows[0]))
    writer.writeheader()
    writer.writerows(rows)
    return text.getvalue()


FAULTS: list[tuple[str, str]] = [
    (changed("minimum_shade", ""), "line 2, minimum_shade: '' is not a number"),
    (changed("minimum_shade", "seven"), "line 2, minimum_shade: 'seven' is not a number"),
    (changed("minimum_shade", "16"), "line 2, minimum_shade: 16 is not a shade"),
    (changed("minimum_shade", "0"), "line 2, minimum_shade: 0 is not a shade"),
    (changed("current_a_max", "6O", 1), "line 3, current_a_max: '6O' is not a number"),
    (changed("current_a_max", "nan"), "line 2, current_a_max"),
    (changed("current_a_min", "-1"), "line 2, current_a_min"),
    (changed("current_a_min", "60"), "line 2, current_a_max: 60 is not above 60"),
    (changed("current_a_min", ""), "line 2, current_a_min: it is empty"),
    (changed("source", ""), "line 2, source: it is empty"),
    (changed("operation", " "), "line 2, operation: it is empty"),
    (changed("row_id", "sh02"), "row sh02: it stands there twice"),
    (changed("plate_in_min", "1"), "row sh02: the rows of SMAW ask for different figures"),
    ("", "lacks the column row_id"),
    (TEXT.replace("plate_in_max", "plate_max", 1), "lacks the column plate_in_max"),
    (TEXT.splitlines()[0], "has no rows"),
    (TEXT + "sh30,SMAW\n", "line 31: it has more or fewer cells"),
    (TEXT + 'sh30,"SMAW\n', "unexpected end of data"),
]


@pytest.mark.parametrize(("text", "reason"), FAULTS)
def test_faults_of_a_table_are_named(text: str, reason: str) -> None:
    """A table that does not fit is refused with its line and column."""
    with pytest.raises(ValueError, match=reason):
        read_table(text)


def test_reading_is_forgiving_where_nothing_changes() -> None:
    """A byte order mark, spaces round cells, foreign line ends and columns in another order read the same."""
    rows = list(csv.reader(io.StringIO(TEXT)))
    turned = io.StringIO()
    csv.writer(turned, lineterminator="\r\n").writerows(
        [[f" {cell} " if n else cell for cell in row[::-1]] for n, row in enumerate(rows)]
    )
    assert read_table("\ufeff" + turned.getvalue()) == TABLE
    assert isinstance(TABLE, ShadeTable)
    assert TABLE.operations[0] == "SMAW"
    assert len(TABLE.operations) == 11
