"""Journal entries: canonical JSON held against the `rfc8785` package, and digests that chain."""

from __future__ import annotations

import hashlib
import json
from datetime import UTC, datetime, timedelta, timezone
from typing import Any

import pytest
import rfc8785
from hypothesis import given
from hypothesis import strategies as st

from cribdesk.crib.entry import (
    LARGEST,
    START,
    Entry,
    canonical,
    chained,
    from_plain,
    moment_of,
    sealed,
    stamp,
)

texts = st.text(st.characters(exclude_categories=["Cs"]), max_size=20)
keys = st.text(st.characters(codec="ascii"), max_size=10)
scalars = st.none() | st.booleans() | st.integers(-LARGEST, LARGEST) | texts
values = st.recursive(scalars, lambda inner: st.lists(inner) | st.dictionaries(keys, inner), max_leaves=20)
moments = st.datetimes(timezones=st.just(UTC), min_value=datetime(1990, 1, 1), max_value=datetime(2100, 1, 1))
entries = st.builds(
    Entry,
    seq=st.integers(1, LARGEST),
    schema=st.integers(1, 99),
    operation=texts,
    operation_id=texts,
    request=texts,
    moment=moments,
    counter=texts,
    clerk=texts,
    subjects=st.lists(texts, max_size=3).map(tuple),
    sentence=texts,
    rows=st.lists(st.tuples(texts, st.dictionaries(keys, scalars, max_size=4)), max_size=3).map(tuple),
    papers=st.lists(st.tuples(texts, texts), max_size=2).map(tuple),
    corrects=st.none() | st.integers(1, LARGEST),
    late=st.booleans(),
)


@given(values)
def test_canonical_is_rfc_8785(value: Any) -> None:
    """The bytes are those of an independent implementation of RFC 8785."""
    assert canonical(value) == rfc8785.dumps(value)


@given(entries)
def test_an_entry_is_read_back_whole(entry: Entry) -> None:
    """From its canonical bytes to the same entry; the bytes are those of RFC 8785."""
    assert from_plain(json.loads(entry.canonical())) == entry
    assert entry.canonical() == rfc8785.dumps(entry.plain())


@pytest.mark.parametrize(
    "value", [1.5, float("nan"), LARGEST + 1, -LARGEST - 1, {"ä": 1}, {1: 2}, b"x", {1, 2}, datetime.now]
)
def test_what_may_not_stand_in_the_journal(value: object) -> None:
    """Floats, integers other readers would round, keys beyond ASCII, bytes."""
    with pytest.raises(ValueError, match=r"may not stand|beyond|ASCII"):
        canonical(value)


@given(st.lists(st.binary(max_size=30), min_size=1, max_size=8), st.integers(0, 7))
def test_chained_digests(bodies: list[bytes], place: int) -> None:
    """SHA-256 over the previous digest and the body; a changed body changes every digest from there."""

    def chain(all_bodies: list[bytes]) -> list[str]:
        digests, digest = [], START
        for body in all_bodies:
            digest = chained(digest, body)
            digests.append(digest)
        return digests

    right = chain(bodies)
    assert right[0] == hashlib.sha256(b"0" * 64 + bodies[0]).hexdigest()
    place %= len(bodies)
    wrong = chain([*bodies[:place], bodies[place] + b"!", *bodies[place + 1 :]])
    assert wrong[:place] == right[:place]
    assert not set(wrong[place:]) & set(right[place:])


def test_sealed_values_tell_nothing_without_their_bytes() -> None:
    """The same name under other bytes has another digest; under the same, the same."""
    first = sealed(b"a" * 16, "Łucja Wronecka")
    assert first == hashlib.sha256(b"a" * 16 + '"Łucja Wronecka"'.encode()).hexdigest()
    assert first != sealed(b"b" * 16, "Łucja Wronecka")


@given(moments)
def test_stamps_read_back(moment: datetime) -> None:
    """UTC, microseconds, Z; from any zone the same stamp; and they sort as the moments do."""
    text = stamp(moment)
    assert moment_of(text) == moment
    assert stamp(moment.astimezone(timezone(timedelta(hours=5)))) == text
    assert len(text) == 27
    assert stamp(moment + timedelta(microseconds=1)) > text


def test_a_moment_without_a_zone_is_refused() -> None:
    """Nobody knows when that was."""
    with pytest.raises(ValueError, match="zone"):
        stamp(datetime(2026, 11, 25))
