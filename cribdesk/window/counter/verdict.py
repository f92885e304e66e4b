"""The answer and the actions: verdict band, reasons for and against, what can be done now."""

from __future__ import annotations

from dataclasses import replace

from cribdesk.crib.clearance import ClearanceState
from cribdesk.crib.reasons import at_hand
from cribdesk.crib.records import ClearanceKind, Where
from cribdesk.crib.refusal import Level, Reason
from cribdesk.crib.serviceable import Serviceable
from cribdesk.crib.words import capital, count
from cribdesk.desk.actions import Action, missing
from cribdesk.desk.cards import UnitCard
from cribdesk.desk.commands import BY_ID
from cribdesk.desk.slate import (
    AreaForm,
    AskForm,
    BindForm,
    ChangeForm,
    HoldForm,
    MoreForm,
    ReleaseForm,
    ReturnForm,
    Slate,
)
from cribdesk.window.components.base import Rule, SignMark, Words
from cribdesk.window.components.verdict import Finding, FindingList, VerdictBand
from cribdesk.window.counter.what import state_words
from cribdesk.window.counter.who import button_of, is_required
from cribdesk.window.doors import Doors
from cribdesk.window.layout import Boxes, Fixed, Panel, Row, Scroll, Size, Stack, empty
from cribdesk.window.look import current

WORDS = {"stop": "Stop", "caution": "Caution", "fine": "Fine"}


def counts_of(reasons: tuple[Reason, ...]) -> str:
    """'1 stop, 2 cautions, 5 fine'."""
    n = {level: sum(one.level is level for one in reasons) for level in Level}
    parts = [count(n[Level.STOP], "stop")] * bool(n[Level.STOP]) + [count(n[Level.CAUTION], "caution")] * bool(
        n[Level.CAUTION]
    )
    return ", ".join(parts + [f"{n[Level.FINE]} fine"] * bool(n[Level.FINE]))


def findings_of(reasons: tuple[Reason, ...]) -> tuple[Finding, ...]:
    """Reasons as findings; a fine one says its detail at the right, its basis in the whole account."""
    return tuple(
        Finding(
            one.level.value,
            one.words,
            one.detail if one.level is not Level.FINE else "",
            one.basis if one.level is not Level.FINE or not one.detail else one.detail,
        )
        for one in reasons
    )


class Account(Panel):
    """Every reason with its detail and basis, the fine ones too."""

    def __init__(self) -> None:
        super().__init__("sheet", (24, 16, 24, 16), 4)

    def show_reasons(self, reasons: tuple[Reason, ...]) -> None:
        """Show these, worst first as given."""
        empty(self.column)
        self.column.addWidget(Words("All reasons and what they rest on", 14, ink="ink2", wrap=True))
        for one in reasons:
            line = Row(gap=12)
            line.addWidget(SignMark(one.level.value, 20, "sheet"))
            inner = Boxes()
            inner.addWidget(Words(one.words, bold=one.level is not Level.FINE, wrap=True))
            if one.detail:
                inner.addWidget(Words(one.detail, wrap=True))
            inner.addWidget(Words(one.basis, 14, ink="ink2", wrap=True))
            line.addLayout(inner, 1)
            self.column.addLayout(line)
            self.column.addWidget(Rule())
        self.column.addStretch(1)


def verdict_of(slate: Slate) -> tuple[str, str, str, tuple[Finding, ...]]:
    """(level, word, counts, findings) of this slate."""
    if slate.passed is not None:
        return "fine", "Passed", "", ()
    if slate.unit is not None and slate.person is not None and slate.reasons:
        level = slate.reasons[0].level.value
        return level, WORDS[level], counts_of(slate.reasons), findings_of(slate.reasons)
    if slate.unit is not None and (slate.person is None or slate.theirs):
        return _unit_verdict(slate.unit)
    return "", _title(slate), "", _lapsed(slate)


def _lapsed(slate: Slate) -> tuple[Finding, ...]:
    """What stands against a wearer alone on the counter, before a unit is fetched in vain."""
    card = slate.person
    if card is None or slate.unit is not None or card.person.roles:
        return ()
    training = (ClearanceKind.TRAINING,) if is_required(slate) else ()
    wanted = (ClearanceKind.MEDICAL, *training)
    return tuple(
        Finding("stop", _lapse(state), "A unit that needs it is not issued.")
        for state in card.clearances
        if state.kind in wanted and not state.stands
    )


