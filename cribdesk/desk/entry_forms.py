"""Every form once, and the operation each becomes."""

from __future__ import annotations

from collections.abc import Mapping

from cribdesk.crib.records import Person
from cribdesk.desk.entry_area_facts import AREA_FACT_FORMS
from cribdesk.desk.entry_assessments import ASSESSMENT_FORMS
from cribdesk.desk.entry_cabinets import CABINET_FORMS
from cribdesk.desk.entry_changes import CHANGE_FORMS, RELABEL
from cribdesk.desk.entry_counts import COUNT_FORMS
from cribdesk.desk.entry_erasure import ERASURE_FORMS
from cribdesk.desk.entry_form import ABOUT, Asked, EntryForm, Filled, FormTroubles
from cribdesk.desk.entry_office import OFFICE_FORMS
from cribdesk.desk.entry_order_rule import ORDER_RULE_FORMS
from cribdesk.desk.entry_orders import ORDER_FORMS
from cribdesk.desk.entry_own_checks import OWN_CHECK_FORMS
from cribdesk.desk.entry_people import PEOPLE_FORMS
from cribdesk.desk.entry_program import PROGRAM_FORMS
from cribdesk.desk.entry_recall import RECALL_FORMS
from cribdesk.desk.entry_scrap import SCRAP_FORMS
from cribdesk.desk.entry_set_aside import SET_ASIDE_FORMS
from cribdesk.desk.entry_sets import SET_FORMS
from cribdesk.desk.entry_stock import STOCK_FORMS
from cribdesk.desk.entry_things import THING_FORMS
from cribdesk.desk.entry_units import UNIT_FORMS
from cribdesk.desk.entry_waste import WASTE_FORMS
from cribdesk.desk.entry_work_limits import WORK_LIMIT_FORMS
from cribdesk.desk.operation import Operation
from cribdesk.desk.receipt import Receipt

_ALL = (
    *PEOPLE_FORMS, *WORK_LIMIT_FORMS, *OFFICE_FORMS, *THING_FORMS, *STOCK_FORMS, *SET_FORMS, *UNIT_FORMS,
    *CHANGE_FORMS, *WASTE_FORMS,
    *OWN_CHECK_FORMS, *SCRAP_FORMS, *ORDER_FORMS, *RECALL_FORMS, *COUNT_FORMS, *ORDER_RULE_FORMS,
    *SET_ASIDE_FORMS,
    *ERASURE_FORMS, *CABINET_FORMS,
    *PROGRAM_FORMS, *ASSESSMENT_FORMS, *AREA_FACT_FORMS,
)  # fmt: skip
FORMS = {kind.id: kind for kind in _ALL}
"""Every form by its id."""

FIRST = "first"
"""The form of an empty store."""

LABELLED = ("area", "battery", "cabinet", "meter", "item", "bin", "part")
"""Forms whose record gets a label and whose receipt names no label sheet."""


def form_of(asked: Asked, form_id: str) -> EntryForm:
    """The form as it stands now; an empty store asks for its first person whatever else was wanted.

    Raises LookupError for a form that is not there.
    """
    kind = FORMS[form_id if asked.reader.first(Person) else FIRST]
    group = tuple((one.id, one.words) for one in FORMS.values() if one.group == kind.group)
    fields = kind.fields(asked)
    return EntryForm(
        kind.id,
        kind.title,
        fields,
        () if kind.operation.begins else tuple(role.value for role in kind.operation.may),
        group if len(group) > 1 else (),
        kind.lead if isinstance(kind.lead, str) else kind.lead(asked),
        kind.missing(asked) if kind.missing and not (kind.without and fields) else "",
    )


def operation_of(asked: Asked, form_id: str, values: Mapping[str, str], token: str) -> Operation:
    """The operation that the values ask for. Raises FormTroubles, field by field, where they cannot be."""
    kind, form = FORMS[form_id], form_of(asked, form_id)
    if form.note:
        raise FormTroubles((("", form.note),))
    filled = Filled(form, values)
    operation = kind.build(filled, asked, token)
    filled.finish()
    return operation


def next_form(form_id: str) -> str:
    """The form that is open after one was entered: the same again, after the first person the next."""
    return "person" if form_id == FIRST else form_id


def about_next(form_id: str, values: Mapping[str, str]) -> str:
    """What the form that is open then is about: nothing yet, or the same; for a new label, something of its kind."""
    about = values.get(ABOUT, "")
    return about if FORMS[form_id].keeps else about[:1] if form_id == RELABEL else ""


def closes(form_id: str) -> bool:
    """Whether the form closes once it was entered."""
    return not FORMS[form_id].again


def labels_of(form_id: str, receipt: Receipt) -> tuple[str, ...]:
    """The labels that entering it made, to be printed and stuck on."""
    sheets = [of for paper, of in receipt.papers if paper == "label_sheet"]
    if sheets:
        return tuple(sheets[0].split(","))
    return receipt.subjects[:1] if form_id in LABELLED else ()


def may_open(form_id: str, roles: str) -> str:
    """Why somebody of these roles does not see a form at all, in words, or nothing."""
    kind = FORMS[form_id]
    who = {role.value for role in kind.operation.may}
    if not kind.private or who & set(roles.split(",")):
        return ""
    return f"What stands there is personal: it opens for a {' or '.join(sorted(who))} only. Nothing changed."
