"""The record of a waste bag's label, out of the store."""

from __future__ import annotations

from datetime import datetime

from cribdesk.crib.records import Area, Person, WasteBag
from cribdesk.desk.house import House
from cribdesk.desk.ports import Reader
from cribdesk.desk.printing_parts import by_id, local
from cribdesk.desk.printouts_waste import BagLabel
from cribdesk.desk.saying import name_of


def bag_label(reader: Reader, house: House, of: str, moment: datetime) -> BagLabel:
    """The label of the bag that carries that label; three queries."""
    bag = reader.first(WasteBag, label=of)
    if bag is None:
        raise LookupError(f"There is no waste bag {of} in this store.")
    area = reader.first(Area, id=bag.area_id) if bag.area_id else None
    return BagLabel(
        bag=bag.label,
        stream=bag.stream,
        agents=area.agents if area else "",
        area=area.name if area else "",
        opened_at=local(house, bag.opened_at),
        by=name_of(by_id(reader, Person, bag.by_id).get(bag.by_id)),
    )