def _lapse(state: ClearanceState) -> str:
    kind = "Medical clearance" if state.kind is ClearanceKind.MEDICAL else "Training"
    if state.given_on is None:
        return f"No {kind.lower()} on record"
    if state.cleared and not state.proven:
        return f"{kind}: no proof of the employer"
    return f"{kind} has lapsed" if state.cleared else f"{kind}: not cleared"


def _unit_verdict(card: UnitCard) -> tuple[str, str, str, tuple[Finding, ...]]:
    holds = tuple(
        Finding(
            "stop",
            line.words,
            f"Cleared by {line.proof_words}." + (f" It is there: {line.proof}." if line.proof else ""),
            f"tag {line.hold.tag}",
        )
        for line in card.holds
    )
    if card.is_out:
        others = tuple(
            Finding("stop", one.words, one.reason.detail, one.reason.basis)
            for one in card.against
            if one.reason.code != "on-hold" or not holds
        )
        level = "caution" if card.holder_overdue or holds or others else ""
        word = "Call it in" if holds or others else "Overdue" if card.holder_overdue else "Out"
        return level, word, capital(card.where_words), (*holds, *others)
    state = card.condition.state
    first = _first_step(card)
    why = (*first, *(Finding("caution", capital(words)) for words in card.condition.why))
    if card.unit.where is Where.SCRAPPED:
        return "stop", "Scrapped", "", ()
    if state is Serviceable.ON_HOLD:
        rest = tuple(Finding("stop", capital(words)) for words in card.condition.why[len(card.holds) :])
        return "stop", "On hold", count(len(holds), "hold") if holds else "", (*holds, *rest, *first)
    if state is Serviceable.READY:
        return "fine", "Ready", "", ()
    return "caution", {Serviceable.NOT_CHECKED: "Not checked"}.get(state, state_words(card)), "", why


def _first_step(card: UnitCard) -> tuple[Finding, ...]:
    """What is done before anything else with a unit that brought something along, and where its used filter goes."""
    used = card.used
    if used is None or card.condition.state is Serviceable.READY:
        return ()
    bag = f"used filters into bag {used.bag}" if used.bag else f"no bag is open for '{used.stream}'"
    return (Finding("caution", used.words, f"Worn last in {used.area}; {bag}.", used.basis),)


def _title(slate: Slate) -> str:
    form = slate.form
    if isinstance(form, BindForm):
        return "Bind"
    if slate.mode == "returns":
        return "Returns"
    if slate.mode == "pre-stage":
        return "For the next shift"
    if slate.mode == "sign-on":
        return "Sign on"
    if slate.tray:
        return "Tray"
    if _pack_alone(slate):
        return "Battery"
    return "Next" if not slate.empty else ""


def _pack_alone(slate: Slate) -> bool:
    """A pack and nothing else on the counter: it may go on a charger, or along with a unit."""
    return slate.battery is not None and slate.unit is None and slate.person is None and slate.area is None


FORM_WORDS = {
    HoldForm: "Hold",
    ChangeForm: "Change",
    ReleaseForm: "Release",
    BindForm: "Bind a label",
    AreaForm: "Area and time",
    MoreForm: "More",
}


def form_title(slate: Slate) -> str:
    """The word over a form."""
    form = slate.form
    if isinstance(form, AskForm):
        return min(form.title, BY_ID[form.matter].words, key=len)
    if isinstance(form, ReturnForm):
        return "Complete return" if form.returned else "Take back"
    return FORM_WORDS.get(type(form), "")


def note_of(slate: Slate, actions: tuple[Action, ...]) -> tuple[str, str]:
    """(head, words) over the actions: what is still missing, or what to do about a stop."""
    who = slate.person.person.name if slate.person else ""
    if slate.pending is not None:
        return slate.pending.words, "One moment."
    if slate.form is not None:
        return "", getattr(slate.form, "trouble", "")
    if slate.passed is not None:
        slip = (
            f"Or scan the number of the signed slip {slate.slip_label}."
            if slate.slip_label
            else "Or print the slip, sign it, scan its number."
        )
        if slate.carrier:
            return f"Scan the badge of who carries it to {who}", slip
        return f"{who}: scan your badge once more", slip
    if slate.mode == "returns":
        return "", "Each scan takes one unit back. Hours and damage can be said later, at the bench."
    if slate.mode == "pre-stage":
        return "", "Put the seal on the unit before the next is scanned. A unit that fails gets its tag."
    if slate.mode == "sign-on":
        return "Scan a staff badge.", "Or type its label with F2."
    if slate.unit is not None and slate.person is not None and not slate.theirs:
        if slate.reasons and slate.reasons[0].level is Level.STOP:
            return f"Not to be issued to {who}", ""
        need = missing(slate)
        if need:
            return need, ""
        cautions = sum(one.level is Level.CAUTION for one in slate.reasons)
        if cautions:
            return "", f"The {'caution stands' if cautions == 1 else 'cautions stand'} on the slip."
        return "", ""
    if _pack_alone(slate):
        return "", "Or scan the unit it goes along with."
    if slate.unit is None and not slate.empty and not slate.tray:
        return missing(slate), ""
    here = slate.unit is not None and not slate.unit.is_out and at_hand(slate.unit.unit)
    if here and slate.unit is not None and slate.unit.condition.state is Serviceable.READY:
        return "To issue it, scan the wearer's badge.", ""
    return "", ""


