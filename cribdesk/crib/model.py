"""A unit model from its TOML text: positions on the air path, limits, hold reasons, procedures."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from cribdesk.crib.air import MustShow, check_air, read_air
from cribdesk.crib.card import WearerCard, read_card
from cribdesk.crib.toml_text import Fault, Section, parse

FACEPIECES = ("loose_fitting_facepiece", "helmet_hood", "full_facepiece", "half_mask", "none")
TIGHT_FACEPIECES = ("full_facepiece", "half_mask")
PROCEDURE_KINDS = ("hand-over", "pre-use", "return-look", "cleaning", "bench", "monthly")
PROOFS = ("bench inspection", "cleaned", "lot out", "battery gone", "program administrator")
_CODE = r"[a-z][a-z0-9]*(-[a-z0-9]+)*"


@dataclass(frozen=True)
class Position:
    """A place on a unit where a part sits; `order` counts along the air path, inlet first, face last.

    `thumb_hours` is a rule of thumb (common practice, no source); `max_hours` and `max_days` are limits
    of the maker or the house, in worn hours and in days since the part was fitted. What the wearer may change
    while the unit is out says `wearer_changes`; everything else is the bench's.
    """

    code: str
    name: str
    required: bool
    order: int
    items: tuple[str, ...]
    labelled: bool
    thumb_hours: float | None
    max_days: int | None
    max_hours: float | None
    wearer_changes: bool = False


@dataclass(frozen=True)
class HoldReason:
    """One reason why a unit of this model may be held, and the proof that clears it."""

    code: str
    words: str
    proof: str


INSPECTION_NOT_FINISHED = HoldReason(
    "inspection-not-finished", "Inspection not finished", "inspection passed"
)
"""Built in: every model has it, and no text may name it."""


@dataclass(frozen=True)
class AirflowFloors:
    """Lowest minimum airflow a model may name, in L/min."""

    tight_fitting_lpm: float
    loose_fitting_lpm: float


CERTIFICATION_FLOORS = AirflowFloors(tight_fitting_lpm=115.0, loose_fitting_lpm=170.0)
"""42 CFR 84.179(a), certification figures for powered units of class HE; a test holds them to the table."""


@dataclass(frozen=True)
class UnitModel:
    """A kind of unit. Flows are L/min, the alarm window seconds, `run_hours` hours by speed.

    `flow_plausible_lpm` is the most this model can give: a reading above it is no pass. `cautions` are
    (when, do) pairs for the wearer's slip. `ball_range_c` is the air in which a ball's mark holds, `must_show` the
    maker's correction chart. `performance` is the class of a European standard ('TH2'), '' where none is known; `gases`
    are substances that its approved elements remove; `explosive_approved` whether it may go into explosive locations.
    """

    code: str
    name: str
    short_name: str
    origin: str
    facepiece: str
    powered: bool
    tight_fitting: bool
    sizes: tuple[str, ...]
    battery_models: tuple[str, ...]
    speeds: tuple[str, ...]
    run_hours: Mapping[str, float]
    flow_minimum_lpm: float | None
    flow_plausible_lpm: float | None
    alarm_window_s: tuple[float, float] | None
    alarm_vibrates: bool
    shade_range: tuple[int, int] | None
    inspect_days: int | None
    positions: tuple[Position, ...]
    hold_reasons: tuple[HoldReason, ...]
    procedures: Mapping[str, str]
    cautions: tuple[tuple[str, str], ...]
    ball_range_c: tuple[float, float] | None = None
    must_show: tuple[MustShow, ...] = ()
    performance: str = ""
    gases: tuple[str, ...] = ()
    explosive_approved: bool = False
    card: WearerCard | None = None  # for the wearer's card on paper

    def position(self, code: str) -> Position | None:
        """The position of that code, or None."""
        return next((p for p in self.positions if p.code == code), None)

    def hold_reason(self, code: str) -> HoldReason | None:
        """The hold reason of that code, or None."""
        return next((r for r in self.hold_reasons if r.code == code), None)


class ModelFaults(Exception):
    """A unit model's text cannot be used; `faults` lists everything that is wrong in it."""

    def __init__(self, faults: tuple[Fault, ...]) -> None:
        super().__init__("\n".join(str(fault) for fault in faults))
        self.faults = faults


