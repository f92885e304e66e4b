"""Invented records for every paper, plain and extreme; no person, maker or place in them is real."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import replace
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from cribdesk.crib.label import with_check
from cribdesk.desk.printouts import (
    STEPS_OVERDUE,
    STEPS_RECHECK,
    AnswerCard,
    CallInCause,
    CallInSlip,
    CardCode,
    InspectionRecord,
    IssueSlip,
    LabelSheet,
    OutOfServiceTag,
    OwnCheck,
    PrintedLabel,
    RecordedAnswer,
    RecordVerdict,
    SlipCaution,
    SlipReading,
)
from cribdesk.desk.printouts_away import CertificationTag, RepairNote
from cribdesk.desk.printouts_card import CardPart, CardRow, WearersCard
from cribdesk.desk.printouts_due import DueDuty, DueGroup, DueItem, DuePart, DueSheet, DueUnit
from cribdesk.desk.printouts_orders import RequisitionRow, RequisitionSheet, SentBackRow
from cribdesk.desk.printouts_people import InformationPaper
from cribdesk.desk.printouts_register import RegisterCheck, RegisterRow, UseRegister
from cribdesk.desk.printouts_shift import ReadySeal, ShiftFigure, ShiftSheet
from cribdesk.desk.printouts_stock import CountingSheet, CountRow
from cribdesk.desk.printouts_waste import BagLabel

ZONE = ZoneInfo("America/Chicago")
MORNING = datetime(2026, 11, 25, 6, 3, tzinfo=ZONE)
LONG_NAME = "Aleksandra Wilhelmina Konstantynopolitańczykowianeczka-Brzęczyszczykiewicz"
LONG_WORD = "Donaudampfschifffahrtselektrizitätenhauptbetriebswerkbauunterbeamtengesellschaft"
NOVEL_LINE = "The wearer was told, and the supervisor was told, and the health professional was asked. "
EUROPE = ("Łódź Żółć", "Ελληνικά Ωμέγα", "Кирилл Щукин", "Şığırcı İpek", "Őrbán Űzött", "Ðóra Þórs")


def label(stem: str) -> str:
    """The whole label of a stem, stepping over numbers that may not be issued."""
    kind, number = stem[0], int(stem[1:])
    while True:
        try:
            return with_check(f"{kind}{number:06d}")
        except ValueError:
            number += 1


UNIT, TAG, SLIP, WEARER, BATTERY = (label(stem) for stem in ("U000417", "T002314", "S003119", "P000138", "B000092"))

due = DueSheet(
    at=MORNING,
    end=MORNING.replace(hour=14, minute=30),
    bound=95,
    groups=(
        DueGroup(
            "Now",
            (DueUnit(UNIT, "PAPR", "on hold", (DuePart("Outer cover lens", "2 h past", "limit 40 h", "STOP"),)),),
        ),
        DueGroup(
            "Before next shift",
            (
                DueUnit(
                    label("U000402"), "Welding PAPR", "back today 14:30",
                    (DuePart("Pre-filter", "9 to 40 h", "41 % before 14:30", "!"),
                     DuePart("Spark arrestor", "30 to 140 h", "7 % before 14:30", "")),
                ),
            ),
        ),
    ),
    items=(
        DueItem(6, "Pre-filter", "WL1-PREFILTER", "bin C-04, 11 there, lot K2608 first", False),
        DueItem(5, "Outer cover lens", "WL1-COVER-OUT", "bin C-02, only 4 there", True),
    ),
    duties=(DueDuty("Flow meter 2", "Calibration ends Fri 27 Nov", label("M000002")),),
    sorted_by="Sorted by risk x consequence (a house rule).",
)  # fmt: skip
due_bare = replace(due, groups=(), items=(), duties=())
due_extreme = replace(
    due,
    groups=(
        DueGroup(
            f"Before next shift {LONG_WORD}",
            tuple(
                DueUnit(label(f"U00{number:04d}"), f"Full facepiece {LONG_WORD}", LONG_WORD,
                        tuple(DuePart(f"{LONG_WORD} {n}", "1 to 2 h", NOVEL_LINE, "!") for n in range(45)))
                for number in range(1, 4)
            ),
        ),
    ),
    items=(DueItem(12345, LONG_WORD, LONG_WORD, NOVEL_LINE * 3, True),),
    duties=(DueDuty(LONG_WORD, NOVEL_LINE * 9, UNIT),),
    sorted_by=NOVEL_LINE * 20,
)  # fmt: skip
due_novel = replace(
    due, duties=tuple(DueDuty(f"Inspection {n}", NOVEL_LINE, label(f"U00{n:04d}")) for n in range(1, 120))
)
tag = OutOfServiceTag(
    tag=TAG,
    unit=UNIT,
    unit_model="Welding PAPR, loose-fitting",
    why="Airflow 158 L/min after the whole ladder. At least 170 is needed. Blower suspected.",
    found_by="Rhea Castel, counter 1",
    found_at=MORNING,
    where="bench, shelf B-2",
)
tag_long = replace(
    tag,
    why=tag.why + " The hose was changed, the seals were changed, the pre-filter and the particulate filter "
    "were changed, the pack was changed for a full one, and still the ball stands under the mark.",
)
tag_endless = replace(tag, why=" ".join(f"Finding {n}: the strap at hole {n} is torn." for n in range(1, 40)))
tag_extreme = replace(
    tag,
    why=LONG_WORD,
    found_by=f"{LONG_NAME} and {LONG_NAME}",
    where=f"emergency cabinet behind {LONG_WORD}",
    unit_model=f"Tight-fitting full facepiece {LONG_WORD}",
)
tag_foreign = replace(tag, found_by="王小明, counter 1", where="полка Б-2, Łódź, ράφι Ω")

OWN_PART = (
    OwnCheck("Before each use", "Check air and alarm: close the tube end."),
    OwnCheck("Alarm, or the air stops", "Leave the fume, then take the helmet off."),
    OwnCheck("Smell, taste, smoke inside", "Walk out. Bring the unit back."),
    OwnCheck("Helmet hit or burnt", "Stop. Bring it back; do not mend it."),
    OwnCheck("Not for", "tanks, pits, low oxygen, gas or solvent vapour."),
)
slip = IssueSlip(
    slip=SLIP,
    issued_at=MORNING + timedelta(minutes=15),
    counter="counter 1",
    clerk="Rhea Castel",
    wearer=WEARER,
    wearer_name="Łucja Wronecka",
    wearer_about="welder, day crew",
    due_back=MORNING.replace(hour=14, minute=30),
    unit=UNIT,
    unit_model="Welding PAPR, loose-fitting",
    battery=BATTERY,
    battery_about="96 %, about 7 h 20 on low",
    area="Plate shop, bay 3",
    exposure="factor 3.2 needed, this unit has 25",
    inspected="Inspected at the bench, today 05:40",
    handed_over="checked at hand-over 06:18",
    readings=(
        SlipReading("Airflow", "184 L/min", "at least 170", f"meter {label('M000002')}"),
        SlipReading("Low-flow alarm", "17.2 s", "15 to 20 s", "sounds and vibrates"),
        SlipReading("Battery", "5 bars", "more than 1", "latched"),
        SlipReading("Looked at, 10 steps", "good", "", "head to belt"),
    ),
    cautions=(
        SlipCaution("Carbon monoxide below its limit: 8 of 50 ppm", "Accepted by Rhea Castel at 06:17."),
        SlipCaution(
            "Pre-filter may fall due this shift: 1 chance in 4",
            "Accepted by Rhea Castel: a spare goes along (lot K2608).",
        ),
    ),
    own_part=OWN_PART,
)
slip_plain = replace(
    slip,
    battery="",
    battery_about="",
    readings=(),
    cautions=(),
    inspected="",
    handed_over="",
    due_back=MORNING + timedelta(days=12),
)
slip_extreme = replace(
    slip,
    wearer_name=LONG_NAME,
    wearer_about=f"welder, {LONG_WORD}, night crew, contractor",
    clerk=LONG_NAME,
    area=f"Plate shop, bay 3, behind {LONG_WORD}",
    unit_model=f"Welding PAPR {LONG_WORD}",
    battery_about=f"charged {LONG_WORD}",
    readings=slip.readings * 4 + (SlipReading(LONG_WORD, "17.2 s and a half", LONG_NAME, LONG_WORD, None),),
    cautions=slip.cautions * 3 + (SlipCaution(LONG_NAME * 3, LONG_WORD * 2),),
    due_back=None,
)
slip_assigned = replace(slip, due_back=None, inspect_by=date(2026, 12, 25), own_checks=31)
slip_carried = replace(
    slip_assigned,
    own_checks=36,
    carrier=label("P000140"),
    carrier_name=LONG_NAME,
    declaration="I have the unit and carry it to its wearer, to nobody else.",
)
slip_foreign = replace(slip, wearer_name="Ελένη Παπαδοπούλου-Щукина", clerk="王小明", area="חצר 3, Łódź")

call_in = CallInSlip(
    cause=CallInCause.HOLD,
    unit=UNIT,
    unit_model="Welding PAPR, loose-fitting",
    holder=WEARER,
    holder_name="Łucja Wronecka",
    holder_about="welder, day crew",
    area="Plate shop, bay 3",
    why="Lot K2608 of the particulate filter is recalled by its maker: the seam may open.",
    since=MORNING,
    found_by="Imre Dobrosi, storekeeper",
    printed_at=MORNING + timedelta(minutes=4),
    counter="counter 1",
    tag=TAG,
    slip=SLIP,
)
call_in_overdue = replace(
    call_in,
    cause=CallInCause.OVERDUE,
    why="Due back at 14:30 and not returned.",
    since=MORNING.replace(hour=14, minute=30),
    printed_at=MORNING.replace(hour=17),
    tag="",
    steps=STEPS_OVERDUE,
)
call_in_recheck = replace(
    call_in,
    cause=CallInCause.RECHECK,
    why="Medical clearance: no proof of the employer. Training ended 3 days ago.",
    tag="",
    steps=STEPS_RECHECK,
    to="To the supervisor, day crew, Nordbau (invented)",
)
call_in_recheck_novel = replace(call_in_recheck, to=NOVEL_LINE, why=NOVEL_LINE * 3, holder_name=LONG_NAME)
information = InformationPaper(
    wearer=WEARER,
    wearer_name="Imre Dobrosi",
    wearer_about="storekeeper, day crew",
    given_on=date(2026, 11, 25),
    given_by="Rhea Castel",
)
information_extreme = replace(information, wearer_name=LONG_NAME, wearer_about=LONG_WORD * 2, given_by=LONG_NAME)
information_foreign = replace(information, wearer_name="Ελένη Παπαδοπούλου-Щукина", given_by="王小明")
call_in_extreme = replace(
    call_in,
    holder_name=LONG_NAME,
    holder_about=LONG_WORD,
    area=LONG_WORD * 2,
    why=tag_endless.why,
    found_by=LONG_NAME,
    unit_model=LONG_WORD,
    slip="",
)

STICKERS = (
    ("U", "Welding PAPR, loose-fitting", "size M, bought 2025"),
    ("W", "Blower", "for the loose-fitting PAPR"),
    ("P", "Łucja Wronecka", "welder, day crew"),
    ("P", LONG_NAME, "welder, night crew, contractor from elsewhere"),
    ("B", "Battery, long pack", "charger 2, slot 4"),
    ("N", "Bin C-04", "particulate filters"),
    ("K", "Particulate filter", "pack of 6; at least 24"),
    ("A", "Plate shop, bay 3", "flux-cored, stainless"),
    ("M", "Flow meter 2", "calibrated until 12 Mar 2027"),
    ("U", "", ""),
    ("P", "Ελένη Παπαδοπούλου", "συγκολλήτρια"),
    ("P", "Кирилл Щукин", "сварщик"),
)
labels = LabelSheet(
    tuple(
        PrintedLabel(label(f"{kind}{100 * place + step:06d}"), name, detail)
        for place, (kind, name, detail) in enumerate(STICKERS)
        for step in (7, 41, 77)
    )
)
labels_one = LabelSheet((PrintedLabel(UNIT, "王小明 kabin", LONG_WORD),), first=14)
labels_none = LabelSheet(())


def code(stem: str) -> str:
    """The whole code of a command's stem."""
    return with_check(stem)


