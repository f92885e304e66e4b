"""Invented people, units and cards for the window's tests; nobody and nothing in them is real."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from types import MappingProxyType
from zoneinfo import ZoneInfo

from cribdesk.crib.change import PartOutlook, next_change
from cribdesk.crib.clearance import ClearanceState
from cribdesk.crib.entry import Entry
from cribdesk.crib.hold import PROOF_WORDS, reasons_of
from cribdesk.crib.label import Kind, next_label
from cribdesk.crib.model import INSPECTION_NOT_FINISHED, HoldReason, Position, UnitModel
from cribdesk.crib.reasons import Facts, Held
from cribdesk.crib.records import (
    Area,
    Battery,
    BatteryPlace,
    ClearanceKind,
    Custody,
    Fitted,
    Hold,
    Person,
    RunEnd,
    Unit,
    Where,
)
from cribdesk.crib.refusal import Level, Reason
from cribdesk.crib.serviceable import Condition, Serviceable, Standing
from cribdesk.crib.words import hours
from cribdesk.desk.air import AirNow
from cribdesk.desk.cards import (
    AreaCard,
    BatteryCard,
    FittedLine,
    FlowPoint,
    HoldLine,
    PersonCard,
    TimelineRow,
    UnitCard,
)
from cribdesk.desk.cards_lists import (
    AreaRow,
    BatteryRow,
    BenchList,
    BoardCell,
    CounterBoard,
    FirstRow,
    JournalPage,
    LotRow,
    PersonRow,
    StockRow,
    Tile,
    UnitRow,
)
from cribdesk.desk.house import House
from cribdesk.desk.settings import values
from cribdesk.desk.slate import Check, Clerk, Line, ReturnForm, Slate
from cribdesk.procedure.model import Option, Procedure, Remedy, Step
from cribdesk.procedure.run import Good, Measured, NotGood, RemedyDone, Run, answer, start

ZONE = ZoneInfo("Europe/Vienna")
NOW = datetime(2026, 11, 25, 5, 12, tzinfo=UTC)
TODAY = date(2026, 11, 25)
LONG_NAME = "Maximiliane-Theodora Oberhuber-Wronecka von Lichtenstern"
LONG_AREA = "Plate shop, bay 3, behind the big press and the old paint line"


def label(kind: Kind, number: int) -> str:
    """A label that may be issued, at or after the number."""
    return next_label(kind, number)[0]


def local(hour: int, minute: int, day: int = 25, month: int = 11) -> datetime:
    """A moment of the site's wall clock, in UTC."""
    return datetime(2026, month, day, hour, minute, tzinfo=ZONE).astimezone(UTC)


def _position(order: int, code: str, name: str, thumb: float | None, labelled: bool = False) -> Position:
    return Position(code, name, True, order, (code.upper(),), labelled, thumb, None, None)


MODEL = UnitModel(
    code="WL1",
    name="Welding PAPR, loose-fitting",
    short_name="Welding PAPR",
    origin="invented",
    facepiece="loose_fitting_facepiece",
    powered=True,
    tight_fitting=False,
    sizes=(),
    battery_models=("BP1",),
    speeds=("low", "high"),
    run_hours=MappingProxyType({"low": 8.0, "high": 5.0}),
    flow_minimum_lpm=170.0,
    flow_plausible_lpm=206.0,
    alarm_window_s=(15.0, 20.0),
    alarm_vibrates=True,
    ball_range_c=(10.0, 35.0),
    shade_range=(9, 13),
    inspect_days=None,
    positions=(
        _position(1, "spark-arrestor", "Spark arrestor", 240),
        _position(2, "pre-filter", "Pre-filter", 60),
        _position(3, "particulate-filter", "Particulate filter", 400),
        _position(4, "blower", "Blower", 3000, labelled=True),
        _position(5, "tube", "Breathing tube", 1000),
        _position(6, "lens-plate", "Outer lens plate", 40),
        _position(7, "face-seal", "Face seal", 300),
    ),
    hold_reasons=(
        INSPECTION_NOT_FINISHED,
        HoldReason("low-flow", "Airflow too low", "bench inspection"),
        HoldReason("alarm", "Low-flow alarm does not come", "bench inspection"),
        HoldReason("damage", "Damaged or burnt", "bench inspection"),
    ),
    procedures=MappingProxyType({"hand-over": "wl1-hand-over", "pre-use": "wl1-pre-use"}),
    cautions=(("Alarm", "Leave the fume."),),
)

