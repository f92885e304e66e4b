"""What the answer of an operation does to the slate: done, not allowed, or a fault."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import datetime

from cribdesk.crib.reasons import stops
from cribdesk.crib.reference import METER_KIND
from cribdesk.crib.refusal import NOTHING_CHANGED, MayNotIssue, NotAllowed
from cribdesk.desk import checks, forms, used
from cribdesk.desk.house import House
from cribdesk.desk.matters import matters
from cribdesk.desk.receipt import Receipt
from cribdesk.desk.routing import Routed, also, do, named, refuse, say, weigh
from cribdesk.desk.slate import BringNext, ChangeForm, Check, Done, Pending, PrintPaper, Slate
from cribdesk.procedure.run import page

KEPT = "kept"
"""After a check that passed was written though the issue was stopped at the badge."""


def done(house: House, slate: Slate, event: Done) -> Routed:
    """The slate once its pending operation came back."""
    pending = slate.pending
    assert pending is not None
    slate = replace(slate, pending=None)
    result = event.result
    if isinstance(result, Receipt):
        slate = replace(slate, done=(*slate.done, result.sentence)[-20:])
        prints = tuple(PrintPaper(paper, of) for paper, of in result.papers)
        return also(_received(house, slate, pending, result, event), *prints)
    if isinstance(result, NotAllowed):
        return _not_allowed(slate, pending, result, event)
    return _fault(slate, pending, result, event)


def _received(house: House, slate: Slate, pending: Pending, receipt: Receipt, event: Done) -> Routed:
    after, _, detail = pending.after.partition(":")
    if after == "remedy":
        slate = used.changed(replace(slate, battery=pending.battery or slate.battery), slate.form)
        waits = slate.used if isinstance(slate.form, ChangeForm) else None
        routed = checks.remedy_done(slate, detail, event.moment, event.token)
        return also(say(routed[0], "caution", waits.words, event.moment), *routed[1]) if waits else routed
    if after == "matter":
        follows = matters()[detail].after
        if follows is not None:
            return follows(house, replace(slate, form=None), pending.form, receipt, event.moment)
    return _AFTER.get(after, _stay)(house, slate, pending, receipt, event)


def _stay(house: House, slate: Slate, pending: Pending, receipt: Receipt, event: Done) -> Routed:
    kept = replace(slate, form=None)
    return also(_told(kept, receipt, event.moment), *weigh(kept))


def _changed(house: House, slate: Slate, pending: Pending, receipt: Receipt, event: Done) -> Routed:
    """A part was changed: a filter worn among agents waits for its bag."""
    kept = replace(used.changed(slate, slate.form), form=None)
    return also(used.told(_told(kept, receipt, event.moment), event.moment), *weigh(kept))


def _bagged(house: House, slate: Slate, pending: Pending, receipt: Receipt, event: Done) -> Routed:
    """The used filter is in its bag; what lay there lies there still, an open check too."""
    return _told(replace(slate, used=None), receipt, event.moment)


def _told(slate: Slate, receipt: Receipt, moment: datetime, level: str = "taken") -> Routed:
    return say(slate, level, named(slate, receipt.sentence, receipt.names), moment)


def _signed_on(house: House, slate: Slate, pending: Pending, receipt: Receipt, event: Done) -> Routed:
    assert pending.clerk is not None
    signed = replace(slate, clerk=pending.clerk, mode="counter")
    words = f"{pending.clerk.name} is signed on. Scan a badge or a unit to begin"
    return say(signed, "taken", words, event.moment)


def _signed_off(house: House, slate: Slate, pending: Pending, receipt: Receipt, event: Done) -> Routed:
    free = replace(slate.cleared(), clerk=None, mode="counter")
    return say(free, "quiet", "Scan a staff badge to sign on", event.moment)


def _issued(house: House, slate: Slate, pending: Pending, receipt: Receipt, event: Done) -> Routed:
    slip = next((f" Slip {of} is printing." for paper, of in receipt.papers if paper == "issue_slip"), "")
    said, requests = say(slate, "taken", f"{named(slate, receipt.sentence, receipt.names)}{slip}", event.moment)
    return replace(slate.cleared(), line=said.line, done=slate.done), requests


def _slip(house: House, slate: Slate, pending: Pending, receipt: Receipt, event: Done) -> Routed:
    kept = replace(slate, slip_label=receipt.papers[0][1])
    return say(kept, "taken", f"Slip {kept.slip_label} prints. Scan it when it is signed.", event.moment)


def _held_unfinished(house: House, slate: Slate, pending: Pending, receipt: Receipt, event: Done) -> Routed:
    check = slate.check
    held = replace(slate, check=replace(check, held=True)) if check is not None else slate
    return checks.ended(held, event.moment, event.token)


def _finished(house: House, slate: Slate, pending: Pending, receipt: Receipt, event: Done) -> Routed:
    check = slate.check
    failed = check is not None and check.run.verdict == "fail"
    kept = replace(checks.after_meter(slate), check=None, passed=None, form=None, tray=(), reasons=(), facts=None)
    if failed and check is not None and check.purpose == "issue":
        words = f"{named(slate, receipt.sentence, receipt.names)} Scan another unit."
        return say(replace(kept, unit=None, battery=None), "caution", words, event.moment)
    return also(_told(kept, receipt, event.moment, "caution" if failed else "taken"), *weigh(kept))


def _inspect_again(house: House, slate: Slate, pending: Pending, receipt: Receipt, event: Done) -> Routed:
    """A short check does not see enough of a unit whose part was changed in it."""
    label = slate.check.labels[0] if slate.check else ""
    kept = replace(slate, check=None, form=None, reasons=(), facts=None)
    again = f"A part was changed in it: inspect {label} at the bench before it goes out. Nothing was issued."
    words = f"{named(slate, receipt.sentence, receipt.names)} {again}"
    return also(say(kept, "caution", words, event.moment), *weigh(kept))


def _broken_off(house: House, slate: Slate, pending: Pending, receipt: Receipt, event: Done) -> Routed:
    check = slate.check or slate.passed
    step = page(check.run).number if check else 0
    label = check.labels[0] if check else ""
    kept = replace(checks.after_meter(slate), check=None, passed=None, form=None, facts=None, reasons=())
    if check is not None and check.purpose == METER_KIND:
        return _told(kept, receipt, event.moment, "caution")
    words = f"Check of {label} broken off at step {step}. Nothing was issued; the journal has it."
    return also(say(kept, "caution", words, event.moment), *weigh(kept))


def _put_aside(house: House, slate: Slate, pending: Pending, receipt: Receipt, event: Done) -> Routed:
    words = f"{named(slate, receipt.sentence, receipt.names)} Nothing was issued."
    return say(slate.cleared(), "caution", words, event.moment)


def _idle(house: House, slate: Slate, pending: Pending, receipt: Receipt, event: Done) -> Routed:
    check = slate.check or slate.passed
    label = check.labels[0] if check else ""
    words = f"The check of {label} stood for 10 minutes and ended. Begin again from its first step."
    return say(checks.after_meter(slate).cleared(), "caution", words, event.moment)


def _returned(house: House, slate: Slate, pending: Pending, receipt: Receipt, event: Done) -> Routed:
    unit = slate.unit
    kept = slate
    if unit is not None and unit.custody is not None:
        form = forms.return_form(house, unit, unit.custody, event.moment)
        kept = replace(slate, form=replace(form, returned=True))
    words = f"{named(slate, receipt.sentence, receipt.names)} The rest now, or later with F9."
    return also(say(kept, "taken", words, event.moment), *weigh(kept))


def _completed_next(house: House, slate: Slate, pending: Pending, receipt: Receipt, event: Done) -> Routed:
    """The unit makes room for the next whose return waits."""
    said, requests = _told(slate, receipt, event.moment)
    cleared = replace(slate.cleared(), line=said.line, done=slate.done)
    return cleared, (*requests, BringNext("complete-return"))


def _rush(house: House, slate: Slate, pending: Pending, receipt: Receipt, event: Done) -> Routed:
    return _told(slate, receipt, event.moment)


def _bound(house: House, slate: Slate, pending: Pending, receipt: Receipt, event: Done) -> Routed:
    return _told(replace(slate.cleared(), foreign=""), receipt, event.moment)


def _relabelled(house: House, slate: Slate, pending: Pending, receipt: Receipt, event: Done) -> Routed:
    return _told(slate.cleared(), receipt, event.moment)


def _kept(house: House, slate: Slate, pending: Pending, receipt: Receipt, event: Done) -> Routed:
    return slate, weigh(slate)


_After = Callable[[House, Slate, Pending, Receipt, Done], Routed]
_AFTER: dict[str, _After] = {
    "sign-on": _signed_on,
    "sign-off": _signed_off,
    "issued": _issued,
    "slip": _slip,
    "held-unfinished": _held_unfinished,
    "finished": _finished,
    "broken-off": _broken_off,
    "inspect-again": _inspect_again,
    "put-aside": _put_aside,
    "idle": _idle,
    "returned": _returned,
    "rush": _rush,
    "completed-next": _completed_next,
    "bound": _bound,
    "charged": _relabelled,
    KEPT: _kept,
    "changed": _changed,
    used.BAGGED: _bagged,
    "relabelled": _relabelled,
}


def _not_allowed(slate: Slate, pending: Pending, failure: NotAllowed, event: Done) -> Routed:
    if pending.after == KEPT:  # what was said of the issue stands
        return slate, weigh(slate)
    words = named(slate, failure.words())
    if isinstance(failure, MayNotIssue) and failure.reasons:
        slate = replace(slate, reasons=failure.reasons)
        if stops(failure.reasons) and slate.passed is not None:
            return _stopped_at_the_badge(slate, slate.passed, words, event)
    if pending.after in ("finished", "broken-off", "idle", "put-aside"):
        slate = replace(slate, check=None, passed=None, form=None)
    if slate.form is not None:
        slate = replace(slate, form=replace(slate.form, trouble=words))
    return also(refuse(slate, words, event.moment), *weigh(slate))


def _stopped_at_the_badge(slate: Slate, passed: Check, words: str, event: Done) -> Routed:
    """The unit stays; the check that passed is kept all the same, its readings with it."""
    words = words.replace(NOTHING_CHANGED, "Nothing was issued; the check is kept.")
    said, told = refuse(replace(slate, passed=None), words, event.moment)
    written, asked = do(said, checks.finish(passed, event.token), KEPT)
    return written, told + asked


def _fault(slate: Slate, pending: Pending, words: str, event: Done) -> Routed:
    """A fault of disk, printer or store: what was on the slate is kept, so that it can be tried again."""
    return refuse(slate, words, event.moment)
