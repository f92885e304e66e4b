"""Choosing by printed numbers: which list waits, and what a number takes from it."""

from __future__ import annotations

from typing import Any

import pytest

from cribdesk.crib.model import HoldReason
from cribdesk.crib.records import RunEnd
from cribdesk.desk.entry_form import EntryField
from cribdesk.desk.picking import picked, waiting_in
from cribdesk.desk.slate import AskForm, BindForm, HoldForm, MoreForm, ReturnForm

REASONS = (HoldReason("airflow", "Airflow too low", "bench inspection"), HoldReason("tube", "Tube", "bench inspection"))


def back(**values: Any) -> ReturnForm:
    """A return with a pack, two speeds and two faults."""
    fields = {"custody_id": 1, "unit_id": 1, "unit_label": "U0000016", "holder": "Abel", "worn_hours": 7.0}
    return ReturnForm(
        **fields, proposed_words="", speeds=("low", "high"), battery_label="B000001X", reasons=REASONS, **values
    )  # type: ignore[arg-type]


def test_the_lists_of_a_return_wait_one_after_the_other() -> None:
    """Each list that was answered gives way to the next; a fault is asked last, and which only where there is one."""
    said: dict[str, Any] = {}
    seen = []
    for name, value in (
        ("speed", "low"), ("alarms", "none"), ("battery_back", True), ("battery_end", RunEnd.FLAT), ("any_fault", True),
    ):  # fmt: skip
        waiting = waiting_in(back(**said))
        assert waiting is not None
        seen.append(waiting.field)
        said[name] = value
    assert seen == ["speed", "alarms", "battery_back", "battery_end", "any_fault"]
    assert waiting_in(back(**said)).field == "fault"  # type: ignore[union-attr]
    assert picked(back(**said), "pick-2")[1] == "tube"  # type: ignore[index]


def test_a_list_that_was_answered_can_be_answered_otherwise() -> None:
    """Where nothing waits any more a number takes from the first list again."""
    form = HoldForm(1, "U0000016", REASONS, reason="tube")
    assert picked(form, "pick-1")[1] == "airflow"  # type: ignore[index]


def test_more_takes_only_what_can_be_chosen() -> None:
    """A command that cannot be yet has no number."""
    form = MoreForm((("exchange", "Exchange it", ""), ("assign", "Assign", "Scan a pack."), ("missing", "Missing", "")))
    assert picked(form, "pick-2")[1] == "missing"  # type: ignore[index]


def test_fields_of_a_matter_wait_in_their_order() -> None:
    """Choices and yes-or-no wait, text does not."""
    fields = (
        EntryField("note", "Note"),
        EntryField("end", "How it ended", "choice", choices=(("flat", "ran flat"), ("alarm", "alarm"))),
        EntryField("stays", "It stays", "yes-no"),
    )
    form = AskForm("swap-battery", "Swap", fields=fields)
    assert waiting_in(form).field == "end"  # type: ignore[union-attr]
    answered = AskForm("swap-battery", "Swap", fields=fields, values=(("end", "flat"),))
    assert picked(answered, "pick-2")[1] == "no"  # type: ignore[index]


@pytest.mark.parametrize("form", [None, BindForm("text"), HoldForm(1, "U0000016", REASONS)])
def test_a_number_beyond_the_list_takes_nothing(form: Any) -> None:
    """No form, a form without a list, and a list that is shorter."""
    assert picked(form, "pick-3") is None