ANSWERS = (
    CardCode(code("XANSYES"), "Good", "what was asked is in order; or yes", "F5"),
    CardCode(code("XANSNAY"), "Not good", "it is not; or no", "F8"),
    CardCode(code("XANSNXT"), "Next", "the step is done, go on", "Enter"),
    CardCode(code("XANSBCK"), "Back", "to the step before; it is recorded", "F9"),
    CardCode(code("XANSBRK"), "Break off", "ends the check; nothing is issued", "F12"),
)


def commands(many: int) -> tuple[CardCode, ...]:
    """So many commands with codes that may be issued."""
    words = ("Issue", "Return", "Hold", "Clean", "Clear the slate", "Undo", "Print again", "Charge")
    made: list[CardCode] = []
    number = 100
    while len(made) < many:
        with suppress(ValueError):
            made.append(CardCode(code(f"XCMD{number}"), words[len(made) % 8], "", f"F{len(made) % 12 + 1}"))
        number += 1
    return tuple(made)


card = AnswerCard(ANSWERS, commands(8))
card_many = AnswerCard(ANSWERS, commands(40))
card_bare = AnswerCard(ANSWERS)


def answers(many: int) -> tuple[RecordedAnswer, ...]:
    """So many answers, every fifth one replaced by a retest."""
    made = []
    for n in range(many):
        made.append(
            RecordedAnswer(
                step=f"{n + 1}",
                question=(
                    "Airflow at the tube end, tube straight, meter upright, lowest speed"
                    if n % 3 == 0
                    else "Breathing tube whole, clean inside, connected both ends"
                ),
                limit="at least 170 L/min, at most 206" if n % 3 == 0 else "",
                answer="158 L/min" if n % 5 == 0 else "good",
                by="Rhea Castel",
                at=MORNING + timedelta(seconds=20 * n),
                instrument=label("M000002") if n % 3 == 0 else "",
                good=n % 5 != 0,
                replaced=n % 5 == 0,
                remark="pre-filter changed, lot K2608; retest 1" if n % 5 == 0 else "",
            )
        )
    return tuple(made)


