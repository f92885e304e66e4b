"""The decision table in DEVELOPERS.md, made from the rule sets: `python -m tests.decision_table` writes it anew."""

from __future__ import annotations

from pathlib import Path

from cribdesk.crib.decision_table import decision_table
from cribdesk.opening import load_house

FILE = Path(__file__).parent.parent / "DEVELOPERS.md"
BEGIN, END = "<!-- decision table: begin -->", "<!-- decision table: end -->"


def generated() -> str:
    """The table as the data have it now."""
    house, faults = load_house()
    assert not faults
    return decision_table([house.rule_sets["us_federal"], house.rule_sets["uk"]])


def parts() -> tuple[str, str, str]:
    """What stands before the table, the table, and what stands after it."""
    before, rest = FILE.read_text("utf-8").split(BEGIN)
    table, after = rest.split(END)
    return before, table.strip(), after


if __name__ == "__main__":
    before, _, after = parts()
    FILE.write_text(f"{before}{BEGIN}\n{generated()}\n{END}{after}", "utf-8")
