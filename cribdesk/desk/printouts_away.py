"""The frozen records of the papers that go with units out of the crib: a repair note, a certification tag."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime


@dataclass(frozen=True)
class RepairNote:
    """What goes with a unit that is sent for repair.

    `unit`: whole label. `wrong`: what is wrong with it, of any length. `decontaminated`: how, by whom, when.
    `loaner`: what came to us meanwhile, '' where nothing did. `sent_at`: aware, local.
    """

    unit: str
    unit_model: str
    serial: str
    goes_to: str
    wrong: str
    decontaminated: str
    sent_at: datetime
    sent_by: str
    due_back: date | None
    loaner: str = ""


@dataclass(frozen=True)
class CertificationTag:
    """The tag on a compartment with the five items of 29 CFR 1910.134(h)(3)(iv)(A), and when the next is due.

    `unit`, `cabinet`: whole labels. `made_by`: the name of who made the inspection; it is signed beside.
    `identity`: the serial number, or what else tells the unit from others.
    """

    unit: str
    unit_model: str
    cabinet: str
    cabinet_name: str
    purpose: str
    made_on: date
    made_by: str
    findings: str
    action: str
    identity: str
    seal: str
    next_due: date