_LADDER = (
    Remedy(
        "set-up",
        None,
        "Set-up right?",
        "Tube straight, meter upright, nothing before the inlet.",
        "set-up right",
        False,
    ),
    Remedy("swap-battery", None, "A charged pack", "More than one bar, no alarm.", "pack 4 bars, no alarm", False),
    Remedy(
        "clean",
        "spark-arrestor",
        "Clean the spark arrestor",
        "Tap it out. Never blow.",
        "spark arrestor cleaned",
        False,
    ),
    Remedy(
        "change", "pre-filter", "Change the pre-filter", "Take a new one from bin C-04.", "pre-filter changed", True
    ),
    Remedy(
        "change",
        "particulate-filter",
        "Change the particulate filter",
        "Seat it, close the door.",
        "particulate filter changed",
        True,
    ),
    Remedy("clean", None, "Tube and seals", "Look for cracks; clean the seals.", "tube and seals", True),
)


def _look(code: str, title: str, question: str, instruction: str, good: str, bad: tuple[str, ...]) -> Step:
    change = Remedy("change", None, f"Change the {title.lower()}", "Take a new one from the shelf.", "changed", True)
    return Step(
        code,
        "look",
        title,
        question,
        instruction,
        good=good,
        bad=bad,
        picture=code,
        position=None,
        ladder=(change,),
        fail="damage",
        fail_words="{ladder} it is still not good.",
        fail_short="still not good: on hold",
    )


LOOKS = tuple(
    _look(
        code,
        title,
        f"{title} whole and in place?",
        "Hold it up to the light.",
        "whole, flat, clean",
        ("burnt", "bent", "clogged"),
    )
    for code, title in (
        ("head", "Head assembly, face seal"),
        ("lenses", "Cover lenses, retainer"),
        ("lens", "Auto-darkening lens"),
        ("spark-arrestor", "Spark arrestor"),
        ("pre-filter", "Pre-filter"),
        ("particulate-filter", "Particulate filter"),
        ("door", "Filter door"),
        ("tube", "Breathing tube"),
        ("belt", "Belt, pad, straps"),
        ("battery", "Battery"),
    )
)
BLOWER = Step(
    "blower",
    "action",
    "Blower",
    "Start the blower",
    "Lowest speed. Air must arrive at the face.",
    fail="damage",
    fail_words="The blower does not start.",
    fail_short="on hold",
)
FLOW = Step(
    "airflow",
    "reading",
    "Airflow",
    "How much air arrives?",
    "Lowest speed, tube straight, meter upright. Wait until the ball stands still.",
    quantity="airflow",
    unit="L/min",
    instrument="flow meter",
    allows_ball=True,
    limit_kind="plausible",
    low="flow_minimum_lpm",
    high="flow_plausible_lpm",
    tries=3,
    ladder=_LADDER,
    above_ladder=(
        Remedy(
            "look-inside", None, "Open the door and look", "A missing or torn filter reads high.", "looked inside", True
        ),
    ),
    fail="low-flow",
    fail_words="Airflow {value} {ladder}, at least {limit}.",
    fail_short="still low: on hold",
    fail_above="damage",
    fail_above_words="Airflow {value} is more than it can give.",
)
ALARM = Step(
    "alarm",
    "timed",
    "Low-flow alarm",
    "Low-flow alarm",
    "Keep the tube end closed with your palm until it sounds.",
    unit="s",
    limit_kind="between",
    window="alarm_window_s",
    signals=True,
    tries=2,
    fail="alarm",
    fail_words="The alarm came at {value}, {limit} is right.",
    fail_short="on hold",
)
SPEED = Step(
    "speed",
    "choice",
    "Speed",
    "Which speed did it run on?",
    "Ask the wearer.",
    options=(Option("low", "next"), Option("high", "next"), Option("it stopped by itself", "fail")),
    fail="damage",
    fail_words="It stopped by itself.",
    fail_short="on hold",
)


