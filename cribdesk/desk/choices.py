"""What a chosen command does: by key, touch, menu or printed code."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import datetime

from cribdesk.desk import checks, forms
from cribdesk.desk.actions import actions, further, lacking, missing
from cribdesk.desk.cards import PersonCard
from cribdesk.desk.commands import BY_ID
from cribdesk.desk.equipment import EndCharge, StartCharge
from cribdesk.desk.hold import PlaceHold
from cribdesk.desk.house import House
from cribdesk.desk.issue import PrepareSlip
from cribdesk.desk.labels import ReplaceLabel
from cribdesk.desk.matter import Matter
from cribdesk.desk.matters import matters
from cribdesk.desk.people import SignOff, SignOn
from cribdesk.desk.picking import PICK, picked
from cribdesk.desk.release import ReleaseHold
from cribdesk.desk.return_ import CompleteReturn, TakeBack
from cribdesk.desk.routing import Routed, also, do, refuse, say
from cribdesk.desk.slate import (
    AreaForm,
    AskForm,
    BindForm,
    ChangeForm,
    Chosen,
    Clerk,
    Filled,
    HoldForm,
    Line,
    MoreForm,
    OfferAreas,
    OpenEntry,
    ReleaseForm,
    ReturnForm,
    Show,
    Slate,
)

_ANSWERS = ("good", "not-good", "next", "no-filter")
_EMPTIES = ("sign-on", "sign-off", "returns", "bind", "relabel", "take-over")
"""What empties the counter: a check that lies there would be gone without an entry."""
_LISTED = {"returns": "to-complete", "pre-stage": "ready"}
"""The list of the shift that comes up when a row of scans ends."""
BEGIN = Line("quiet", "Scan a badge or a unit to begin")


def chosen(house: House, slate: Slate, event: Chosen) -> Routed:
    """The slate after a command; one that makes no sense now is told and changes nothing."""
    if slate.check is not None and slate.form is None:
        return _in_check(slate, event)
    under_way = slate.check or slate.passed
    if under_way is not None and event.command in _EMPTIES:
        return refuse(slate, checks.is_open(under_way), event.moment)
    always = _ALWAYS.get(event.command)
    if always is not None:
        return always(house, slate, event)
    if slate.clerk is None:
        return refuse(slate, "Nobody is signed on. Scan a staff badge first. Nothing changed.", event.moment)
    if event.command.startswith(PICK):
        return _pick(house, slate, event)
    matter = matters().get(event.command)
    if matter is not None:
        return _matter(house, slate, event, matter)
    offered = {action.command: action for action in actions(house, slate)}
    action = offered.get(event.command)
    handler = _HANDLERS.get(event.command)
    if handler is None or (action is None and event.command not in _ANYTIME):
        return _no_sense(slate, event)
    if action is not None and action.why:
        return refuse(slate, action.why, event.moment)
    return handler(house, slate, event)


def _pick(house: House, slate: Slate, event: Chosen) -> Routed:
    """A printed number takes from the list that waits, as a finger would."""
    taken = picked(slate.form, event.command)
    if taken is None:
        return refuse(slate, "No list that long waits here. Nothing changed.", event.moment)
    waiting, value = taken
    if not waiting.field:
        return chosen(house, slate, replace(event, command=value))
    filled, requests = forms.filled(slate, Filled(event.moment, waiting.field, value))
    words = next(said for one, said in waiting.options if one == value)
    return also(say(filled, "taken", f"Chosen: {words}", event.moment), *requests)


def _in_check(slate: Slate, event: Chosen) -> Routed:
    if event.command == "back":
        return checks.step_back(slate, event.moment)
    if event.command in ("break-off", "put-aside"):
        why = event.value or "broken off at the counter"
        return checks.leave(slate, event.moment, event.token, why)
    if event.command == "done" and slate.check is not None and slate.check.run.verdict is not None:
        return checks.ended(slate, event.moment, event.token)  # it could not be written when it ended: once more
    if event.command in _ANSWERS:
        return slate, ()  # the page answers these, it alone knows its clock
    return _no_sense(slate, event)


def _no_sense(slate: Slate, event: Chosen) -> Routed:
    command = BY_ID.get(event.command)
    name = command.words if command else event.command
    return refuse(slate, f"'{name}' makes no sense at this moment. Nothing changed.", event.moment)


def _put_aside(house: House, slate: Slate, event: Chosen) -> Routed:
    if slate.passed is not None:
        return checks.leave(slate, event.moment, event.token, "put aside")
    if isinstance(slate.form, ChangeForm) and slate.form.for_check:
        return replace(slate, form=None), ()
    if isinstance(slate.form, (AskForm, MoreForm)):
        left = replace(slate, form=None, named=None)
        return replace(left, line=BEGIN if left.empty else Line("quiet", "On the counter", slate.line.label)), ()
    if slate.form is not None and slate.unit is not None:
        return replace(slate, form=None, line=Line("quiet", "Unit on the counter", slate.unit.label)), ()
    if slate.mode != "counter":
        return say(replace(slate.cleared(), mode="counter"), "quiet", BEGIN.words, event.moment)
    return replace(slate.cleared(), line=BEGIN), ()


def _sign_on(house: House, slate: Slate, event: Chosen) -> Routed:
    waiting = replace(slate.cleared(), mode="sign-on")
    return say(waiting, "taken", "Scan the badge of who takes the counter.", event.moment)


def _take_over(house: House, slate: Slate, event: Chosen) -> Routed:
    assert slate.person is not None
    return clerk_of(slate.cleared(), slate.person, event.moment, event.token)


def clerk_of(slate: Slate, card: PersonCard, moment: datetime, token: str) -> Routed:
    """Signs this person on, or says why not."""
    person = card.person
    if not person.roles:
        words = f"{person.name} is no clerk of this crib. Scan a staff badge to sign on. Nothing changed."
        return refuse(slate, words, moment, card.label)
    if card.badge_ended:
        return refuse(slate, f"The badge of {person.name} has ended. Nothing changed.", moment, card.label)
    clerk = Clerk(person.id, person.label, person.name, person.roles)
    return do(slate, SignOn(operation_id=token), "sign-on", clerk=clerk)


def _sign_off(house: House, slate: Slate, event: Chosen) -> Routed:
    return do(slate.cleared(), SignOff(operation_id=event.token), "sign-off")


def _returns(house: House, slate: Slate, event: Chosen) -> Routed:
    mode = replace(slate.cleared(), mode="returns")
    return say(mode, "taken", "Taking returns: scan unit after unit. F9 ends it.", event.moment)


def _go(house: House, slate: Slate, event: Chosen) -> Routed:
    lacks = missing(slate)
    if lacks or slate.unit is None or slate.facts is None:
        return refuse(slate, lacks or "Scan the unit.", event.moment)
    kind = "pre-use" if slate.facts.needs_full_check else "hand-over"
    return checks.begin(house, slate, (slate.unit,), kind, "issue", event.moment)


def _run(kind: str, purpose: str) -> Callable[[House, Slate, Chosen], Routed]:
    def begin(house: House, slate: Slate, event: Chosen) -> Routed:
        cards = slate.tray or ((slate.unit,) if slate.unit else ())
        if not cards:
            return refuse(slate, "Scan the unit first.", event.moment)
        return checks.begin(house, slate, cards, kind, purpose, event.moment)

    return begin


def _take_back(house: House, slate: Slate, event: Chosen) -> Routed:
    assert slate.unit is not None
    return do(slate, TakeBack(operation_id=event.token, unit_id=slate.unit.unit.id), "returned")


def _complete(house: House, slate: Slate, event: Chosen) -> Routed:
    unit = slate.unit
    assert unit is not None
    assert unit.standing.last_custody is not None
    form = forms.return_form(house, unit, unit.standing.last_custody, event.moment)
    return replace(slate, form=replace(form, next_after=event.value.startswith("next"))), ()


def _hold(house: House, slate: Slate, event: Chosen) -> Routed:
    assert slate.unit is not None
    return replace(slate, form=forms.hold_form(slate.unit)), ()


def _change(house: House, slate: Slate, event: Chosen) -> Routed:
    assert slate.unit is not None
    return replace(slate, form=forms.change_form(slate.unit)), ()


def _release(house: House, slate: Slate, event: Chosen) -> Routed:
    unit = slate.unit
    assert unit is not None
    proven = next((line for line in unit.holds if line.proof), None)
    if proven is not None:
        return do(slate, ReleaseHold(operation_id=event.token, hold_id=proven.hold.id), "released")
    line = next(line for line in unit.holds if line.hold.proof == "program administrator")
    return replace(slate, form=ReleaseForm(line.hold.id, unit.label, line.words)), ()


def _area(house: House, slate: Slate, event: Chosen) -> Routed:
    return replace(slate, form=AreaForm()), (OfferAreas(),)


def _bind(house: House, slate: Slate, event: Chosen) -> Routed:
    if not slate.foreign:
        return _no_sense(slate, event)
    cleared = replace(slate.cleared(), form=BindForm(slate.foreign))
    return say(cleared, "taken", "Scan the label of the record it belongs to.", event.moment)


def _relabel(house: House, slate: Slate, event: Chosen) -> Routed:
    card = slate.unit or slate.person or slate.battery
    if card is None:
        return refuse(slate, "Put down what needs a new label first.", event.moment)
    return do(slate, ReplaceLabel(operation_id=event.token, label=card.label), "relabelled")


def _print_slip(house: House, slate: Slate, event: Chosen) -> Routed:
    assert slate.unit is not None
    assert slate.person is not None
    operation = PrepareSlip(
        operation_id=event.token,
        unit_id=slate.unit.unit.id,
        person_id=slate.person.person.id,
        battery_id=slate.battery.battery.id if slate.battery else None,
        area_id=slate.area.area.id if slate.area else None,
        due_at=None if slate.assigned else slate.due_at,
    )
    return do(slate, operation, "slip")


def _carrier(house: House, slate: Slate, event: Chosen) -> Routed:
    """From here somebody else's badge acknowledges: they carry it to its wearer."""
    assert slate.person is not None
    words = f"Scan the badge of who carries it to {slate.person.person.name}."
    return say(replace(slate, carrier=True), "taken", words, event.moment)


