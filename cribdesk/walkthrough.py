"""A stretch of a shift, driven through the real window on the sample store without a screen."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import TypeVar

from cribdesk.crib.reasons import reasons, stops
from cribdesk.crib.records import Area, Battery, BatteryPlace, Person, Where
from cribdesk.desk.facts import IssueIds, facts_of
from cribdesk.desk.house import House
from cribdesk.desk.office import NotePrint
from cribdesk.desk.ports import Reader
from cribdesk.desk.slate import ReturnForm, Slate
from cribdesk.desk.standings import Member, fleet
from cribdesk.procedure.run import Page, page
from cribdesk.session import Session, ready, start
from cribdesk.station import Station
from cribdesk.window.background import Fault
from cribdesk.window.start import offscreen

T = TypeVar("T")

LOW_FLOW = "148"


class CannotWalk(RuntimeError):
    """The walkthrough met something it did not expect, in plain words."""


@dataclass
class FolderPrinter:
    """A printer that leaves every paper as a PDF in a folder."""

    folder: Path
    printed: list[str] = field(default_factory=list)

    def print(self, paper: str, pdf: bytes) -> None:
        """Writes the paper under the next number."""
        name = f"paper_{len(self.printed) + 1:02d}_{paper}.pdf"
        (self.folder / name).write_bytes(pdf)
        self.printed.append(name)


@dataclass(frozen=True)
class Cast:
    """Who and what takes part, by label: chosen from the store so that every step is possible."""

    wearer: str
    unit: str
    battery: str
    area: str
    second: str
    failing: str
    pack: str
    spare: str
    returning: str


def walk(folder: Path) -> int:
    """Issues a unit, fails one through the ladder and tags it, takes one back, opens a card.

    Leaves PNGs, PDFs, store.sqlite and steps.json in the folder. Returns the exit code; raises CannotWalk.
    """
    folder.mkdir(parents=True, exist_ok=True)
    if any(folder.iterdir()):
        raise CannotWalk(f"The folder {folder} is not empty. Give an empty one. Nothing changed.")
    offscreen()
    printer = FolderPrinter(folder)
    station = Station(folder / "workstation.json")
    session = start(printer, station)
    session.window.show()
    try:
        session.open_sample()
        Walk(session, printer, folder).whole()
        session.keep_copy(folder / "store.sqlite")
        if not ready(session) or not (folder / "store.sqlite").exists():
            raise CannotWalk(f"The store could not be copied. {session.trouble}".strip())
    finally:
        session.window.close()
        session.close()
        station.file.unlink(missing_ok=True)
    return 0


class Walk:
    """The stretch, step by step; every step waits until the window is at rest."""

    def __init__(self, session: Session, printer: FolderPrinter, folder: Path) -> None:
        self.session, self.printer, self.folder = session, printer, folder
        self.steps: list[dict[str, object]] = []
        self.papers_noted = 0

    @property
    def slate(self) -> Slate:
        """The counter as it is."""
        assert self.session.app is not None
        return self.session.app.slate

    def whole(self) -> None:
        """All of it."""
        self._rest()
        cast = self._read(_cast)
        self._show("counter_empty", ())
        self._issue(cast)
        self._fail(cast)
        self._return(cast)
        self._card(cast)
        self._write()

    def _issue(self, cast: Cast) -> None:
        for label in (cast.wearer, cast.unit, cast.battery, cast.area):
            self._scan(label)
        self._show("issue_reasons", (cast.wearer, cast.unit, cast.battery))
        self._key("F5")
        self._show("issue_check", (cast.unit,))
        self._answer_all(flow="")
        self._show("issue_waits_for_badge", (cast.unit, cast.wearer))
        self._scan(cast.wearer)
        self._expect(self.slate.empty, f"{cast.unit} was not issued")
        self._show("issued", (cast.unit, cast.wearer))

    def _fail(self, cast: Cast) -> None:
        for label in (cast.second, cast.failing, cast.pack, cast.area):
            self._scan(label)
        self._show("full_check_due", (cast.second, cast.failing))
        self._key("F5")
        self._answer_all(flow=LOW_FLOW, spare=cast.spare, show="ladder", label=cast.failing)
        self._expect(self.slate.unit is None, f"{cast.failing} was not held")
        self._show("failed", (cast.failing,))
        self._key("F9")
        self._scan(cast.failing)
        self._expect(bool(self.slate.unit and self.slate.unit.holds), f"{cast.failing} was not held")
        self._show("on_hold", (cast.failing,))
        self._key("F9")

    def _return(self, cast: Cast) -> None:
        self._scan(cast.returning)
        self._show("unit_out", (cast.returning,))
        self._key("F5")
        self._show("return_form", (cast.returning,))
        form = self.slate.form
        if isinstance(form, ReturnForm) and form.battery_label:
            self._scan(form.battery_label)
        self._key("F5")
        self._show("returned", (cast.returning,))
        self._key("F9")

    def _card(self, cast: Cast) -> None:
        self.session.window.open_place("unit", cast.unit)
        self._show("unit_page", (cast.unit,))
        self.session.window.open_place("journal")
        self._show("journal", ())

    def _answer_all(self, *, flow: str, spare: str = "", show: str = "", label: str = "") -> None:
        """Answers every page well, but airflow with `flow` where given, until the check has ended."""
        shown: set[str] = set()
        for _ in range(80):
            check = self.slate.check
            if check is None:
                return
            now = page(check.run)
            if show and now.kind not in shown:
                shown.add(now.kind)
                self._show(f"{show}_{now.kind}", (label,))
            self._answer(now, flow, spare)
        raise CannotWalk(f"The check did not end: step {now.number}, {now.title}.")

    def _answer(self, now: Page, flow: str, spare: str) -> None:
        if now.kind == "reading":
            if now.instrument and self.slate.air is None:  # the day's first reading asks for the air
                self._type("20")
                self._key("Return")
            self._type(flow or str(round((now.limit.low or 0) + 14) if now.limit else 180))
            self._key("F5")
        elif now.kind == "timed":
            self._timed(now)
        elif now.kind == "remedy" and self.slate.check and self.slate.check.ask == "battery":
            self._scan(spare)
        elif now.kind == "remedy" and self.slate.form is not None:
            self.session.window.filled.emit("choice", "0")
            self._rest()
            self._choose("done")
        else:
            self._key("F5")

    def _timed(self, now: Page) -> None:
        """Starts the clock and answers inside the window; waits for it in real time."""
        from cribdesk.window.hands import settle

        self._key("F5")
        low = now.limit.low if now.limit and now.limit.low else 0.0
        settle(round(low * 1000) + 600)
        self._key("F5")

    # Hands.

    def _scan(self, label: str) -> None:
        from cribdesk.window.hands import scan

        scan(self.session.window, label)
        self._rest()

    def _key(self, key: str) -> None:
        from cribdesk.window.hands import press

        press(self.session.window, key)
        self._rest()

    def _type(self, text: str) -> None:
        from cribdesk.window.hands import type_slowly

        type_slowly(self.session.window, text)

    def _choose(self, command: str) -> None:
        self.session.window.chosen.emit(command, "")
        self._rest()

    def _rest(self) -> None:
        from cribdesk.window.hands import settle

        settle(20)
        if not ready(self.session):
            raise CannotWalk(self.session.trouble or "The window did not come to rest.")

    # What is left behind.

    def _show(self, name: str, labels: tuple[str, ...]) -> None:
        from cribdesk.window.hands import picture

        self._rest()
        self._note_papers(labels)
        file = f"{len(self.steps) + 1:02d}_{name}.png"
        picture(self.session.window, self.folder / file)
        self.steps.append({"picture": file, "seq": self._seq(), "labels": list(labels)})

    def _note_papers(self, labels: tuple[str, ...]) -> None:
        """Papers since the last picture, each with its own label first."""
        names = self.printer.printed[self.papers_noted :]
        own = self._read(lambda reader, house, moment: _printed(reader, len(names))) if names else ()
        for name, label in zip(names, own, strict=True):
            self.steps.append({"paper": name, "seq": self._seq(), "labels": [label, *labels]})
        self.papers_noted = len(self.printer.printed)

    def _seq(self) -> int:
        return self._read(lambda reader, house, moment: reader.head().seq)

    def _read(self, question: Callable[[Reader, House, datetime], T]) -> T:
        assert self.session.app is not None
        app = self.session.app
        found: list[T | Fault] = []

        def work() -> T:
            with app.desk.store.reading() as reader:
                return question(reader, app.house, app.clock())

        self.session.background.run(work, found.append)
        self._rest()
        answer = found[0] if found else None
        if answer is None or isinstance(answer, Fault):
            raise CannotWalk(f"The store could not be read: {answer.error if answer else 'no answer'}")
        return answer

    def _write(self) -> None:
        self._note_papers(())
        (self.folder / "steps.json").write_text(json.dumps(self.steps, indent=1, ensure_ascii=False), "utf-8")

    def _expect(self, so: bool, otherwise: str) -> None:
        if not so:
            raise CannotWalk(f"{otherwise}: {self.slate.line.words}")


def _printed(reader: Reader, count: int) -> tuple[str, ...]:
    """What the last papers were printed of, oldest first."""
    entries = reader.entries(count=4 * count).entries
    prints = [entry for entry in entries if entry.operation == NotePrint.code]
    return tuple(entry.subjects[0] for entry in reversed(prints[:count]))


def _cast(reader: Reader, house: House, moment: datetime) -> Cast:
    """Chooses who and what takes part: the first in the store for whom each step is possible."""
    members = fleet(reader, house, moment)
    airy = [one for one in members if one.state == "ready" and one.standing and one.standing.model.battery_models]
    area = reader.find(Area)[0]
    packs = [one for one in reader.find(Battery, place=BatteryPlace.SHELF) if one.charged_at is not None]
    handed = _pair(reader, house, moment, airy, area, packs, full=False, but=())
    failing = _pair(reader, house, moment, airy, area, packs, full=True, but=handed)
    returning = next((one.unit.label for one in members if one.unit.where is Where.OUT), None)
    spare = next((one.label for one in packs if one.label not in (*handed, *failing)), None)
    if returning is None or spare is None:
        raise CannotWalk("The sample store has no unit that is out, or no spare pack.")
    return Cast(*handed, area.label, *failing, spare, returning)


def _pair(
    reader: Reader,
    house: House,
    moment: datetime,
    units: list[Member],
    area: Area,
    packs: list[Battery],
    *,
    full: bool,
    but: tuple[str, ...],
) -> tuple[str, str, str]:
    """A wearer, a unit and a pack that can go out together, with the full check due or the short one."""
    people = [one for one in reader.find(Person, active=True, roles="") if one.label not in but]
    for unit in units:
        models = unit.standing.model.battery_models if unit.standing else ()
        pack = next((one for one in packs if one.model in models and one.label not in but), None)
        for person in people if pack and unit.unit.label not in but else ():
            assert pack is not None
            facts = facts_of(reader, house, IssueIds(unit.unit.id, person.id, pack.id, area.id), moment)
            if facts.needs_full_check is not full:
                break
            if not facts.holds_now and not stops(reasons(facts, moment)):
                return person.label, unit.unit.label, pack.label
    raise CannotWalk(f"No unit of the sample store can go out now with the {'full' if full else 'short'} check.")
