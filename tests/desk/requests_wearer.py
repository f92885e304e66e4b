"""Requests for the wearer: work limits, the look at the seal, a class or a test day; by code."""

from __future__ import annotations

from cribdesk.crib.records import ClearanceKind, Person, Unit, WorkLimit
from cribdesk.desk.work_limits import EndWorkLimit, SetWorkLimit
from tests.desk.requests_common import NOBODY, Fields, Makes, in_days
from tests.desk.scene import Scene, tried_house
from tests.desk.shop import Shop


def limit_somebody(shop: Shop) -> None:
    """One limit that stands, and one that ended."""
    today, person = tried_house().today(shop.moment), shop.record(Person, "Dobrosi").id
    shop.do(SetWorkLimit, person_id=person, code_of_limit="loose-fitting only", given_on=today)
    with shop.store.reading() as reader:
        first = reader.latest(WorkLimit)
    assert first is not None
    shop.do(EndWorkLimit, work_limit_id=first.id)
    shop.do(SetWorkLimit, person_id=person, code_of_limit="hours at most 4", given_on=today)


def _set(scene: Scene) -> list[Fields]:
    good = {"person_id": scene.id(Person, scene.wearer), "given_on": in_days(scene, 0)}
    codes = ("loose-fitting only", "hours at most 2", "hours at most 99", "dust makes them cough", "not above 30 C")
    found = [good | {"code_of_limit": code} for code in codes]
    again = {"person_id": scene.id(Person, "Dobrosi"), "code_of_limit": "hours at most 4"}
    return [
        *found,
        good | again,
        found[0] | {"given_on": in_days(scene, 1)},
        found[0] | {"person_id": NOBODY},
    ]


def _end(scene: Scene) -> list[Fields]:
    return [{"work_limit_id": one.id} for one in scene.find(WorkLimit)] + [{"work_limit_id": NOBODY}]


def _look(scene: Scene) -> list[Fields]:
    good = {"person_id": scene.id(Person, scene.wearer), "unit_id": scene.unit.id}
    tight = good | {"unit_id": scene.id(Unit, "ff-1")}
    return [good, tight, tight | {"hair": True}, tight | {"under_seal": True}, tight | {"person_id": NOBODY}]


def _many(scene: Scene) -> list[Fields]:
    one, two = scene.id(Person, scene.wearer), scene.id(Person, "Nkemba")
    training = {"kind": ClearanceKind.TRAINING, "given_on": in_days(scene, 0)}
    fit = {"kind": ClearanceKind.FIT_TEST, "given_on": in_days(scene, 0), "model": "FF1"}
    measured = fit | {"method": "quantitative: ambient aerosol counter"}
    marek = scene.id(Person, "Marek")
    return [
        training | {"rows": ((one, "", None), (two, "", None))},
        training | {"rows": ()},
        training | {"rows": ((one, "", None), (one, "", None))},
        training | {"rows": ((one, "", None), (marek, "", None))},
        training | {"rows": ((one, "", None),), "given_on": in_days(scene, -400)},
        training | {"rows": ((NOBODY, "", None),)},
        measured | {"rows": ((one, "M", 700), (two, "L", 500))},
        measured | {"rows": ((one, "M", 700), (two, "L", 499))},
        measured | {"rows": ((one, "", 700),)},
        fit | {"rows": ((one, "M", None),)},
        training | {"kind": ClearanceKind.MEDICAL, "rows": ((one, "", None),)},
    ]


WEARER: dict[str, Makes] = {
    "set-work-limit": _set,
    "end-work-limit": _end,
    "seal-look": _look,
    "clear-many": _many,
}