def _verdict(house: House, slate: Slate, event: Chosen) -> Routed:
    """The answers of a form that asks good or not good: good ends it, not good asks for what is wrong."""
    form = slate.form
    if not isinstance(form, AskForm) or form.bad is None:
        return _no_sense(slate, event)
    if event.command == "good":
        return _finish_matter(house, slate, form, event)
    name, value, _ = form.bad
    return forms.filled(slate, Filled(event.moment, name, value))


def _open_page(house: House, slate: Slate, event: Chosen) -> Routed:
    card = slate.unit or slate.person
    if card is None:
        return slate, ()
    return slate, (Show("unit" if slate.unit else "person", card.label),)


def _charge(house: House, slate: Slate, event: Chosen) -> Routed:
    assert slate.battery is not None
    battery_id = slate.battery.battery.id
    if event.command == "end-charge":
        return do(slate, EndCharge(operation_id=event.token, battery_id=battery_id), "charged")
    return do(slate, StartCharge(operation_id=event.token, battery_id=battery_id), "charged")


def _done(house: House, slate: Slate, event: Chosen) -> Routed:
    form = slate.form
    match form:
        case None:
            listed = _LISTED.get(slate.mode) if slate.done else None
            left = _put_aside(house, slate, event)
            return also(left, Show("shift", listed)) if listed else left
        case HoldForm():
            operation = PlaceHold(
                operation_id=event.token, unit_id=form.unit_id, reason=form.reason, detail=form.detail
            )
            return do(slate, operation, "placed-hold")
        case ReturnForm():
            return _finish_return(slate, form, event)
        case ChangeForm():
            change = checks.change_for_check(form, slate, event)
            if change is None or form.chosen is None:
                return refuse(slate, "Choose what goes in.", event.moment)
            after = f"remedy:{form.choices[form.chosen].words}" if form.for_check else "changed"
            return do(slate, change, after)
        case ReleaseForm():
            operation_ = ReleaseHold(operation_id=event.token, hold_id=form.hold_id, word=form.word)
            return do(slate, operation_, "released")
        case AreaForm():
            return forms.area_taken(slate, form, event.moment)
        case AskForm():
            return _finish_matter(house, slate, form, event)
    return refuse(slate, "Scan the label of the record it belongs to.", event.moment)