def _procedure(code: str, name: str, kind: str, steps: tuple[Step, ...]) -> Procedure:
    return Procedure(code, name, kind, 1, f"{code}.toml", "", "0" * 64, steps)


PRE_USE = _procedure("wl1-pre-use", "Full inspection", "pre-use", (*LOOKS, BLOWER, FLOW, ALARM))
HAND_OVER = _procedure("wl1-hand-over", "Hand-over check", "hand-over", (LOOKS[0], LOOKS[9], BLOWER, ALARM))
CHOICE = _procedure("wl1-hand-over", "Hand-over check", "hand-over", (SPEED, LOOKS[0]))
HOUSE = House(
    {"WL1": MODEL}, {one.code: one for one in (PRE_USE, HAND_OVER)}, {**values(()), "site_name": "Harbour yard"}
)

WRONECKA = Person(id=138, label=label(Kind.PERSON, 138), name="Łucja Wronecka", trade="Welder", crew="day")
DOBROSI = Person(id=75, label=label(Kind.PERSON, 75), name="Imre Dobrosi", trade="Welder", crew="day")
CASTEL = Clerk(1, label(Kind.PERSON, 1), "Rhea Castel", "attendant,bench technician")
SHOP = AreaCard(Area(id=1, label=label(Kind.AREA, 3), name="Plate shop, bay 3", processes="flux-cored arc welding"))


def person(who: Person = WRONECKA, *, ended: bool = False, holds: bool = False) -> PersonCard:
    """A person's card; `ended` training ran out, `holds` an overdue unit."""
    training = date(2026, 11, 22) if ended else date(2027, 2, 3)
    states = (
        ClearanceState(ClearanceKind.MEDICAL, True, date(2026, 3, 12), date(2027, 3, 12)),
        ClearanceState(ClearanceKind.TRAINING, not ended, date(2025, 11, 22), training),
        ClearanceState(ClearanceKind.FIT_TEST, False, None, None),
    )
    held = (Held(label(Kind.UNIT, 388), "Repair bay", local(22, 30, 24), True),) if holds else ()
    return PersonCard(who, held, states, (("FF1", "M", date(2026, 5, 2), date(2027, 5, 2)),), False, TIMELINE, None)


def timeline_row(
    n: int, sign: str = "out", what: str = "", who: str = "", bold: bool = False, papers: int = 0, figures: str = ""
) -> TimelineRow:
    """One row of a history, n hours ago."""
    papers_there = (("issue_slip", label(Kind.SLIP, 3100 + n)),) if papers else ()
    return TimelineRow(1000 - n, NOW - timedelta(hours=n, minutes=3), sign, what, who, bold, papers_there, figures)


TIMELINE = (
    timeline_row(0, "ready", "Full inspection passed", "Rhea Castel", figures="184 L/min, alarm 17.2 s"),
    timeline_row(7, "", "Cleaned", "product C2, 10 min, tray 4"),
    timeline_row(8, "not checked", "Back from Dineke Oosting", "6.5 h worn, low speed, no alarms"),
    timeline_row(16, "out", "Issued to Dineke Oosting", "hand-over check 14 s", papers=1),
    timeline_row(60, "on hold", "On hold: airflow 158 after the whole ladder", "Rhea Castel", bold=True, papers=1),
)
SHIFT = (
    timeline_row(0, "out", f"Issued {label(Kind.UNIT, 402)} to Abel Nkemba, plate shop, until 14:30", papers=1),
    replace(
        timeline_row(
            0, "on hold", f"{label(Kind.UNIT, 291)} on hold: airflow 158 after the whole ladder, blower fails"
        ),
        papers=(("tag", label(Kind.TAG, 231)),),
    ),
    timeline_row(1, "not checked", f"{label(Kind.UNIT, 350)} back from the night crew, 6.5 h worn, not checked yet"),
)

