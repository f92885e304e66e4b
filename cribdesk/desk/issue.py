"""Handing a unit over: the slip to sign beforehand, and the issue itself, one durable transaction."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime
from typing import ClassVar

from cribdesk.crib.label import Kind
from cribdesk.crib.reasons import Facts, cautions, reasons, stops
from cribdesk.crib.records import Battery, Carried, Custody, Person, Slip, Unit, Where
from cribdesk.crib.refusal import IssuedElsewhere, MayNotIssue, NotMadeWhole, Reason, WrongFigure
from cribdesk.crib.serviceable import is_current
from cribdesk.crib.words import clock, joined
from cribdesk.desk.accepting import save_accepted
from cribdesk.desk.carrying import may_carry
from cribdesk.desk.equipment import put_in
from cribdesk.desk.facts import IssueIds, facts_of
from cribdesk.desk.inspection import check_run, end_unfinished, fetch_unit, is_own, meters_of, save_run
from cribdesk.desk.meter_errors import overtaken
from cribdesk.desk.numbering import fresh_label
from cribdesk.desk.operation import Context, Operation, Outcome, fetch
from cribdesk.desk.ports import Work
from cribdesk.procedure.run import Run


@dataclass(frozen=True, kw_only=True)
class PrepareSlip(Operation):
    """A slip is printed to be signed, where the wearer's badge does not scan."""

    unit_id: int
    person_id: int
    battery_id: int | None = None
    area_id: int | None = None
    due_at: datetime | None = None

    code: ClassVar[str] = "prepare-slip"
    words: ClassVar[str] = "Preparing a slip"

    def run(self, work: Work, context: Context) -> Outcome:
        """Numbers the slip; the unit stays where it is."""
        unit = fetch_unit(work, self.unit_id)
        person = fetch(work, Person, self.person_id, "This person")
        slip = work.save(
            Slip(
                label=fresh_label(work, Kind.SLIP),
                unit_id=unit.id,
                person_id=person.id,
                battery_id=self.battery_id,
                area_id=self.area_id,
                due_at=self.due_at,
                prepared_at=context.moment,
            )
        )
        sentence = f"Slip {slip.label} for {person.label} and {unit.label} to be signed. Nothing was issued."
        return Outcome(sentence, (unit.label, person.label, slip.label), (("issue_slip", slip.label),))


