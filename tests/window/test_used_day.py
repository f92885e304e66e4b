"""Meters, missing filters and used ones in the real window: keys and scans alone, and what is seen."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from cribdesk.crib.records import Area, MeterCheck, Notice, Waste
from cribdesk.desk.area import ChangeArea
from cribdesk.desk.office import SetSetting
from cribdesk.desk.waste import OpenBag
from cribdesk.procedure.run import page
from cribdesk.store.connect import open_store
from tests.desk.operating import hand_out, later
from tests.desk.shop import Shop, Tokens
from tests.window.desk_window import DeskWindow

Stand = Callable[..., DeskWindow]


def ready_shop(standing: Stand, shop_file: Path, shop_built: tuple[Path, dict[str, str]]) -> DeskWindow:
    """The window on a shop with a reference blower, lead and cadmium in bay 3, wl-1 out there, and a bag open."""
    names = dict(shop_built[1])
    with open_store(str(shop_file)) as store:
        shop = Shop(store, names=names, tokens=Tokens(9))
        with store.reading() as reader:
            head = reader.head()
        assert head.moment is not None
        shop.moment = head.moment
        shop.clerk_id = 5  # the back office
        area = shop.record(Area, "bay-3")
        shop.do(ChangeArea, area_id=area.id, area_name=area.name, required=True, agents="lead fume, cadmium")
        shop.do(SetSetting, setting="reference_lpm", value="190")
        names["bag"] = shop.do(OpenBag, stream="Used filters, cadmium and lead", area_id=area.id).subjects[0]
        hand_out(shop, "wl-1", "Wronecka", "pack-1")
        later(shop, 0.2)
    return standing(shop_file, names)


def step_of(desk: DeskWindow) -> str:
    """The step that stands open, or nothing."""
    check = desk.app.slate.check
    return page(check.run).step if check else ""


def worn_and_back(desk: DeskWindow) -> None:
    """wl-1 comes back by two scans and a key."""
    desk.scan("wl-1")
    desk.press("F5")
    desk.scan("pack-1")
    desk.press("F5")


def test_a_meter_is_checked_with_a_scan_two_keys_and_a_figure(
    standing: Stand, shop_file: Path, shop_built: tuple[Path, dict[str, str]]
) -> None:
    """Scan, F5, F5 for the look, the figure and F5; the line says what was read."""
    desk = ready_shop(standing, shop_file, shop_built)
    desk.sign_on()
    desk.scan("meter")
    desk.says("F5 begins its daily check")
    desk.press("F5")
    desk.shows("Tube clean, ball free, nothing cracked?")
    desk.press("F5")
    desk.shows("Reading on the reference blower?")
    desk.air()
    desk.type("191")
    desk.press("F5")
    desk.says("good, read 191 at 190 L/min")
    kept = desk.read(lambda reader: reader.find(MeterCheck))
    assert [one.read_lpm for one in kept] == [191.0]


def test_a_missing_filter_is_named_by_one_key(
    standing: Stand, shop_file: Path, shop_built: tuple[Path, dict[str, str]]
) -> None:
    """At the remedy of the filter's look F6 says it; the unit is held and the administrator's list has it."""
    desk = ready_shop(standing, shop_file, shop_built)
    desk.sign_on()
    desk.scan("wl-2")
    desk.press("F6")
    for _ in range(20):
        if step_of(desk) == "particulate-filter":
            break
        desk.press("F5")
    desk.press("F8")
    desk.shows("No filter")
    desk.press("F6")
    desk.says("is listed")
    assert len(desk.read(lambda reader: reader.find(Notice))) == 1
    desk.scan("card sign-on", "Lindqvist")
    desk.window.doors.open_place.emit("shift", "no-filter")
    desk.rest()
    desk.shows("Worn without a filter")
    desk.shows(f"{desk.names['wl-2']}: no filter was in it")


def test_what_a_unit_brought_along_is_seen_before_it_is_opened(
    standing: Stand, shop_file: Path, shop_built: tuple[Path, dict[str, str]]
) -> None:
    """On its card, over the first page of the look-over, and on the unit's page; a scan of the bag logs the filter."""
    desk = ready_shop(standing, shop_file, shop_built)
    desk.sign_on()
    worn_and_back(desk)
    desk.shows("Gloves and respirator on")
    desk.press("F5")
    assert desk.app.slate.check is not None
    desk.shows("Cadmium and lead: Gloves and respirator on")
    desk.press("F12")
    desk.scan("WL1-PREFILTER")
    desk.scan("WL1-PREFILTER")
    desk.press("F5")
    desk.says(f"into bag {desk.names['bag']}, scan it")
    desk.scan("bag")
    desk.says("1 x pre-filter")
    assert len(desk.read(lambda reader: reader.find(Waste))) == 1
