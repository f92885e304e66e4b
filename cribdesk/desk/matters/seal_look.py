"""The look at the face before something tight-fitting goes out: hair, eyeglass temples, straps; one key where clear."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from cribdesk.desk.entry_form import EntryField
from cribdesk.desk.house import House
from cribdesk.desk.matter import Matter
from cribdesk.desk.operation import Operation
from cribdesk.desk.receipt import Receipt
from cribdesk.desk.routing import Routed, also, named, say, weigh
from cribdesk.desk.seal_look import LookAtSeal
from cribdesk.desk.slate import AskForm, Slate

RESULT, CLEAR, BAD = "result", "clear", "not clear"
HAIR, GLASSES, BOTH = "hair", "glasses", "both"
WANTED = ("seal-look", "under-seal")
"""Codes of the reasons that a look answers."""

ASK = "Look, and ask: facial hair at the seal or the valve, eyeglass temples, straps, a cap, jewellery."
CAUTION = "Nothing may lie between the skin and the seal: 29 CFR 1910.134(g)(1)(i)-(ii)."
USER_CHECK = "The wearer checks the seal at each donning, as the maker says: (g)(1)(iii)."


def _offered(house: House, slate: Slate) -> str | None:
    unit, person = slate.unit, slate.person
    if unit is None or person is None or unit.is_out or not unit.model.tight_fitting:
        return None
    if any(one.level == "stop" and one.code not in WANTED for one in slate.reasons):
        return None  # it does not go out anyway
    return "" if any(one.code in WANTED and one.level != "fine" for one in slate.reasons) else None


def _opens(house: House, slate: Slate, moment: datetime) -> AskForm:
    unit, person = slate.unit, slate.person
    assert unit is not None
    assert person is not None
    found = ((HAIR, "Facial hair"), (GLASSES, "Eyeglass temples, straps or anything else"), (BOTH, "Both"))
    return AskForm(
        matter="seal-look",
        title=f"The face of {person.person.name}",
        label=unit.label,
        lead=ASK,
        fields=(
            EntryField(
                RESULT, "What you saw", "choice", True, choices=((CLEAR, "Nothing under the seal"), (BAD, "Not clear")),
                value=CLEAR,
            ),
            EntryField("what", "What lies there", "choice", True, choices=found, only=(RESULT, BAD)),
        ),
        go="Nothing under the seal",
        bad=(RESULT, BAD, "Not with this face"),
        cost="counts for an hour",
        ids=(("unit", unit.unit.id), ("person", person.person.id)),
        cautions=(CAUTION, USER_CHECK),
    )  # fmt: skip


def _builds(house: House, slate: Slate, form: AskForm, token: str) -> Operation:
    what = form.value("what") if form.value(RESULT) == BAD else ""
    return LookAtSeal(
        operation_id=token,
        person_id=form.id("person"),
        unit_id=form.id("unit"),
        hair=what in (HAIR, BOTH),
        under_seal=what in (GLASSES, BOTH),
    )


def _after(house: House, slate: Slate, form: AskForm | None, receipt: Receipt, moment: datetime) -> Routed:
    """With hair the unit leaves the counter; eyeglasses come off, and it is looked at again."""
    words = named(slate, receipt.sentence, receipt.names)
    what = form.value("what") if form is not None and form.value(RESULT) == BAD else ""
    if what in (HAIR, BOTH) and slate.unit is not None:
        words = f"{words} {slate.unit.label} does not go out: put it back."
        bare = replace(slate, unit=None, battery=None, facts=None, reasons=(), slip_label="")
        return also(say(bare, "caution", words, moment), *weigh(bare))
    return also(say(slate, "caution" if what else "taken", words, moment), *weigh(slate))


MATTERS = (
    Matter(
        id="seal-look",
        offered=_offered,
        shown=True,
        kind="go",
        cost="asked at each issue of a tight-fitting unit",
        opens=_opens,
        builds=_builds,
        after=_after,
    ),
)