@dataclass(frozen=True, kw_only=True)
class IssueUnit(Operation):
    """A unit goes out with a person.

    `run_made` is the passed check, `shown` the (code, subject) of every caution that was on the screen,
    `accepted` (code, subject, words, why, person id) of those that somebody accepted by name,
    `slip_id` the slip that was signed where the badge did not scan. One that is `assigned` has no time of return;
    `carrier_id` is who carries it back to the wearer it was assigned to before.
    """

    unit_id: int
    person_id: int
    battery_id: int | None
    area_id: int | None
    due_at: datetime | None
    run_made: Run
    shown: tuple[tuple[str, str], ...]
    slip_id: int | None = None
    assigned: bool = False
    carrier_id: int | None = None
    accepted: tuple[tuple[str, str, str, str, int], ...] = ()

    code: ClassVar[str] = "issue"
    words: ClassVar[str] = "Issuing"

    def run(self, work: Work, context: Context) -> Outcome:
        """Weighs everything again inside the transaction; a stop, or a caution not shown, is not allowed."""
        unit = fetch_unit(work, self.unit_id)
        battery = fetch(work, Battery, self.battery_id, "This battery") if self.battery_id else None
        if battery is not None:
            work.take(battery)
        ids = IssueIds(unit.id, self.person_id, self.battery_id, self.area_id, self.due_at, self.assigned)
        before = facts_of(work, context.house, ids, context.moment)
        self._check_request(before, context)
        inspection = save_run(work, context, unit, self.run_made)
        if not inspection.instrument_good:
            raise NotMadeWhole(unit.label, "its airflow was read with a meter out of calibration")
        made = self.run_made
        if overtaken(work, context.house, unit, made, meters_of(work, made).values()):
            raise NotMadeWhole(unit.label, "its airflow was read with a meter found wrong meanwhile")
        end_unfinished(work, context, unit, f"passed by inspection {inspection.id}", self.run_made)
        facts = facts_of(work, context.house, ids, context.moment, before.protection)
        person = facts.person
        assert person is not None
        found = self._weigh(facts, unit, person, context)
        self._check_before(self._without_own_work(before, context), context)
        carrier = may_carry(work, context, facts, self.carrier_id, assigned=self.assigned) if self.carrier_id else None
        slip = self._slip(work, context, unit, person)
        custody = work.save(
            Custody(
                unit_id=unit.id,
                person_id=person.id,
                area_id=self.area_id,
                battery_id=self.battery_id,
                inspection_id=inspection.id,
                slip_id=slip.id,
                assigned=self.assigned,
                issued_at=context.moment,
                due_at=self.due_at,
                issued_by=context.clerk.id,
                acknowledged="signed slip" if self.slip_id else "carrier" if carrier else "badge",
                cautions="\n".join(reason.words for reason in cautions(found)),
            )
        )
        takers = save_accepted(work, context, unit, custody, cautions(found), self.accepted)
        if carrier is not None:
            work.save(Carried(custody_id=custody.id, person_id=carrier.id, at=context.moment))
        where = Where.ASSIGNED if self.assigned else Where.OUT
        work.save(replace(fetch(work, Unit, unit.id, "This unit"), where=where, place=""))
        if battery is not None:
            put_in(work, battery, unit)
        return self._outcome(context, facts, slip, carrier, takers)

    def _check_request(self, facts: Facts, context: Context) -> None:
        made, unit = self.run_made, facts.unit
        if self.assigned != (self.due_at is None):
            raise WrongFigure("Due back", "an assigned unit has no time of return, any other has one")
        if self.due_at is not None and self.due_at <= context.moment:
            raise WrongFigure("Due back", "it lies before now")
        if facts.model.battery_models and facts.battery is None:
            raise NotMadeWhole(unit.label, "no battery goes along")
        if facts.area is None and facts.model.facepiece != "none":
            raise NotMadeWhole(unit.label, "no area is named, so nobody knows what it has to protect from")
        check_run(made, unit, facts.model, context)
        if made.verdict != "pass":
            raise NotMadeWhole(unit.label, "its check has not passed")
        if made.procedure.kind not in ("hand-over", "pre-use"):
            raise NotMadeWhole(unit.label, f"a check of kind {made.procedure.kind} is none for an issue")
        own = {asked.position for asked in made.asked if asked.remedy_kind == "change"}
        since = [one for one in facts.standing.fitted if made.started <= one.fitted_at <= context.moment]
        if any(one.position not in own for one in since):
            raise NotMadeWhole(unit.label, "a part was changed while it was checked here")

    def _without_own_work(self, before: Facts, context: Context) -> Facts:
        """The facts as the check found the unit: without its own hold, and with the parts its remedies changed
        as if they had been there."""
        made, standing = self.run_made, before.standing
        own = {asked.position for asked in made.asked if asked.remedy_kind == "change"}
        holds = tuple(hold for hold in standing.holds if not is_own(hold, made, context))
        seen = standing.last_pass.ended_at if standing.last_pass else made.started
        fitted = tuple(
            replace(one, fitted_at=min(one.fitted_at, seen))
            if one.position in own and one.fitted_at >= made.started
            else one
            for one in standing.fitted
        )
        return replace(before, standing=replace(standing, holds=holds, fitted=fitted))

    def _check_before(self, found: Facts, context: Context) -> None:
        """What stood against it before the check stands: a check makes no unit ready for anybody but its wearer.

        The short check does only where a full inspection is current.
        """
        person = found.person
        assert person is not None
        against = reasons(found, context.moment)
        if stops(against):
            raise MayNotIssue(found.unit.label, person.name, against)
        current = is_current(found.standing, context.house.inspected_since(context.moment))
        if self.run_made.procedure.kind == "hand-over" and not current:
            words = "the short check is not enough: it was not inspected this shift or the last"
            raise NotMadeWhole(found.unit.label, words)

    def _weigh(self, facts: Facts, unit: Unit, person: Person, context: Context) -> tuple[Reason, ...]:
        found = reasons(facts, context.moment)
        unseen = [reason for reason in cautions(found) if reason.key not in self.shown]
        if facts.custody is not None and facts.holder is not None and facts.custody.person_id != person.id:
            at = clock(facts.custody.issued_at, context.house.zone)
            raise IssuedElsewhere(unit.label, at, facts.holder.name or facts.holder.label, found)
        if stops(found) or unseen:
            raise MayNotIssue(unit.label, person.name, found)
        return found

    def _slip(self, work: Work, context: Context, unit: Unit, person: Person) -> Slip:
        if self.slip_id is None:
            return work.save(
                Slip(
                    label=fresh_label(work, Kind.SLIP),
                    unit_id=unit.id,
                    person_id=person.id,
                    prepared_at=context.moment,
                )
            )
        slip = fetch(work, Slip, self.slip_id, "This slip")
        if (slip.unit_id, slip.person_id) != (unit.id, person.id):
            raise NotMadeWhole(unit.label, f"slip {slip.label} is for another unit or wearer")
        if (slip.battery_id, slip.area_id, slip.due_at) != (self.battery_id, self.area_id, self.due_at):
            raise NotMadeWhole(unit.label, f"slip {slip.label} was signed for another battery, area or time")
        if work.first(Custody, slip_id=slip.id):
            raise NotMadeWhole(unit.label, f"slip {slip.label} was used already")
        return slip

    def _outcome(
        self, context: Context, facts: Facts, slip: Slip, carrier: Person | None, takers: tuple[str, ...]
    ) -> Outcome:
        person = facts.person
        assert person is not None
        along = f" with {facts.battery.label}" if facts.battery else ""
        where = f" for {facts.area.name}" if facts.area else ""
        if self.due_at is None:
            sentence = f"Assigned {facts.unit.label}{along} to {person.label}{where}."
        else:
            due = clock(self.due_at, context.house.zone)
            sentence = f"Issued {facts.unit.label}{along} to {person.label}{where} until {due}."
        subjects = [facts.unit.label, person.label, slip.label]
        if carrier is not None:
            sentence = f"{sentence[:-1]}, carried by {carrier.label}."
            subjects.append(carrier.label)
        if takers:
            sentence = f"{sentence[:-1]}; cautions accepted by {joined(takers)}."
            subjects += [one for one in takers if one not in subjects]
        if facts.battery:
            subjects.append(facts.battery.label)
        if facts.area:
            subjects.append(facts.area.label)
        return Outcome(sentence, tuple(subjects), (("issue_slip", slip.label),))

