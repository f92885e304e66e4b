"""What the hygienist found, what is done and what is in place in each area, as the office enters it. All invented."""

from __future__ import annotations

from datetime import date

from clockwork import Doing
from inputs import day_or_none, number_or_none, rows
from world import World

from cribdesk.crib.records import Area, AssessmentBasis, Control
from cribdesk.desk.area_facts import SayAreaCondition, SayAreaControl, SayAreaProcess
from cribdesk.desk.assessments import AssessArea, SampleTaken
from cribdesk.desk.equipment import AddArea

HYGIENIST = "Dr. Ilse Vandamme, industrial hygienist (invented)"
EXPOSED_MINUTES = 420
METHOD = "filter in the breathing zone, laboratory"
TANK = "Tank work"
"""The area that nobody assessed: nobody is sent there."""


def enter_areas(world: World, boss: int) -> Doing:
    """Every area with all that is known of it."""
    for row in rows("areas"):
        world.hands.do(
            "Office", boss, AddArea,
            area_name=row["name"], required=row["required"] == "yes", agents=row["agents"],
            processes=row["processes"], dust_ug_m3=number_or_none(row["assessed_dust_ug_m3"]), note=row["note"],
        )  # fmt: skip
        area = world.hands.last(Area)
        world.areas[area.name] = area
        yield 40
    for row in rows("findings"):
        world.hands.do("Office", boss, AssessArea, area_id=world.areas[row["area"]].id, **_found(row))
        yield 70
    for row in rows("work_done"):
        world.hands.do(
            "Office", boss, SayAreaProcess, area_id=world.areas[row["area"]].id, operation=row["operation"],
            current_a=number_or_none(row["current_a"]), electrode_32nds=number_or_none(row["electrode_32nds"]),
        )  # fmt: skip
        yield 20
    for row in rows("controls"):
        world.hands.do(
            "Office", boss, SayAreaControl, area_id=world.areas[row["area"]].id, control=Control(row["control"]),
            what=row["what"], from_on=date.fromisoformat(row["from_on"]),
        )  # fmt: skip
        yield 20
    for area in world.areas.values():
        world.hands.do(
            "Office", boss, SayAreaCondition, area_id=area.id, said_on=world.today, exposed_minutes=EXPOSED_MINUTES,
            confined=area.name == TANK,
        )  # fmt: skip
        yield 20


def _found(row: dict[str, str]) -> dict[str, object]:
    return {
        "substance": row["substance"],
        "basis": AssessmentBasis(row["basis"]),
        "unit": row["unit"],
        "concentration": float(row["average"]) if row["average"] else None,
        "short": float(row["short"]) if row["short"] else None,
        "measured_as": row["measured_as"],
        "made_on": date.fromisoformat(row["made_on"]),
        "made_by": HYGIENIST,
        "document": row["document"],
        "review_on": day_or_none(row["review_on"]),
        "samples": tuple(_sample(text) for text in row["samples"].split()),
    }


def _sample(text: str) -> SampleTaken:
    """'3.1x420@2025-10-06/a': the figure, its minutes, the day, and which wearer."""
    figure, rest = text.split("x")
    minutes, rest = rest.split("@")
    on, series = rest.split("/")
    return SampleTaken(float(figure), int(minutes), date.fromisoformat(on), method=METHOD, series=series)


def where_to(world: World, wears: str, home: str) -> str:
    """Where somebody is sent: mostly home, else where a respirator is required and the air is known.

    A helmet without air goes nowhere that one is required.
    """
    if world.chance.happens(0.8):
        return home
    sent = [area.name for area in world.areas.values() if area.required and area.name != TANK]
    other = world.chance.pick(sent)
    return home if world.hands.house.models[wears].facepiece == "none" else other
