"""A site's spreadsheets of sets of parts and cabinets: files, columns, what must hold, and the operation of each."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import Any

from cribdesk.desk.cabinet import AddCabinet
from cribdesk.desk.hand_out import MOST_PIECES, for_the_bench
from cribdesk.desk.house import House
from cribdesk.desk.intake_columns import Fault, Files, Row, Sheets, column
from cribdesk.desk.operation import Operation
from cribdesk.desk.parts_sets import AddPartsSet

SETS, CABINETS = "sets.csv", "cabinets.csv"

CRIB_FILES: Files = {
    SETS: (
        "sets of parts that one scan hands out: a row an item, the same name for all rows of a set",
        (
            column("set*", "as it is called: Lens kit"),
            column("item*", "code from items.csv"),
            column("pieces*", "of that item", "whole", low=1, high=MOST_PIECES),
        ),
    ),
    CABINETS: (
        "cabinets for emergencies or at a point of use; the units in them are put in at the counter, with a new seal",
        (
            column("name*", "as it is called: Gate 2"),
            column("place", "where it stands"),
            column("purpose*", "what its units may be used for, as the written programme names it"),
            column("for_danger*", "may it be used in an IDLH atmosphere, oxygen deficiency or an unknown release?",
                   "yes-no"),
        ),
    ),
}  # fmt: skip
"""Every file with what it holds and its columns."""

SINGLE_ROWS = {SETS: (("set", "item"),), CABINETS: (("name",),)}
"""What may stand in one row of a file only."""


def crib_faults(sheets: Sheets, house: House) -> Iterator[Fault]:
    """Items of a set that are not in items.csv or are the bench's alone; a cabinet named for what kills."""
    items = {row.text("code") for row in sheets["items.csv"]}
    for row in sheets[SETS]:
        code = row.text("item")
        if code and code not in items:
            yield row.fault("item", f"{code} is not in items.csv")
        elif code and for_the_bench(house, code):
            yield row.fault("item", f"{code} is fitted at the bench only; no set holds it")
    for row in sheets[CABINETS]:
        if row.yes("for_danger"):
            words = "no unit of this crib may be used there: 29 CFR 1910.134(d)(2). Ask the program administrator"
            yield row.fault("for_danger", words)


def crib_operation(
    row: Row, rows: Sequence[Row], known: Callable[[str], int]
) -> tuple[type[Operation], dict[str, Any]] | None:
    """The operation of a row; of a set, at its first row, all its rows together. `known` has an item's id by code."""
    if row.file == CABINETS:
        return AddCabinet, {
            "cabinet_name": row.text("name"),
            "cabinet_place": row.text("place"),
            "purpose": row.text("purpose"),
            "for_danger": row.yes("for_danger"),
        }
    same = [one for one in rows if one.text("set").casefold() == row.text("set").casefold()]
    if same[0] is not row:
        return None
    lines = tuple((known(one.text("item")), one.whole("pieces") or 0) for one in same)
    return AddPartsSet, {"set_name": row.text("set"), "lines": lines}