def read_floors(csv_text: str) -> AirflowFloors:
    """The floors out of the table of airflow minimums (rows of topic minimum_airflow, in L/min).

    Raises ValueError where the table lacks one of the two rows.
    """
    found: dict[str, float] = {}
    for row in csv.DictReader(io.StringIO(csv_text)):
        if row.get("topic") == "minimum_airflow" and row.get("unit") == "L/min":
            kind = "tight" if "tight-fitting" in row["applies_to"] else "loose"
            found[kind] = float(row["value"])
    if set(found) != {"tight", "loose"}:
        raise ValueError("The table of airflow minimums lacks its two rows of topic minimum_airflow.")
    return AirflowFloors(found["tight"], found["loose"])


def read_model(text: str, file: str, floors: AirflowFloors = CERTIFICATION_FLOORS) -> UnitModel:
    """The unit model in a TOML text; raises ModelFaults with every fault at once."""
    top, book = parse(text, file)
    if book.faults:
        raise ModelFaults(tuple(book.faults))
    model = _read(top)
    _check_air(top, model, floors)
    _check_battery(top, model)
    check_air(top, model.powered, model.ball_range_c, model.must_show)
    top.finish()
    if book.faults:
        raise ModelFaults(tuple(book.faults))
    return model


def _read(top: Section) -> UnitModel:
    return UnitModel(
        code=top.text("code", pattern=r"[A-Z][A-Z0-9]{1,7}"),
        name=top.text("name", limit=60),
        short_name=top.text("short_name", limit=24),
        origin=top.text("origin"),
        facepiece=top.one_of("facepiece", FACEPIECES),
        powered=top.flag("powered"),
        tight_fitting=top.flag("tight_fitting"),
        sizes=top.texts("sizes"),
        battery_models=top.texts("battery_models"),
        speeds=top.texts("speeds"),
        run_hours=_read_run_hours(top.section("run_hours")),
        flow_minimum_lpm=top.number("flow_minimum_lpm"),
        flow_plausible_lpm=top.number("flow_plausible_lpm"),
        alarm_window_s=top.pair("alarm_window_s"),
        alarm_vibrates=top.flag("alarm_vibrates", default=False),
        shade_range=_read_shades(top),
        inspect_days=top.whole("inspect_days"),
        positions=_read_positions(top),
        hold_reasons=_read_hold_reasons(top),
        procedures=_read_procedures(top.section("procedures")),
        cautions=_read_cautions(top),
        card=read_card(top),
        performance=top.text("performance", "", pattern=r"(T[HM][123]|P[123])?"),
        gases=top.texts("gases"),
        explosive_approved=top.flag("explosive_approved", default=False),
        **read_air(top),
    )


def _read_run_hours(section: Section) -> Mapping[str, float]:
    hours = {speed: section.number(speed) for speed in section.values}
    return MappingProxyType({speed: value for speed, value in hours.items() if value is not None})


def _read_shades(top: Section) -> tuple[int, int] | None:
    pair = top.pair("shade_range")
    if pair is None:
        return None
    if not all(number.is_integer() and number <= 15 for number in pair):
        top.fault("shade_range", "shade numbers are whole and not above 15.")
    return int(pair[0]), int(pair[1])


def _read_positions(top: Section) -> tuple[Position, ...]:
    positions: list[Position] = []
    for section in top.sections("positions"):
        position = Position(
            code=section.text("code", pattern=_CODE),
            name=section.text("name", limit=40),
            required=section.flag("required", default=True),
            order=section.whole("order", required=True) or 0,
            items=section.texts("items", required=True),
            labelled=section.flag("labelled", default=False),
            thumb_hours=section.number("thumb_hours"),
            max_days=section.whole("max_days"),
            max_hours=section.number("max_hours"),
            wearer_changes=section.flag("wearer_changes", default=False),
        )
        _check_position(section, position, positions)
        positions.append(position)
        section.finish()
    if not positions:
        top.fault("positions", "a model needs at least one position.")
    return tuple(sorted(positions, key=lambda position: position.order))


