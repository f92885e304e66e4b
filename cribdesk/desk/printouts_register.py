"""The frozen record of the register of use, and the same as a table; see printouts.py for what every such record is."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

COLUMNS = (
    ("custody", "number of the hand-over in this store"),
    ("slip", "label of its issue slip"),
    ("went_out", "when the unit was handed over, site time with its offset"),
    ("due_back", "when it was due; empty where it was assigned"),
    ("came_back", "when it was taken back; empty while it is out"),
    ("assigned", "yes where it went out with no time of return"),
    ("badge", "label of the wearer"),
    ("wearer", "name of the wearer; the badge where the name was erased"),
    ("trade", "as entered"),
    ("crew", "as entered"),
    ("employer", "as entered; empty for the site's own people"),
    ("unit", "label of the unit"),
    ("model", "code of its model"),
    ("serial", "as entered"),
    ("size", "as entered"),
    ("battery", "label of the pack it went out with"),
    ("area", "label of the area or task; empty where none was chosen"),
    ("area_name", "its name"),
    ("required", "whether a respirator is required there, as the area stands now: yes or no"),
    ("inspection", "the full inspection it went out on: bench or pre-use"),
    ("inspection_verdict", "how that ended"),
    ("inspection_at", "when it ended"),
    ("inspection_by", "who made it"),
    ("inspection_flow_lpm", "its last airflow reading, L/min, as it counted then"),
    ("inspection_ball", "where the ball of a meter without numbers stood at that reading"),
    ("inspection_meter", "label of the flow meter"),
    ("check", "the check at hand-over, where it was another: hand-over"),
    ("check_verdict", "how that ended"),
    ("check_at", "when it ended"),
    ("check_by", "who made it"),
    ("check_flow_lpm", "its last airflow reading, L/min"),
    ("check_ball", "where the ball stood"),
    ("check_meter", "label of the flow meter"),
    ("meter_note", "what is wrong with a meter of these two, where anything is"),
    ("own_checks", "how many own checks the wearer of an assigned unit made"),
    ("own_checks_not_good", "how many of them were not good"),
    ("cautions", "cautions accepted at the hand-over, one after the other"),
    ("accepted", "who took them at the counter"),
    ("accepted_by_name", "by whom and with what reason, where a caution asked for that"),
    ("issued_by", "who handed it over"),
    ("acknowledged", "badge, signed slip or carrier"),
    ("received_by", "who took it back"),
    ("worn_hours", "hours worn, as said at the return"),
    ("alarms", "alarms told at the return"),
)
"""(name, meaning) of each column of the table, in order."""


@dataclass(frozen=True)
class RegisterCheck:
    """One inspection behind a hand-over.

    `flow_lpm` None: no airflow figure was read; `ball` says where a ball
    without numbers stood. `meter`: whole label or ''.
    """

    kind: str
    verdict: str
    at: datetime
    by: str
    flow_lpm: float | None = None
    ball: str = ""
    meter: str = ""
    meter_note: str = ""


@dataclass(frozen=True)
class RegisterRow:
    """One unit in one pair of hands. Moments are aware and local; `full` and `check` are the inspections behind it.

    `accepted` is who took the cautions, `by_name` who took those that ask for a name, each with the reason. Names are
    those of people, '' where nobody did it.
    """

    custody: int
    slip: str
    went_out: datetime
    due_back: datetime | None
    came_back: datetime | None
    assigned: bool
    badge: str
    wearer: str
    trade: str
    crew: str
    employer: str
    unit: str
    model: str
    serial: str
    size: str
    battery: str
    area: str
    area_name: str
    required: bool | None
    full: RegisterCheck | None
    check: RegisterCheck | None
    own_checks: int
    own_checks_bad: int
    cautions: tuple[str, ...]
    accepted: str
    by_name: str
    issued_by: str
    acknowledged: str
    received_by: str
    worn_hours: float | None
    alarms: str

    @property
    def meter_note(self) -> str:
        """What is wrong with a meter of the two inspections."""
        notes = dict.fromkeys(one.meter_note for one in (self.full, self.check) if one and one.meter_note)
        return "; ".join(notes)

    def cells(self) -> tuple[object, ...]:
        """The row of the table, in the order of COLUMNS."""
        return (
            self.custody, self.slip, _at(self.went_out), _at(self.due_back), _at(self.came_back), _yes(self.assigned),
            self.badge, self.wearer, self.trade, self.crew, self.employer,
            self.unit, self.model, self.serial, self.size, self.battery,
            self.area, self.area_name, _yes(self.required),
            *_check(self.full), *_check(self.check), self.meter_note,
            self.own_checks, self.own_checks_bad, "; ".join(self.cautions), self.accepted, self.by_name,
            self.issued_by, self.acknowledged, self.received_by,
            "" if self.worn_hours is None else round(self.worn_hours, 2), self.alarms,
        )  # fmt: skip


@dataclass(frozen=True)
class UseRegister:
    """The register of a person, a unit, an area, or of everything, over a period.

    `about` says of whom or what, in words; `period` the days. `rule_set` names the rules in force. `made_at` is
    aware and local; `zone` names the site's time.
    """

    about: str
    period: str
    rows: tuple[RegisterRow, ...]
    rule_set: str
    made_at: datetime
    zone: str

    @property
    def people(self) -> int:
        """How many wearers are in it."""
        return len({row.badge for row in self.rows})

    @property
    def units(self) -> int:
        """How many units are in it."""
        return len({row.unit for row in self.rows})

    def table(self) -> tuple[tuple[object, ...], ...]:
        """The head and a row for each hand-over, for other programs."""
        return (tuple(name for name, _ in COLUMNS), *(row.cells() for row in self.rows))


def _at(moment: datetime | None) -> str:
    return moment.isoformat(" ", "seconds") if moment else ""


def _yes(value: bool | None) -> str:
    return "" if value is None else "yes" if value else "no"


def _check(one: RegisterCheck | None) -> tuple[object, ...]:
    if one is None:
        return ("",) * 7
    flow = "" if one.flow_lpm is None else round(one.flow_lpm, 1)
    return one.kind, one.verdict, _at(one.at), one.by, flow, one.ball, one.meter