record = InspectionRecord(
    unit=UNIT,
    unit_model="Welding PAPR, loose-fitting",
    procedure="Pre-use inspection, loose-fitting welding PAPR",
    edition="edition 3",
    started_at=MORNING,
    ended_at=MORNING + timedelta(minutes=6),
    verdict=RecordVerdict.PASS,
    by="Rhea Castel",
    counter="counter 1",
    instruments=(f"{label('M000002')} flow meter, calibrated until 12 Mar 2027, ± 3 L/min",),
    answers=answers(14),
)
record_long = replace(
    record, verdict=RecordVerdict.FAIL, why="Airflow 158 L/min after the whole ladder.", answers=answers(70)
)
record_extreme = replace(
    record,
    procedure=LONG_WORD,
    by=LONG_NAME,
    why=tag_endless.why,
    verdict=RecordVerdict.BROKEN_OFF,
    ended_at=None,
    answers=(
        RecordedAnswer(
            "7.2",
            LONG_WORD * 2,
            LONG_NAME,
            LONG_WORD,
            LONG_NAME,
            MORNING,
            LONG_WORD,
            False,
            True,
            "王 " + LONG_WORD,
        ),
    )
    * 3,
)
record_none = replace(record, answers=(), instruments=(), verdict=RecordVerdict.BROKEN_OFF, ended_at=None)

