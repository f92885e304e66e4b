"""For every operation the requests that are tried from every state: by its code, a few that differ in what matters.

An operation without a row here fails the test: whoever adds one says what it may be asked.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

from cribdesk.crib.hold import reasons_of
from cribdesk.crib.records import (
    Area,
    Battery,
    BatteryPlace,
    Cabinet,
    CallIn,
    Charger,
    ChargerSlot,
    Clearance,
    ClearanceKind,
    Custody,
    HandOut,
    Hold,
    Instrument,
    Lot,
    Notice,
    NoticeKind,
    Part,
    PartsSet,
    Person,
    Role,
    RunEnd,
    Slip,
    StockItem,
    Supplier,
    Unit,
    WasteBag,
    Where,
)
from cribdesk.crib.reference import DAILY
from cribdesk.desk.meter_check import reference_of
from cribdesk.procedure.answers import Measured
from cribdesk.procedure.run import answer, break_off, start
from tests.desk.every_state import Scene, tried_house
from tests.desk.shop import good_answer

Fields = dict[str, Any]
Makes = Callable[[Scene], list[Fields]]

NOBODY = 987654
"""An id that no record has."""


def _issue(scene: Scene) -> list[Fields]:
    """To its own wearer and to others, with its pack and another, after each check, cautions seen or not."""
    own, pack = scene.wearer, scene.pack
    wanted = [
        (own, pack, "hand-over", True), (own, pack, "pre-use", True), (own, "pack-2", "pre-use", True),
        ("Nkemba", pack, "pre-use", True), ("Nkemba", "pack-2", "hand-over", True), ("Nkemba", pack, "pre-use", False),
        ("Halvorsen", "pack-2", "pre-use", True), ("Dobrosi", "pack-2", "pre-use", True),
        ("Marek", "pack-2", "pre-use", True), (own, "pack-ff", "pre-use", True),
        (own, pack, "pre-use", True, True), ("Nkemba", "pack-2", "hand-over", True, True),
    ]  # fmt: skip
    found = [scene.issue_fields(*one) for one in wanted]
    found.append(found[3] | {"run_made": scene.run("pre-use", "fail")})
    found.append(found[3] | {"run_made": scene.run("pre-use", meter="meter-old")})
    found.append(found[3] | {"battery_id": None})
    carrier = scene.id(Person, "Nkemba")
    found += [found[0] | {"carrier_id": carrier}, found[10] | {"carrier_id": carrier}, found[10] | {"assigned": False}]
    return found


def _take_back(scene: Scene) -> list[Fields]:
    return [{"unit_id": scene.unit.id}, {"unit_id": NOBODY}]


def _complete(scene: Scene) -> list[Fields]:
    custody = scene.latest(Custody, unit_id=scene.unit.id)
    id = custody.id if custody else NOBODY
    return [
        {"custody_id": id, "worn_hours": 1.0, "battery_back": True, "battery_end": RunEnd.FLAT},
        {"custody_id": id, "worn_hours": 0.0, "battery_back": False},
        {"custody_id": id, "worn_hours": 1.2, "battery_back": True, "fault": "head", "damage": "cracked"},
        {"custody_id": id, "worn_hours": 1.2, "battery_back": True, "fault": "battery", "damage": "hot"},
        {"custody_id": id, "worn_hours": 700.0},
    ]


def _hold(scene: Scene) -> list[Fields]:
    model = tried_house().models[scene.unit.model]
    by_proof = {reason.proof: reason.code for reason in reasons_of(model)}
    codes = ("head", *by_proof.values(), "no such reason")
    found = [{"unit_id": scene.unit.id, "reason": code, "detail": "seen"} for code in dict.fromkeys(codes)]
    return [*found, {"unit_id": scene.unit.id, "reason": "other", "detail": " "}]


def _release(scene: Scene) -> list[Fields]:
    holds = scene.find(Hold, unit_id=scene.unit.id) or [None]
    return [
        {"hold_id": one.id if one else NOBODY, "word": word} for one in holds for word in ("", "looked at")
    ]


def _inspect(scene: Scene) -> list[Fields]:
    unit = scene.unit
    kinds = list(tried_house().models[unit.model].procedures)
    runs = [scene.run(kind) for kind in kinds if kind != "cleaning"]
    runs += [scene.run("bench", "fail"), scene.run("bench", meter="meter-old"), scene.run("return-look", "fail")]
    model = tried_house().models[unit.model]
    procedure = tried_house().procedure_of(model, "bench")
    assert procedure is not None
    begun = start(procedure, model, scene.shop.moment, scene.shop.clerk_label)
    runs += [begun, break_off(begun, scene.shop.moment, "called away")]
    return [{"unit_id": unit.id, "run_made": run} for run in runs]


def _clean(scene: Scene) -> list[Fields]:
    id, other = scene.unit.id, scene.id(Unit, "wl-2")
    good, bad = scene.run("cleaning"), scene.run("cleaning", "fail")
    return [
        {"unit_ids": (id,), "run_made": good}, {"unit_ids": (id, other), "run_made": good},
        {"unit_ids": (id,), "run_made": bad}, {"unit_ids": (), "run_made": good},
        {"unit_ids": (id,), "run_made": scene.run("bench")},
    ]  # fmt: skip


def _change(scene: Scene) -> list[Fields]:
    shop, unit = scene.shop, scene.unit
    found = []
    for position, code in (("pre-filter", "WL1-PREFILTER"), ("seal", "WL1-FACESEAL"), ("seal", "WL1-PREFILTER")):
        item = shop.record(StockItem, code)
        found.append({"unit_id": unit.id, "position": position, "item_id": item.id, "lot_id": shop.lot(item).id})
    blower = shop.record(StockItem, "WL1-BLOWER")
    part = shop.record(Part, "blower-1")
    labelled = {"unit_id": unit.id, "position": "blower", "item_id": blower.id}
    found += [labelled | {"part_id": part.id, "old_fault": "noisy"}, labelled]
    return [one | {"why": "tried"} for one in found]


def _move(scene: Scene) -> list[Fields]:
    moves = [{"unit_id": scene.unit.id, "where": where, "why": "worn out"} for where in Where]
    return [*moves, {"unit_id": scene.unit.id, "where": Where.SCRAPPED}]


def _slip(scene: Scene) -> list[Fields]:
    ids = {"unit_id": scene.unit.id, "person_id": scene.id(Person, scene.wearer)}
    return [ids | {"battery_id": scene.id(Battery, scene.pack)}, ids | {"person_id": NOBODY}]


def _unfinished(scene: Scene) -> list[Fields]:
    return [{"unit_id": scene.unit.id, "procedure": "welding-papr-bench", "step": "Seal"}]


def _batteries(scene: Scene) -> list[int]:
    return [scene.id(Battery, scene.pack), scene.id(Battery, "pack-2")]


def _start_charge(scene: Scene) -> list[Fields]:
    slots = scene.find(ChargerSlot)
    return [
        {"battery_id": battery, "slot_id": slot}
        for battery in _batteries(scene)
        for slot in (None, slots[0].id, slots[-1].id)
    ]


def _end_charge(scene: Scene) -> list[Fields]:
    return [{"battery_id": one} for one in _batteries(scene)]


def _put_battery(scene: Scene) -> list[Fields]:
    pairs = [(scene.unit.id, one) for one in (*_batteries(scene), scene.id(Battery, "pack-ff"))]
    pairs.append((scene.id(Unit, "wl-2"), _batteries(scene)[0]))
    return [{"unit_id": unit, "battery_id": battery} for unit, battery in pairs]


def _retire(scene: Scene) -> list[Fields]:
    battery = _batteries(scene)[0]
    return [{"battery_id": battery, "place": place, "why": "tried"} for place in BatteryPlace]


def _first_item(scene: Scene) -> int:
    return scene.id(StockItem, "WL1-PREFILTER")


def _lots(scene: Scene) -> list[int]:
    """The pre-filter's first lot and its newest: the one that states are made with, where they are."""
    found = [one.id for one in scene.find(Lot, item_id=_first_item(scene))]
    return [found[0], found[-1]]


