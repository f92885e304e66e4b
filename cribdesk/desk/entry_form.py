"""What a form is to which records are entered or changed: fields in words, values as typed, troubles by field."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import TypeVar

from cribdesk.crib.model import UnitModel
from cribdesk.crib.refusal import NotAllowed
from cribdesk.crib.words import capital
from cribdesk.desk import typed
from cribdesk.desk.house import House
from cribdesk.desk.operation import Operation
from cribdesk.desk.ports import Reader
from cribdesk.desk.receipt import Receipt

V = TypeVar("V")
YES, NO = "yes", "no"
ABOUT = "about"
"""The field that says what a form is about; the other fields depend on it."""


@dataclass(frozen=True)
class EntryField:
    """One field. Kinds: text, number, date, choice, yes-no. `choices` are (value, words).

    `value` is what stands in it at first. With `only` = (field, value, ...) it is asked for while that field has
    one of those values, and not otherwise. A number that is `signed` may be below zero. One that `begins` a line has
    none before it there.
    """

    name: str
    words: str
    kind: str = "text"
    needed: bool = False
    help: str = ""
    choices: tuple[tuple[str, str], ...] = ()
    value: str = ""
    only: tuple[str, ...] | None = None
    unit: str = ""
    decimals: int = 0
    signed: bool = False
    begins: bool = False


@dataclass(frozen=True)
class EntryForm:
    """A form as it is shown. `who` are the roles that may; `others` are (id, words) of the forms beside it.

    `note` is what is missing first, in words; the form can then not be entered.
    """

    id: str
    title: str
    fields: tuple[EntryField, ...]
    who: tuple[str, ...] = ()
    others: tuple[tuple[str, str], ...] = ()
    lead: str = ""
    note: str = ""

    def shown(self, values: Mapping[str, str]) -> tuple[EntryField, ...]:
        """The fields that are asked for while the form stands so."""
        found: dict[str, EntryField] = {}
        for one in self.fields:
            if one.only is None or (one.only[0] in found and values.get(one.only[0]) in one.only[1:]):
                found[one.name] = one
        return tuple(found.values())


Troubles = tuple[tuple[str, str], ...]
"""(field, what is wrong with it); an empty field for the form as a whole."""


class FormTroubles(Exception):
    """Values that no operation can be made of, field by field."""

    def __init__(self, troubles: Troubles) -> None:
        super().__init__("; ".join(words for _, words in troubles))
        self.troubles = troubles


@dataclass(frozen=True)
class Entered:
    """What became of a form: done (`receipt`, and its `words`), or its troubles; `form` is what comes next, if any."""

    form: EntryForm | None
    troubles: Troubles
    receipt: Receipt | None = None
    words: str = ""


def troubles_of(failure: FormTroubles | NotAllowed) -> Troubles:
    """What stands against a form, by field; what the rules forbid is about the form as a whole."""
    return failure.troubles if isinstance(failure, FormTroubles) else (("", failure.words()),)


@dataclass
class Filled:
    """The values of a form as they were typed, read field by field; what is wrong is gathered."""

    form: EntryForm
    values: Mapping[str, str]
    troubles: dict[str, str] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self._shown = {one.name: one for one in self.form.shown(self.values)}
        for one in self._shown.values():
            if one.needed and not self._raw(one.name):
                self.troubles[one.name] = "This is needed."

    def text(self, name: str) -> str:
        """Words, or ''."""
        return self._read(name, typed.words_of) or ""

    def day(self, name: str) -> date | None:
        """A date, or None."""
        return self._read(name, typed.day_of)

    def the_day(self, name: str) -> date:
        """A date that is needed; where it is missing that is told already."""
        return self.day(name) or date.min

    def whole(self, name: str, low: int = 0, high: int = 1_000_000) -> int | None:
        """A whole number, or None."""
        return self._read(name, lambda text: typed.whole_of(text, low, high))

    def figure(self, name: str, low: float, high: float) -> float | None:
        """A number with a point or, typed by hand, a comma; or None."""
        return self._read(name, lambda text: typed.figure_of(text.replace(",", "."), low, high))

    def cents(self, name: str) -> int | None:
        """A price in cents, or None."""
        return self._read(name, lambda text: typed.cents_of(text.replace(",", ".")))

    def yes(self, name: str) -> bool:
        """Whether it is ticked."""
        return self._raw(name) == YES

    def pick(self, name: str) -> str:
        """What was chosen, or ''."""
        return self._read(name, lambda text: _one_of(text, self._shown[name])) or ""

    def finish(self) -> None:
        """Raises FormTroubles when anything is wrong."""
        if self.troubles:
            ordered = [(one.name, self.troubles[one.name]) for one in self.form.fields if one.name in self.troubles]
            raise FormTroubles(tuple(ordered))

    def _raw(self, name: str) -> str:
        return self.values.get(name, "").strip() if name in self._shown else ""

    def _read(self, name: str, read: Callable[[str], V]) -> V | None:
        text = self._raw(name)
        if not text:
            return None
        try:
            return read(text)
        except ValueError as failure:
            self.troubles[name] = f"{failure}."
            return None


def _one_of(text: str, asked: EntryField) -> str:
    if text not in {value for value, _ in asked.choices}:
        raise ValueError("This is not on the list")
    return text


@dataclass(frozen=True)
class Asked:
    """What a form is made for: a store, the house, the moment, and what it is about, or ''.

    That is a label; after a blank the id of a lot of it may follow.
    """

    reader: Reader
    house: House
    moment: datetime
    about: str = ""

    @property
    def label(self) -> str:
        """The label of what it is about."""
        return self.about.partition(" ")[0]

    @property
    def part(self) -> str:
        """What of it is meant, or ''."""
        return self.about.partition(" ")[2]


Fields = tuple[EntryField, ...]


@dataclass(frozen=True)
class EntryKind:
    """One form: its place among others, its title, what it becomes, its fields and how their values are read.

    `missing` says what has to be entered before it, in words; it is asked of a form `without` fields alone where these
    tell it. Without `again` a form that was entered closes;
    else it stands there for the next, about the same where it `keeps` that. A `private` one opens only for a role that
    may enter it.
    """

    id: str
    group: str
    words: str
    title: str
    operation: type[Operation]
    fields: Callable[[Asked], Fields]
    build: Callable[[Filled, Asked, str], Operation]
    lead: str | Callable[[Asked], str] = ""
    missing: Callable[[Asked], str] | None = None
    again: bool = True
    private: bool = False
    keeps: bool = False
    without: bool = False


def same(values: Iterable[str]) -> tuple[tuple[str, str], ...]:
    """Choices whose words are their values."""
    return tuple((str(one), capital(str(one))) for one in values)


def or_none(choices: Iterable[tuple[str, str]], words: str = "none") -> tuple[tuple[str, str], ...]:
    """The choices, and before them the one that chooses nothing."""
    return (("", words), *choices)


def model_choices(models: Iterable[UnitModel]) -> tuple[tuple[str, str], ...]:
    """Unit models by code."""
    return tuple((one.code, f"{one.code}: {one.name}") for one in sorted(models, key=lambda one: one.code))
