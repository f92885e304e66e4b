"""The form of a count, opened by itself or out of a change of part that the book has no piece for."""

from __future__ import annotations

from cribdesk.desk.slate import AskForm


def count_form(item_ids: tuple[int, ...], then: str = "", counted: str = "") -> AskForm:
    """Counting these items; `then` is the position whose change goes on after it, `counted` the lots done already."""
    return AskForm(
        "count", "What lies there?", go="Next", cost="a difference is posted with its reason",
        extra=(("items", " ".join(map(str, item_ids))), ("then", then), ("counted", counted)),
    )  # fmt: skip
