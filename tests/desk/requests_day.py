"""Requests for what the whole day brought, by code."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from cribdesk.crib.records import (
    Area,
    Battery,
    Cabinet,
    CallIn,
    Clearance,
    Custody,
    HandOut,
    Instrument,
    Notice,
    NoticeKind,
    Part,
    PartsSet,
    Person,
    RunEnd,
    StockItem,
    Unit,
    WasteBag,
)
from cribdesk.crib.reference import DAILY
from cribdesk.desk.meter_check import reference_of
from cribdesk.procedure.answers import Measured
from cribdesk.procedure.run import answer, start
from tests.desk.requests_common import NOBODY, Fields, Makes, first_item, in_days
from tests.desk.scene import Scene, tried_house
from tests.desk.shop import good_answer


def _add_cabinet(scene: Scene) -> list[Fields]:
    good = {"cabinet_name": "Tried", "cabinet_place": "Gate 2", "purpose": "leaving bay 3 in smoke"}
    return [good | {"for_danger": False}, good | {"for_danger": True}]


def _change_cabinet(scene: Scene) -> list[Fields]:
    """Another name, none, out of use while something may lie in it; none that is there."""
    found = []
    for cabinet in scene.find(Cabinet):
        same = {"cabinet_id": cabinet.id, "cabinet_name": cabinet.name, "cabinet_place": "there", "purpose": "leaving"}
        found += [same | {"for_danger": False, **more} for more in ({"cabinet_name": "Quay"}, {"active": False})]
        found.append(same | {"for_danger": True})
    return [*found, {"cabinet_id": NOBODY, "cabinet_name": "x", "cabinet_place": "", "purpose": "x",
                     "for_danger": False}]  # fmt: skip


def _put_in_cabinet(scene: Scene) -> list[Fields]:
    cabinet = scene.latest(Cabinet).id
    good = {"unit_id": scene.unit.id, "cabinet_id": cabinet, "seal": "4712"}
    return [good, good | {"seal": " "}, good | {"cabinet_id": NOBODY}]


def _certify(scene: Scene) -> list[Fields]:
    """On the monthly inspection, where one was made today: that of the unit in the cabinet since the shop was set."""
    ids = (scene.unit.id, scene.id(Unit, "kept"), scene.id(Unit, "wl-3"))
    return [{"unit_id": id, "seal": seal} for id in ids for seal in ("4713", "")]


def _break_seal(scene: Scene) -> list[Fields]:
    return [{"cabinet_id": one, "why": "found open"} for one in (scene.latest(Cabinet).id, NOBODY)]


def _used(scene: Scene) -> list[Fields]:
    return [{"unit_id": scene.unit.id}]


def _evidence(scene: Scene) -> list[Fields]:
    good = {"document": "letter", "dated_on": in_days(scene, -30), "seen_on": in_days(scene, 0)}
    ours = scene.first(Clearance, person_id=scene.id(Person, scene.wearer))
    theirs = scene.first(Clearance, person_id=scene.id(Person, "Contractor"))
    return [good | {"clearance_id": one.id} for one in (ours, theirs)]


def _one_person(scene: Scene) -> list[Fields]:
    return [{"person_id": one} for one in (scene.id(Person, scene.wearer), scene.id(Person, "Contractor"), NOBODY)]


def _send_out(scene: Scene) -> list[Fields]:
    good = {
        "unit_id": scene.unit.id, "goes_to": "Weir Works", "wrong": "hums", "cleaned_by": "Castel",
        "cleaned_how": "wiped", "cleaned_on": in_days(scene, 0), "due_on": in_days(scene, 9),
    }  # fmt: skip
    late = (good | {"due_on": in_days(scene, -9)}, good | {"cleaned_on": in_days(scene, 1)})
    return [good, good | {"cleaned_how": ""}, *late]


def _lend(scene: Scene) -> list[Fields]:
    good = {"unit_id": scene.unit.id, "goes_to": "Quay crib", "due_on": in_days(scene, 9)}
    return [good, good | {"goes_to": ""}, good | {"due_on": in_days(scene, -1)}]


def _missing(scene: Scene) -> list[Fields]:
    return [{"unit_id": scene.unit.id, "stolen": stolen, "said": "its wearer"} for stolen in (False, True)]


def _arrived_there(scene: Scene) -> list[Fields]:
    return [{"unit_id": one, "said": said} for one in (scene.unit.id, scene.id(Unit, "lent")) for said in ("", "Ost")]


def _call_in(scene: Scene) -> list[Fields]:
    held = [one.id for one in scene.find(Custody, returned_at=None)]
    return [{"custody_ids": (one,)} for one in held] + [{"custody_ids": tuple(held)}, {"custody_ids": ()}]


def _end_call_in(scene: Scene) -> list[Fields]:
    return [{"call_in_id": one.id} for one in scene.find(CallIn)]


def _hand_out(scene: Scene) -> list[Fields]:
    """For the unit in its state, for none; fitted or taken along; too many; what only the bench fits."""
    item, tube = scene.id(StockItem, "WL1-COVER-OUT"), scene.id(StockItem, "WL1-TUBE")
    wearer, unit = scene.id(Person, scene.wearer), scene.unit.id
    base = {"person_id": wearer, "lines": ((item, 2),), "unit_id": unit}
    return [
        base, base | {"fitted": True}, base | {"unit_id": None}, base | {"lines": ()}, base | {"lines": ((item, 900),)},
        base | {"lines": ((tube, 1),)}, base | {"person_id": scene.id(Person, "Marek"), "unit_id": None},
    ]  # fmt: skip


def _confirm(scene: Scene) -> list[Fields]:
    return [{"hand_out_id": one.id} for one in scene.find(HandOut)] + [{"hand_out_id": NOBODY}]


def _pre_stage(scene: Scene) -> list[Fields]:
    runs = (scene.run("bench"), scene.run("bench", "fail"), scene.run("pre-use"), scene.run("bench", meter="meter-old"))
    return [{"unit_id": scene.unit.id, "run_made": run} for run in runs]


def _refusal(scene: Scene) -> list[Fields]:
    who = {"person_id": scene.id(Person, scene.wearer), "unit_id": scene.unit.id}
    pairs = ((NoticeKind.REFUSED, ""), (NoticeKind.HAIR, "said so"), (NoticeKind.OTHER, ""), (NoticeKind.METER, "so"))
    return [who | {"kind": kind, "detail": detail} for kind, detail in pairs]


def _see(scene: Scene) -> list[Fields]:
    notice = scene.latest(Notice)
    return [{"notice_id": notice.id, "answer": "talked"}, {"notice_id": notice.id, "answer": ""}]


def _seal_clear(scene: Scene) -> list[Fields]:
    return [{"person_id": scene.id(Person, one)} for one in (scene.wearer, "Dobrosi")]


def _swap_parts(scene: Scene) -> list[Fields]:
    one, other = scene.unit.id, scene.id(Unit, "wl-2")
    pairs = ((one, other), (other, one), (one, one))
    places = ("blower", "seal", "no such")
    return [{"unit_id": a, "other_id": b, "position": place} for a, b in pairs for place in places]


def _rob(scene: Scene) -> list[Fields]:
    """Out of it and into it, of another that is on hold and one that is ready."""
    one = scene.unit.id
    pairs = [(one, scene.id(Unit, "wl-2")), (scene.id(Unit, "dead"), one), (scene.id(Unit, "wl-2"), one), (one, one)]
    return [{"from_id": a, "unit_id": b, "position": place} for a, b in pairs for place in ("blower", "seal")]


def _swap_battery(scene: Scene) -> list[Fields]:
    base = {"unit_id": scene.unit.id, "ended": RunEnd.FLAT, "charge_shown": True}
    pack, spare, flat = (scene.id(Battery, one) for one in (scene.pack, "pack-2", "pack-flat"))
    return [
        base | {"flat_id": pack, "battery_id": spare}, base | {"flat_id": spare, "battery_id": pack},
        base | {"flat_id": pack, "battery_id": flat, "charge_shown": False},
        base | {"flat_id": pack, "battery_id": flat},
        base | {"flat_id": pack, "battery_id": pack}, base | {"flat_id": pack, "battery_id": NOBODY},
    ]  # fmt: skip


def _exchange(scene: Scene) -> list[Fields]:
    pairs = [("head", False), ("head", True), ("battery", False), ("battery", True), ("recall", False), ("no", False)]
    return [{"unit_id": scene.unit.id, "reason": code, "pack_along": along} for code, along in pairs]


def _check_meter(scene: Scene) -> list[Fields]:
    """Good; not good, so that what rests on it is weighed anew; a check of a unit."""
    meter, shop = scene.shop.record(Instrument, "meter"), scene.shop
    reference, procedure = reference_of(tried_house()), tried_house().procedures[DAILY]
    assert reference is not None
    runs = [start(procedure, reference, shop.moment, shop.clerk_label)] * 2
    for number, run in enumerate(runs):
        while run.verdict is None:
            given = good_answer(run, meter.label)
            if number and isinstance(given, Measured):
                given = Measured(given.value - 20, meter.label)
            run = answer(run, given, shop.moment, 2.0)
        runs[number] = run
    return [{"instrument_id": meter.id, "run_made": run} for run in (*runs, scene.run("bench"))]


def _sets(scene: Scene) -> list[Fields]:
    item, other = first_item(scene), scene.id(StockItem, "WL1-COVER-OUT")
    named = {"set_name": "Tried"}
    return [named | {"lines": ((other, 1),)}, named | {"lines": ()}, named | {"lines": ((item, 0),)}]


def _change_sets(scene: Scene) -> list[Fields]:
    return [one | {"set_id": id} for one in _sets(scene) for id in (scene.latest(PartsSet).id, NOBODY)]


def _limit(scene: Scene) -> list[Fields]:
    return [{"item_id": first_item(scene), "per_week": many} for many in (3, 0, -1)]


def _audit(scene: Scene) -> list[Fields]:
    return [{"unit_ids": (scene.unit.id, scene.id(Unit, "wl-2"))}, {"unit_ids": ()}, {"unit_ids": (NOBODY,)}]


def _close_shift(scene: Scene) -> list[Fields]:
    """This shift, handed to another clerk, to who hands it over, to a wearer; one of long ago."""
    start = tried_house().turn(scene.shop.moment).start
    takers = (None, scene.id(Person, "Castel"), scene.shop.clerk_id, scene.id(Person, scene.wearer))
    found: list[Fields] = [{"start": start, "taken_by": one} for one in takers]
    return [*found, {"start": start - timedelta(days=9)}]


def _change_area(scene: Scene) -> list[Fields]:
    """A respirator is asked for there or not: what goes out, or is out, for it is weighed by that."""
    area = scene.id(Area, "bay-3")
    return [{"area_id": area, "area_name": name, "required": need} for name in ("Bay 3", " ") for need in (True, False)]


def _scrap(scene: Scene) -> list[Fields]:
    """Its labelled parts kept, scrapped with their fault, and not spoken of."""
    parts = [one.id for one in scene.find(Part, unit_id=scene.unit.id)]
    fates: list[tuple[Any, ...]] = [
        tuple((one, "keep", "") for one in parts), tuple((one, "scrap", "cracked") for one in parts), (),
        ((NOBODY, "keep", ""),),
    ]  # fmt: skip
    tries = [{"unit_id": scene.unit.id, "why": "worn out", "parts": one} for one in fates]
    return [*tries, tries[0] | {"why": " "}]


def _own_check(scene: Scene) -> list[Fields]:
    who = {"unit_id": scene.unit.id, "person_id": scene.id(Person, scene.wearer)}
    other = who | {"person_id": scene.id(Person, "Nkemba")}
    return [who, who | {"flow_good": False}, who | {"fault": "strap torn"}, other]


def _own_checks(scene: Scene) -> list[Fields]:
    """The slip's grid: today good, today not good, a day still to come, no day."""
    custody = scene.latest(Custody, unit_id=scene.unit.id)
    who = {"custody_id": custody.id if custody else NOBODY}
    bad = {"bad_day": in_days(scene, 0), "alarm_good": False}
    return [who | {"good_days": (in_days(scene, 0),)}, who | bad, who | {"good_days": (in_days(scene, 1),)}, who]


