"""What can be done with the slate as it is: the buttons, their keys and words, best first."""

from __future__ import annotations

from dataclasses import dataclass, replace

from cribdesk.crib.acceptance import still_wanting
from cribdesk.crib.reasons import at_hand, cautions, stops
from cribdesk.crib.records import BatteryPlace, Where
from cribdesk.crib.serviceable import Serviceable
from cribdesk.crib.words import count
from cribdesk.desk.carrying import was_theirs
from cribdesk.desk.commands import BY_ID
from cribdesk.desk.house import House
from cribdesk.desk.matter import Matter
from cribdesk.desk.matters import matters
from cribdesk.desk.slate import AreaForm, AskForm, ChangeForm, HoldForm, ReleaseForm, ReturnForm, Slate
from cribdesk.procedure.model import asked_of


@dataclass(frozen=True)
class Action:
    """One button. `kind` is go (one a screen), plain or quiet; `why` says why it is not possible yet."""

    command: str
    words: str
    key: str
    kind: str = "plain"
    cost: str = ""
    why: str = ""

    @property
    def enabled(self) -> bool:
        """Whether it can be pressed."""
        return not self.why


ASIDE = Action("put-aside", "Put aside", "F9")
MORE = Action("more", "More", "F10", "quiet")


def actions(house: House, slate: Slate) -> tuple[Action, ...]:
    """The buttons of the counter for this slate; a check's own buttons follow its page instead.

    While nobody is signed on every one but 'put aside' says so.
    """
    found = _with_matters(house, slate, _actions(house, slate))
    if slate.clerk is not None:
        return found
    why = "Nobody is signed on: scan a staff badge."
    return tuple(one if one.command == ASIDE.command else replace(one, why=why) for one in found)


def further(house: House, slate: Slate) -> tuple[tuple[str, str, str], ...]:
    """(command, words, why not yet) of every matter that makes sense with what lies on the counter."""
    if not _at_rest(slate):
        return ()
    offered = ((one, one.offered(house, slate)) for one in matters().values())
    return tuple((one.id, BY_ID[one.id].words, why) for one, why in offered if why is not None)


def lacking(matter: Matter, form: AskForm) -> str:
    """What the form of a matter still needs, in words, or nothing."""
    unsaid = next((one for one in form.shown() if one.needed and not form.value(one.name).strip()), None)
    return f"{unsaid.words}: say it." if unsaid else matter.lacks(form)


def _at_rest(slate: Slate) -> bool:
    """Nothing is open: what lies there can be taken up."""
    free = slate.form is None and slate.check is None and slate.passed is None and slate.pending is None
    return free and slate.mode == "counter" and not slate.tray


def _with_matters(house: House, slate: Slate, found: tuple[Action, ...]) -> tuple[Action, ...]:
    """The buttons with the matters that have one of their own, and 'More' for the others."""
    rows = further(house, slate)
    if not rows:
        return found
    known = matters()
    taken = {one.key for one in found}
    own = tuple(
        Action(id_, words, BY_ID[id_].key, known[id_].kind, known[id_].cost, why)
        for id_, words, why in rows
        if known[id_].shown and BY_ID[id_].key not in taken
    )
    if any(one.kind == "go" for one in own):
        found = tuple(replace(one, kind="plain") if one.kind == "go" else one for one in found)
    more = (MORE,) if len(rows) > len(own) and not slate.empty else ()
    last = tuple(one for one in found if one.command == ASIDE.command)
    first = tuple(one for one in found if one.command != ASIDE.command)
    return (*first, *own, *more, *last)


def _actions(house: House, slate: Slate) -> tuple[Action, ...]:
    if slate.pending is not None or (slate.check is not None and slate.form is None):
        return ()
    if slate.form is not None:
        return _form(slate)
    if slate.mode == "returns":
        return (Action("done", "End of returns", "F9", "plain"),)
    if slate.mode == "pre-stage":
        return (Action("done", "End of inspecting", "F9", "plain"),)
    if slate.mode == "sign-on":
        return _sign_on(slate)
    if slate.passed is not None:
        return _passed(slate)
    if slate.tray:
        words = f"Clean {count(len(slate.tray), 'unit')}"
        return (Action("clean", words, "F5", "go", "one procedure for the tray"), ASIDE)
    if slate.unit is None:
        if slate.battery is not None and slate.person is None and slate.area is None:
            return _battery(slate)
        bind = (Action("bind", "Bind this label", "F6", "plain", slate.foreign),) if slate.foreign else ()
        return (*bind, *_take_over(slate), ASIDE) if bind or not slate.empty else ()
    if slate.unit.is_out:
        return _out(slate)
    if slate.person is not None:
        return _issue(house, slate)
    return _in_hand(house, slate)