NOVEL = " ".join(f"Sentence {n} of a report that somebody typed without end." for n in range(90))
tag_novel = replace(tag, why=NOVEL, found_by=NOVEL, where=NOVEL, unit_model=NOVEL, releases=NOVEL)
slip_novel = replace(
    slip,
    wearer_name=NOVEL,
    wearer_about=NOVEL,
    clerk=NOVEL,
    counter=NOVEL,
    area=NOVEL,
    exposure=NOVEL,
    unit_model=NOVEL,
    battery_about=NOVEL,
    inspected=NOVEL,
    declaration=NOVEL,
    readings=(SlipReading(NOVEL, NOVEL, NOVEL, NOVEL, False),),
    cautions=(SlipCaution(NOVEL, NOVEL),),
    own_part=(OwnCheck(NOVEL, NOVEL), *OWN_PART),
)
call_in_novel = replace(
    call_in,
    holder_name=NOVEL,
    holder_about=NOVEL,
    area=NOVEL,
    why=NOVEL,
    found_by=NOVEL,
    unit_model=NOVEL,
    steps=(NOVEL, NOVEL),
)
information_novel = replace(
    information, wearer_name=NOVEL, wearer_about=NOVEL, given_by=NOVEL, points=(NOVEL, NOVEL)
)
labels_novel = LabelSheet((PrintedLabel(UNIT, NOVEL, NOVEL), PrintedLabel(TAG, "", NOVEL)))
card_novel = AnswerCard((replace(ANSWERS[0], word=NOVEL, hint=NOVEL),), (replace(ANSWERS[1], word=NOVEL),))
record_novel = replace(
    record,
    unit_model=NOVEL,
    procedure=NOVEL,
    edition=NOVEL,
    by=NOVEL,
    counter=NOVEL,
    why=NOVEL,
    instruments=(NOVEL,),
    answers=(RecordedAnswer("1", NOVEL, NOVEL, NOVEL, NOVEL, MORNING, NOVEL, False, True, NOVEL),),
)

