"""What the rules forbid: a class a rule, the sentence and the remedy in it."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Level(StrEnum):
    """How much a reason weighs, worst first."""

    STOP = "stop"
    CAUTION = "caution"
    FINE = "fine"


WORST_FIRST = (Level.STOP, Level.CAUTION, Level.FINE)


@dataclass(frozen=True)
class Reason:
    """One line for or against an issue. `basis` is the paragraph, the maker's limit or the house rule.

    `code` names the rule; `subject` tells two reasons of one rule apart (a position, a hold).
    """

    level: Level
    code: str
    words: str
    detail: str
    basis: str
    subject: str = ""

    @property
    def key(self) -> tuple[str, str]:
        """What makes two reasons the same reason."""
        return self.code, self.subject


NOTHING_CHANGED = "Nothing changed."


class NotAllowed(Exception):
    """An operation the rules forbid: the sentence, every reason, the remedy. Nothing was changed."""

    def __init__(self, sentence: str, remedy: str = "", reasons: tuple[Reason, ...] = ()) -> None:
        super().__init__(sentence)
        self.sentence = sentence
        self.remedy = remedy
        self.reasons = reasons

    def words(self) -> str:
        """The whole of it, as said to the user."""
        return " ".join(part for part in (self.sentence, self.remedy, NOTHING_CHANGED) if part)


class NotQualified(NotAllowed):
    """The clerk's role does not reach this far."""

    def __init__(self, what: str, roles: tuple[str, ...]) -> None:
        super().__init__(f"{what} takes a {' or '.join(roles)}.", "Ask one to sign on.")


class NoClerk(NotAllowed):
    """Nobody is signed on."""

    def __init__(self) -> None:
        super().__init__("Nobody is signed on at this counter.", "Scan a staff badge first.")


class NotFirst(NotAllowed):
    """A first start of a store that knows somebody already."""

    def __init__(self) -> None:
        super().__init__("This store has its people already.", "Sign on with a staff badge.")


class BadgeEnded(NotAllowed):
    """The clerk's own badge has ended."""

    def __init__(self, clerk: str, ended: str) -> None:
        super().__init__(f"The badge of {clerk} ended on {ended}.", "Let somebody else sign on.")


class MayNotIssue(NotAllowed):
    """At least one stop, or a caution that was not shown, stands against the issue."""

    def __init__(self, unit: str, person: str, reasons: tuple[Reason, ...]) -> None:
        worst = next((one for one in reasons if one.level is Level.STOP), None)
        why = worst.words if worst else "something changed since the list was shown"
        super().__init__(f"Not to {person}: {unit} stays here. {why}.", "Read the new list.", reasons)


class NotAccepted(NotAllowed):
    """A caution that somebody has to accept by name, and nobody of a role that may did."""

    def __init__(self, unit: str, words: str, who: str) -> None:
        super().__init__(f"{unit} stays here: {words}.", f"A {who} accepts it, by name and with a reason.")


class IssuedElsewhere(MayNotIssue):
    """Another counter handed the unit out while it was checked here."""

    def __init__(self, unit: str, at: str, holder: str, reasons: tuple[Reason, ...]) -> None:
        super().__init__(unit, holder, reasons)
        self.sentence = f"Another counter issued {unit} at {at} to {holder}."
        self.remedy = ""

    def words(self) -> str:
        """The whole of it, as said to the user."""
        return f"{self.sentence} Nothing was issued here."


class NotOut(NotAllowed):
    """A return of a unit that is not out."""

    def __init__(self, unit: str, where: str) -> None:
        super().__init__(f"{unit} is not out: {where}.", "Scan it to see what is due.")


class AlreadyOut(NotAllowed):
    """An operation that needs the unit in hand."""

    def __init__(self, unit: str, holder: str) -> None:
        super().__init__(f"{unit} is out with {holder}.", "Take it back first.")


class Scrapped(NotAllowed):
    """Nothing more is done with a scrapped unit."""

    def __init__(self, unit: str) -> None:
        super().__init__(f"{unit} is scrapped.", "Its label may come off.")


class NotReady(NotAllowed):
    """A unit that is not ready, for a place where only a ready one may lie."""

    def __init__(self, unit: str, why: str, only: str) -> None:
        super().__init__(f"{unit} is not ready: {why}.", only)


class IsAway(NotAllowed):
    """A unit that is not here: missing, stolen, sent for repair or lent."""

    def __init__(self, unit: str, how: str) -> None:
        super().__init__(f"{unit} is {how}.", "Once it lies here, say that it is back.")


class NotAway(NotAllowed):
    """A unit that is said to be back and was not away in that way."""

    def __init__(self, unit: str, how: str, where: str) -> None:
        super().__init__(f"{unit} is not {how}: {where}.", "Scan it to see what is due.")


class NotTheSame(NotAllowed):
    """A part that cannot go from one unit to another."""

    def __init__(self, part: str, why: str) -> None:
        super().__init__(f"{part} does not go over: {why}.", "Take another part.")


