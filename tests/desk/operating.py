"""Short ways through an issue and a return for the tests of operations."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

from cribdesk.crib.reasons import cautions, reasons
from cribdesk.crib.records import Area, Battery, Custody, Person, Unit
from cribdesk.desk.facts import IssueIds, facts_of
from cribdesk.desk.issue import IssueUnit
from cribdesk.desk.receipt import Receipt
from cribdesk.procedure.answers import NotGood, RemedyNotPossible
from cribdesk.procedure.run import Run, answer, page, start
from tests.desk.shop import Shop, house, passed


def issue_fields(
    shop: Shop, unit_name: str, person_name: str, pack_name: str, kind: str = "hand-over"
) -> dict[str, Any]:
    """What an issue asks for, the check passed and every caution shown."""
    unit, person = shop.record(Unit, unit_name), shop.record(Person, person_name)
    pack, area = shop.record(Battery, pack_name), shop.record(Area, "bay-3")
    due = house().turn(shop.moment).end
    ids = IssueIds(unit.id, person.id, pack.id, area.id, due)
    with shop.store.reading() as reader:
        found = reasons(facts_of(reader, house(), ids, shop.moment), shop.moment)
    return {
        "unit_id": unit.id,
        "person_id": person.id,
        "battery_id": pack.id,
        "area_id": area.id,
        "due_at": due,
        "run_made": passed(unit, kind, shop.moment, shop.clerk_label, shop.names["meter"]),
        "shown": tuple(one.key for one in cautions(found)),
    }


def hand_out(shop: Shop, unit_name: str, person_name: str, pack_name: str) -> Receipt:
    """An issue of a unit that was inspected this shift."""
    return shop.do(IssueUnit, **issue_fields(shop, unit_name, person_name, pack_name))


def custody_of(shop: Shop, unit_name: str) -> Custody:
    """The unit's newest custody."""
    unit = shop.record(Unit, unit_name)
    with shop.store.reading() as reader:
        found = reader.latest(Custody, unit_id=unit.id)
    assert found is not None
    return found


def failed(unit: Unit, kind: str, moment: datetime, by: str) -> Run:
    """A run that fails at its first look: it is not good and nothing helps."""
    model = house().models[unit.model]
    procedure = house().procedure_of(model, kind)
    assert procedure is not None
    run = start(procedure, model, moment, by)
    while run.verdict is None:
        shown = page(run)
        run = answer(run, RemedyNotPossible() if shown.kind == "remedy" else NotGood(), moment, 1.0)
    assert run.verdict == "fail"
    return run


def later(shop: Shop, hours: float) -> None:
    """Time goes by."""
    shop.moment += timedelta(hours=hours)