seal = ReadySeal(
    unit=UNIT,
    unit_model="Welding helmet with powered air",
    inspected_at=MORNING + timedelta(hours=7, minutes=37),
    by="Rhea Castel",
    good_until=MORNING + timedelta(hours=16, minutes=27),
)
seal_novel = replace(seal, unit=label("U999999"), unit_model=NOVEL, by=NOVEL)
seal_foreign = replace(seal, unit_model=EUROPE[2], by=f"{LONG_NAME} \u4e2d\u6587 \u05e9\u05dc\u05d5\u05dd")
count_sheet = CountingSheet(
    7, MORNING, "Rhea Castel",
    (
        CountRow("A1-02", "Pre-filter, WL1", label("I000002"), "L2611", "31 Dec 2026"),
        CountRow("A1-02", "Pre-filter, WL1", label("I000002"), "L2700"),
        CountRow("", "Outer lens plate, WL1", label("I000007"), "25 Nov 2026"),
    ),
)  # fmt: skip
count_long = replace(count_sheet, rows=count_sheet.rows * 14)
count_novel = replace(
    count_sheet, by=NOVEL, rows=(CountRow(LONG_WORD, NOVEL, label("I000002"), LONG_WORD, LONG_WORD),)
)
shift_sheet = ShiftSheet(
    shift="Day",
    began_at=MORNING,
    ended_at=MORNING + timedelta(hours=8, minutes=27),
    closed_at=MORNING + timedelta(hours=8, minutes=21),
    counter="Counter 1",
    closed_by="Rhea Castel",
    taken_by="Otto Brandl",
    figures=(
        ShiftFigure("Issued", "41"),
        ShiftFigure("Still out", "3", f"{UNIT}, {label('U000418')} and {label('U000419')}"),
        ShiftFigure("Ready for Night", "17", "of 21 needed: the most issues at Night on the last 4 Weds"),
    ),
    note="The compressor is loud; the mechanic knows.",
)
shift_novel = replace(
    shift_sheet, shift=LONG_WORD, counter=NOVEL, closed_by=NOVEL, taken_by=LONG_NAME, note=NOVEL * 3,
    figures=tuple(ShiftFigure(NOVEL if n % 3 else "Issued", "1\u00a0234", NOVEL) for n in range(20)),
)  # fmt: skip
shift_bare = replace(shift_sheet, taken_by="", note="", figures=())

