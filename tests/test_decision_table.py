"""The decision table for developers is the one the data give, and lists every rule."""

from __future__ import annotations

from cribdesk.opening import load_house
from tests.decision_table import generated, parts


def test_the_table_is_the_one_the_data_give() -> None:
    """After a change of a rule: python -m tests.decision_table."""
    assert parts()[1] == generated()


def test_every_rule_stands_in_it() -> None:
    """One row a rule, each with its paragraph in both sets."""
    house, _ = load_house()
    rows = generated().splitlines()[2:]
    assert [row.split("`")[1] for row in rows] == list(house.rule_sets["us_federal"].rules)
    assert all(cell.strip() for row in rows for cell in row.strip("|").split(" | "))
