"""The unit on the counter is scrapped: its form opens."""

from __future__ import annotations

from cribdesk.crib.records import Where
from cribdesk.desk.entry_scrap import FORM
from cribdesk.desk.house import House
from cribdesk.desk.matter import Matter
from cribdesk.desk.scrapping import BENCH
from cribdesk.desk.slate import Slate


def _offered(house: House, slate: Slate) -> str | None:
    card = slate.unit
    if card is None or slate.person is not None or card.unit.where is Where.SCRAPPED:
        return None
    if card.is_out:
        return f"{card.label} is out. Take it back first."
    if slate.clerk is not None and not {one.value for one in BENCH} & set(slate.clerk.roles.split(",")):
        return f"Scrapping takes a {' or '.join(one.value for one in BENCH)}."
    return ""


MATTERS = (
    Matter(id="scrap", offered=_offered, entry=FORM, about=lambda slate: slate.unit.label if slate.unit else ""),
)