def _more(house: House, slate: Slate, event: Chosen) -> Routed:
    """Everything else that makes sense with what lies here."""
    bare = replace(slate, form=None) if isinstance(slate.form, MoreForm) else slate
    rows = further(house, bare)
    if not rows:
        return refuse(slate, "Nothing else can be done with what lies here. Nothing changed.", event.moment)
    return replace(bare, form=MoreForm(rows)), ()


def _matter(house: House, slate: Slate, event: Chosen, matter: Matter) -> Routed:
    """A matter begins: its form, another place's form, or the operation at once."""
    bare = replace(slate, form=None) if isinstance(slate.form, MoreForm) else slate
    under_way = slate.check or slate.passed
    if under_way is not None:
        return refuse(slate, checks.is_open(under_way), event.moment)
    if isinstance(bare.form, AskForm):
        heard = matters()[bare.form.matter].hears(bare.form, matter.id)
        if heard is not None:
            form, words = heard
            return also(say(replace(bare, form=form), "taken", words, event.moment), *forms.inquiry(form))
    if bare.form is not None:
        return refuse(slate, "Finish what is open here, or put it aside with F9. Nothing changed.", event.moment)
    why = matter.offered(house, bare) if bare.mode == "counter" else None
    if why is None:
        return _no_sense(slate, event)
    if why:
        return refuse(slate, f"{why} Nothing changed.", event.moment)
    if matter.entry:
        return bare, (OpenEntry(matter.entry, matter.about(bare)),)
    if matter.turns is not None:
        return matter.turns(house, bare, event.moment)
    if matter.acts is not None:
        return do(bare, matter.acts(house, bare, event.token), f"matter:{matter.id}")
    assert matter.opens is not None
    form = matter.opens(house, bare, event.moment)
    line = Line("quiet", form.title, slate.line.label, event.moment)
    return replace(bare, form=form, line=line), forms.inquiry(form)


