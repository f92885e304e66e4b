"""The office: people come and go, clearances are renewed in time, or not quite."""

from __future__ import annotations

from datetime import date, time, timedelta

from clockwork import Doing
from inputs import Somebody, people
from world import FIRST_DAY, LAST_DAY, Wearer, World

from cribdesk.crib.clearance import FIT_METHODS
from cribdesk.crib.records import ClearanceKind, Person, Role
from cribdesk.desk.labels import BindLabel
from cribdesk.desk.people import AddClearance, AddPerson
from cribdesk.desk.work_limits import SetWorkLimit

LAPSED_AT_THE_END = ("Ioana Bălănescu", "Øystein Bråten", "Mihály Csörgő", "Niccolò D'Ambrosio")
"""Whose training ran out shortly before the sample ends, and was not renewed."""

SOON_AT_THE_END = ("Mehmet Öztürk", "Цветелина Желязкова", "Françoise Lefèvre")
"""Whose training runs out within days of the sample's end."""

LIMITED = {"Kateřina Šťastná": "loose-fitting only", "Ondřej Říha": "powered only"}
"""Whose health professional named a limit; what they wear keeps it."""

SIZES = ("S", "M", "L")
YEAR_BEFORE_THE_END = LAST_DAY - timedelta(days=365)


def add_somebody(world: World, clerk: int, told: Somebody) -> None:
    """Enters a person with what they are cleared for."""
    hands, chance = world.hands, world.chance
    hands.do(
        "Office", clerk, AddPerson,
        full_name=told.name, trade=told.trade, crew=told.crew, employer=told.employer, ends_on=told.ends_on,
        roles=tuple(Role(role) for role in told.roles),
    )  # fmt: skip
    person = hands.last(Person)
    if told.roles:
        world.staff.append(person)
    if not told.wears:
        return
    speeds = hands.house.models[told.wears].speeds
    habit = "" if not speeds else speeds[0] if chance.happens(0.7) else speeds[-1]
    world.wearers.append(Wearer(told, person, habit))
    if chance.happens(0.25):
        hands.do("Office", clerk, BindLabel, text=f"HN-{200000 + chance.whole(0, 99999)}", label=person.label)
    if told.wears != "AD1" or chance.happens(0.7):
        _clear(world, clerk, person, told)


def _clear(world: World, clerk: int, person: Person, told: Somebody) -> None:
    chance, today = world.chance, world.today
    examined = today - timedelta(days=chance.whole(20, 500))
    until = examined + timedelta(days=1095) if chance.happens(0.25) else None
    _enter(world, clerk, told, person, ClearanceKind.MEDICAL, examined, until=until)
    new = told.joined_on is not None
    trained = today - timedelta(days=chance.whole(0, 4) if new else chance.whole(10, 350))
    if told.name in LAPSED_AT_THE_END:
        trained = YEAR_BEFORE_THE_END - timedelta(days=chance.whole(3, 14))
    if told.name in SOON_AT_THE_END:
        trained = YEAR_BEFORE_THE_END - timedelta(days=chance.whole(340, 350))
    _enter(world, clerk, told, person, ClearanceKind.TRAINING, trained)
    model = world.hands.house.models[told.wears]
    if model.tight_fitting:
        fitted = today - timedelta(days=chance.whole(0, 4) if new else chance.whole(10, 340))
        size = size_of(person)
        _enter(world, clerk, told, person, ClearanceKind.FIT_TEST, fitted, model=model.code, size=size)
    if told.name in LIMITED:
        world.hands.do(
            "Office", clerk, SetWorkLimit, person_id=person.id, code_of_limit=LIMITED[told.name], given_on=examined
        )


def size_of(person: Person) -> str:
    """The size somebody was fitted with."""
    return SIZES[person.id % len(SIZES)]


def _enter(
    world: World, clerk: int, told: Somebody, person: Person, kind: ClearanceKind, on: date,
    *, until: date | None = None, model: str = "", size: str = "",
) -> None:  # fmt: skip
    world.hands.do(
        "Office", clerk, AddClearance,
        person_id=person.id, kind=kind, given_on=on, until=until, model=model, size=size,
        detail={"medical": "questionnaire and interview", "training": "yearly"}.get(kind.value, ""),
        method=FIT_METHODS[0] if model else "",
        fit_factor=world.chance.whole(520, 3400) if model else None,
        document=f"{told.employer}, record of the {kind.value}" if told.employer else "",
    )  # fmt: skip
    if kind is not ClearanceKind.MEDICAL:
        world.clockwork.start(_renew(world, told, person, kind, on, model, size), world.now)


def _renew(
    world: World, told: Somebody, person: Person, kind: ClearanceKind, on: date, model: str, size: str
) -> Doing:
    """Comes a year on: a little before the day, now and then too late."""
    apart = world.chance.whole(4, 25) if world.chance.happens(0.08) else -world.chance.whole(1, 20)
    again = on + timedelta(days=365 + apart)
    if kind is ClearanceKind.TRAINING and told.name in LAPSED_AT_THE_END:
        return
    if kind is ClearanceKind.TRAINING and told.name in SOON_AT_THE_END:
        if on >= FIRST_DAY:
            return
        again = YEAR_BEFORE_THE_END + timedelta(days=world.chance.whole(2, 9))
    if told.ends_on is not None and again > told.ends_on:
        return
    while again.weekday() > 4:
        again += timedelta(days=1)
    at = world.local(again, time(8, world.chance.whole(0, 59), world.chance.whole(0, 59)))
    yield max(at, world.now + timedelta(hours=6))
    program = world.clerk(Role.PROGRAM, "day").id
    _enter(world, program, told, person, kind, world.today, model=model, size=size)


def joiners(world: World) -> None:
    """Those who come later are entered at their first morning."""
    for told in people():
        if told.joined_on is not None:
            world.clockwork.start(_joins(world, told), world.local(told.joined_on, time(4, 45)))


def _joins(world: World, told: Somebody) -> Doing:
    yield world.chance.whole(10, 600)
    add_somebody(world, world.clerk(Role.PROGRAM, "day").id, told)