repair = RepairNote(
    unit=UNIT,
    unit_model="Welding PAPR, loose-fitting",
    serial="WL-2231-07",
    goes_to="Feldner Repair, Harrow Creek",
    wrong="Blower hums and stalls on high speed; alarm comes 40 s late.",
    decontaminated="Wiped with a disinfectant, filters taken out, by Rhea Castel, 25 Nov 2026",
    sent_at=MORNING + timedelta(hours=3),
    sent_by="Rhea Castel",
    due_back=date(2026, 12, 9),
    loaner=label("U000418"),
)
repair_bare = replace(repair, serial="", loaner="", due_back=None)
repair_long = replace(repair, wrong=tag_endless.why, decontaminated=tag_long.why)
repair_extreme = replace(
    repair, unit_model=LONG_WORD, serial=LONG_WORD, goes_to=f"{LONG_NAME} {LONG_WORD}", wrong=LONG_WORD,
    decontaminated=f"{LONG_WORD} {LONG_NAME}", sent_by=LONG_NAME, loaner=LONG_WORD,
)  # fmt: skip
repair_novel = replace(repair, unit_model=NOVEL, goes_to=NOVEL, wrong=NOVEL, decontaminated=NOVEL, loaner=NOVEL)
certification = CertificationTag(
    unit=UNIT,
    unit_model="Full facepiece with powered air, size M",
    cabinet=label("C000002"),
    cabinet_name="Gate 2, by the plate shop's gate",
    purpose="walking out of the fume when the local exhaust stops",
    made_on=date(2026, 11, 25),
    made_by="Rhea Castel",
    findings="none",
    action="none",
    identity="FF-1180-22",
    seal="S-004711",
    next_due=date(2026, 12, 26),
)
certification_extreme = replace(
    certification, unit_model=LONG_WORD, cabinet_name=f"{LONG_NAME} {LONG_WORD}", purpose=f"{LONG_WORD} {LONG_NAME}",
    made_by=LONG_NAME, findings=tag_endless.why, action=tag_long.why, identity=LONG_WORD, seal=LONG_WORD,
)  # fmt: skip
certification_novel = replace(
    certification, unit=label("U999999"), unit_model=NOVEL, cabinet_name=NOVEL, purpose=NOVEL, made_by=NOVEL,
    findings=NOVEL, action=NOVEL, identity=NOVEL, seal=NOVEL,
)  # fmt: skip

bag = BagLabel(
    bag=label("D000012"),
    stream="Used filters, cadmium and lead",
    agents="lead fume, cadmium",
    area="Plate shop, bay 3",
    opened_at=MORNING,
    by="Rhea Castel",
)
bag_bare = replace(bag, agents="", area="")
bag_foreign = replace(bag, stream="Отходы, Łódź", area="Ω, 王小明", by="Кирилл Щукин")
bag_novel = replace(bag, stream=NOVEL, agents=NOVEL, area=NOVEL, by=NOVEL)