def to_complete(slate: Slate) -> bool:
    """Whether the unit came back by a scan alone and the rest was not said yet."""
    last = slate.unit.standing.last_custody if slate.unit else None
    return last is not None and last.returned_at is not None and last.completed_at is None


def missing(slate: Slate) -> str:
    """What has still to be scanned before an issue's check can begin, in words, or nothing."""
    unit = slate.unit
    if unit is None:
        return "Scan the unit."
    if slate.person is None:
        return "Scan the wearer's badge."
    if unit.model.battery_models and slate.battery is None:
        return "Scan the battery that goes along."
    if slate.area is None:
        return "Scan the area, or choose it with F6."
    if slate.facts is None:
        return "Looking it up."
    if still_wanting(slate.reasons, slate.accepted):
        return "A caution has to be accepted by name first."
    return ""


def check_words(house: House, slate: Slate) -> tuple[str, str]:
    """(word, cost) of the issue's check: 'Check', 'hand-over, 4 steps, about 15 s'."""
    unit = slate.unit
    assert unit is not None
    full = slate.facts is None or slate.facts.needs_full_check
    kind = "pre-use" if full else "hand-over"
    procedure = house.procedure_of(unit.model, kind)
    if procedure is None:
        return "Issue", "this model has no check of its own"
    asked = [step for step in procedure.steps if asked_of(step, unit.model) and not step.continues]
    steps = count(len(asked), "step")
    return ("Inspect", f"full check, {steps}, about 4 min") if full else ("Check", f"hand-over, {steps}, about 15 s")


def _issue(house: House, slate: Slate) -> tuple[Action, ...]:
    aside = Action("put-aside", "Put both aside", "F9")
    area = Action("area", "Other area or time", "F6", "quiet")
    if stops(slate.reasons):
        return (area, aside)
    change = Action("change", "Change a part", "F7")
    if still_wanting(slate.reasons, slate.accepted):  # what comes first then is the matter's button
        return (area, change, aside)
    word, cost = check_words(house, slate)
    return (Action("go", word, "F5", "go", cost, missing(slate)), area, change, aside)


def _out(slate: Slate) -> tuple[Action, ...]:
    unit = slate.unit
    assert unit is not None
    found = [Action("take-back", "Take back", "F5", "go", "to returned, not checked; the rest now or later")]
    found.append(Action("hold", "Hold", "F8", "plain", "prints a call-in slip"))
    return (*found, ASIDE)


def _take_over(slate: Slate) -> tuple[Action, ...]:
    """A staff badge alone on the counter can take it over."""
    clerk, person = slate.clerk, slate.person
    if clerk is None or person is None or slate.battery is not None or slate.foreign:
        return ()
    if not person.person.roles or clerk.person_id == person.person.id:
        return ()
    return (Action("take-over", "Sign on here", "F6", "plain", f"in place of {clerk.name}"),)


def _sign_on(slate: Slate) -> tuple[Action, ...]:
    """While a staff badge is waited for: nobody at all, or back."""
    off = (Action("sign-off", "Sign off", "F8", "plain", slate.clerk.name),) if slate.clerk else ()
    return (*off, Action("put-aside", "Back", "F9"))


def _battery(slate: Slate) -> tuple[Action, ...]:
    """A pack alone on the counter: on a charger, or off it."""
    assert slate.battery is not None
    battery = slate.battery.battery
    if battery.place is BatteryPlace.CHARGER:
        return (Action("end-charge", "Charged", "F5", "go", "off the charger, onto the shelf"), ASIDE)
    if battery.place is BatteryPlace.SHELF and not slate.battery.in_use:
        return (Action("start-charge", "On a charger", "F5", "go", "the first free slot"), ASIDE)
    return (ASIDE,)