_LEFT = {
    "spark-arrestor": (130, 190, 240),
    "pre-filter": (4, 19, 47),
    "particulate-filter": (150, 214, 310),
    "blower": (1100, 1400, 2500),
    "tube": (440, 610, 1000),
    "lens-plate": (14, 22, 34),
    "face-seal": (130, 130, 130),
}


def parts(model: UnitModel = MODEL) -> tuple[PartOutlook, ...]:
    """Every position with what is left of it, the pre-filter short."""
    found = []
    for number, position in enumerate(model.positions):
        early, middle, late = _LEFT[position.code]
        life = position.thumb_hours or 100.0
        fitted = Fitted(
            id=number + 1,
            unit_id=1,
            position=position.code,
            item_id=number + 1,
            lot_id=7,
            fitted_at=local(6, 0, 18),
            fitted_at_hours=1166.0,
        )
        worn = max(0.0, life - middle)
        due = TODAY + timedelta(days=int(middle / 7))
        why = f"{hours(worn)} worn; the rule of thumb is {hours(life)}"
        found.append(
            PartOutlook(
                position.code,
                position.name,
                fitted,
                worn,
                life,
                float(early),
                float(middle),
                float(late),
                None,
                due,
                why,
                "rule of thumb, common practice, no source",
            )
        )
    return tuple(found)


def unit(
    number: int = 417,
    state: Serviceable = Serviceable.READY,
    why: tuple[str, ...] = (),
    *,
    where: Where = Where.RACK,
    holder: Person | None = None,
    overdue: bool = False,
    holds: tuple[HoldLine, ...] = (),
    flow: int = 14,
    timeline: tuple[TimelineRow, ...] = TIMELINE,
    before: int | None = None,
) -> UnitCard:
    """A unit's card as it stands."""
    record = Unit(
        id=number,
        label=label(Kind.UNIT, number),
        model="WL1",
        serial=f"WL1-22-{number:04d}",
        where=where,
        place="row A",
        worn_hours=1216.0,
        added_at=local(8, 0, 2, 3),
    )
    standing = Standing(
        record,
        MODEL,
        tuple(one.hold for one in holds),
        tuple(p.fitted for p in parts() if p.fitted),
        None,
        None,
        None,
        None,
        TODAY,
    )
    custody = None
    if holder is not None:
        custody = Custody(
            id=9, unit_id=number, person_id=holder.id, issued_at=local(14, 2, 24), due_at=local(22, 30, 24), issued_by=1
        )
    dirty = state in (Serviceable.NEEDS_CLEANING, Serviceable.NOT_CHECKED)
    fitted = tuple(
        FittedLine(
            one.position,
            one.name,
            f"{one.name}, WL1",
            "K2608",
            label(Kind.PART, 51) if one.position == "blower" else "",
            one.fitted,
        )
        for one in parts()
    )
    readings = tuple(
        FlowPoint(NOW - timedelta(days=flow - n), 1116.0 + n * 8, 192 - n * 0.6 - (n % 3), 170.0) for n in range(flow)
    )
    return UnitCard(
        unit=record,
        model=MODEL,
        standing=standing,
        condition=Condition(state, why, (), dirty),
        custody=custody,
        holder=holder,
        holder_overdue=overdue,
        where_words=f"out with {holder.name}" if holder else "on the rack",
        parts=parts(),
        next_change=next_change(parts()),
        fitted=fitted,
        holds=holds,
        flow=readings,
        battery=BATTERY.battery,
        check="hand-over",
        inspected_words="inspected today 05:40",
        issues=163,
        entries=412,
        timeline=timeline,
        before=before,
        air_words="Airflow 176 L/min when last read, 6 above the minimum; it has dropped 19 since the filter change",
    )