requisition = RequisitionSheet(
    number=12,
    supplier="Keramion Supply, Harrow Creek",
    state="sent",
    since=date(2026, 11, 25),
    made_on=date(2026, 11, 24),
    by="Rhea Castel",
    rows=(
        RequisitionRow("WL1-PREFILTER", "Pre-filter", "Feldner", "FX-2231", 12, 48, 310, date(2026, 12, 3), 12),
        RequisitionRow("WL1-HEFILTER", "Particulate filter", "Feldner", "FX-2240", 6, 24, 2450),
        RequisitionRow("SWEATBAND", "Sweatband", "", "", 1, 1000, 0),
    ),
    note="Deliver to the crib, gate 2.",
    sent_back=(SentBackRow(date(2026, 11, 27), "Pre-filter", "K2608", 2, "wet carton"),),
)
requisition_many = replace(requisition, rows=requisition.rows * 20)
requisition_bare = replace(
    requisition, state="draft", by="", note="", sent_back=(), rows=(replace(requisition.rows[1], pieces=15),)
)
requisition_novel = replace(
    requisition, supplier=NOVEL, note=NOVEL, step_note=NOVEL, by=LONG_NAME,
    rows=(RequisitionRow(LONG_WORD, NOVEL, LONG_NAME, LONG_WORD, 100000, 100000, 99999999, date(2026, 12, 31)),) * 3,
    sent_back=(SentBackRow(date(2026, 11, 27), NOVEL, LONG_WORD, 2, NOVEL),) * 3,
)  # fmt: skip
requisition_foreign = replace(requisition, supplier="Łódź Щукина 王小明", by="Ελένη Παπαδοπούλου")

wearer_card = WearersCard(
    code="TH9",
    name="Trial PAPR, loose-fitting",
    rule="Blower off: no protection.",
    rule_detail="It protects only while it blows. Leave the fume first.",
    parts=(
        CardPart("Put on and adjust", ("Blower on first, outside the fume.", "Helmet on, seal under the chin."), True),
        CardPart("Before each use", ("Look at shell, lens, seal and tube.",)),
        CardPart("During work", ("Helmet up in the fume is no protection.",)),
        CardPart("Clean", ("Wipe it; never blow a filter out.",)),
        CardPart("Store", ("In its bag, out of dust and sun.",)),
    ),
    alarms=(
        CardRow("Alarm sounds", "Too little air", "Leave the fume, then take it off."),
        CardRow("Air stops", "No protection", "Leave the fume at once."),
    ),
    facts=(("Fit", "loose, so no fit test"), ("Lens", "shade 8 to 13")),
    cautions=(("Not for", "tanks, pits, low oxygen"),),
    rule_set="US federal, 29 CFR 1910.134 and its family",
    origin="Invented for this program.",
)
wearer_card_full = replace(
    wearer_card,
    name=LONG_NAME,
    rule="A rule of a model that takes more words than the band has room for at full size.",
    rule_detail=NOVEL_LINE * 2,
    parts=tuple(replace(part, lines=part.lines[:1] + (NOVEL_LINE,) * 3) for part in wearer_card.parts),
    alarms=(CardRow(LONG_WORD[:60], NOVEL_LINE[:90], NOVEL_LINE[:90]),) * 4,
)
wearer_card_foreign = replace(wearer_card, name="Шлем Łódź 王", rule="Χωρίς αέρα: καμία προστασία.")

