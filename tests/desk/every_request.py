"""For every operation the requests that are tried from every state: by its code, a few that differ in what matters.

An operation without a row here fails the test: whoever adds one says what it may be asked.
"""

from __future__ import annotations

from typing import Any

from cribdesk.crib.records import Person, Role
from tests.desk.requests_areas import AREAS
from tests.desk.requests_common import NOBODY, Fields, Makes, in_days
from tests.desk.requests_counter import COUNTER
from tests.desk.requests_day import DAY
from tests.desk.requests_program import PROGRAM
from tests.desk.requests_store import STORE
from tests.desk.requests_wearer import WEARER
from tests.desk.scene import Scene


def _names(field: str, **more: Any) -> Makes:
    """A good name, and none."""
    return lambda scene: [{field: "Tried", **more}, {field: " ", **more}]


def _as_is(*requests: Fields) -> Makes:
    return lambda scene: list(requests)


def _erase(scene: Scene) -> list[Fields]:
    """Somebody entered by mistake; whose day is to come; the wearer; nobody."""
    gone, wearer, today = scene.id(Person, "Twice"), scene.id(Person, scene.wearer), in_days(scene, 0)
    days = [(gone, today), (gone, in_days(scene, 1)), (wearer, today), (NOBODY, today)]
    return [{"person_id": person, "left_on": day} for person, day in days]


OFFICE: dict[str, Makes] = {
    "erase-person": _erase,
    "open-bag": _names("stream"),
    "add-area": _names("area_name"),
    "add-battery": _as_is({"battery_model": "WL1-PACK"}, {"battery_model": "no such"}),
    "add-supplier": _names("supplier"),
    "add-bin": _as_is({"bin_code": "Z9"}),
    "add-item": _as_is({"item_code": "TRIED", "item_name": "Tried"}, {"item_code": "WL1-SEAL", "item_name": "",
                                                                      "pack_size": 0}),
    "add-person": _names("full_name", roles=(Role.ATTENDANT,)),
    "sign-on": _as_is({}),
    "sign-off": _as_is({}),
    "first-start": _as_is({"full_name": "Somebody"}),
}  # fmt: skip

REQUESTS = COUNTER | AREAS | DAY | STORE | PROGRAM | WEARER | OFFICE

NEVER_REFUSED = {"sign-on", "sign-off", "print", "add-bin"}
"""What stands open to any clerk, whatever the state: the tries of these all lead on."""
NEVER_HERE = {"first-start"}
"""Refused from every state of a shop that has its people; tried all the same."""
