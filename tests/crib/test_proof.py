"""What clears a hold, one proof at a time: nothing from before it, and nothing of another kind."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta

import pytest

from cribdesk.crib.proof import proof_of
from cribdesk.crib.records import Inspection
from tests.crib.given import NOW, cleaned, hold, passed, standing, with_part

FOUND = NOW - timedelta(minutes=5)
BEFORE, AFTER = FOUND - timedelta(seconds=1), FOUND + timedelta(seconds=1)


def run(kind: str, started: datetime) -> Inspection:
    """A pass of that kind, begun then and ended after the hold was placed."""
    return passed(kind=kind, started_at=started, ended_at=NOW)


@pytest.mark.parametrize(
    ("proof", "kind", "started", "proven"),
    [
        ("bench inspection", "bench", FOUND, True),
        ("bench inspection", "bench", BEFORE, False),
        ("bench inspection", "pre-use", AFTER, False),
        ("inspection passed", "pre-use", FOUND, True),
        ("inspection passed", "bench", AFTER, True),
        ("inspection passed", "pre-use", BEFORE, False),
        ("cleaned", "bench", AFTER, False),
        ("program administrator", "bench", AFTER, False),
        ("a proof no rule knows", "bench", AFTER, False),
    ],
)
def test_a_pass(proof: str, kind: str, started: datetime, proven: bool) -> None:
    """Begun after the hold, of the kind it asks for."""
    assert bool(proof_of(hold(proof=proof), standing(last_pass=run(kind, started)))) is proven


@pytest.mark.parametrize(("at", "proven"), [(BEFORE, False), (FOUND, True), (AFTER, True)])
def test_a_cleaning(at: datetime, proven: bool) -> None:
    """A cleaning after the hold, not the one before it."""
    dirty = hold("dirty", "cleaned")
    assert bool(proof_of(dirty, standing(last_pass=None, last_cleaning=cleaned(at)))) is proven
    assert not proof_of(dirty, standing(last_pass=None))


def test_a_recalled_lot() -> None:
    """Every lot the hold names is out; a hold that names none is proved by nothing."""
    recall = hold("recall", "lot out", detail="lot K2608 #31 and lot K2609 #32")
    good = standing()
    assert proof_of(recall, good)
    for lot in (31, 32):
        assert not proof_of(recall, with_part(good, "pre-filter", lot_id=lot))
    assert proof_of(recall, with_part(good, "pre-filter", lot_id=33))
    assert not proof_of(replace(recall, detail="lot K2608"), good)