register_row = RegisterRow(
    custody=417,
    slip=SLIP,
    went_out=MORNING,
    due_back=MORNING.replace(hour=14, minute=30),
    came_back=MORNING.replace(hour=14, minute=2),
    assigned=False,
    badge=WEARER,
    wearer="Łucja Wronecka",
    trade="welder",
    crew="day",
    employer="Nordbau (invented)",
    unit=UNIT,
    model="TH9",
    serial="TH9-2504",
    size="M",
    battery=BATTERY,
    area=label("A000012"),
    area_name="Plate shop, bay 3",
    required=True,
    full=RegisterCheck("bench", "pass", MORNING - timedelta(hours=12), "Otto Brandl", 184.0, meter=label("M000002")),
    check=RegisterCheck("hand-over", "pass", MORNING, "Rhea Castel", None, "above the mark", label("M000003")),
    own_checks=0,
    own_checks_bad=0,
    cautions=("Outer cover lens is due", "Pre-filter is due"),
    accepted="Rhea Castel",
    by_name="Hana Lindqvist: looked at today",
    issued_by="Rhea Castel",
    acknowledged="signed slip",
    received_by="Otto Brandl",
    worn_hours=6.25,
    alarms="low battery",
)
use_register = UseRegister(
    about="Every unit, wearer and area",
    period="1 Nov 2026 to 25 Nov 2026",
    rows=(register_row,),
    rule_set="US federal, 29 CFR 1910.134 and its family",
    made_at=MORNING,
    zone="America/Chicago",
)
register_none = replace(use_register, rows=())
register_out = replace(
    register_row, due_back=None, came_back=None, assigned=True, area="", area_name="", required=None, check=None,
    own_checks=3, own_checks_bad=1, received_by="", worn_hours=None, alarms="", battery="", size="", slip="",
    full=replace(register_row.full, meter_note="M000002 was found to read 8.0 L/min too much"),  # type: ignore[type-var]
)  # fmt: skip
register_many = replace(use_register, rows=(register_row, register_out) * 60)
register_foreign = replace(
    use_register, rows=tuple(replace(register_row, wearer=name, area_name=name[::-1]) for name in (*EUROPE, "王小明"))
)
register_novel = replace(
    use_register,
    about=NOVEL,
    rows=(
        replace(
            register_row, wearer=LONG_NAME, trade=NOVEL_LINE, employer=LONG_WORD, serial=LONG_WORD, area_name=LONG_NAME,
            cautions=(NOVEL_LINE,) * 6, by_name=f"{LONG_NAME}: {NOVEL_LINE}", alarms=NOVEL_LINE, full=None,
        ),
    ) * 4,
)  # fmt: skip

SAMPLES: dict[str, dict[str, object]] = {
    "wearer_card": {"plain": wearer_card, "full": wearer_card_full, "foreign": wearer_card_foreign},
    "use_register": {
        "plain": use_register,
        "none": register_none,
        "many": register_many,
        "foreign": register_foreign,
        "novel": register_novel,
    },
    "requisition": {
        "plain": requisition,
        "many": requisition_many,
        "bare": requisition_bare,
        "novel": requisition_novel,
        "foreign": requisition_foreign,
    },
    "tag": {
        "plain": tag,
        "long": tag_long,
        "endless": tag_endless,
        "extreme": tag_extreme,
        "foreign": tag_foreign,
        "novel": tag_novel,
    },
    "issue_slip": {
        "plain": slip,
        "bare": slip_plain,
        "extreme": slip_extreme,
        "foreign": slip_foreign,
        "assigned": slip_assigned,
        "carried": slip_carried,
        "novel": slip_novel,
    },
    "call_in_slip": {
        "hold": call_in,
        "overdue": call_in_overdue,
        "recheck": call_in_recheck,
        "recheck novel": call_in_recheck_novel,
        "extreme": call_in_extreme,
        "novel": call_in_novel,
    },
    "label_sheet": {"many": labels, "one": labels_one, "none": labels_none, "novel": labels_novel},
    "information_sheet": {
        "plain": information,
        "extreme": information_extreme,
        "foreign": information_foreign,
        "novel": information_novel,
    },
    "answer_card": {"plain": card, "many": card_many, "bare": card_bare, "novel": card_novel},
    "bag_label": {"plain": bag, "bare": bag_bare, "foreign": bag_foreign, "novel": bag_novel},
    "ready_seal": {"plain": seal, "foreign": seal_foreign, "novel": seal_novel},
    "count_sheet": {"plain": count_sheet, "long": count_long, "novel": count_novel},
    "due_list": {"plain": due, "bare": due_bare, "extreme": due_extreme, "novel": due_novel},
    "shift_page": {"plain": shift_sheet, "bare": shift_bare, "novel": shift_novel},
    "repair_note": {
        "plain": repair,
        "bare": repair_bare,
        "long": repair_long,
        "extreme": repair_extreme,
        "novel": repair_novel,
    },
    "certification_tag": {
        "plain": certification,
        "extreme": certification_extreme,
        "novel": certification_novel,
    },
    "inspection_record": {
        "plain": record,
        "long": record_long,
        "extreme": record_extreme,
        "none": record_none,
        "novel": record_novel,
    },
}
