"""What the simulated people share: who they are, what lies where, and what waits at the counter."""

from __future__ import annotations

import heapq
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta

from chance import Chance
from clockwork import Clockwork
from hands import Hands
from inputs import Somebody, closed_days
from nature import Nature

from cribdesk.crib.records import Area, Battery, BatteryPlace, Fitted, Instrument, Person, Role, Where
from cribdesk.crib.serviceable import Serviceable, Standing
from cribdesk.desk.office import NotePrint
from cribdesk.desk.receipt import Receipt

FIRST_DAY = date(2025, 11, 24)
FIRST_ISSUES = date(2025, 11, 26)
LAST_DAY = date(2026, 11, 25)
LAST_CLOCK = time(6, 5)


@dataclass
class Wearer:
    """Somebody who draws units, with habits."""

    told: Somebody
    person: Person
    speed: str
    own_unit: int | None = None
    holds: int | None = None


@dataclass
class Out:
    """A unit in somebody's hands."""

    custody_id: int
    unit_id: int
    wearer: Wearer
    area: str
    battery_id: int | None
    speed: str
    issued_at: datetime
    days: int


@dataclass
class World:
    """Everything, in one place."""

    hands: Hands
    nature: Nature
    chance: Chance
    clockwork: Clockwork
    areas: dict[str, Area] = field(default_factory=dict)
    staff: list[Person] = field(default_factory=list)
    wearers: list[Wearer] = field(default_factory=list)
    meters: list[tuple[Instrument, float]] = field(default_factory=list)
    slots: list[int] = field(default_factory=list)  # free ones
    slot_of: dict[int, int] = field(default_factory=dict)
    ready_since: dict[int, datetime] = field(default_factory=dict)  # charged batteries
    battery_models: dict[int, str] = field(default_factory=dict)
    battery_labels: dict[int, str] = field(default_factory=dict)
    out: dict[int, Out] = field(default_factory=dict)
    incomplete: set[int] = field(default_factory=set)
    busy: set[int] = field(default_factory=set)
    gone: set[int] = field(default_factory=set)
    repair_at: dict[int, datetime] = field(default_factory=dict)
    dates: dict[int, tuple[Standing, Fitted | None]] = field(default_factory=dict)
    monthly_at: dict[int, datetime] = field(default_factory=dict)
    lost_packs: list[int] = field(default_factory=list)  # that turn up again
    faults_left: int = 5  # to be reported on the last evening
    late_left: int = 2  # not brought back on the last evening
    turned_away: int = 0
    _queue: list[tuple[datetime, int, str, object]] = field(default_factory=list)
    _count: int = 0

    @property
    def now(self) -> datetime:
        """The moment now."""
        return self.clockwork.now

    @property
    def today(self) -> date:
        """The site's date."""
        return self.hands.house.today(self.now)

    def local(self, on: date, at: time) -> datetime:
        """That wall-clock time at the site, as UTC."""
        return datetime.combine(on, at, tzinfo=self.hands.house.zone).astimezone(self.now.tzinfo)

    def clerk(self, role: Role, crew: str, *, spare: int = 0) -> Person:
        """The member of staff of that role and crew; `spare` picks among several."""
        crews = {one.label: one.crew for one in self.staff}
        fitting = [one for one in self.staff if one.has(role) and crews[one.label] == crew]
        return fitting[spare % len(fitting)]

    def post(self, at: datetime, what: str, about: object) -> None:
        """Something will come to the counter at that moment."""
        self._count += 1
        heapq.heappush(self._queue, (at, self._count, what, about))

    def next_at(self) -> datetime | None:
        """When the next thing comes to the counter."""
        return self._queue[0][0] if self._queue else None

    def take_next(self) -> tuple[str, object]:
        """What is next at the counter."""
        _, _, what, about = heapq.heappop(self._queue)
        return what, about

    def ready_units(self, model: str) -> list[int]:
        """Units of the model that may go out, by id."""
        found = []
        for unit in self.nature.units.values():
            if unit.model.code != model or unit.id in self.busy or unit.id in self.out or unit.id in self.gone:
                continue
            standing = self.hands.standing(unit.id)
            if standing.unit.where is Where.RACK and self.hands.condition(unit.id).state is Serviceable.READY:
                found.append(unit.id)
        return found

    def charged(self, model_codes: tuple[str, ...]) -> int | None:
        """The battery that has lain charged the longest."""
        fitting = [(at, id) for id, at in self.ready_since.items() if self.battery_models[id] in model_codes]
        return min(fitting)[1] if fitting else None

    def good_meter(self) -> tuple[Instrument, float]:
        """A flow meter in calibration, any of them."""
        good = [one for one in self.meters if one[0].calibrated_until >= self.today]
        return self.chance.pick(good)

    def papers(self, receipt: Receipt | None, where: str, clerk_id: int) -> None:
        """A tag is printed at once; now and then the printer does not."""
        for paper, of in receipt.papers if receipt else ():
            if paper == "tag":
                failed = "out of paper" if self.chance.happens(0.01) else ""
                self.hands.do(where, clerk_id, NotePrint, paper=paper, of=of, failed=failed)

    def battery_used(self, battery_id: int) -> None:
        """A battery came back: it will be put on a charger."""
        self.post(self.now + timedelta(seconds=self.chance.whole(120, 2400)), "charge", battery_id)

    def is_free(self, battery_id: int) -> bool:
        """Whether the pack may be put on a charger."""
        return self.hands.get(Battery, battery_id).place in (BatteryPlace.SHELF, BatteryPlace.IN_UNIT)


def works_on(on: date) -> float:
    """How much of the usual work is done on a day: seasons, Saturdays, closed days."""
    if on.weekday() == 6 or any(first <= on <= last for first, last in closed_days()):
        return 0.0
    season = {1: 0.9, 2: 0.95, 5: 1.0, 6: 0.95, 7: 0.8, 8: 0.75, 9: 1.05, 10: 1.15, 11: 1.15, 12: 0.9}
    usual = season.get(on.month, 1.0)
    return usual * 0.25 if on.weekday() == 5 else usual
