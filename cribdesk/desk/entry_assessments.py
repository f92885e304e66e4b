"""Forms of what is in the air: the hygienist's finding, its samples, its end; limits of the site's own."""

from __future__ import annotations

from cribdesk.crib.concentration import UNITS
from cribdesk.crib.records import Area, Assessment, AssessmentBasis, SiteLimit
from cribdesk.desk.assessments import AddSample, AssessArea, WithdrawAssessment, assessed_words, standing_assessments
from cribdesk.desk.entry_form import ABOUT, NO, YES, Asked, EntryField, EntryKind, Fields, Filled
from cribdesk.desk.operation import Operation
from cribdesk.desk.site_limits import BODY_WORDS, KINDS, AddSiteLimit, body_words, standing_limits, substance_words

HYGIENIST = (
    "Assessing exposure is the work of an industrial hygienist with the competence for it. "
    "This tool repeats their finding and makes none."
)
NOT_ASSESSED = "none"
"""The basis of something that is there and of which nobody has a finding."""
BASIS_WORDS = {
    AssessmentBasis.SAMPLES.value: "Air samples",
    AssessmentBasis.STATED.value: "A result the hygienist states",
    AssessmentBasis.OBJECTIVE.value: "Objective data",
    NOT_ASSESSED: "Nothing yet: it is there, not assessed",
}
FOUND = ("basis", *(one.value for one in AssessmentBasis))
OTHER = "other"
HIGHEST = 1_000_000.0
KIND_WORDS = {"8 h": "Average over 8 h", "short term": "Short-term, 15 min", "ceiling": "Ceiling",
              "idlh": "Immediately dangerous (IDLH)"}  # fmt: skip
Choices = tuple[tuple[str, str], ...]


def area_field(asked: Asked) -> EntryField:
    """Which area a form is about."""
    areas = sorted(asked.reader.find(Area), key=lambda one: one.name.casefold())
    choices = tuple((one.label, f"{one.name}, {one.label}") for one in areas)
    known = asked.label if asked.label in dict(choices) else ""
    return EntryField(ABOUT, "Area", "choice", True, "Choose it, or scan its label.", choices, known)


def no_area(asked: Asked) -> str:
    """What has to be entered first."""
    return "" if asked.reader.first(Area) else "No area is in the store yet. Enter an area first."


def area_of(filled: Filled, asked: Asked) -> int:
    """The id of the area that was chosen; 0 for none."""
    area = asked.reader.first(Area, label=filled.pick(ABOUT).partition(" ")[0])
    return area.id if area else 0


def unit_field(only: tuple[str, ...] | None = None) -> EntryField:
    """The unit of a concentration: nothing is chosen beforehand."""
    return EntryField("unit", "Unit of these figures", "choice", True, "As it is written there.", UNITS, only=only)


def _substances(asked: Asked) -> Choices:
    """What has a limit or a row in the table, by name; what the site added too."""
    own = {one.substance for one in asked.reader.find(SiteLimit)}
    names = {id_: substance_words(asked.house, id_) for id_ in (*asked.house.substances, *own)}
    return tuple(sorted(names.items(), key=lambda pair: pair[1].casefold()))


def _bodies(asked: Asked) -> Choices:
    today = asked.house.today(asked.moment)
    sources = sorted({one.source for one in standing_limits(asked.reader.find(SiteLimit), today)})
    fixed = tuple((body, words) for body, words in BODY_WORDS.items())
    return (*fixed, *((one, f"Own: {one}") for one in sources), ("", "None: it has no limit"))


# A finding.


