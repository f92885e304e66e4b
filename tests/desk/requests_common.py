"""What every table of requests is made of."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

from cribdesk.crib.records import StockItem
from tests.desk.scene import Scene, tried_house

Fields = dict[str, Any]
"""One request, without its id."""
Makes = Callable[[Scene], list[Fields]]

NOBODY = 987654
"""An id that no record has."""


def in_days(scene: Scene, days: int) -> date:
    """The date so many days on."""
    return tried_house().today(scene.shop.moment) + timedelta(days=days)


def first_item(scene: Scene) -> int:
    """The pre-filter."""
    return scene.id(StockItem, "WL1-PREFILTER")
