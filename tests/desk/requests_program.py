"""Requests for the program as a whole: evaluations, what is done about a finding, the register of use; by code."""

from __future__ import annotations

from cribdesk.crib.records import Person, ProgramEvaluation
from cribdesk.desk.program import LOOKED_AT, RecordEvaluation
from cribdesk.desk.use_register import EVERYTHING
from tests.desk.requests_common import NOBODY, Fields, Makes, in_days
from tests.desk.scene import Scene, tried_house
from tests.desk.shop import Shop


def evaluate(shop: Shop) -> None:
    """One finding that waits, and one that is set right."""
    today = tried_house().today(shop.moment)
    for fix, fixed_on in (("", None), ("Bags were bought", today)):
        shop.do(
            RecordEvaluation, made_on=today, what=LOOKED_AT[3], finding="No bags in bay 3", fix=fix, fixed_on=fixed_on
        )


def _evaluation(scene: Scene) -> list[Fields]:
    good = {"made_on": in_days(scene, -1), "what": LOOKED_AT[0], "finding": "Two found it tight"}
    return [
        good,
        good | {"fix": "Other headband", "fixed_on": in_days(scene, 0)},
        good | {"made_on": in_days(scene, 1)},
        good | {"finding": " "},
        good | {"fixed_on": in_days(scene, 0)},
        good | {"fix": "Other headband", "fixed_on": in_days(scene, -2)},
        good | {"fix": "Other headband", "fixed_on": in_days(scene, 1)},
    ]


def _fix(scene: Scene) -> list[Fields]:
    """What waits, what is done already, what is not there; a plan, and a day to come."""
    today = in_days(scene, 0)
    ids = [one.id for one in scene.find(ProgramEvaluation)]
    done = [{"evaluation_id": one, "fix": "Bags", "fixed_on": today} for one in (*ids, NOBODY)]
    plan = {"evaluation_id": ids[0], "fix": "Bags"}
    return [*done, plan, plan | {"fix": ""}, plan | {"fixed_on": in_days(scene, 1)}]


def _register(scene: Scene) -> list[Fields]:
    last, first = in_days(scene, 0), in_days(scene, -30)
    wearer = scene.shop.record(Person, scene.wearer).label
    labels = (EVERYTHING, wearer, scene.unit.label, "U999999", "")
    asked = [{"of": of, "first": first, "last": last} for of in labels]
    return [*asked, {"of": EVERYTHING, "first": last, "last": first}, {"of": wearer, "first": in_days(scene, 2),
                                                                      "last": in_days(scene, 3)}]  # fmt: skip


PROGRAM: dict[str, Makes] = {"evaluation": _evaluation, "fix-finding": _fix, "register": _register}