def _finding_fields(asked: Asked) -> Fields:
    about = area_field(asked)
    if not about.value:
        return (about,)
    basis = tuple((value, words) for value, words in BASIS_WORDS.items())
    return (
        about,
        EntryField("substance", "What is in the air", "choice", True, choices=_substances(asked), value=asked.part),
        EntryField("basis", "The finding rests on", "choice", True, choices=basis),
        EntryField("form", "Which form of it", help="Only to tell two findings of it apart: fume, dust of grinding."),
        EntryField(
            "concentration", "Average over 8 h", "number", decimals=6, only=FOUND,
            help="On samples: empty, they tell it. Below detection: the detection limit.",
        ),
        EntryField(
            "short", "Highest short-term level", "number", decimals=6, only=FOUND,
            help="Over 15 minutes or less. A ceiling is judged by it, never by an average.",
        ),
        unit_field(FOUND),
        EntryField("limit", "Held against", "choice", choices=_bodies(asked), value="osha"),
        EntryField(
            "measured_as", "Figures counted as", only=FOUND, help="Fe or Fe2O3, V or V2O5. Empty: as the limit counts.",
        ),
        EntryField("made_on", "Made on", "date", True, value=asked.house.today(asked.moment).isoformat()),
        EntryField("made_by", "The hygienist", needed=True, help="Whose finding it is.", only=FOUND),
        EntryField("document", "Report", needed=True, help="Which paper it stands in.", only=FOUND),
        EntryField("review_on", "To be reviewed on", "date", help="As the finding says, if it does.", only=FOUND),
    )  # fmt: skip


def _finding(filled: Filled, asked: Asked, token: str) -> Operation:
    picked = filled.pick("basis")
    found = picked != NOT_ASSESSED
    concentration, short = filled.figure("concentration", 0, HIGHEST), filled.figure("short", 0, HIGHEST)
    if picked in FOUND[2:] and concentration is None and short is None:
        filled.troubles.setdefault("concentration", "Say one of the two figures, or that it is not assessed.")
    return AssessArea(
        operation_id=token,
        area_id=area_of(filled, asked),
        substance=filled.pick("substance"),
        basis=AssessmentBasis(picked) if picked and found else AssessmentBasis.STATED,
        made_on=filled.the_day("made_on"),
        unit=filled.pick("unit") or "mg/m3",
        concentration=concentration if found else None,
        short=short if found else None,
        form=filled.text("form"),
        measured_as=filled.text("measured_as"),
        limit=filled.pick("limit"),
        made_by=filled.text("made_by"),
        document=filled.text("document"),
        review_on=filled.day("review_on"),
    )


# A sample, and a finding's end.


def _standing(asked: Asked) -> list[tuple[Area, Assessment]]:
    """Everything that stands, with its area, by name."""
    areas = {one.id: one for one in asked.reader.find(Area)}
    by_area: dict[int, list[Assessment]] = {}
    for one in asked.reader.find(Assessment):
        by_area.setdefault(one.area_id, []).append(one)
    found = [(areas[id_], one) for id_, rows in by_area.items() for one in standing_assessments(rows)]
    return sorted(found, key=lambda pair: (pair[0].name.casefold(), pair[1].id))


def _finding_field(asked: Asked, pairs: list[tuple[Area, Assessment]], words: str) -> EntryField:
    """Which finding is meant: an area's label and the finding's id."""
    choices = tuple(
        (f"{area.label} {one.id}", f"{area.name}: {assessed_words(asked.house, one)}") for area, one in pairs
    )
    of_area = [value for value, _ in choices if value.partition(" ")[0] == asked.label]
    known = asked.about if asked.about in dict(choices) else of_area[0] if len(of_area) == 1 else ""
    return EntryField(ABOUT, words, "choice", True, choices=choices, value=known)


def _sampled(asked: Asked) -> list[tuple[Area, Assessment]]:
    return [pair for pair in _standing(asked) if pair[1].basis is AssessmentBasis.SAMPLES]


def _sample_fields(asked: Asked) -> Fields:
    about = _finding_field(asked, _sampled(asked), "Sample of")
    if not about.value:
        return (about,)
    return (
        about,
        EntryField("value", "Measured", "number", True, "Below detection: the detection limit.", decimals=6),
        unit_field(),
        EntryField("minutes", "Lasted", "number", True, "15 minutes or less: it tells a short-term level.", unit="min"),
        EntryField("taken_on", "Taken on", "date", True),
        EntryField(
            "series", "Series", help="A letter for each wearer or place sampled that day; no name. Each is averaged.",
        ),
        EntryField("method", "Method", help="As the report names it."),
        EntryField("below", "Below detection: the figure is the detection limit", "yes-no", value=NO),
    )  # fmt: skip