def _in_hand(house: House, slate: Slate) -> tuple[Action, ...]:
    unit = slate.unit
    assert unit is not None
    if unit.unit.where is Where.SCRAPPED:
        return (ASIDE,)
    found: list[Action] = []
    side = Action("change", "Change a part", "F7")
    side_key = "F6"
    if to_complete(slate):
        side_key = ""  # one key, one meaning
        found.append(Action("complete-return", "Complete the return", "F6", "plain", "hours, battery, damage"))
    state = unit.condition.state
    if any(line.proof for line in unit.holds):
        found.append(Action("release", "Release", "F5", "go", "its proof is there"))
    elif any(line.hold.proof == "program administrator" for line in unit.holds):
        found.append(Action("release", "Release", "F5", "go", "by the program administrator's word"))
    elif not at_hand(unit.unit):
        return (Action("bench", "Inspect at the bench", "F5", "go"), Action("hold", "Hold", "F8"), ASIDE)
    elif state is Serviceable.NOT_CHECKED and unit.condition.dirty:
        found.append(Action("look-over", "Look over", "F5", "go", "after its return"))
        found.append(Action("clean", "Clean", side_key))
    elif unit.condition.dirty:
        found.append(Action("clean", "Clean", "F5", "go"))
    elif state is Serviceable.READY:
        found.append(Action("bench", "Inspect at the bench", side_key, "plain"))
    else:
        found.append(Action("bench", "Inspect at the bench", "F5", "go"))
    return (*found, side, Action("hold", "Hold", "F8"), ASIDE)


def _passed(slate: Slate) -> tuple[Action, ...]:
    unit, person = slate.unit, slate.person
    assigned = unit is not None and person is not None and slate.assigned and not slate.carrier
    if assigned and unit and person and was_theirs(unit.standing.last_custody, person.person.id):
        carrier = [Action("carrier", "A carrier takes it", "F6", "plain", "to the wearer it was assigned to before")]
    else:
        carrier = []
    print_slip = Action("print-slip", "Print slip to sign", "F7", "plain", "when the badge does not scan")
    return (*carrier, print_slip, Action("put-aside", "Break off", "F12", "quiet"))


def _form(slate: Slate) -> tuple[Action, ...]:
    form = slate.form
    later = Action("later", "Later", "F9") if isinstance(form, ReturnForm) and form.returned else ASIDE
    words, cost = "Done", ""
    if isinstance(form, ReturnForm):
        words = "Complete the return" if form.returned else "Take back"
    elif isinstance(form, HoldForm):
        words, cost = "Put on hold", "" if slate.unit and slate.unit.is_out else "prints its tag"
    elif isinstance(form, ChangeForm):
        words = "Fitted"
    elif isinstance(form, ReleaseForm):
        words = "Release"
    elif isinstance(form, AreaForm):
        words = "Take it"
    elif isinstance(form, AskForm):
        words, cost = form.go, form.cost
        if form.bad is not None:
            return _judged(slate, form, later)
    else:
        return (ASIDE,)
    return (Action("done", words, "F5", "go", cost, _form_lacks(slate)), later)


def _judged(slate: Slate, form: AskForm, later: Action) -> tuple[Action, ...]:
    """A form that asks good or not good: each has its button; once it is not good that is what ends it."""
    assert form.bad is not None
    name, value, words = form.bad
    lacks = _form_lacks(slate)
    if form.value(name) == value:
        return (Action("done", words, "F5", "go", "", lacks), later)
    bad = Action("not-good", "Not good", "F8", "plain", "then what is wrong")
    return (Action("done", form.go, "F5", "go", form.cost, lacks), bad, later)


def _form_lacks(slate: Slate) -> str:
    form = slate.form
    if isinstance(form, AskForm):
        return lacking(matters()[form.matter], form)
    if isinstance(form, HoldForm):
        return "" if form.reason else "Choose the reason."
    if isinstance(form, ChangeForm):
        if not form.position:
            return "Choose the position."
        return "" if form.chosen is not None else "Choose what goes in."
    if isinstance(form, ReleaseForm):
        return "" if form.word.strip() else "Write the program administrator's word."
    if isinstance(form, ReturnForm):
        if form.worn_hours is None:
            return "Enter the hours worn."
        if form.any_fault and not form.fault:
            return "Choose the fault, or say there is none."
        unsaid = bool(form.battery_label) and form.battery_back is None
        return "Is its battery back? Scan it." if unsaid else ""
    return ""


__all__ = ["ASIDE", "Action", "actions", "cautions", "check_words", "further", "lacking", "missing"]
