"""How a requisition goes from draft to its end, what may replace an item, and what those rules forbid."""

from __future__ import annotations

from collections.abc import Iterable

from cribdesk.crib.model import UnitModel
from cribdesk.crib.records import RequisitionState
from cribdesk.crib.refusal import NotAllowed

_DRAFT, _SENT, _PART = RequisitionState.DRAFT, RequisitionState.SENT, RequisitionState.PART
_BACK, _CLOSED, _CANCELLED = RequisitionState.BACK_ORDERED, RequisitionState.CLOSED, RequisitionState.CANCELLED

FOLLOWS: dict[RequisitionState, tuple[RequisitionState, ...]] = {
    _DRAFT: (_SENT, _CANCELLED),
    _SENT: (_PART, _BACK, _CLOSED, _CANCELLED),
    _PART: (_BACK, _CLOSED),
    _BACK: (_PART, _CLOSED, _CANCELLED),
    _CLOSED: (_PART,),
    _CANCELLED: (),
}
"""What may come after each state. Out of 'closed' leads only one way: goods sent back that the supplier replaces."""

OPEN = (_SENT, _PART, _BACK)
"""States in which something may still come."""

BY_HAND = (_SENT, _BACK, _CLOSED, _CANCELLED)
"""States that a clerk brings a requisition into; into 'part delivered' only a delivery does."""

WHY = (_BACK, _CANCELLED)
"""Steps that need their reason in words."""


class NoSuchStep(NotAllowed):
    """A step that a requisition cannot take from where it is."""

    def __init__(self, number: int, state: str, to: str, remedy: str = "") -> None:
        super().__init__(f"Requisition {number} is {state}: it cannot become {to}.", remedy)


class NotOpenForGoods(NotAllowed):
    """Goods for a requisition that expects none."""

    def __init__(self, number: int, state: str) -> None:
        super().__init__(f"Requisition {number} is {state}: nothing comes in for it.", "Receive it without one.")


class MoreThanOrdered(NotAllowed):
    """More pieces than the line still expects, and nobody said that they are kept."""

    def __init__(self, item: str, number: int, left: int, came: int) -> None:
        super().__init__(
            f"{came} of {item} came; requisition {number} still expects {left}.",
            "Count again. Say that all of it is kept, or send back what is too much.",
        )


class NoSubstitute(NotAllowed):
    """Another item than the one asked for, where no unit model allows both in one place."""

    def __init__(self, item: str, other: str) -> None:
        super().__init__(
            f"{other} does not replace {item}: no unit model allows both in one position.",
            "Ask the maker of the unit. Only what its model names may be fitted.",
        )


class LineFixed(NotAllowed):
    """A line that can no longer be changed so."""

    def __init__(self, number: int, what: str, why: str) -> None:
        super().__init__(f"Requisition {number}: {what} stays as it is: {why}.", "Cancel it and write another.")


def check_step(number: int, state: RequisitionState, to: RequisitionState, arrived: bool) -> None:
    """Raises NoSuchStep where a requisition in `state` cannot become `to`; `arrived`: something of it came already."""
    if to not in FOLLOWS[state]:
        raise NoSuchStep(number, state.value, to.value)
    if to is _CANCELLED and arrived:
        raise NoSuchStep(number, state.value, to.value, "Some of it came. Close it, or send the goods back first.")


def steps_by_hand(state: RequisitionState, arrived: bool) -> tuple[RequisitionState, ...]:
    """What a clerk may do with it now."""
    return tuple(to for to in BY_HAND if to in FOLLOWS[state] and not (to is _CANCELLED and arrived))


def substitutes(models: Iterable[UnitModel], code: str) -> frozenset[str]:
    """Codes of the items that may replace this one: in every position of every model that names it, both may sit.

    An item that fits two models is replaced only by one that fits both: what lies on the shelf goes into either.
    """
    found: frozenset[str] | None = None
    for model in models:
        for position in model.positions:
            if code in position.items:
                here = frozenset(position.items)
                found = here if found is None else found & here
    return (found or frozenset()) - {code}
