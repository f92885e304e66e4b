"""Scan scripts: text files that replay a stretch of a shift and hold the counter to what must lie there.

A line at the left margin is done; lines set in under it say what must then be so (and
where they say no paper and no entry, that there were none). `#` begins a remark.

    find NAME                      somebody found by the search, no badge in hand
    scan NAME | scan "TEXT"        a named thing's label, or any text; `scan slip` and `scan tag` are the last ones
    card good                      a scanned answer card or command
    press COMMAND [VALUE]          a button
    fill FIELD VALUE               a field of the open form ('-' empties it; a name stands for its label)
    good [N] | not good [WORDS]    answers to the step page, N times
    reads 158 | reads 158 at -10 [HPA] | ball above | ball above at -10    a flow meter, in air of so many °C
    alarm 17 [OUTCOME] | wait 125 | choose TEXT | done [WORDS] | not possible
    +20s, +11m, +3h, -2h           the clock; `tick` lets the counter notice
    slow | through                 operations wait for their answer; now they get it
    again                          the last operation once more under its own id
    next-return                    the list's button: the oldest return to complete comes up
    elsewhere issue UNIT to PERSON with PACK | elsewhere return UNIT | elsewhere hold UNIT REASON
    issue UNIT to PERSON with PACK one whole hand-over here
    pass [STEP]                    every answer good, up to a step or to the end
    setting NAME VALUE             a setting of the site
    elsewhere packs NOTICE MODEL WHY     a maker's notice of packs, typed into the office's form
    order ITEM PIECES              a requisition is handed over; `scan "]C101...<GS>..."` is a carton
    lasts PACK HOURS               its runs so far told that it runs so long
    found AREA SUBSTANCE 12 ppm [short]     the hygienist's finding; 'none' as figure: there, not assessed
    condition AREA confined | condition AREA changed WORDS     what holds of it, as the safety office says it
    area NAME AGENTS               what is in its air     bag STREAM | close bag in DRUM    a waste bag, `scan bag`
    crowd N | each 2 40 STEP; STEP so many more wearers, units and packs; steps for every number N

    line LEVEL | WORDS             the scan line, word for word; {NAME} is that thing's label
    opens | FORM {NAME}      the entry form that was opened last, and what it is about
    slate | person unit battery area check passed form tray     what lies there ('empty')
    first | WORDS      what a check says first, its beginning
    stops | CODES      cautions | CODES      button | WORDS [| COST]      page | STEP or remedy KIND POSITION
    UNIT | ready, rack             serviceable, where     UNIT out | NAME or nobody     UNIT holds | CODES
    UNIT worn | 6.5    PACK | shelf     stock ITEM LOT | 3     form FIELD | VALUE
    own checks UNIT | good, air not good     as they were recorded
    runs PACK | 3 ran flat high     what is kept of a pack's runs
    ask cautions | WORDS    ask line ITEM | 2, NOTE    ask FIELD | VALUE     the form of a matter
    accepted UNIT | CODE by NAME: WHY     cautions that somebody accepted
    requisition N | part delivered     how far it is
    list ID | stop {UNIT}, fine {UNIT}     rows of a list of the shift: sign and label
    papers | NAMES     journal | OPERATIONS     since the line above was done
"""

from __future__ import annotations

import re
import shlex
from collections.abc import Callable
from dataclasses import dataclass, field, fields, replace
from datetime import timedelta
from enum import Enum
from itertools import groupby
from math import log
from typing import Any

from cribdesk.crib.label import Kind
from cribdesk.crib.reasons import cautions, stops
from cribdesk.crib.records import (
    Area,
    AssessmentBasis,
    Battery,
    BatteryRun,
    CautionAccepted,
    Custody,
    Fitted,
    Hold,
    Lot,
    OwnCheck,
    Part,
    Person,
    Requisition,
    Slip,
    StockItem,
    Supplier,
    Unit,
    WasteBag,
)
from cribdesk.crib.run_time import BATTERY, RunFit, Share
from cribdesk.crib.scan import FNC1
from cribdesk.crib.serviceable import condition
from cribdesk.desk.actions import actions
from cribdesk.desk.area import ChangeArea
from cribdesk.desk.area_facts import SayAreaCondition
from cribdesk.desk.assessments import AssessArea
from cribdesk.desk.commands import BY_ID
from cribdesk.desk.facts import standing_of
from cribdesk.desk.office import SetSetting
from cribdesk.desk.ports import Reader
from cribdesk.desk.shift_lists import shift_lists
from cribdesk.desk.slate import AskForm
from cribdesk.desk.stock import AddSupplier, SendRequisition
from cribdesk.desk.waste import CloseBag, OpenBag
from cribdesk.procedure.answers import Ball, Chosen, Good, Measured, NotGood, RemedyDone, RemedyNotPossible, Timed
from cribdesk.procedure.run import page
from tests.desk.elsewhere import Elsewhere
from tests.desk.harness import Desk
from tests.desk.shop import Shop, good_answer