def _add_unit(scene: Scene) -> list[Fields]:
    shop, parts = scene.shop, []
    for position in tried_house().models["WL1"].positions:
        item = shop.record(StockItem, position.items[0])
        parts.append((position.code, item.id, shop.lot(item).id, None))
    whole = {"model": "WL1", "serial": "tried", "parts": tuple(parts)}
    twice = tuple(parts + parts[:1])
    return [whole, whole | {"parts": ()}, whole | {"parts": twice}, whole | {"model": "no such"}]


def _add_part(scene: Scene) -> list[Fields]:
    item = scene.shop.record(StockItem, "WL1-BLOWER")
    return [
        {"item_id": item.id, "lot_id": scene.shop.lot(item).id, "serial": "7"},
        {"item_id": item.id, "lot_id": _lots(scene)[0]},
    ]


def _change_person(scene: Scene) -> list[Fields]:
    """The holder leaves; somebody's last day; the last administrator."""
    found = [
        {"person_id": scene.id(Person, scene.wearer), "full_name": "Łucja Wronecka", "active": False},
        {"person_id": scene.id(Person, scene.wearer), "full_name": "Łucja Wronecka", "ends_on": date(2026, 11, 25)},
        {"person_id": NOBODY, "full_name": "Nobody"},
    ]
    return [*found, {"person_id": scene.id(Person, scene.wearer), "full_name": " "}]


