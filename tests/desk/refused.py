"""What a refusal must be: the right kind, whole words, nothing changed."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

import pytest

from cribdesk.crib.records import Person
from cribdesk.crib.refusal import NotAllowed
from tests.desk.shop import Shop


@contextmanager
def refused(shop: Shop, kind: type[NotAllowed], words: str = "") -> Iterator[None]:
    """The block is not allowed, for that reason, in plain words, and leaves no entry."""
    before = head(shop)
    with pytest.raises(kind) as caught:
        yield
    said = caught.value.words()
    assert words in said
    assert said.endswith(("Nothing changed.", "Nothing was issued here."))
    assert head(shop) == before


@contextmanager
def as_clerk(shop: Shop, name: str | None) -> Iterator[None]:
    """The block is done by somebody else, or by nobody."""
    usual = shop.clerk_id
    shop.clerk_id = None if name is None else shop.record(Person, name).id
    yield
    shop.clerk_id = usual


def head(shop: Shop) -> tuple[int, str]:
    """Where the journal stands."""
    with shop.store.reading() as reader:
        found = reader.head()
    return found.seq, found.digest
