"""The place Areas: every area with what it needs, and one area whole, the answer first."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime

from cribdesk.compute.exposure import STANDARD_SHIFT_HOURS, effective_factor
from cribdesk.crib.concentration import needed as needed_words
from cribdesk.crib.concentration import plain
from cribdesk.crib.enough import enough
from cribdesk.crib.protection import AreaProtection, Enough, Respirator, area_notes, needed_factor
from cribdesk.crib.records import Area, AreaCondition, AreaControl, AreaProcess, Control, Custody
from cribdesk.crib.refusal import Reason
from cribdesk.crib.words import capital, date_words, hours, in_sentence, joined
from cribdesk.desk.area_agents import agent_there, earlier_words
from cribdesk.desk.area_facts import last_change, row_of, standing_condition
from cribdesk.desk.assessments import standing_assessments
from cribdesk.desk.cards_area import Answer, AreaPage, ControlThere, ModelThere, ProcessThere, Told
from cribdesk.desk.cards_lists import AreaRow
from cribdesk.desk.entry_assessments import HYGIENIST
from cribdesk.desk.house import House
from cribdesk.desk.lists import area_rows as plain_rows
from cribdesk.desk.ports import Reader
from cribdesk.desk.protection import AreaRows, area_rows, counts_as, protection_of, shelf, weighing
from cribdesk.desk.site_limits import substance_words

NOT_WORN = (0.0, 0.5, 1.0)
"""Hours of the exposed time in which a unit is off, for the table of what protection is then left."""


def area_list(reader: Reader, house: House, moment: datetime, text: str = "") -> tuple[AreaRow, ...]:
    """Areas with what each needs, those that need somebody first; nine queries."""
    rows = plain_rows(reader, house, moment, text)
    areas = {one.id: one for one in reader.find(Area, id=[row.area_id for row in rows])} if rows else {}
    known, on_shelf, today = area_rows(reader, sorted(areas)), shelf(reader, house), house.today(moment)
    found = []
    for row in rows:
        there = protection_of(known, house, areas[row.area_id], today)
        answer = _answer(there, _weighed(there, house, on_shelf, moment))
        found.append(replace(row, level=answer.level, exposure=_short(there, answer)))
    order = {"stop": 0, "caution": 1}
    return tuple(sorted(found, key=lambda row: (order.get(row.level, 2), row.name.casefold())))


def area_page(reader: Reader, house: House, label: str, moment: datetime) -> AreaPage | None:
    """One area; ten queries."""
    area = reader.first(Area, label=label)
    if area is None:
        return None
    known, on_shelf, today = area_rows(reader, [area.id]), shelf(reader, house), house.today(moment)
    there = protection_of(known, house, area, today)
    weighed = _weighed(there, house, on_shelf, moment)
    made = standing_assessments(known.assessments.get(area.id, []))
    agents = tuple(
        agent_there(one, found, known.samples.get(one.id, []), on_shelf, there.exposed_hours, today)
        for one, found in zip(made, there.findings, strict=True)
    )
    everything = known.assessments.get(area.id, [])
    names = {one.substance: substance_words(house, one.substance) for one in everything}
    order = {"stop": 0, "caution": 1}
    return AreaPage(
        label=area.label,
        name=area.name,
        required=area.required,
        answer=_answer(there, weighed),
        models=tuple(_model(one, there, house) for one in sorted(weighed, key=lambda one: not one.respirator.breathes)),
        agents=tuple(sorted(agents, key=lambda one: order.get(one.level, 2))),
        mixtures=_mixtures(there, house),
        worn=_worn(there, on_shelf),
        conditions=_conditions(known.conditions.get(area.id, [])),
        processes=_processes(there, on_shelf, known.processes.get(area.id, []), house),
        controls=_controls(known, area.id),
        notes=area_notes(there, house.rules),
        earlier=earlier_words(everything, [one.id for one in made], names),
        facts=_facts(reader, area),
        hygienist=HYGIENIST,
        rules=house.rules.name,
    )


def _weighed(
    there: AreaProtection, house: House, on_shelf: Sequence[Respirator], moment: datetime
) -> tuple[Enough, ...]:
    today = house.today(moment)
    return enough(there, on_shelf, weighing(house, None, None, today, on_shelf=on_shelf))


# The answer.


def _answer(there: AreaProtection, weighed: Sequence[Enough]) -> Answer:
    breathing = [one for one in weighed if one.respirator.breathes]
    good = [one for one in breathing if one.enough]
    needed = needed_factor(there)
    if not there.required and not there.findings and not _place_stops(there):
        return Answer("", "No finding is on file", "A respirator is not required there, by what is noted of the area.")
    if good:
        said = f"Factor {_for_what(there, needed)}." if needed and needed > 1 else "Nothing is over its limit."
        less = [_named(one.respirator) for one in breathing if not one.enough]
        parts = [said, f"Not enough: {joined(less)}." if less else ""]
        shared = _cautions_of_all(good)
        parts += [f"{reason.words}." for reason in shared[:2]]
        level = "caution" if shared else "fine"
        names = joined([one.respirator.name for one in good])
        return Answer(level, f"Enough here: {names}", " ".join(part for part in parts if part))
    stops = [reason for one in breathing for reason in one.stops]
    if not stops:
        return Answer("", "No unit of this crib gives air", "No model with a respirator is known here.")
    common = [key for key, times in Counter(reason.key for reason in stops).items() if times == len(breathing)]
    first = next((reason for reason in stops if reason.key in common), stops[0])
    head = "Not assessed: nothing is issued for it" if first.code == "not-assessed" else "Nothing is enough here"
    return Answer("stop", head, f"{first.words}. {first.detail}".strip())


def _cautions_of_all(good: Sequence[Enough]) -> list[Reason]:
    """Cautions of the area itself: whichever unit is taken. What one unit lacks stands at that unit."""
    everywhere = set.intersection(*({reason.key for reason in one.cautions} for one in good))
    return [reason for reason in good[0].cautions if reason.key in everywhere]


def _for_what(there: AreaProtection, needed: float) -> str:
    """'3.2 is needed, for manganese fume'; for substances of like effect where those together need it."""
    for one in there.mixtures:
        if one.particle and one.index == needed:
            names = [in_sentence(each.name) for each in there.findings if each.substance in one.substances]
            return f"{needed_words(needed)} is needed: {joined(names)} act alike and are added"
    worst = max((one for one in there.findings if one.particle), key=lambda one: one.ratio or 0)
    return f"{needed_words(needed)} is needed, for {in_sentence(worst.name)}"


def _named(one: Respirator) -> str:
    return f"{one.name} (factor {plain(one.factor)})" if one.factor is not None else one.name


def _place_stops(there: AreaProtection) -> bool:
    return there.oxygen_deficient or there.idlh or there.confined or there.explosive


def _short(there: AreaProtection, answer: Answer) -> str:
    """What stands in the list."""
    needed = needed_factor(there)
    if there.oxygen_deficient:
        return "oxygen-deficient"
    if there.idlh:
        return "immediately dangerous"
    if there.required and not there.assessed:
        return "not assessed"
    if there.outdated:
        return "process changed: assess anew"
    if any(not one.known for one in there.findings):
        return "an agent is not assessed"
    if any(one.over and not one.particle for one in there.findings):
        return "a gas is over its limit"
    if needed is not None and needed > 1:
        return f"factor {needed_words(needed)} needed"
    if there.assessed:
        other = {"stop": "no unit is enough", "caution": "below the limits, a caution"}
        return other.get(answer.level, "below the limits")
    return "no finding"


def exposure_words(
    reader: Reader, house: House, area: Area, model: str, issued_at: datetime, moment: datetime
) -> str:
    """'factor 12 needed, this unit has 25' for a slip; as of today where it is printed on a later day."""
    there = protection_of(area_rows(reader, [area.id]), house, area, house.today(moment))
    weighed = _weighed(there, house, shelf(reader, house), moment)
    unit = next((one.respirator for one in weighed if one.respirator.model == model), None)
    if unit is None or not unit.breathes:
        return ""
    has = f", this unit has {plain(unit.factor)}" if unit.factor is not None and there.assessed else ""
    today = house.today(moment)
    as_of = f", as of {date_words(today)}" if today != house.today(issued_at) else ""
    return f"{_short(there, _answer(there, weighed))}{has}{as_of}"


def _model(one: Enough, there: AreaProtection, house: House) -> ModelThere:
    respirator = one.respirator
    level = "" if not respirator.breathes else "stop" if one.stops else "caution" if one.cautions else "fine"
    if not respirator.breathes:
        factor, verdict = "none", "gives no air; a respirator is needed with it" if there.required else "gives no air"
    else:
        factor = plain(respirator.factor) if respirator.factor is not None else "not known"
        if respirator.evidence:
            factor += f", by {respirator.evidence}"
        verdict = one.stops[0].words if one.stops else _enough_words(one)
    if respirator.raised is not None:
        factor += f"; {plain(respirator.raised)} once the maker's test evidence is on file"
    stopped = tuple(reason.words for reason in one.stops[1:])
    return ModelThere(
        respirator.model,
        capital(respirator.name),
        level,
        factor,
        verdict,
        _lens(respirator, there),
        (*stopped, *(reason.words for reason in one.cautions)),
        _where_it_stands(respirator, house),
    )


def _where_it_stands(respirator: Respirator, house: House) -> str:
    """The paragraph of a factor, and whether its figure was seen there."""
    model = house.models[respirator.model]
    kind, mode = respirator.respirator_class, respirator.mode
    factor = house.rules.factor(kind, mode, model.facepiece, model.performance) if kind else None
    if factor is None:
        return ""
    return factor.source if factor.sound else f"{factor.source}; the figure is from memory"


def _enough_words(one: Enough) -> str:
    if one.ratio is None or one.ratio <= 1:
        return "enough"
    return f"enough: {plain(one.respirator.factor or 0)} against {needed_words(one.ratio)} needed"


def _lens(respirator: Respirator, there: AreaProtection) -> str:
    shades = [one.minimum for one in there.shades if one.minimum is not None]
    lens = respirator.shade_range
    if lens is None:
        return ""
    reach = f"shade {lens[0]} to {lens[1]}"
    if not shades:
        return reach
    return f"{reach}: {'covers' if lens[1] >= max(shades) else 'too light for'} {plain(max(shades))}"


# The rest.


def _mixtures(there: AreaProtection, house: House) -> tuple[Told, ...]:
    return tuple(
        Told(
            capital(one.name),
            f"{needed_words(one.index)} of 1",
            f"{joined([substance_words(house, each) for each in one.substances])}: concentration / limit, added. "
            "Over 1 is over the limit: 29 CFR 1910.1000(d)(2). Which act alike a hygienist decides.",
        )
        for one in there.mixtures
    )


def _worn(there: AreaProtection, on_shelf: Sequence[Respirator]) -> tuple[Told, ...]:
    """What is left of each factor where the unit is off for a part of the exposed time."""
    exposed = there.exposed_hours or STANDARD_SHIFT_HOURS
    factors = sorted({one.factor for one in on_shelf if one.factor is not None})
    found = []
    for factor in factors:
        left = [(exposed - off, effective_factor(factor, exposed - off, exposed)) for off in NOT_WORN if off < exposed]
        told = ", ".join(f"{hours(worn)}: {plain(value, 3)}" for worn, value in left)
        found.append(Told(f"Factor {plain(factor)}", told))
    return tuple(found)


def _conditions(rows: Sequence[AreaCondition]) -> tuple[Told, ...]:
    now, change = standing_condition(rows), last_change(rows)
    if now is None:
        return ()
    said = f"said {date_words(now.said_on)}"
    marks = (
        (now.oxygen_deficient, "Oxygen", "deficient", "no unit that filters the air is worn there"),
        (now.idlh, "Atmosphere", "immediately dangerous", "no unit that filters the air is worn there"),
        (now.confined, "Place", "a confined space", said),
        (now.explosive, "Location", "hazardous (explosive)", "only units approved for it: 29 CFR 1910.307"),
    )
    found = [Told(name, figure, basis) for holds, name, figure, basis in marks if holds]
    if not found:
        found.append(Told("Atmosphere and place", "nothing special", said))
    exposed = hours(now.exposed_minutes / 60) if now.exposed_minutes else "8 h, as nobody said"
    found.append(Told("Met in a shift", exposed, said if now.exposed_minutes else ""))
    if change is not None:
        found.append(Told("Process changed", date_words(change.said_on), change.changed))
    return tuple(found)


def _processes(
    there: AreaProtection, on_shelf: Sequence[Respirator], rows: Sequence[AreaProcess], house: House
) -> tuple[ProcessThere, ...]:
    found = []
    for one, row in zip(there.shades, rows, strict=True):
        if one.minimum is None:
            found.append(ProcessThere(one.words, "not known", f"{one.why}. The maker's instructions decide."))
            continue
        lenses = [(each.name, each.shade_range) for each in on_shelf if each.shade_range is not None]
        good = [name for name, reach in lenses if reach[1] >= one.minimum]
        bad = [name for name, reach in lenses if reach[1] < one.minimum]
        covered = f"Covered by {joined(good)}." if good else "No lens of this crib covers it."
        covered += f" Too light: {joined(bad)}." if bad else ""
        shade = row_of(row, house.shades)
        basis = ". ".join(part.rstrip(".") for part in (shade.source, shade.note) if part)
        found.append(ProcessThere(one.words, f"shade {plain(one.minimum)} at least", covered, f"{basis}."))
    return tuple(found)


def _controls(known: AreaRows, area_id: int) -> tuple[ControlThere, ...]:
    def rank(one: AreaControl) -> tuple[int, int]:
        return list(Control).index(one.control), one.id

    rows = [one for one in known.controls.get(area_id, []) if one.ended_on is None]
    return tuple(
        ControlThere(capital(one.control.value), one.what, f"since {date_words(one.from_on)}{counts_as(one)}")
        for one in sorted(rows, key=rank)
    )


def _facts(reader: Reader, area: Area) -> tuple[tuple[str, str], ...]:
    out = reader.count(Custody, returned_at=None, area_id=area.id)
    return (
        ("What is done there", area.processes),
        ("In the air, as noted", area.agents),
        ("Note", area.note),
        ("Units out for it now", str(out)),
    )
