"""What a worker says at the counter against a unit, and what is offered; the information sheet for voluntary users."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from cribdesk.crib.records import NoticeKind
from cribdesk.desk.cards import Card, UnitCard
from cribdesk.desk.entry_form import EntryField
from cribdesk.desk.house import House
from cribdesk.desk.matter import Matter
from cribdesk.desk.notices import AT_THE_COUNTER, RecordRefusal, SayClear
from cribdesk.desk.operation import Operation
from cribdesk.desk.ports import Reader
from cribdesk.desk.proof import GiveSheet
from cribdesk.desk.receipt import Receipt
from cribdesk.desk.routing import Routed, also, named, say, weigh
from cribdesk.desk.slate import AskForm, Slate

KIND_WORDS = {
    NoticeKind.REFUSED: "refuses to wear it",
    NoticeKind.SIZE: "wrong size",
    NoticeKind.HAIR: "facial hair at the seal",
    NoticeKind.WANTS_POWERED: "asks for a powered one",
    NoticeKind.OTHER: "something else",
}
TIGHT = "tight-fitting"

HAIR = "Nothing tight-fitting goes out while hair lies at the seal or the valve: 29 CFR 1910.134(g)(1)(i)."
HAIR_INSTEAD = "Offer a loose-fitting unit where the program administrator allows it there, or a shave."
LOOSE = "This model is loose-fitting. Whether hair matters with it the maker's instructions say."
POWERED = (
    "For lead, cadmium, beryllium and some other substances the employer gives a powered respirator to whoever asks, "
    "where it protects enough: 29 CFR 1910.1025(f)(3)(ii), 1910.1027(g)(3)(ii), 1910.1024(g)(4)."
)
POWERED_HEALTH = (
    "So it is where the health professional says that a negative-pressure unit is a risk and a powered one is none: "
    "29 CFR 1910.134(e)(6)(ii). The program administrator decides."
)
SIZE = "A fit test counts for its model and size only: another size wants a fit test of its own, 29 CFR 1910.134(f)(2)."
REFUSED = "Where a respirator is required nobody works there without one. Ask for no medical reason."
CAUTIONS = {
    NoticeKind.SIZE.value: (SIZE,),
    NoticeKind.WANTS_POWERED.value: (POWERED, POWERED_HEALTH),
    NoticeKind.REFUSED.value: (REFUSED,),
}


def _offered(house: House, slate: Slate) -> str | None:
    return "" if slate.person is not None else None


def _opens(house: House, slate: Slate, moment: datetime) -> AskForm:
    person = slate.person
    assert person is not None
    kinds = tuple((kind.value, KIND_WORDS[kind]) for kind in AT_THE_COUNTER)
    form = AskForm(
        matter="refusal",
        title=person.person.name,
        label=person.label,
        fields=(
            EntryField("kind", "What it is", "choice", True, choices=kinds),
            EntryField("detail", "In words", help="As it was said. Nothing medical is asked or written down."),
            EntryField("offered", "Offered instead"),
        ),
        go="Record it",
        cost="the program administrator sees it",
        ids=(("person", person.person.id),),
    )
    return _about(form, slate.unit) if slate.unit is not None and not slate.unit.is_out else form


def _about(form: AskForm, unit: UnitCard) -> AskForm:
    ids = (("person", form.id("person")), ("unit", unit.unit.id))
    extra = ((TIGHT, "yes" if unit.model.tight_fitting else "no"),)
    return replace(form, lead=f"About {unit.model.short_name} {unit.label}", ids=ids, extra=extra)


def _takes(house: House, slate: Slate, form: AskForm, card: Card) -> AskForm | str | None:
    return _about(form, card) if isinstance(card, UnitCard) else None


def _asks(reader: Reader, house: House, form: AskForm, moment: datetime) -> AskForm:
    """The cautions follow the kind; nothing of the store is needed for them."""
    kind = form.value("kind")
    found = CAUTIONS.get(kind, ())
    if kind == NoticeKind.HAIR.value:
        found = (LOOSE,) if dict(form.extra).get(TIGHT) == "no" else (HAIR, HAIR_INSTEAD)
    return replace(form, cautions=found)


def _lacks(form: AskForm) -> str:
    other = form.value("kind") == NoticeKind.OTHER.value
    return "In words: say what it is." if other and not form.value("detail").strip() else ""


def _builds(house: House, slate: Slate, form: AskForm, token: str) -> Operation:
    return RecordRefusal(
        operation_id=token,
        person_id=form.id("person"),
        unit_id=form.id("unit") or None,
        kind=NoticeKind(form.value("kind")),
        detail=form.value("detail"),
        offered=form.value("offered"),
    )


def _after(house: House, slate: Slate, form: AskForm | None, receipt: Receipt, moment: datetime) -> Routed:
    """With hair at the seal a tight-fitting unit leaves the counter: it goes to nobody by mistake."""
    words = named(slate, receipt.sentence, receipt.names)
    hair = form is not None and form.value("kind") == NoticeKind.HAIR.value
    if hair and slate.unit is not None and not slate.unit.is_out and slate.unit.model.tight_fitting:
        words = f"{words} {slate.unit.label} does not go out: put it back."
        bare = replace(slate, unit=None, battery=None, facts=None, reasons=(), slip_label="")
        return also(say(bare, "caution", words, moment), *weigh(bare))
    return also(say(slate, "taken", words, moment), *weigh(slate))


def _clear_offered(house: House, slate: Slate) -> str | None:
    return "" if slate.person and slate.facts and slate.facts.hair_at else None


def _clear(house: House, slate: Slate, token: str) -> Operation:
    assert slate.person is not None
    return SayClear(operation_id=token, person_id=slate.person.person.id)


def _sheet_offered(house: House, slate: Slate) -> str | None:
    """While it is wanted: what is worn where nothing is required, by somebody who did not get it yet."""
    facts = slate.facts
    wanted = any(one.code == "information-sheet" and one.level == "stop" for one in slate.reasons)
    return "" if slate.person and facts and wanted else None


def _sheet(house: House, slate: Slate, token: str) -> Operation:
    assert slate.person is not None
    return GiveSheet(operation_id=token, person_id=slate.person.person.id)


MATTERS = (
    Matter(
        id="refusal", offered=_offered, opens=_opens, takes=_takes, asks=_asks, lacks=_lacks, builds=_builds,
        after=_after,
    ),
    Matter(id="seal-clear", offered=_clear_offered, acts=_clear, shown=True, cost="it was looked at again"),
    Matter(
        id="information-sheet", offered=_sheet_offered, acts=_sheet, shown=True, kind="go",
        cost="hand it over; it prints",
    ),
)  # fmt: skip