def _bags(scene: Scene) -> list[int]:
    return [*(one.id for one in scene.find(WasteBag)), NOBODY]


def _bag_waste(scene: Scene) -> list[Fields]:
    """Into the open bag and the closed one; nothing, and of a unit."""
    good = [{"bag_id": one, "what": "pre-filter", "quantity": 2, "unit_id": scene.unit.id} for one in _bags(scene)]
    return [*good, good[0] | {"quantity": 0}, good[0] | {"what": " "}, good[0] | {"unit_id": None}]


def _close_bag(scene: Scene) -> list[Fields]:
    return [{"bag_id": one, "drum": drum} for one in _bags(scene) for drum in ("D1", "")]


DAY: dict[str, Makes] = {
    "add-cabinet": _add_cabinet,
    "change-cabinet": _change_cabinet,
    "put-in-cabinet": _put_in_cabinet,
    "certify": _certify,
    "break-seal": _break_seal,
    "used-from-cabinet": _used,
    "add-evidence": _evidence,
    "information-sheet": _one_person,
    "send-out": _send_out,
    "lend": _lend,
    "missing": _missing,
    "found": _used,
    "arrive": _used,
    "arrived-there": _arrived_there,
    "call-in": _call_in,
    "end-call-in": _end_call_in,
    "hand-out": _hand_out,
    "confirm-fitting": _confirm,
    "pre-stage": _pre_stage,
    "refusal": _refusal,
    "see-notice": _see,
    "seal-clear": _seal_clear,
    "swap-parts": _swap_parts,
    "rob-part": _rob,
    "swap-battery": _swap_battery,
    "exchange": _exchange,
    "check-meter": _check_meter,
    "add-parts-set": _sets,
    "change-parts-set": _change_sets,
    "set-hand-out-limit": _limit,
    "rack-audit": _audit,
    "close-shift": _close_shift,
    "change-area": _change_area,
    "scrap-unit": _scrap,
    "own-check": _own_check,
    "own-checks": _own_checks,
    "bag-waste": _bag_waste,
    "close-bag": _close_bag,
}