NONE = ("none", "nobody", "empty", "nothing", "")
SPAN = re.compile(r"([+-])(\d+)([smh])")
UNITS = {"s": "seconds", "m": "minutes", "h": "hours"}


@dataclass
class Step:
    """One line done, with what must then be so."""

    number: int
    text: str
    expected: list[tuple[int, str, str]] = field(default_factory=list)


def read_script(text: str) -> list[Step]:
    """The steps of a script. Raises ValueError for a line that is none."""
    steps: list[Step] = []
    for number, raw in enumerate(text.splitlines(), 1):
        line = raw.rstrip()
        if not line.strip() or line.lstrip().startswith("#"):
            continue
        if not line[0].isspace():
            steps.append(Step(number, line))
            continue
        what, bar, wanted = line.partition("|")
        if not bar or not steps:
            raise ValueError(f"line {number}: {line.strip()!r} is no expectation")
        steps[-1].expected.append((number, what.strip(), wanted.strip()))
    return steps


def counted(names: list[str]) -> str:
    """'issue, print', 'issue x 39', 'none'."""
    runs = [(name, len(list(same))) for name, same in groupby(names)]
    return ", ".join(name if many == 1 else f"{name} x {many}" for name, many in runs) or "none"


def _own(check: OwnCheck) -> str:
    """'good', 'air, alarm not good'."""
    bad = [words for good, words in ((check.flow_good, "air"), (check.alarm_good, "alarm")) if not good]
    bad += [check.note] if check.note else []
    return f"{', '.join(bad)} not good" if bad else "good"