def _check_position(section: Section, position: Position, before: list[Position]) -> None:
    if any(other.code == position.code for other in before):
        section.fault("code", f"position '{position.code}' is named twice.")
    if any(other.order == position.order for other in before):
        section.fault("order", f"another position already has place {position.order} on the air path.")
    if position.wearer_changes and position.labelled:
        section.fault("wearer_changes", "a part with a label of its own is changed at the bench.")
    if section.has("items") and not position.items:
        section.fault("items", "at least one approved stock item is needed.")
    for item in position.items:
        if not _is_item(item):
            section.fault("items", f"'{item}' is not a stock item code.")


def _is_item(code: str) -> bool:
    return len(code) <= 24 and re.fullmatch(r"[A-Z0-9]+(-[A-Z0-9]+)*", code) is not None


def _read_hold_reasons(top: Section) -> tuple[HoldReason, ...]:
    reasons = [INSPECTION_NOT_FINISHED]
    for section in top.sections("hold_reasons"):
        reason = HoldReason(
            code=section.text("code", pattern=_CODE),
            words=section.text("words", limit=80),
            proof=section.one_of("proof", PROOFS),
        )
        if any(other.code == reason.code for other in reasons):
            section.fault("code", f"hold reason '{reason.code}' is named twice, or is built in.")
        reasons.append(reason)
        section.finish()
    if len(reasons) == 1:
        top.fault("hold_reasons", "a model needs at least one hold reason.")
    return tuple(reasons)


def _read_procedures(section: Section) -> Mapping[str, str]:
    named = {kind: section.text(kind, pattern=_CODE) for kind in PROCEDURE_KINDS}
    section.finish()
    return MappingProxyType(named)


def _read_cautions(top: Section) -> tuple[tuple[str, str], ...]:
    cautions: list[tuple[str, str]] = []
    for section in top.sections("cautions"):
        cautions.append((section.text("when", limit=40), section.text("do", limit=80)))
        section.finish()
    return tuple(cautions)


def _check_air(top: Section, model: UnitModel, floors: AirflowFloors) -> None:
    """The flow minimum is never below the certification floor; what is not powered has no flow."""
    if model.tight_fitting != (model.facepiece in TIGHT_FACEPIECES):
        top.fault("tight_fitting", f"this does not go with facepiece '{model.facepiece}'.")
    if not model.powered:
        for key in ("flow_minimum_lpm", "flow_plausible_lpm", "alarm_window_s", "battery_models", "speeds"):
            if getattr(model, key):
                top.fault(key, "a unit that is not powered has none.")
        return
    if model.facepiece == "none":
        top.fault("facepiece", "a powered unit has a facepiece, hood or helmet.")
    minimum, plausible = model.flow_minimum_lpm, model.flow_plausible_lpm
    floor = floors.tight_fitting_lpm if model.tight_fitting else floors.loose_fitting_lpm
    for key, value in (("flow_minimum_lpm", minimum), ("flow_plausible_lpm", plausible)):
        if value is None and not top.has(key):
            top.fault(key, "a powered unit needs it.")
    if minimum is not None and minimum < floor:
        top.fault("flow_minimum_lpm", f"{minimum:g} is below the floor of {floor:g} L/min, 42 CFR 84.179(a).")
    if minimum is not None and plausible is not None and plausible <= minimum:
        top.fault("flow_plausible_lpm", "this must be above flow_minimum_lpm.")


def _check_battery(top: Section, model: UnitModel) -> None:
    if model.alarm_vibrates and model.alarm_window_s is None and not top.has("alarm_window_s"):
        top.fault("alarm_vibrates", "without alarm_window_s there is no alarm that could vibrate.")
    if model.powered and not model.speeds:
        top.fault("speeds", "a powered unit has at least one speed.")
    if set(model.run_hours) != set(model.speeds) and model.battery_models:
        top.fault("run_hours", "one figure for each of the speeds is needed.")
    for item in model.battery_models:
        if not _is_item(item):
            top.fault("battery_models", f"'{item}' is not a battery model code.")