class NamedForDanger(NotAllowed):
    """A cabinet for what none of our units may be used for."""

    def __init__(self) -> None:
        super().__init__(
            "No unit of this crib may be used in an atmosphere immediately dangerous to life or health, "
            "nor where the release is unknown (29 CFR 1910.134(d)(2)).",
            "Such an entry takes a breathing apparatus and its own programme; ask the program administrator.",
        )


class NotOnTheShelf(NotAllowed):
    """A part that the stock does not have."""

    def __init__(self, item: str, lot: str, on_hand: int) -> None:
        super().__init__(f"{item}, lot {lot}: {on_hand} on the shelf.", "Take another lot, or count the bin.")


class NotApproved(NotAllowed):
    """A part the model does not approve at that position."""

    def __init__(self, item: str, position: str, model: str) -> None:
        super().__init__(f"{item} is not approved as {position} of {model}.", "Take an approved part.")


class PastItsDate(NotAllowed):
    """A lot past its date, or blocked."""

    def __init__(self, item: str, lot: str, why: str) -> None:
        super().__init__(f"{item}, lot {lot}: {why}.", "Take another lot.")


class AlreadyHeld(NotAllowed):
    """The same reason holds the unit already."""

    def __init__(self, unit: str, reason: str, tag: str) -> None:
        super().__init__(f"{unit} is on hold for this already: {reason}, tag {tag}.", "Add nothing.")


class NoProof(NotAllowed):
    """A release without the proof its reason asks for."""

    def __init__(self, unit: str, reason: str, proof: str) -> None:
        super().__init__(f"{unit} stays on hold: {reason}.", f"It takes: {proof}.")


class NotMadeWhole(NotAllowed):
    """A check that did not end in a pass where a pass is needed."""

    def __init__(self, unit: str, what: str) -> None:
        super().__init__(f"{unit}: {what}.", "Run the check from its first step.")


class WrongBadge(NotAllowed):
    """Somebody else's badge as acknowledgement."""

    def __init__(self, theirs: str, wearer: str) -> None:
        super().__init__(f"This badge is {theirs}'s.", f"The wearer is {wearer}: scan that badge.")


class WrongFigure(NotAllowed):
    """A figure that cannot be."""

    def __init__(self, what: str, why: str) -> None:
        super().__init__(f"{what}: {why}.", "Enter it again.")


class Unknown(NotAllowed):
    """Something that is not in this store."""

    def __init__(self, what: str) -> None:
        super().__init__(f"{what} is not in this store.", "Scan again, or look it up.")


class WrongKind(NotAllowed):
    """A record of the wrong kind for this operation."""

    def __init__(self, what: str, wanted: str) -> None:
        super().__init__(f"{what} makes no sense here.", f"{wanted}.")


class LabelTaken(NotAllowed):
    """A label or a bound text that belongs to another record."""

    def __init__(self, text: str, owner: str) -> None:
        super().__init__(f"{text} already belongs to {owner}.", "Take another label.")


class BatteryNotFree(NotAllowed):
    """A pack that is elsewhere, of another model, or out of use."""

    def __init__(self, battery: str, why: str) -> None:
        super().__init__(f"{battery} cannot go along: {why}.", "Take another pack.")


class AlreadyOnFile(NotAllowed):
    """Something that is entered once, entered again."""

    def __init__(self, what: str) -> None:
        super().__init__(f"{what} is on file already.", "Add nothing.")


class NothingToCallIn(NotAllowed):
    """A call-in without a reason, or a second one."""

    def __init__(self, unit: str, why: str) -> None:
        super().__init__(f"{unit} is not called in: {why}.", "Look at the list again.")


class StillCalledIn(NotAllowed):
    """A call-in that is to end while its reason stands."""

    def __init__(self, unit: str, why: str) -> None:
        super().__init__(f"{unit} is still to come back: {why}.", "Take it back, or see to the reason.")


class NothingToThem(NotAllowed):
    """A hand-out to somebody whose badge has ended."""

    def __init__(self, person: str) -> None:
        super().__init__(f"The badge of {person} has ended.", "Nothing is handed out to them.")


class NotTheirs(NotAllowed):
    """A unit that the person does not have now."""

    def __init__(self, unit: str, person: str) -> None:
        super().__init__(f"{unit} is not with {person} now.", "Take one they have.")


class ForTheBench(NotAllowed):
    """A part that its wearer may not change."""

    def __init__(self, item: str) -> None:
        super().__init__(f"{item} is changed at the bench, not by its wearer.", "Take the unit back, or exchange it.")


class Short(NotAllowed):
    """Nothing of what is wanted is there in full."""

    def __init__(self, what: str) -> None:
        super().__init__(f"Short: {what}.", "Take fewer, or count the bin.")