def _finish_matter(house: House, slate: Slate, form: AskForm, event: Chosen) -> Routed:
    matter = matters()[form.matter]
    unsaid = lacking(matter, form)
    if unsaid:
        return refuse(slate, unsaid, event.moment)
    if matter.settles is not None:
        return matter.settles(house, slate, form, event.moment)
    assert matter.builds is not None
    begun, requests = do(slate, matter.builds(house, slate, form, event.token), f"matter:{matter.id}")
    assert begun.pending is not None
    return replace(begun, pending=replace(begun.pending, form=form)), requests


def _finish_return(slate: Slate, form: ReturnForm, event: Chosen) -> Routed:
    if form.worn_hours is None:
        return refuse(slate, "Enter the hours worn.", event.moment)
    operation = CompleteReturn(
        operation_id=event.token,
        custody_id=form.custody_id,
        worn_hours=form.worn_hours,
        brought_by=form.brought_by,
        speed=form.speed,
        alarms=form.alarms,
        battery_back=form.battery_back,
        battery_end=form.battery_end,
        bars_left=form.bars_left,
        damage=form.damage,
        fault=form.fault,
    )
    return do(slate, operation, "completed-next" if form.next_after else "completed")


_ALWAYS: dict[str, Callable[[House, Slate, Chosen], Routed]] = {
    "put-aside": _put_aside,
    "later": _put_aside,
    "back": _put_aside,
    "break-off": _put_aside,
    "sign-on": _sign_on,
    "open-page": _open_page,
}
_ANYTIME = ("good", "returns", "sign-off", "bind", "relabel", "more")
_HANDLERS: dict[str, Callable[[House, Slate, Chosen], Routed]] = {
    "go": _go,
    "take-back": _take_back,
    "complete-return": _complete,
    "returns": _returns,
    "hold": _hold,
    "release": _release,
    "change": _change,
    "clean": _run("cleaning", "cleaning"),
    "bench": _run("bench", "bench"),
    "look-over": _run("return-look", "return-look"),
    "area": _area,
    "bind": _bind,
    "relabel": _relabel,
    "start-charge": _charge,
    "end-charge": _charge,
    "print-slip": _print_slip,
    "sign-off": _sign_off,
    "take-over": _take_over,
    "done": _done,
    "carrier": _carrier,
    "good": _verdict,
    "not-good": _verdict,
    "more": _more,
}