BATTERY = BatteryCard(
    Battery(id=92, label=label(Kind.BATTERY, 92), model="BP1", place=BatteryPlace.SHELF, charged_at=local(3, 10)),
    "on the shelf",
    False,
    ("7 h 20 on low", "7 h 05 on low"),
)


def hold(
    proof: str = "", *, number: int = 291, words: str = "Airflow too low: 158 L/min after the whole ladder"
) -> HoldLine:
    """One open hold; `proof` in words once it is there."""
    record = Hold(
        id=31,
        unit_id=number,
        reason="low-flow",
        detail="158 L/min",
        proof="bench inspection",
        found_by=1,
        found_at=local(6, 3),
        tag=label(Kind.TAG, 231),
    )
    return HoldLine(record, words, PROOF_WORDS["bench inspection"], proof)


CAUTION = Reason(
    Level.CAUTION,
    "part-due",
    "Pre-filter may fall due before it is back",
    "About 19 h left, 8 h planned. Change it now, or send a spare along.",
    "rule of thumb, common practice, no source",
    "pre-filter",
)
EXPOSURE = Reason(
    Level.CAUTION,
    "gas",
    "Carbon monoxide below its limit: 11 of 50\u00a0ppm",
    "Found 22 Oct 2026. No particulate filter removes it.",
    "29 CFR 1910.134(d)(3)(iii) (from memory, to be checked)",
)
STOP = Reason(
    Level.STOP,
    "training",
    "Training ended 3 days ago",
    "Ran until Sun 22 Nov; good for 12 months. The program administrator enters it.",
    "29 CFR 1910.134(k)(5)",
)
FINE = tuple(
    Reason(Level.FINE, code, words, detail, basis)
    for code, words, detail, basis in (
        ("ready", "Ready", "", "29 CFR 1910.134(h)(3)"),
        ("medical", "Medically cleared", "until 12 Mar 2027", "29 CFR 1910.134(e)"),
        ("training", "Trained", "until 3 Feb 2027", "29 CFR 1910.134(k)(5)"),
        ("fit-test", "Fit test not needed", "", "29 CFR 1910.134(f)(1)"),
        ("battery", "Battery charged", "3 h ago", "house rule"),
        ("meter", "Flow meter in calibration", "until 9 Jan 2027", "house rule"),
    )
)


def facts(card: UnitCard, who: PersonCard | None, *, full: bool = False) -> Facts:
    """The facts of an issue, enough for the screen."""
    return Facts(
        unit=card.unit,
        model=card.model,
        standing=card.standing,
        custody=card.custody,
        holder=card.holder,
        outlook=card.parts,
        person=who.person if who else None,
        clearances=who.clearances if who else (),
        holds_now=who.holds_now if who else (),
        battery=BATTERY.battery,
        battery_in_use=False,
        area=SHOP.area,
        due_at=local(14, 30),
        planned_hours=8.0,
        needs_full_check=full,
        meters=(),
        today=TODAY,
        zone=ZONE,
    )


EMPTY = Slate(clerk=CASTEL)


def issue_slate(
    reasons: tuple[Reason, ...] = (CAUTION, *FINE), who: PersonCard | None = None, card: UnitCard | None = None
) -> Slate:
    """Person, unit, battery and area on the counter."""
    wearer, on_counter = who or person(), card or unit()
    line = Line("taken", f"Unit on the counter, beside {wearer.person.name}", on_counter.label, NOW)
    return Slate(
        clerk=CASTEL,
        person=wearer,
        unit=on_counter,
        battery=BATTERY,
        area=SHOP,
        due_at=local(14, 30),
        facts=facts(on_counter, wearer),
        reasons=reasons,
        line=line,
    )