class DoneOtherwise(NotAllowed):
    """Another counter was there first, or the operation's id stands for something else."""

    def __init__(self, sentence: str) -> None:
        super().__init__(sentence, "Look again, then decide.")


class OtherPack(NotAllowed):
    """A flat pack that is not the one out with the unit."""

    def __init__(self, battery: str, unit: str, right: str) -> None:
        super().__init__(f"{battery} is not the pack that is out with {unit}; that is {right}.", "Scan that one.")


class NotSeenCharged(NotAllowed):
    """A pack not seen on a charger since its last use, where that was not on the screen."""

    def __init__(self, battery: str) -> None:
        super().__init__(f"{battery} was not seen on a charger since its last use.", "Look at its bars, then swap.")


class IsCalledIn(NotAllowed):
    """A unit that has to come back: nothing is done that would let its wearer go on with it."""

    def __init__(self, unit: str, why: str) -> None:
        super().__init__(f"Do not use {unit}: {why}.", "Take it back.")


class NotAssigned(NotAllowed):
    """Something that is done with an assigned unit only."""

    def __init__(self, unit: str, how: str) -> None:
        super().__init__(f"{unit} is {how}.", "This is for units assigned to one person.")


class MayNotCarry(NotAllowed):
    """Somebody who may not carry this unit to its wearer."""

    def __init__(self, unit: str, why: str) -> None:
        super().__init__(f"{unit} is not handed to a carrier: {why}.", "Its wearer comes for it.")


class ShiftClosedAlready(NotAllowed):
    """A shift is handed over once."""

    def __init__(self, shift: str, at: str) -> None:
        super().__init__(f"{shift} was handed over already, {at}.", "Print its page again from the shift list.")


class NoClerkOfCrib(NotAllowed):
    """Somebody who takes a shift over without a role at the crib, or from themselves."""

    def __init__(self, person: str, why: str) -> None:
        super().__init__(f"{person} does not take the shift over: {why}.", "Scan the badge of who comes.")


class NotCounted(NotAllowed):
    """An audit that nothing was scanned for."""

    def __init__(self) -> None:
        super().__init__("Nothing was scanned for this audit.", "Scan what hangs on the rack.")


class SayOfParts(NotAllowed):
    """A unit is scrapped part by part: each that carries a label is kept or scrapped."""

    def __init__(self, unit: str, what: str) -> None:
        super().__init__(f"{unit} is not scrapped: {what}.", "Say for each of its labelled parts what becomes of it.")


class BagClosed(NotAllowed):
    """A waste bag that takes nothing more."""

    def __init__(self, bag: str, drum: str) -> None:
        super().__init__(f"Waste bag {bag} is closed, in drum {drum}.", "Open another one.")


class NothingRecalled(NotAllowed):
    """A recall that means no unit besides those it holds already."""

    def __init__(self, notice: str) -> None:
        super().__init__(f"Recall {notice}: every unit it means is held already.", "Look at the list of recalls.")


class RecallNotCleared(NotAllowed):
    """A recall that is to be closed while a unit of it waits."""

    def __init__(self, notice: str, units: str) -> None:
        super().__init__(f"Recall {notice} stays open: {units} not cleared.", "Clear each of them first.")


class StillRecalled(NotAllowed):
    """A lot whose block is to be lifted although its maker recalled it."""

    def __init__(self, lot: str, notice: str, remedy: str) -> None:
        super().__init__(f"Lot {lot} stays blocked: recall {notice}.", remedy)


class NoInstruction(NotAllowed):
    """The release of a recalled unit without the maker's notice in the administrator's word."""

    def __init__(self, unit: str, notice: str) -> None:
        super().__init__(
            f"{unit} stays on hold: recall {notice}.", f"Name the notice, {notice}, and what the maker says to do."
        )


class AlreadyWithdrawn(NotAllowed):
    """Something that stands no more, withdrawn or ended again."""

    def __init__(self, what: str, on: str) -> None:
        super().__init__(f"{what} was withdrawn or ended already, on {on}.", "Look at the area again.")


class Superseded(NotAllowed):
    """A finding in whose place a newer one stands."""

    def __init__(self, what: str, on: str) -> None:
        super().__init__(f"A newer finding of {what} stands, of {on}.", "Withdraw that one first, if it is wrong.")


class NothingToSay(NotAllowed):
    """What is said stands so already."""

    def __init__(self, what: str) -> None:
        super().__init__(f"{what} already.", "Look at the area again.")


class MayNotErase(NotAllowed):
    """Something stands against erasing what is kept of a person."""

    def __init__(self, person: str, why: str, remedy: str) -> None:
        super().__init__(f"{person} is not erased: {why}.", remedy)


class StillKept(NotAllowed):
    """What is kept of a person has to be kept longer."""

    def __init__(self, person: str, until: str, what: str, basis: str) -> None:
        super().__init__(
            f"{person} is not erased: it is kept until {until}, {what} ({basis}).", "Erase it after that day."
        )
