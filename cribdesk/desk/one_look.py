"""One look at the store in which what several lists rest on is worked out once."""

from __future__ import annotations

from collections.abc import Callable, Hashable
from typing import Any, TypeVar, cast

from cribdesk.desk.ports import Reader, Records

T = TypeVar("T")


class OneLook:
    """A reader that remembers. It lives as long as one question: what it remembers is right for that look alone."""

    def __init__(self, reader: Reader) -> None:
        self._reader = reader
        self._known: dict[Hashable, Any] = {}

    def __getattr__(self, name: str) -> Any:
        return getattr(self._reader, name)

    def once(self, key: Hashable, make: Callable[[], T]) -> T:
        """What stands under the key, made when it is asked for first."""
        if key not in self._known:
            self._known[key] = make()
        return cast(T, self._known[key])


def one_look(reader: Reader) -> Reader:
    """The reader, remembering."""
    return cast(Reader, OneLook(reader))


def once(reader: Records, key: Hashable, make: Callable[[], T]) -> T:
    """What is made; where the reader remembers, only the first time. A Work never does: it changes what is read."""
    return reader.once(key, make) if isinstance(reader, OneLook) else make()