def stop_slate() -> Slate:
    """The same with a stop."""
    who = person(DOBROSI, ended=True, holds=True)
    slate = issue_slate((STOP, CAUTION, EXPOSURE, *FINE[:5]), who)
    return replace(slate, line=Line("refused", "Not to Imre Dobrosi: training ended 22 Nov", unit().label, NOW))


def long_slate() -> Slate:
    """Long names everywhere and every kind of reason."""
    who = person(replace(WRONECKA, name=LONG_NAME, trade="Welder and boilermaker", employer="Contractor Oberlandwerk"))
    area = AreaCard(replace(SHOP.area, name=LONG_AREA))
    slate = issue_slate((CAUTION, EXPOSURE, *FINE), who)
    return replace(
        slate, area=area, line=Line("caution", f"Unit on the counter, beside {LONG_NAME}", unit().label, NOW)
    )


def out_slate() -> Slate:
    """A unit that is out, alone on the counter."""
    card = unit(388, where=Where.OUT, holder=DOBROSI, overdue=True)
    return Slate(
        clerk=CASTEL,
        unit=card,
        line=Line("caution", "Out with Imre Dobrosi, overdue since yesterday 22:30", card.label, NOW),
    )


def held_slate(proof: str = "") -> Slate:
    """A unit on hold, in hand."""
    card = unit(291, Serviceable.ON_HOLD, ("Airflow too low: 158 L/min",), where=Where.BENCH, holds=(hold(proof),))
    return Slate(
        clerk=CASTEL,
        unit=card,
        line=Line("caution", "On hold since 06:03: airflow 158. The bench releases it.", card.label, NOW),
    )


def return_form(**changes: object) -> ReturnForm:
    """A return being completed, hours proposed."""
    form = ReturnForm(
        custody_id=9,
        unit_id=388,
        unit_label=label(Kind.UNIT, 388),
        holder="Imre Dobrosi",
        worn_hours=6.5,
        proposed_words="out 8 h 28 of the shift",
        speeds=("low", "high"),
        battery_label=label(Kind.BATTERY, 92),
        battery_end=RunEnd.STOPPED,
        bars_left=2,
        battery_back=True,
        reasons=reasons_of(MODEL),
    )
    return replace(form, **changes)  # type: ignore[arg-type]


def run_at(step: str, procedure: Procedure = PRE_USE) -> Run:
    """A run with everything good before the step of that code."""
    run = start(procedure, MODEL, NOW, CASTEL.label)
    for number, one in enumerate(procedure.steps):
        if one.code == step:
            return run
        given = Measured(184.0, label(Kind.INSTRUMENT, 1)) if one.kind == "reading" else Good()
        run = answer(run, given, NOW + timedelta(seconds=4 * number + 4), 4.0)
    raise KeyError(step)


def ladder_run() -> Run:
    """An airflow that stayed low, at its second retest."""
    run = run_at("airflow")
    meter = label(Kind.INSTRUMENT, 1)
    moment = NOW + timedelta(minutes=2)
    for reading in (148.0, 147.0, 149.0):
        run = answer(run, Measured(reading, meter), moment, 10.0)
    for _ in range(4):
        run = answer(run, RemedyDone(), moment, 20.0)
    for reading in (161.0, 160.0, 162.0):
        run = answer(run, Measured(reading, meter), moment, 10.0)
    return answer(run, RemedyDone("lot K2608"), moment, 20.0)


def remedy_run() -> Run:
    """A spark arrestor that was not good: its remedy stands open."""
    return answer(run_at("spark-arrestor"), NotGood(), NOW, 3.0)