def _clearance(scene: Scene) -> list[Fields]:
    person, today = scene.id(Person, scene.wearer), tried_house().today(scene.shop.moment)
    return [
        {"person_id": person, "kind": ClearanceKind.MEDICAL, "given_on": today, "cleared": False},
        {"person_id": person, "kind": ClearanceKind.TRAINING, "given_on": today},
        {"person_id": person, "kind": ClearanceKind.FIT_TEST, "given_on": today, "model": "no such"},
        {"person_id": person, "kind": ClearanceKind.TRAINING, "given_on": today + timedelta(days=1)},
    ]


def _replace_label(scene: Scene) -> list[Fields]:
    shop = scene.shop
    slip = scene.latest(Slip)
    labels = [scene.unit.label, shop.names[scene.pack], shop.names[scene.wearer], slip.label if slip else "S"]
    return [{"label": one} for one in labels]


def _bind(scene: Scene) -> list[Fields]:
    return [{"text": "etched 4711", "label": scene.unit.label}, {"text": "", "label": scene.unit.label}]


def _instrument(scene: Scene) -> list[Fields]:
    fields = {"instrument_name": "Third", "serial": "3", "uncertainty_lpm": 3.0, "calibrated_on": date(2026, 1, 2)}
    ends = date(2027, 1, 2)
    return [fields | {"calibrated_until": ends}, fields | {"calibrated_until": date(2025, 1, 2)}]


def _calibrate(scene: Scene) -> list[Fields]:
    """Found right; found 9 L/min wrong; dates that cannot be."""
    meter, today = scene.id(Instrument, "meter"), tried_house().today(scene.shop.moment)
    good = {"instrument_id": meter, "made_on": today, "good_until": today + timedelta(days=365)}
    return [good, good | {"found_error_lpm": 9.0}, good | {"good_until": today - timedelta(days=1)}]


def _settings(scene: Scene) -> list[Fields]:
    return [
        {"setting": "hours_a_day", "value": "6"}, {"setting": "hours_a_day", "value": "many"},
        {"setting": "no such", "value": "1"},
    ]  # fmt: skip


def _prints(scene: Scene) -> list[Fields]:
    return [{"paper": "tag", "of": scene.unit.label}, {"paper": "tag", "of": scene.unit.label, "failed": "no paper"}]


def _receive(scene: Scene) -> list[Fields]:
    item, today = _first_item(scene), tried_house().today(scene.shop.moment)
    return [
        {"item_id": item, "lot_code": "NEW", "quantity": 4}, {"item_id": item, "lot_code": "NEW", "quantity": 0},
        {"item_id": item, "lot_code": "NEW", "quantity": 4, "expires_on": today - timedelta(days=1)},
    ]  # fmt: skip


def _requisition(scene: Scene) -> list[Fields]:
    supplier, item = scene.first(Supplier), _first_item(scene)
    id = supplier.id if supplier else NOBODY
    return [{"supplier_id": id, "lines": ((item, 3, 100),)}, {"supplier_id": id, "lines": ()}]


def _count(scene: Scene) -> list[Fields]:
    return [
        {"lot_id": lot, "counted": counted, "why": why}
        for lot in _lots(scene) for counted, why in ((0, "gone"), (0, ""), (-1, "gone"))
    ]  # fmt: skip


def _block(scene: Scene) -> list[Fields]:
    return [{"lot_id": lot, "why": why} for lot in (*_lots(scene), NOBODY) for why in ("recalled", "")]


def _charger(scene: Scene) -> list[Fields]:
    return [{"charger_name": "B"}, {"charger_name": scene.latest(Charger).name}]


def _in(scene: Scene, days: int) -> date:
    return tried_house().today(scene.shop.moment) + timedelta(days=days)


