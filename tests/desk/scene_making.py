"""How each state is made, by real operations, and how it is seen that it was."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from cribdesk.crib.records import (
    Battery,
    BatteryPlace,
    Cabinet,
    ChargerSlot,
    Custody,
    Hold,
    Lot,
    NoticeKind,
    Person,
    RunEnd,
    StockItem,
    Unit,
    WasteBag,
    Where,
)
from cribdesk.desk.away import Lend, MarkMissing, SendOut
from cribdesk.desk.bench import ChangePart
from cribdesk.desk.cabinet import AddCabinet, PutInCabinet
from cribdesk.desk.cleaning import FinishCleaning
from cribdesk.desk.equipment import EndCharge, PutBattery, RetireBattery, StartCharge
from cribdesk.desk.hand_out import HandItemsOut
from cribdesk.desk.hold import PlaceHold, chosen_reason
from cribdesk.desk.inspection import FinishInspection, HoldUnfinished, hold_anew
from cribdesk.desk.issue import IssueUnit
from cribdesk.desk.notices import RecordRefusal
from cribdesk.desk.operation import Context
from cribdesk.desk.part_moves import RobPart
from cribdesk.desk.parts_sets import AddPartsSet
from cribdesk.desk.people import ChangePerson
from cribdesk.desk.ports import Unwritten
from cribdesk.desk.release import ReleaseHold
from cribdesk.desk.return_ import CompleteReturn, TakeBack
from cribdesk.desk.stock import BlockLot, ReceiveLot
from cribdesk.desk.unit import AddUnit, MoveUnit
from cribdesk.desk.waste import CloseBag, OpenBag
from cribdesk.procedure.run import Run
from tests.desk.every_state import HELD, OPENS, OUT, REASONS, SPOILT, TRIED, UNCHECKED, State
from tests.desk.legal import state_told
from tests.desk.scene import Scene, tried_house
from tests.desk.shop import Shop


def make(shop: Shop, state: State, runs: dict[tuple[Any, ...], Run]) -> Scene:
    """Does what leads to the state. Raises where an operation does not go through."""
    scene = Scene(shop, "wl-1", state, runs)
    _Maker(scene).all()
    scene.unit_id = scene.unit.id
    return scene


def furnish(shop: Shop) -> None:
    """What stands in the shop whatever state the unit is in, so that each operation has something to be about."""
    for stream in ("used filters, closed", "used filters"):
        shop.do(OpenBag, stream=stream)
    with shop.store.reading() as reader:
        bag = reader.first(WasteBag)
    assert bag is not None
    shop.do(CloseBag, bag_id=bag.id, drum="D0")
    shop.do(AddPartsSet, set_name="Lens kit", lines=((shop.record(StockItem, "WL1-COVER-OUT").id, 2),))
    shop.moment = OPENS - timedelta(minutes=20)
    shop.unit("dead", "WL1")
    shop.do(PlaceHold, unit_id=shop.record(Unit, "dead").id, reason="head", detail="cracked")
    shop.unit("lent", "WL1")
    due = tried_house().today(shop.moment) + timedelta(days=9)
    shop.do(Lend, unit_id=shop.record(Unit, "lent").id, goes_to="Quay crib", due_on=due)
    shop.unit("kept", "WL1")
    fields = {"cabinet_name": "Gate", "cabinet_place": "Gate 1", "purpose": "leaving bay 3 in smoke"}
    shop.do(AddCabinet, **fields, for_danger=False)
    with shop.store.reading() as reader:
        cabinet = reader.latest(Cabinet)
    assert cabinet is not None
    shop.do(PutInCabinet, unit_id=shop.record(Unit, "kept").id, cabinet_id=cabinet.id, seal="1")
    shop.inspect("kept", "monthly")
    guest = shop.person("Contractor", "Ilse Fremd", employer="Fremd Bau")
    shop.cleared(guest)
    for kind, who in ((NoticeKind.HAIR, "Dobrosi"), (NoticeKind.SIZE, "Wronecka")):
        shop.do(RecordRefusal, person_id=shop.record(Person, who).id, kind=kind)
    shop.person("Twice", "Entered Twice")
    gone = shop.record(Person, "Twice")
    shop.do(ChangePerson, person_id=gone.id, full_name=gone.name, active=False)
    _called_in_for_nothing(shop)


def _called_in_for_nothing(shop: Shop) -> None:
    """A unit that is out and was called in for a hold, which has gone since."""
    out = Scene(shop, "wl-4", State("out", "issued", "ready", "in the unit"))
    shop.do(IssueUnit, **out.issue_fields("Nkemba", "pack-4", "hand-over"))
    shop.do(PlaceHold, unit_id=out.unit.id, reason="program", detail="asked about")
    shop.do(ReleaseHold, hold_id=out.latest(Hold).id, word="answered")


class _Maker:
    """The way into one state, in the order in which it happens in a crib."""

    def __init__(self, scene: Scene) -> None:
        self.scene, self.shop, self.state = scene, scene.shop, scene.state
        self.lot: Lot | None = None

    def all(self) -> None:
        """Every step."""
        shop, state = self.shop, self.state
        shop.moment = OPENS
        self._parts()
        self._custody()
        if state.where == "emergency cabinet":
            self._set_right()
            self._move()
            self._spoil()
            self._battery()
        else:
            if state.serviceable not in ("not checked", "needs cleaning"):
                self._set_right()
            self._spoil()
            self._battery()
            self._move()
        shop.moment = TRIED + timedelta(days=state.serviceable == "a part past its date")

    def _parts(self) -> None:
        what = self.state.serviceable
        if what == "never inspected":
            self.scene.unit_name = "wl-5"
        elif what == "a part short" and self.state.custody == "none":
            self._built_short()
        elif what in ("a part past its date", "a lot blocked", "hold: lot out"):
            item = self.shop.record(StockItem, "WL1-PREFILTER")
            ends = tried_house().today(OPENS) if what == "a part past its date" else date(2028, 1, 1)
            self.shop.do(ReceiveLot, item_id=item.id, lot_code="TRIED", quantity=5, expires_on=ends)
            self.lot = self.scene.latest(Lot)
            fields = {"position": "pre-filter", "item_id": item.id, "lot_id": self.lot.id, "why": "by the calendar"}
            self.shop.do(ChangePart, unit_id=self.scene.unit.id, **fields)
            self._inspect("bench")

    def _built_short(self) -> None:
        """A unit put together without its face seal."""
        shop = self.shop
        parts = []
        for position in tried_house().models["WL1"].positions:
            item = shop.record(StockItem, position.items[0])
            if position.code != "seal":
                parts.append((position.code, item.id, shop.lot(item).id, None))
        shop.do(AddUnit, model="WL1", serial="short", parts=tuple(parts))
        shop._name_last(Unit, "short")
        self.scene.unit_name = "short"
        self._inspect("bench")

    def _custody(self) -> None:
        custody, what = self.state.custody, self.state.serviceable
        if custody == "none":
            return
        kept = custody == "assigned"
        self._give(kept)
        if custody in OUT and what in ("not checked", "needs cleaning"):
            self._back()
            if what == "needs cleaning":
                self._inspect("return-look")
            self._give(kept, "pre-use")
        if custody in ("returned", "completed"):
            self._back()
            if what == "needs cleaning":
                self._inspect("return-look")
            if custody == "completed":
                self._complete()

    def _give(self, kept: bool, kind: str = "hand-over") -> None:
        fields = self.scene.issue_fields(self.scene.wearer, self.scene.pack, kind, True, kept)
        self.shop.do(IssueUnit, **fields)
        cover = self.shop.record(StockItem, "WL1-COVER-OUT").id
        self.shop.do(HandItemsOut, person_id=fields["person_id"], lines=((cover, 2),), unit_id=fields["unit_id"])

    def _back(self) -> None:
        self.shop.moment += timedelta(hours=2)
        self.shop.do(TakeBack, unit_id=self.scene.unit.id)

    def _complete(self) -> None:
        custody = self.scene.latest(Custody)
        self.shop.do(
            CompleteReturn, custody_id=custody.id, worn_hours=1.5, battery_back=True, battery_end=RunEnd.STOPPED
        )

    def _set_right(self) -> None:
        """The bench makes a unit that came back ready again."""
        if self.state.custody in ("returned", "completed"):
            self._clean()
            self._inspect("bench")

    def _spoil(self) -> None:
        what, unit = self.state.serviceable, self.scene.unit
        if what == "cleaned, not inspected":
            self._clean()
        elif what == "a part changed":
            self.shop.change(self.scene.unit_name, "outer-cover-lens", "WL1-COVER-OUT")
        elif what == "meter out of calibration":
            self.shop.moment += timedelta(minutes=1)
            run = self.scene.run("bench", meter="meter-old")
            self.shop.do(FinishInspection, unit_id=unit.id, run_made=run)
        elif what == "a part short" and self.state.custody != "none":
            self._robbed()
        elif what == "hold: inspection passed":
            self.shop.do(HoldUnfinished, unit_id=unit.id, procedure="welding-papr-bench", step="Seal")
        if what in ("a lot blocked", "hold: lot out"):
            assert self.lot is not None
            self.shop.do(BlockLot, lot_id=self.lot.id, why="recalled by its maker")
        if what == "hold: battery gone" and self.state.custody not in OUT:
            self._put()
        if what in REASONS:
            if self.state.where == "emergency cabinet":
                self._held_in_the_cabinet(REASONS[what])
            else:
                self.shop.do(PlaceHold, unit_id=unit.id, reason=REASONS[what], detail="seen")
        if what == "hold: battery gone" and self.state.where == "scrapped":
            self._charger()

    def _held_in_the_cabinet(self, reason: str) -> None:
        """As a recall or a meter found wrong holds many units at once: it lies there until somebody fetches it."""
        shop, unit = self.shop, self.scene.unit
        house = tried_house()
        with shop.store.work() as work:
            clerk = work.get(Person, shop.clerk_id or 0)
            context = Context(house, shop.moment, "counter", clerk)
            chosen, detail = chosen_reason(work, unit, house.model_of(unit), reason, "seen")
            hold = hold_anew(work, context, unit, chosen, detail)
            labels = (unit.label, hold.tag)
            work.commit(Unwritten("hold", shop.tokens(), "", shop.moment, "counter", clerk.label, labels, "Held."))

    def _robbed(self) -> None:
        """Its face seal went into another unit; each hold has its proof since: it is short of a part, no more."""
        unit, other = self.scene.unit, self.scene.id(Unit, "wl-2")
        self.shop.do(PlaceHold, unit_id=unit.id, reason="head", detail="seen")
        self.shop.do(RobPart, from_id=unit.id, unit_id=other, position="seal")
        self._inspect("bench")
        for hold in self.scene.find(Hold, unit_id=unit.id, released_at=None):
            self.shop.do(ReleaseHold, hold_id=hold.id)

    def _battery(self) -> None:
        state, pack = self.state, self.scene.id(Battery, self.scene.pack)
        where = state.battery
        if state.serviceable == "hold: battery gone" or (state.custody in OUT and where == "in the unit"):
            return
        if where == "missing":
            self.shop.do(RetireBattery, battery_id=pack, place=BatteryPlace.MISSING, why="not on its hook")
        elif where == "in the unit":
            self._put()
        elif where == "on a charger":
            self._charger()
        elif where == "on the shelf":
            self._charger()
            self.shop.do(EndCharge, battery_id=pack)
        else:
            self._fault_elsewhere(pack)

    def _fault_elsewhere(self, pack: int) -> None:
        """The pack was found faulty in another unit; that one is free of it again."""
        other = self.scene.id(Unit, "wl-3")
        self._charger()
        self.shop.do(PutBattery, unit_id=other, battery_id=pack)
        self.shop.do(PlaceHold, unit_id=other, reason="battery", detail="hot")
        self._charger()
        hold = self.scene.latest(Hold, unit_id=other)
        self.shop.do(PutBattery, unit_id=other, battery_id=self.scene.id(Battery, "pack-3"))
        self.shop.do(ReleaseHold, hold_id=hold.id)

    def _put(self) -> None:
        battery = self.shop.record(Battery, self.scene.pack)
        if battery.unit_id != self.scene.unit.id:
            self.shop.do(PutBattery, unit_id=self.scene.unit.id, battery_id=battery.id)

    def _charger(self) -> None:
        slots = self.scene.find(ChargerSlot)
        self.shop.do(StartCharge, battery_id=self.scene.id(Battery, self.scene.pack), slot_id=slots[0].id)

    def _move(self) -> None:
        shop, unit = self.shop, self.scene.unit
        today = tried_house().today(shop.moment)
        match self.state.where:
            case "emergency cabinet":
                cabinet = self.scene.latest(Cabinet).id
                shop.do(PutInCabinet, unit_id=unit.id, cabinet_id=cabinet, seal="4711")
            case "missing":
                shop.do(MarkMissing, unit_id=unit.id, said="the rack audit")
            case "sent out":
                shop.do(
                    SendOut, unit_id=unit.id, goes_to="Weir Works", wrong="hums", cleaned_by="Castel",
                    cleaned_how="wiped down", cleaned_on=today, due_on=today + timedelta(days=9),
                )  # fmt: skip
            case "scrapped":
                shop.do(MoveUnit, unit_id=unit.id, where=Where.SCRAPPED, why="worn out")
            case "rack" | "bench" if unit.where.value != self.state.where:
                shop.do(MoveUnit, unit_id=unit.id, where=Where(self.state.where), place="as told")

    def _clean(self) -> None:
        self.shop.moment += timedelta(minutes=1)
        run = self.scene.run("cleaning")
        self.shop.do(FinishCleaning, unit_ids=(self.scene.unit.id,), run_made=run)

    def _inspect(self, kind: str) -> None:
        self.shop.moment += timedelta(minutes=1)
        self.shop.do(FinishInspection, unit_id=self.scene.unit.id, run_made=self.scene.run(kind))


TOLD = dict.fromkeys(UNCHECKED, "not checked") | dict.fromkeys((*HELD, *SPOILT), "on hold")
"""What each of them amounts to."""


def seen(scene: Scene, run: Any) -> State:
    """The state as the store's own rows show it, as far as they can tell it from its neighbours."""
    unit, state, moment = scene.unit, scene.state, scene.shop.moment
    custody = scene.latest(Custody, unit_id=unit.id)
    shape = "none"
    if custody is not None and custody.returned_at is None:
        shape = "assigned" if custody.assigned else "issued"
    elif custody is not None:
        shape = "returned" if custody.completed_at is None else "completed"
    battery = scene.shop.record(Battery, scene.pack)
    told = state_told(run, unit.id, tried_house(), moment)
    as_told = told == TOLD.get(state.serviceable, state.serviceable) or unit.where is Where.SCRAPPED
    if unit.where in (Where.MISSING, Where.SENT_OUT) and state.serviceable == "ready":
        as_told = told == "not checked"  # it was ready when it was last seen
    proofs = [one.proof for one in scene.find(Hold, unit_id=unit.id, released_at=None)]
    held = proofs == ([state.serviceable.removeprefix("hold: ")] if state.serviceable in HELD else [])
    places = {"unit": "in the unit", "shelf": "on the shelf", "charger": "on a charger", "missing": "missing"}
    place = "faulty" if battery.faulty else places[battery.place.value]
    serviceable = state.serviceable if as_told and held else f"{told}, held for {proofs}"
    return State(unit.where.value, shape, serviceable, place)
