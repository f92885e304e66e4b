"""What the README tells a newcomer to scan is as the README says, in the sample store as it opens."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest

from cribdesk.crib.reasons import reasons, stops
from cribdesk.crib.records import Area, Battery, Person, Role, Unit, Where
from cribdesk.desk.facts import IssueIds, facts_of
from cribdesk.desk.ports import Reader
from cribdesk.opening import OpenDesk, finished_sample, load_house, open_desk

MOMENT = datetime(2026, 11, 25, 5, 5, tzinfo=UTC)
README = Path(__file__).parents[2] / "README.md"
RECORDS = {"P": Person, "U": Unit, "B": Battery, "A": Area}


@pytest.fixture(scope="module")
def steps() -> dict[int, tuple[str, ...]]:
    """The labels of each numbered step, in the order they stand there."""
    part = README.read_text("utf-8").split("## The first five minutes")[1].split("The rest of the day")[0]
    found = re.split(r"^(\d)\. ", part, flags=re.MULTILINE)
    return {int(number): tuple(re.findall(r"`([PUBA]\d{6}[0-9A-Z])`", words)) for number, words in zip(
        found[1::2], found[2::2], strict=True)}  # fmt: skip


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Iterator[OpenDesk]:
    """A copy of the sample store."""
    file = tmp_path_factory.mktemp("first") / "sample.sqlite"
    file.write_bytes(finished_sample().read_bytes())
    house, faults = load_house()
    assert faults == ()
    opened = open_desk(str(file), house, "Counter 1")
    yield opened
    opened.store.close()


def ids(reader: Reader, labels: tuple[str, ...]) -> dict[str, int]:
    """The records behind labels, by the letter of their kind."""
    found = {label[0]: reader.first(RECORDS[label[0]], label=label) for label in labels}
    assert all(found.values()), labels
    return {kind: one.id for kind, one in found.items() if one is not None}


@pytest.mark.parametrize(("step", "full"), [(1, False), (5, True)])
def test_the_issues_are_possible(desk: OpenDesk, steps: dict[int, tuple[str, ...]], step: int, full: bool) -> None:
    """Nobody holds another unit, nothing stops it, and the check is the short or the full one as told."""
    with desk.store.reading() as reader:
        of = ids(reader, steps[step])
        facts = facts_of(reader, desk.house, IssueIds(of["U"], of["P"], of["B"], of.get("A")), MOMENT)
    assert not facts.holds_now
    assert [one.words for one in stops(reasons(facts, MOMENT))] == []
    assert facts.needs_full_check is full


def test_what_comes_back_is_out(desk: OpenDesk, steps: dict[int, tuple[str, ...]]) -> None:
    """The unit of the return; the two issues take other people, units and packs."""
    with desk.store.reading() as reader:
        unit = reader.first(Unit, label=steps[4][0])
    assert unit is not None
    assert unit.where is Where.OUT
    used = [*steps[1], *steps[4], *steps[5]]
    assert len(used) == len(set(used)) == 8


def test_the_staff_are_who_they_are_said_to_be(desk: OpenDesk, steps: dict[int, tuple[str, ...]]) -> None:
    """A storekeeper first, a program administrator second."""
    with desk.store.reading() as reader:
        people = [reader.first(Person, label=label) for label in steps[6]]
    roles = [one.roles.split(",") for one in people if one is not None]
    assert Role.STOREKEEPER in roles[0]
    assert Role.PROGRAM in roles[1]