def _sample(filled: Filled, asked: Asked, token: str) -> Operation:
    part = filled.pick(ABOUT).partition(" ")[2]
    return AddSample(
        operation_id=token,
        assessment_id=int(part) if part else 0,
        value=filled.figure("value", 0, HIGHEST) or 0.0,
        unit=filled.pick("unit"),
        minutes=filled.whole("minutes", 0, 100_000) or 0,
        taken_on=filled.the_day("taken_on"),
        detected=not filled.yes("below"),
        method=filled.text("method"),
        series=filled.text("series"),
    )


def _none_sampled(asked: Asked) -> str:
    return "" if _sampled(asked) else "No finding rests on samples. Enter the finding first, resting on air samples."


def _withdraw_fields(asked: Asked) -> Fields:
    about = _finding_field(asked, _standing(asked), "Finding")
    if not about.value:
        return (about,)
    return (
        about,
        EntryField("why", "Why", needed=True, help="It stands in the journal. Nothing about a person."),
        EntryField(
            "still_there", "It is still in the air there", "yes-no", value=YES,
            help="Ticked: it counts as not assessed from now on. Not ticked: it is gone from the area.",
        ),
    )  # fmt: skip


def _withdraw(filled: Filled, asked: Asked, token: str) -> Operation:
    part = filled.pick(ABOUT).partition(" ")[2]
    return WithdrawAssessment(
        operation_id=token,
        assessment_id=int(part) if part else 0,
        why=filled.text("why"),
        still_there=filled.yes("still_there"),
    )


def _none_standing(asked: Asked) -> str:
    return "" if asked.reader.first(Assessment) else "No finding is on file."


# A limit of the site's own.


def _limit_fields(asked: Asked) -> Fields:
    kinds = tuple((one, KIND_WORDS[one]) for one in KINDS)
    listed = (*_substances(asked), (OTHER, "Something else: say its name"))
    air = (("particles", "Particles: dust, fume, mist"), ("gas", "A gas or a vapour"))
    return (
        EntryField("substance", "Substance", "choice", True, choices=listed),
        EntryField("name", "Its name", needed=True, only=("substance", OTHER)),
        EntryField("air", "How it is in the air", "choice", True, choices=air, only=("substance", OTHER)),
        EntryField("kind", "Kind of limit", "choice", True, choices=kinds),
        EntryField("value", "Limit", "number", True, decimals=6),
        unit_field(),
        EntryField("measured_as", "Counted as", help="Fe or Fe2O3, V or V2O5. Empty: as the table counts."),
        EntryField("source", "From your own copy of", needed=True, help="Which list, of which year: it names it."),
        EntryField("from_on", "Holds from", "date", True, value=asked.house.today(asked.moment).isoformat()),
    )  # fmt: skip


def _limit(filled: Filled, asked: Asked, token: str) -> Operation:
    picked = filled.pick("substance")
    return AddSiteLimit(
        operation_id=token,
        substance=filled.text("name") if picked == OTHER else picked,
        kind=filled.pick("kind"),
        value=filled.figure("value", 0, HIGHEST) or 0.0,
        unit=filled.pick("unit"),
        source=filled.text("source"),
        from_on=filled.the_day("from_on"),
        measured_as=filled.text("measured_as"),
        particles=filled.pick("air") != "gas",
    )


ASSESSMENT_FORMS = (
    EntryKind(
        "assess", "assess", "Finding", "Enter a finding", AssessArea, _finding_fields, _finding, HYGIENIST, no_area,
        again=False,
    ),
    EntryKind(
        "sample", "sample", "Sample", "Enter an air sample", AddSample, _sample_fields, _sample, HYGIENIST,
        _none_sampled, keeps=True,
    ),
    EntryKind(
        "withdraw-finding", "withdraw-finding", "Withdraw", "Withdraw a finding", WithdrawAssessment, _withdraw_fields,
        _withdraw, f"What was found wrong stands no more; it stays in the journal. {HYGIENIST}", _none_standing,
        again=False,
    ),
    EntryKind(
        "site-limit", "limits", "Limit", "Add a limit of the site", AddSiteLimit, _limit_fields, _limit,
        "From a list that may not be copied here: you enter it from your own copy, and answer for the figure. "
        f"The {body_words('osha')}s and {body_words('niosh')}s are here already.",
    ),
)  # fmt: skip