class Script:
    """One script on one counter of a shop."""

    def __init__(self, desk: Desk, shop: Shop) -> None:
        self.desk, self.shop = desk, shop
        self.elsewhere = Elsewhere(desk, shop)
        self.entries_before = 0

    def run(self, text: str) -> int:
        """Does every step; raises AssertionError with the line that does not hold. Returns the expectations met."""
        met = 0
        for step in read_script(text):
            with self.desk.store.reading() as reader:
                self.entries_before = reader.entry_count()
            self.desk.papers.clear()
            try:
                self._do(step.text)
            except Exception as failure:
                raise AssertionError(f"line {step.number}: {step.text}: {failure!r}") from failure
            wanted = [what for _, what, _ in step.expected]
            expected = list(step.expected)
            if expected:
                expected += [(step.number, what, "none") for what in ("papers", "journal") if what not in wanted]
            for number, what, value in expected:
                found = self._found(what, value)
                assert found == self._names_filled(value), f"line {number}: {what}: {found!r}, not {value!r}"
                met += 1
        return met

    # What is done.

    def _do(self, text: str) -> None:
        span = SPAN.fullmatch(text)
        if span:
            sign = -1 if span[1] == "-" else 1
            self.desk.pass_time(sign * timedelta(**{UNITS[span[3]]: int(span[2])}))
            return
        verb, *rest = shlex.split(text)
        verb = verb.replace("-", "_")
        handler: Callable[..., None] | None = getattr(self, f"_do_{verb}", None)
        if handler is None:
            raise ValueError(f"{verb!r} is nothing a script can do")
        handler(*rest)

    def _do_scan(self, name: str) -> None:
        self.desk.scan(self._label(name).replace("<GS>", FNC1))

    def _do_order(self, code: str, pieces: str) -> None:
        """A requisition for one item is handed over to its supplier, as the office writes it."""
        self.shop.moment = self.desk.moment
        with self.desk.store.reading() as reader:
            known = reader.first(Supplier, name="Keramion")
        if known is None:
            self.shop.do(AddSupplier, supplier="Keramion")
        with self.desk.store.reading() as reader:
            supplier = reader.first(Supplier, name="Keramion")
            item = self.shop.record_in(reader, StockItem, code)
        assert supplier is not None
        self.shop.do(SendRequisition, supplier_id=supplier.id, lines=((item.id, int(pieces), 310),))

    def _do_find(self, name: str) -> None:
        """Somebody found by the search, as the window brings them to the counter."""
        self.desk.scan(self._label(name), by_name=True)

    def _do_card(self, command: str) -> None:
        self.desk.scan(BY_ID[command].label)

    def _do_press(self, command: str, value: str = "") -> None:
        assert command in BY_ID, command
        self.desk.choose(command, value)

    def _do_fill(self, name: str, *value: str) -> None:
        text = " ".join(value)
        self.desk.fill(self._names_filled(name), "" if text == "-" else self.shop.names.get(text, text))

    def _do_good(self, times: str = "1") -> None:
        for _ in range(int(times)):
            self.desk.pass_time(timedelta(seconds=2))
            self.desk.answer(Good())

    def _do_not(self, what: str, *words: str) -> None:
        self.desk.pass_time(timedelta(seconds=2))
        assert what in ("good", "possible"), what
        given = NotGood(" ".join(words)) if what == "good" else RemedyNotPossible(" ".join(words))
        self.desk.answer(given)

    def _do_reads(self, value: str, at: str = "at", celsius: str = "", pressure: str = "") -> None:
        """In the air entered last, 20 °C before any was; or at so many degrees, and hPa of the barometer."""
        assert at == "at", at
        self.desk.pass_time(timedelta(seconds=10))
        temperature, pascal = (float(one) if one else None for one in (celsius, pressure))
        self.desk.answer(Measured(float(value), temperature_c=temperature, pressure_hpa=pascal))

    def _do_ball(self, where: str, at: str = "at", celsius: str = "") -> None:
        assert at == "at", at
        self.desk.answer(Ball(where, temperature_c=float(celsius) if celsius else None))

    def _do_alarm(self, seconds: str, outcome: str = "all") -> None:
        self.desk.pass_time(timedelta(seconds=float(seconds)))
        self.desk.answer(Timed(float(seconds), outcome), float(seconds))

    def _do_wait(self, seconds: str, still: str = "") -> None:
        """The clock of a timed step ran so long; `still` where some of it went by already."""
        self.desk.pass_time(timedelta(seconds=float(still or seconds)))
        self.desk.answer(Timed(float(seconds)), float(seconds))

    def _do_choose(self, *words: str) -> None:
        self.desk.answer(Chosen(" ".join(words)))

    def _do_done(self, *words: str) -> None:
        self.desk.pass_time(timedelta(seconds=5))
        self.desk.answer(RemedyDone(" ".join(words)))

    def _do_setting(self, name: str, value: str) -> None:
        """A setting of the site, as the office sets it; every counter has it at once."""
        self.shop.moment = self.desk.moment
        self.shop.do(SetSetting, setting=name, value=value)
        settings = dict(self.desk.house.settings) | {name: value}
        self.desk.house = self.desk.counter.house = replace(self.desk.house, settings=settings)

    def _do_lasts(self, pack: str, hours: str) -> None:
        """The pack's runs so far told that it runs so long at either speed, as the forecasts keep it."""
        battery = self.shop.record(Battery, pack)
        speeds = (("WL1 low", 0.0), ("WL1 high", 0.0))
        fit = RunFit(
            model=battery.model, mean=log(float(hours)), speeds=speeds, fade=(0.0, 0.0001), load=(0.0, 0.0001),
            sigma=0.05, runs=400, flat=150, most_cycles=300, groups=((4, 3),), known=(), left_out=(), seq=1,
            at=self.desk.moment,
        )  # fmt: skip
        share = Share(BATTERY, battery.id, battery.model, 0.0, 0.02, 20, 10, 0)
        with self.shop.store.deriving() as deriving:
            deriving.put_runs(fit, [share])

    def _do_area(self, name: str, *agents: str) -> None:
        """What is in the air of an area, as the office enters it."""
        self.shop.moment = self.desk.moment
        area = self.shop.record(Area, name)
        self.shop.do(
            ChangeArea, area_id=area.id, area_name=area.name, required=area.required, agents=" ".join(agents)
        )

    def _do_found(self, name: str, substance: str, figure: str, unit: str, how: str = "average") -> None:
        """A finding of the hygienist, entered by the office today; 'found bay-3 ozone none' is there, not assessed."""
        self.shop.moment = self.desk.moment
        area, today = self.shop.record(Area, name), self.desk.house.today(self.desk.moment)
        given: dict[str, Any] = {"made_by": "T. Ambrus, hygienist", "document": "Report 26-099", "unit": unit}
        if figure == "none":
            given = {"unit": unit}
        else:
            given["short" if how == "short" else "concentration"] = float(figure)
        fields = {"area_id": area.id, "substance": substance, "basis": AssessmentBasis.STATED, "made_on": today}
        self.shop.do(AssessArea, **fields, **given)

    def _do_condition(self, name: str, mark: str, *changed: str) -> None:
        """What holds of an area, as the safety office says it: one mark, or 'changed' and what."""
        self.shop.moment = self.desk.moment
        area, today = self.shop.record(Area, name), self.desk.house.today(self.desk.moment)
        marks = {"changed": " ".join(changed)} if changed else {mark: True}
        self.shop.do(SayAreaCondition, area_id=area.id, said_on=today, **marks)

    def _do_bag(self, *stream: str) -> None:
        """A waste bag is opened in the office; `scan bag` is the last one."""
        self.shop.moment = self.desk.moment
        self.shop.names["bag"] = self.shop.do(OpenBag, stream=" ".join(stream)).subjects[0]

    def _do_close(self, bag: str, in_: str, drum: str) -> None:
        self.shop.moment = self.desk.moment
        self.shop.do(CloseBag, bag_id=self.shop.record(WasteBag, bag).id, drum=drum)

    def _found_first(self, wanted: str) -> str:
        """Whether a check says first what its unit brought along; its beginning is enough."""
        said = " ".join(self.desk.slate.check.cautions) if self.desk.slate.check else ""
        return wanted if said.startswith(wanted) and wanted else said

    def _do_tick(self) -> None:
        self.desk.tick()

    def _do_slow(self) -> None:
        self.desk.slow = True

    def _do_through(self) -> None:
        self.desk.slow = False
        self.desk.let_through()

    def _do_again(self) -> None:
        before = self.desk.done[-1]
        receipt = self.desk.again()
        assert receipt.operation_id == before.operation_id

    def _do_elsewhere(self, verb: str, *rest: str) -> None:
        self.elsewhere.do(verb, *rest)

    def _do_crowd(self, count: str) -> None:
        self.shop.moment = self.desk.moment - timedelta(minutes=40)
        self.shop.crowd(int(count))

    def _do_issue(self, unit: str, to: str, person: str, with_: str, pack: str) -> None:
        """The whole hand-over of one unit, every answer good."""
        for name in (person, unit, pack, "bay-3"):
            self._do_scan(name)
        self._do_press("go")
        while self.desk.slate.check is not None:
            check = self.desk.slate.check
            self.desk.answer(good_answer(check.run, check.instrument_label or self.shop.names["meter"]))
        self._do_scan(person)
        assert self.desk.slate.line.words.startswith("Issued"), self.desk.slate.line

    def _do_pass(self, upto: str = "") -> None:
        """Every answer of the check good, up to the page of a step, or to its end."""
        while self.desk.slate.check is not None and page(self.desk.slate.check.run).step != upto:
            run = self.desk.slate.check.run
            shown = page(run)
            given = good_answer(run, self.desk.slate.check.instrument_label or self.shop.names["meter"])
            elapsed = given.seconds if isinstance(given, Timed) else 2.0
            self.desk.pass_time(timedelta(seconds=elapsed))
            self.desk.answer(given, elapsed)
            check = self.desk.slate.check
            assert check is None or page(check.run) != shown, self.desk.slate.line

    def _do_each(self, first: str, last: str, *words: str) -> None:
        """`each 2 40 scan wearer-N`: the rest once for every number; its papers and entries count together."""
        for number in range(int(first), int(last) + 1):
            for part in " ".join(words).split(";"):
                self._do(re.sub(r"-N\b", f"-{number}", part.strip()))

    def _do_next_return(self) -> None:
        """The button 'Complete one after the other' of the list of returns to complete."""
        self.desk.bring("complete-return", "next")

    def _do_gather(self, *names: str) -> None:
        self.desk.gather([self.shop.record(Unit, name).id for name in names])

    # What must be so.

    def _found(self, what: str, wanted: str) -> str:
        if what in ("papers", "journal"):
            return self._asked(what)
        if what in ("line", "opens", "slate", "first", "stops", "cautions", "button", "page"):
            return str(getattr(self, f"_found_{what}")(wanted))
        with self.desk.store.reading() as reader:
            return self._in_store(reader, what.split(), wanted)

    def _asked(self, what: str) -> str:
        if what == "papers":
            return counted(self.desk.papers)
        with self.desk.store.reading() as reader:
            new = reader.entry_count() - self.entries_before
            entries = reader.entries(count=new).entries if new else ()
        return counted([entry.operation for entry in reversed(entries)])

    def _found_line(self, wanted: str) -> str:
        line = self.desk.slate.line
        words = wanted.partition("|")[2]
        if "..." in words:
            begin, _, end = self._names_filled(words.strip()).partition("...")
            fits = line.words.startswith(begin.strip()) and line.words.endswith(end.strip())
            words = words.strip() if fits else line.words
            return f"{line.level} | {self._names_filled(words)}"
        return f"{line.level} | {line.words}"

    def _found_opens(self, wanted: str) -> str:
        form, about = self.desk.entries[-1] if self.desk.entries else ("none", "")
        return f"{form} {about}".strip()

    def _found_slate(self, wanted: str) -> str:
        slate = self.desk.slate
        there = [
            name
            for name in ("person", "unit", "battery", "area", "check", "passed", "form", "tray", "pending")
            if getattr(slate, name)
        ]
        return " ".join(there) or "empty"

    def _found_stops(self, wanted: str) -> str:
        return ", ".join(sorted(one.code for one in stops(self.desk.slate.reasons))) or "none"

    def _found_cautions(self, wanted: str) -> str:
        return ", ".join(sorted(one.code for one in cautions(self.desk.slate.reasons))) or "none"

    def _found_button(self, wanted: str) -> str:
        found = [one for one in actions(self.desk.house, self.desk.slate) if one.kind == "go"]
        if not found:
            return "none"
        words = found[0].why or found[0].words
        return f"{words} | {found[0].cost}" if "|" in wanted else words

    def _found_page(self, wanted: str) -> str:
        check = self.desk.slate.check
        if check is None:
            return "none"
        shown = page(check.run)
        if shown.kind != "remedy" or shown.remedy is None:
            return shown.step or shown.kind
        return f"remedy {shown.remedy.kind} {shown.remedy.position or ''}".strip()

    def _in_store(self, reader: Reader, words: list[str], wanted: str) -> str:
        match words:
            case ["ask", *rest]:
                return self._ask(*rest)
            case ["form", name]:
                value = getattr(self.desk.slate.form, name)
                return str(value.value if isinstance(value, Enum) else value)
            case ["stock", code, lot]:
                item = self.shop.record_in(reader, StockItem, code)
                found = reader.first(Lot, item_id=item.id, code=lot)
                return str(found.on_hand if found else None)
            case [name, "holds"]:
                unit = self.shop.record_in(reader, Unit, name)
                holds = reader.find(Hold, unit_id=unit.id, released_at=None)
                return ", ".join(sorted(one.reason for one in holds)) or "none"
            case ["list", id_]:
                rows = shift_lists()[id_].read(reader, self.desk.house, self.desk.moment).rows
                return ", ".join(f"{row.sign} {row.label or row.what}" for row in rows) or "none"
            case ["requisition", made]:
                requisition = reader.first(Requisition, number=int(made))
                return requisition.state if requisition else "none"
            case [name, "out"]:
                return self._holder(reader, name)
            case [name, "worn"]:
                return f"{self.shop.record_in(reader, Unit, name).worn_hours:g}"
            case ["part", name]:
                return self.shop.record_in(reader, Part, name.replace(".", " ")).place.value
            case [name, "fitted", position]:
                unit = self.shop.record_in(reader, Unit, name)
                fitted = reader.first(Fitted, unit_id=unit.id, position=position, removed_at=None)
                lot = reader.get(Lot, fitted.lot_id) if fitted and fitted.lot_id else None
                return lot.code if lot else "none"
            case ["part", name, position]:
                unit = self.shop.record_in(reader, Unit, name)
                fitted = reader.first(Fitted, unit_id=unit.id, position=position, removed_at=None)
                assert fitted is not None
                return f"{fitted.worn(unit.worn_hours):g}"
            case ["custody", name, column]:
                return self._custody(reader, name, column)
            case ["own", "checks", name]:
                unit = self.shop.record_in(reader, Unit, name)
                return ", ".join(_own(one) for one in reader.find(OwnCheck, unit_id=unit.id)) or "none"
            case ["accepted", name]:
                return self._accepted(reader, name)
            case ["runs", name]:
                battery = self.shop.record_in(reader, Battery, name)
                runs = reader.find(BatteryRun, battery_id=battery.id)
                return ", ".join(f"{one.worn_hours:g} {one.ended.value} {one.speed}".strip() for one in runs)
            case [name]:
                return self._thing(reader, name)
        raise ValueError(f"{' '.join(words)!r} is nothing a script can look at")

    def _accepted(self, reader: Reader, name: str) -> str:
        """Every caution accepted with the unit's newest custody."""
        custody = reader.latest(Custody, unit_id=self.shop.record_in(reader, Unit, name).id)
        rows = reader.find(CautionAccepted, custody_id=custody.id) if custody else []
        names = {label: known for known, label in self.shop.names.items()}
        by = {one.id: names[reader.get(Person, one.by_id).label] for one in rows}
        return "; ".join(f"{one.code} by {by[one.id]}: {one.why}" for one in rows) or "none"

    def _ask(self, what: str, name: str = "") -> str:
        """The open form of a matter: its cautions, a line's number and note, or what stands in a field."""
        form = self.desk.slate.form
        assert isinstance(form, AskForm), form
        if what == "cautions":
            return "; ".join(form.cautions) or "none"
        if what == "line":
            found = next((one for one in form.lines if one.key == self._label(name)), None)
            return f"{found.number}, {found.note}" if found else "none"
        return form.value(what)

    def _thing(self, reader: Reader, name: str) -> str:
        label = self.shop.names[name]
        if label[0] == Kind.BATTERY:
            return self.shop.record_in(reader, Battery, name).place.value
        if label[0] == Kind.PART:
            return self.shop.record_in(reader, Part, name).place.value
        unit = self.shop.record_in(reader, Unit, name)
        standing = standing_of(reader, self.desk.house, unit, self.desk.moment)
        return f"{condition(standing).state.value}, {unit.where.value}"

    def _holder(self, reader: Reader, name: str) -> str:
        unit = self.shop.record_in(reader, Unit, name)
        found = reader.find(Custody, unit_id=unit.id, returned_at=None)
        names = [reader.get(Person, one.person_id).name.rpartition(" ")[2] for one in found]
        return ", ".join(names) or "nobody"

    def _custody(self, reader: Reader, name: str, column: str) -> str:
        """A column of the unit's latest custody."""
        unit = self.shop.record_in(reader, Unit, name)
        custody = reader.latest(Custody, unit_id=unit.id)
        assert custody is not None
        assert column in {one.name for one in fields(custody)}, column
        value = getattr(custody, column)
        if column in ("brought_by", "person_id") and value:
            return reader.get(Person, value).name.rpartition(" ")[2]
        return str(value.value if isinstance(value, Enum) else value).replace("\n", "; ")

    def _label(self, name: str) -> str:
        if name == "slip" or name == "tag":
            return self._last(name)
        if name.startswith("tag of "):
            unit = self.shop.record(Unit, name.removeprefix("tag of "))
            with self.desk.store.reading() as reader:
                hold = reader.latest(Hold, unit_id=unit.id, released_at=None)
            return hold.tag if hold else ""
        return self.shop.names.get(name, name)

    def _last(self, name: str) -> str:
        with self.desk.store.reading() as reader:
            if name == "slip":
                slip = reader.latest(Slip)
                return slip.label if slip else ""
            hold = reader.latest(Hold)
            return hold.tag if hold else ""

    def _names_filled(self, text: str) -> str:
        def label(found: re.Match[str]) -> str:
            return self._label(found[1])

        filled = re.sub(r"\{([^}]+)\}", label, text)
        return filled.replace("~", "\u00a0")