def _add_cabinet(scene: Scene) -> list[Fields]:
    good = {"cabinet_name": "Tried", "cabinet_place": "Gate 2", "purpose": "leaving bay 3 in smoke"}
    return [good | {"for_danger": False}, good | {"for_danger": True}]


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
    good = {"document": "letter", "dated_on": _in(scene, -30), "seen_on": _in(scene, 0)}
    ours = scene.first(Clearance, person_id=scene.id(Person, scene.wearer))
    theirs = scene.first(Clearance, person_id=scene.id(Person, "Contractor"))
    return [good | {"clearance_id": one.id} for one in (ours, theirs)]


def _one_person(scene: Scene) -> list[Fields]:
    return [{"person_id": one} for one in (scene.id(Person, scene.wearer), scene.id(Person, "Contractor"), NOBODY)]


def _send_out(scene: Scene) -> list[Fields]:
    good = {
        "unit_id": scene.unit.id, "goes_to": "Weir Works", "wrong": "hums", "cleaned_by": "Castel",
        "cleaned_how": "wiped", "cleaned_on": _in(scene, 0), "due_on": _in(scene, 9),
    }  # fmt: skip
    return [good, good | {"cleaned_how": ""}, good | {"due_on": _in(scene, -9)}, good | {"cleaned_on": _in(scene, 1)}]


def _lend(scene: Scene) -> list[Fields]:
    good = {"unit_id": scene.unit.id, "goes_to": "Quay crib", "due_on": _in(scene, 9)}
    return [good, good | {"goes_to": ""}, good | {"due_on": _in(scene, -1)}]


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
    item, other = _first_item(scene), scene.id(StockItem, "WL1-COVER-OUT")
    named = {"set_name": "Tried"}
    return [named | {"lines": ((other, 1),)}, named | {"lines": ()}, named | {"lines": ((item, 0),)}]


def _change_sets(scene: Scene) -> list[Fields]:
    return [one | {"set_id": id} for one in _sets(scene) for id in (scene.latest(PartsSet).id, NOBODY)]


def _limit(scene: Scene) -> list[Fields]:
    return [{"item_id": _first_item(scene), "per_week": many} for many in (3, 0, -1)]


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
    bad = {"bad_day": _in(scene, 0), "alarm_good": False}
    return [who | {"good_days": (_in(scene, 0),)}, who | bad, who | {"good_days": (_in(scene, 1),)}, who]


def _bags(scene: Scene) -> list[int]:
    return [*(one.id for one in scene.find(WasteBag)), NOBODY]


def _bag_waste(scene: Scene) -> list[Fields]:
    """Into the open bag and the closed one; nothing, and of a unit."""
    good = [{"bag_id": one, "what": "pre-filter", "quantity": 2, "unit_id": scene.unit.id} for one in _bags(scene)]
    return [*good, good[0] | {"quantity": 0}, good[0] | {"what": " "}, good[0] | {"unit_id": None}]


def _close_bag(scene: Scene) -> list[Fields]:
    return [{"bag_id": one, "drum": drum} for one in _bags(scene) for drum in ("D1", "")]


def _names(field: str, **more: Any) -> Makes:
    """A good name, and none."""
    return lambda scene: [{field: "Tried", **more}, {field: " ", **more}]


def _as_is(*requests: Fields) -> Makes:
    return lambda scene: list(requests)


REQUESTS: dict[str, Makes] = {
    "issue": _issue,
    "return": _take_back,
    "complete-return": _complete,
    "hold": _hold,
    "release": _release,
    "inspect": _inspect,
    "hold-unfinished": _unfinished,
    "clean": _clean,
    "change-part": _change,
    "move-unit": _move,
    "prepare-slip": _slip,
    "start-charge": _start_charge,
    "end-charge": _end_charge,
    "put-battery": _put_battery,
    "retire-battery": _retire,
    "change-person": _change_person,
    "add-clearance": _clearance,
    "replace-label": _replace_label,
    "bind-label": _bind,
    "block-lot": _block,
    "count-lot": _count,
    "calibrate": _calibrate,
    "set-setting": _settings,
    "add-unit": _add_unit,
    "add-part": _add_part,
    "receive-lot": _receive,
    "send-requisition": _requisition,
    "add-instrument": _instrument,
    "print": _prints,
    "add-cabinet": _add_cabinet,
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
    "open-bag": _names("stream"),
    "bag-waste": _bag_waste,
    "close-bag": _close_bag,
    "add-area": _names("area_name"),
    "add-charger": _charger,
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

NEVER_REFUSED = {"sign-on", "sign-off", "print", "add-bin"}
"""What stands open to any clerk, whatever the state: the tries of these all lead on."""
NEVER_HERE = {"first-start", "send-requisition"}
"""Refused from every state of a shop that has its people and no supplier; tried all the same."""