class Verdict(Fixed):
    """The right column: 472 wide, 424 where room is short."""

    def __init__(self, doors: Doors) -> None:
        super().__init__(472, "sheet")
        self._doors = doors
        self._size, self._slate = Size.WIDE, Slate()
        self._actions: tuple[Action, ...] = ()
        self._open = False
        self.band = VerdictBand()
        self.findings, self.account = FindingList(), Account()
        self.findings.clicked.connect(self._turn)
        self._stack = Stack()
        self._stack.addWidget(Scroll(self.findings, "sheet"))
        self._stack.addWidget(Scroll(self.account, "sheet"))
        self.column.addWidget(self.band)
        self.column.addWidget(self._stack, 1)
        self._foot = Boxes(margins=(24, 8, 24, 16), gap=8)
        self.column.addLayout(self._foot)

    def _turn(self) -> None:
        if self._slate.reasons:
            self._open = not self._open
            if self._open:
                self.account.show_reasons(self._slate.reasons)
            self._stack.setCurrentIndex(1 if self._open else 0)

    def close_account(self) -> bool:
        """Back to the short list; whether the account was open."""
        was, self._open = self._open, False
        self._stack.setCurrentIndex(0)
        return was

    def fit(self, size: Size) -> None:
        """Narrower and with a lower band where room is short."""
        self._size = size
        self.set_wide(472 if size is Size.WIDE else 424)
        self.band.set_compact(size is Size.SMALL)
        self.show_slate(self._slate, self._actions)

    def show_slate(self, slate: Slate, actions: tuple[Action, ...]) -> None:
        """Show the answer of this slate and these buttons."""
        if slate.reasons != self._slate.reasons:
            self.close_account()
        self._slate, self._actions = slate, actions
        level, word, counts, findings = verdict_of(slate)
        if slate.form is not None:
            level, word, counts, findings = "", form_title(slate), "", ()
        self.band.set_verdict(level, word, counts)
        self.findings.set_findings(findings, fold=self._size is not Size.WIDE)
        self.findings.setToolTip("Open the whole account" if slate.reasons else "")
        self._lay_foot(slate, actions)

    def _lay_foot(self, slate: Slate, actions: tuple[Action, ...]) -> None:
        empty(self._foot)
        head, words = note_of(slate, actions)
        if head:
            self._foot.addWidget(Words(head, 24, True, wrap=True))
        if words:
            self._foot.addWidget(Words(words, ink="ink" if head or slate.form else "ink2", wrap=True))
        self._foot.addSpacing(4)
        room = current().px((472 if self._size is Size.WIDE else 424) - 48)
        for one in actions:
            if one.kind == "go":
                self._go(one, room)
        line, used = Row(gap=8), 0
        for one in actions:
            if one.kind == "go":
                continue
            small = self._size is Size.SMALL
            button = button_of(replace(one, key="") if small else one, self._doors, "row" if small else "")
            wide = button.measure(current()).width()
            if used and used + wide > room + current().px(12):
                self._foot.addLayout(line)
                line, used = Row(gap=8), 0
            line.addWidget(button, 1)
            used += wide + current().px(8)
        self._foot.addLayout(line)

    def _go(self, action: Action, room: int) -> None:
        """The blue field; its cost stands over it where it is too long for it."""
        said = bool(action.why) and action.why == missing(self._slate)
        button = button_of(action, self._doors, said_elsewhere=said)
        if button.measure(current()).width() > room and action.cost:
            self._foot.addWidget(Words(capital(action.cost), ink="ink2", wrap=True))
            button = button_of(replace(action, cost=""), self._doors, said_elsewhere=said)
        if button.measure(current()).width() > room:
            button = button_of(replace(action, cost=""), self._doors, px=24, said_elsewhere=said)
        self._foot.addWidget(button)
