"""The papers there are: every module of this package but the kit holds one `PAPER`; doubles are refused."""

from __future__ import annotations

import importlib
import pkgutil
import threading
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from types import MappingProxyType, ModuleType
from typing import Any, Generic, TypeVar

from cribdesk.papers.settings import CannotPrint, PaperSettings

KIT = frozenset({"barcodes", "faces", "flow", "half", "pdf", "register", "settings", "sheet", "signs"})
Wanted = TypeVar("Wanted")
_one_at_a_time = threading.Lock()  # a face is drawn with by one thread at a time


@dataclass(frozen=True)
class Paper(Generic[Wanted]):
    """A paper: its name in receipts, its title for people, the record it wants, and what makes its PDF.

    One that may be long has `in_steps` besides: it tells how far it is, 0 to 1, and at the end gives the document.
    """

    name: str
    title: str
    wants: type[Wanted]
    draw: Callable[[Wanted, PaperSettings], bytes]
    in_steps: Callable[[Wanted, PaperSettings], Iterator[float | bytes]] | None = None


class RegisterFault(Exception):
    """A module of the package that holds no paper, or one whose name another has."""


def collect(modules: Iterable[ModuleType]) -> Mapping[str, Paper[Any]]:
    """The papers of the modules by name. Raises RegisterFault for a module without one, and for doubles."""
    papers: dict[str, Paper[Any]] = {}
    for module in modules:
        paper = getattr(module, "PAPER", None)
        if not isinstance(paper, Paper):
            raise RegisterFault(f"{module.__name__} holds no PAPER")
        if paper.name in papers:
            raise RegisterFault(f"{module.__name__} holds a second paper named '{paper.name}'")
        papers[paper.name] = paper
    return MappingProxyType(papers)


@lru_cache(1)
def papers() -> Mapping[str, Paper[Any]]:
    """All papers by name."""
    package = importlib.import_module("cribdesk.papers")
    names = sorted(found.name for found in pkgutil.iter_modules(package.__path__) if found.name not in KIT)
    return collect(importlib.import_module(f"cribdesk.papers.{name}") for name in names)


def render(name: str, record: object, settings: PaperSettings) -> bytes:
    """The PDF of a paper; the same arguments give the same bytes.

    Raises CannotPrint where there is no such paper or it cannot be made as set, TypeError where the record
    is not the one that the paper wants.
    """
    paper = _paper(name, record)
    with _one_at_a_time:
        return paper.draw(record, settings)


def render_in_steps(name: str, record: object, settings: PaperSettings) -> Iterator[float | bytes]:
    """How far it is, 0 to 1, step by step, and at the end the PDF; a paper that is never long is one step.

    Between two steps other papers may be made: a document keeps its own state of each face. Raises as `render` does.
    """
    paper = _paper(name, record)
    if paper.in_steps is None:
        yield render(name, record, settings)
        return
    steps = paper.in_steps(record, settings)
    while True:
        with _one_at_a_time:
            step = next(steps, None)
        if step is None:
            return
        yield step


def _paper(name: str, record: object) -> Paper[Any]:
    paper = papers().get(name)
    if paper is None:
        raise CannotPrint(f"There is no paper named '{name}'. There are {', '.join(papers())}.")
    if not isinstance(record, paper.wants):
        raise TypeError(f"{name} wants {paper.wants.__name__}, not {type(record).__name__}")
    return paper
