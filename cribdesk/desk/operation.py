"""What every operation is: find, decide, write, and an outcome; with the helpers they share."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, fields
from datetime import date, datetime
from enum import Enum
from typing import Any, ClassVar

from cribdesk.crib.entry import canonical, stamp
from cribdesk.crib.records import Person, Record, Role
from cribdesk.crib.refusal import Unknown
from cribdesk.desk.house import House
from cribdesk.desk.ports import R, Records, Work
from cribdesk.procedure.record import to_json
from cribdesk.procedure.run import Run

ANYBODY = tuple(Role)
"""Any role of the crib: a clerk has at least one."""


PERSONAL_FIELDS = frozenset({
    "full_name", "detail", "document", "damage", "note", "said", "answer", "text", "made_by", "wrong", "fault",
    "cleaned_by", "cleaned_how", "cleaned_on",
})  # fmt: skip
"""Fields of requests that end in personal columns. Their digest leaves them out: by a plain digest of all a guess of
an erased name could be tried, which the seals of the rows, each with its own random bytes, do not allow.
"""


@dataclass(frozen=True)
class Context:
    """Where and when an operation runs, and who does it."""

    house: House
    moment: datetime
    counter: str
    clerk: Person


@dataclass(frozen=True)
class Outcome:
    """What an operation says of itself. The sentence names people by label."""

    sentence: str
    subjects: tuple[str, ...]
    papers: tuple[tuple[str, str], ...] = ()
    corrects: int | None = None


@dataclass(frozen=True, kw_only=True)
class Operation:
    """One thing that can be done. `operation_id` was made when the person confirmed."""

    operation_id: str

    code: ClassVar[str] = ""
    words: ClassVar[str] = ""
    may: ClassVar[tuple[Role, ...]] = ANYBODY
    begins: ClassVar[bool] = False  # done by nobody's badge, and only while the store knows no person

    def run(self, work: Work, context: Context) -> Outcome:
        """Find, decide, write. Raises NotAllowed, with nothing changed."""
        raise TypeError(f"{type(self).__name__} says not what it does")


PERSONAL_PLACES = {"accepted": 3}
"""Fields that hold rows, and the place in each row that ends in a personal column: why a caution was accepted."""


def digest(operation: Operation) -> str:
    """The SHA-256 of a request: the same id with another request is told apart by it, but for personal words."""
    plain = {
        one.name: bool(value) if one.name in PERSONAL_FIELDS else _plain(_without_words(one.name, value))
        for one in fields(operation)
        for value in (getattr(operation, one.name),)
    }
    return hashlib.sha256(operation.code.encode() + canonical(plain)).hexdigest()


def fetch(records: Records, kind: type[R], id: int, what: str) -> R:
    """The record of that id, or NotAllowed in plain words."""
    try:
        return records.get(kind, id)
    except LookupError:
        raise Unknown(what) from None


def _without_words(name: str, value: Any) -> object:
    place = PERSONAL_PLACES.get(name)
    if place is None:
        return value
    return [(*row[:place], bool(row[place]), *row[place + 1 :]) for row in value]


def _plain(value: object) -> object:
    if value is None or (isinstance(value, (str, bool, int)) and not isinstance(value, Enum)):
        return value
    if isinstance(value, Enum):
        return str(value.value)
    if isinstance(value, float):
        return repr(value)
    if isinstance(value, datetime):
        return stamp(value)
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, Run):
        return to_json(value)
    if isinstance(value, Record):
        return [type(value).__name__, value.id]
    if isinstance(value, (tuple, list)):
        return [_plain(one) for one in value]
    raise TypeError(f"{type(value).__name__} may not stand in a request")
