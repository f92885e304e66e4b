"""Requests for what the counter, the bench and the office did before the whole day came, by code."""

from __future__ import annotations

from datetime import date, timedelta

from cribdesk.crib.hold import reasons_of
from cribdesk.crib.records import (
    Battery,
    BatteryPlace,
    Charger,
    ChargerSlot,
    ClearanceKind,
    Custody,
    Hold,
    Instrument,
    Lot,
    Part,
    Person,
    RunEnd,
    Slip,
    StockItem,
    Supplier,
    Unit,
    Where,
)
from cribdesk.procedure.run import break_off, start
from tests.desk.requests_common import NOBODY, Fields, Makes, first_item
from tests.desk.scene import Scene, tried_house


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





def _lots(scene: Scene) -> list[int]:
    """The pre-filter's first lot and its newest: the one that states are made with, where they are."""
    found = [one.id for one in scene.find(Lot, item_id=first_item(scene))]
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
        {"person_id": person, "kind": ClearanceKind.FIT_TEST, "given_on": today, "model": "FF1", "size": "XXL"},
        {"person_id": person, "kind": ClearanceKind.TRAINING, "given_on": today, "fit_factor": 600},
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
    item, today = first_item(scene), tried_house().today(scene.shop.moment)
    return [
        {"item_id": item, "lot_code": "NEW", "quantity": 4}, {"item_id": item, "lot_code": "NEW", "quantity": 0},
        {"item_id": item, "lot_code": "NEW", "quantity": 4, "expires_on": today - timedelta(days=1)},
    ]  # fmt: skip


def _requisition(scene: Scene) -> list[Fields]:
    supplier, item = scene.first(Supplier), first_item(scene)
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


COUNTER: dict[str, Makes] = {
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
    "add-charger": _charger,
}
