"""The one doorway through which anything changes: opens the transaction, commits or rolls back."""

from __future__ import annotations

from dataclasses import dataclass

from cribdesk.crib.entry import Entry
from cribdesk.crib.label import Kind
from cribdesk.crib.records import Person, SiteSetting
from cribdesk.crib.refusal import BadgeEnded, DoneOtherwise, NoClerk, NotFirst, NotQualified
from cribdesk.crib.words import date_words
from cribdesk.desk.house import House
from cribdesk.desk.numbering import fresh_label
from cribdesk.desk.operation import Context, Operation, Outcome, digest
from cribdesk.desk.ports import Clock, Records, Store, Unwritten, Work
from cribdesk.desk.receipt import Receipt, receipt_of


@dataclass
class Counter:
    """One workstation: `name` stands in every entry it writes."""

    store: Store
    house: House
    clock: Clock
    name: str

    def do(self, operation: Operation, clerk_id: int | None) -> Receipt:
        """Carry an operation out, durably, once; the same id again returns the first one's receipt.

        Raises NotAllowed with nothing changed. Where another counter changed the same rows meanwhile the
        operation runs once more, so that its own rules word the answer.
        """
        try:
            return self._once(operation, clerk_id)
        except Exception as failure:
            if not self.store.collided(failure):
                raise
        return self._once(operation, clerk_id)

    def done_already(self, operation_id: str) -> Receipt | None:
        """The receipt of an operation that committed though nobody was told, as after a crash."""
        with self.store.reading() as reader:
            entry = reader.entry_of(operation_id)
            return receipt_of(entry, names_of(reader, entry.subjects)) if entry else None

    def _once(self, operation: Operation, clerk_id: int | None) -> Receipt:
        request = digest(operation)
        with self.store.work() as work:
            before = work.entry_of(operation.operation_id)
            if before is not None:
                if before.request != request:
                    raise DoneOtherwise("This number already stands for another operation.")
                return receipt_of(before, names_of(work, before.subjects))
            self.house = self.house.as_stored(work.find(SiteSetting))  # another counter may have changed one
            clerk = self._clerk(work, operation, clerk_id)
            context = Context(self.house, self.clock(), self.name, clerk)
            outcome = operation.run(work, context)
            names = names_of(work, outcome.subjects)
            entry = self._commit(work, operation, request, context, outcome)
        return receipt_of(entry, names)

    def _clerk(self, work: Work, operation: Operation, clerk_id: int | None) -> Person:
        if operation.begins:
            if work.first(Person) is not None:
                raise NotFirst
            return Person(label=fresh_label(work, Kind.PERSON))  # whom the operation enters
        if clerk_id is None:
            raise NoClerk
        clerk = work.get(Person, clerk_id)
        if not clerk.active or not clerk.has(*operation.may):
            raise NotQualified(operation.words or operation.code, tuple(role.value for role in operation.may))
        if clerk.ends_on and clerk.ends_on < self.house.today(self.clock()):
            raise BadgeEnded(clerk.label, date_words(clerk.ends_on))
        return clerk

    def _commit(
        self, work: Work, operation: Operation, request: str, context: Context, outcome: Outcome
    ) -> Entry:
        return work.commit(
            Unwritten(
                operation=operation.code,
                operation_id=operation.operation_id,
                request=request,
                moment=context.moment,
                counter=self.name,
                clerk=context.clerk.label,
                subjects=outcome.subjects,
                sentence=outcome.sentence,
                papers=outcome.papers,
                corrects=outcome.corrects,
            )
        )


def names_of(records: Records, subjects: tuple[str, ...]) -> tuple[tuple[str, str], ...]:
    """(label, name) of every person among the subjects whose name is known."""
    labels = [label for label in subjects if label[:1] == Kind.PERSON]
    people = records.find(Person, label=labels) if labels else []
    return tuple((person.label, person.name) for person in people if person.name)