def check_slate(run: Run, purpose: str = "bench", **changes: object) -> Slate:
    """A check on the counter."""
    card = unit(433)
    check = Check(
        purpose,
        run.procedure.kind,
        run,
        (card.unit.id,),
        (card.label,),
        instrument_label=label(Kind.INSTRUMENT, 1),
        instrument_words="calibrated until 9 Jan 2027",
        step_began=NOW,
    )
    check = replace(check, **changes)  # type: ignore[arg-type]
    return Slate(clerk=CASTEL, unit=card, check=check, air=AirNow(20.0, None, NOW))


_STATES = ["overdue"] + ["on hold"] * 5 + ["not checked"] * 2 + ["needs cleaning"] * 3 + ["out"] * 14 + ["ready"] * 36


def cells(count: int = 61) -> tuple[BoardCell, ...]:
    """The board's cells, worst first."""
    found = []
    for n in range(count):
        state = _STATES[n] if n < len(_STATES) else "ready"
        number = 204 + n * 3
        found.append(BoardCell(number, label(Kind.UNIT, number), str(number), state, f"Welding PAPR, {state}"))
    return tuple(found)


TILES = (
    Tile("Ready", 36, "ready", "31 wanted 06:30", "ready"),
    Tile("Out", 15, "out", "9 back by 14:30", "out"),
    Tile("Overdue", 1, "overdue", "since Tue 22:30", "overdue"),
    Tile("Not checked", 2, "not checked", "back from night", "not checked"),
    Tile("Needs cleaning", 3, "needs cleaning", "oldest 9 h", "needs cleaning"),
    Tile("On hold", 5, "on hold", "2 wait for parts", "on hold"),
    Tile("Due", 0, "due", "before 14:30", "due"),
    Tile("Charged", 41, "battery", "34 needed 06:30", "batteries"),
)
FIRST = (
    FirstRow(
        "overdue",
        f"{label(Kind.UNIT, 388)} is overdue",
        "Imre Dobrosi, since yesterday 22:30",
        "people",
        label(Kind.UNIT, 388),
    ),
    FirstRow("needs cleaning", "3 units need cleaning", "oldest 9 h", "bench"),
    FirstRow("due", "5 changes before next shift", "3 pre-filters, 1 lens plate, 1 spark arrestor", "bench"),
    FirstRow("due", f"Flow meter {label(Kind.INSTRUMENT, 2)}", "Calibration ends Fri 27 Nov", "bench"),
)
COUNTS = "9 handed out, 4 taken back, 1 held"
BOARD = CounterBoard(TILES, cells(), FIRST, SHIFT, COUNTS, {"bench": 5, "stock": 4, "people": 2})
BOARD_NONE = CounterBoard(tuple(replace(tile, number=0, against="") for tile in TILES), (), (), (), "nothing yet", {})
BOARD_MANY = replace(BOARD, cells=cells(150), first=FIRST * 4, waiting={"bench": 128, "stock": 40, "people": 212})


def unit_rows(count: int = 40) -> tuple[UnitRow, ...]:
    """Rows of the unit list, worst first."""
    return tuple(
        UnitRow(
            cell.unit_id,
            cell.label,
            "Welding PAPR",
            cell.state,
            f"{cell.state.capitalize()}, on the rack",
            "",
            "Imre Dobrosi" if cell.state in ("out", "overdue") else "",
            "14:30" if cell.state == "out" else "",
            120.0 + n * 31,
            "Pre-filter in 19 h",
            f"WL1-22-{cell.unit_id:04d}",
        )
        for n, cell in enumerate(cells(count))
    )


def person_rows(count: int = 30) -> tuple[PersonRow, ...]:
    """Rows of the people list."""
    names = ("Łucja Wronecka", "Imre Dobrosi", "Abel Nkemba", "Dineke Oosting", "Paolo Verrani", LONG_NAME)
    return tuple(
        PersonRow(
            n,
            label(Kind.PERSON, 100 + n * 3),
            names[n % 6],
            "Welder",
            "day" if n % 2 else "night",
            "" if n % 5 else "Oberlandwerk",
            label(Kind.UNIT, 388) if n == 1 else "",
            "Training ended 22 Nov" if n % 7 == 1 else "",
            "",
        )
        for n in range(count)
    )


def bench() -> BenchList:
    """A bench with work."""
    rows = unit_rows()
    return BenchList(
        (
            ("On hold", "2 have their proof", tuple(row for row in rows if row.state == "on hold")),
            ("Needs cleaning", "oldest 9 h", tuple(row for row in rows if row.state == "needs cleaning")),
            ("Not checked", "back from night", tuple(row for row in rows if row.state == "not checked")),
            ("Due", "before 14:30", rows[20:26]),
        ),
        ((9, label(Kind.UNIT, 350), "back since 05:58, hours not said yet"),),
        FIRST[3:],
    )


BENCH_NONE = BenchList((), (), ())


def journal(count: int = 50, before: int | None = 951) -> JournalPage:
    """A page of the journal."""
    rows = tuple(
        timeline_row(
            n,
            ("out", "not checked", "on hold", "", "ready")[n % 5],
            f"Issued {label(Kind.UNIT, 200 + n)} to Abel Nkemba, plate shop, until 14:30",
            "Rhea Castel",
            papers=int(n % 5 == 0),
        )
        for n in range(count)
    )
    entries = tuple(
        Entry(
            row.seq, 1, "issue", f"id-{row.seq}", "", row.at, "counter 1", CASTEL.label, (unit().label,), row.what, ()
        )
        for row in rows
    )
    return JournalPage(rows, entries, before, 1000)


def items(count: int = 12) -> tuple[StockRow, ...]:
    """Stock items with their lots, those below their minimum first."""
    found = []
    for n in range(count):
        recalled = "blocked: recalled" if n == 3 else ""
        lots = (
            LotRow(f"K26{n:02d}", n * 3, "1 May 2028", ""),
            LotRow(f"K25{n:02d}", 4, "", recalled),
        )
        good = n * 3 + (0 if recalled else 4)
        name = f"{MODEL.positions[n % 7].name}, WL1"
        trouble = f"lot K25{n:02d} {recalled}" if recalled else ""
        label_ = label(Kind.ITEM, 10 + n)
        found.append(StockRow(n + 1, label_, f"WL1-P{n}", name, f"C-{n:02d}", good, 8, good < 8, trouble, lots))
    return tuple(sorted(found, key=lambda row: (not row.short, not row.trouble, row.name)))


def batteries(count: int = 20) -> tuple[BatteryRow, ...]:
    """Packs on the shelf, on a charger, in units."""
    where = ("on the shelf", "charger 2, slot 4", f"in {label(Kind.UNIT, 417)}")
    return tuple(
        BatteryRow(
            battery_id=n,
            label=label(Kind.BATTERY, 92 + n),
            model="BP1",
            sign=("battery", "due", "battery")[n % 3],
            where=where[n % 3],
            holder="Imre Dobrosi" if n % 3 == 2 else "",
            charged="today 03:10",
            cycles=40 + n * 9,
            last_run="7 h, stopped before",
        )
        for n in range(count)
    )


def area_rows(count: int = 8) -> tuple[AreaRow, ...]:
    """Areas as rows of their list."""
    return tuple(
        AreaRow(n, label(Kind.AREA, 3 + n), f"Plate shop, bay {n}", "welding fume", "flux-cored arc welding", n)
        for n in range(count)
    )


def areas(count: int = 8) -> tuple[AreaCard, ...]:
    """Areas."""
    return tuple(
        AreaCard(
            Area(
                id=n,
                label=label(Kind.AREA, 3 + n),
                name=f"Plate shop, bay {n}",
                processes="flux-cored arc welding",
                agents="welding fume",
                dust_ug_m3=2400 if n % 2 else None,
            )
        )
        for n in range(count)
    )
