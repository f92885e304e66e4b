"""Forms for areas, battery packs, chargers and flow meters."""

from __future__ import annotations

from cribdesk.crib.air import DENSEST_KG_M3, THINNEST_KG_M3, USUAL_KG_M3
from cribdesk.crib.words import date_words, number
from cribdesk.desk.cabinet import AddCabinet
from cribdesk.desk.entry_form import NO, YES, Asked, EntryField, EntryKind, Fields, Filled
from cribdesk.desk.equipment import AddArea, AddBattery, AddCharger, AddInstrument
from cribdesk.desk.operation import Operation


def _area_fields(asked: Asked) -> Fields:
    return (
        EntryField("area_name", "Area or task", needed=True),
        EntryField("processes", "What is done there"),
        EntryField("agents", "What is in the air"),
        EntryField("dust_ug_m3", "Assessed dust", "number", help="The hygienist's figure, if any.", unit="µg/m³"),
        EntryField("note", "Note"),
        EntryField("required", "A respirator is required there", "yes-no", value=YES),
    )


def _area(filled: Filled, asked: Asked, token: str) -> Operation:
    return AddArea(
        operation_id=token,
        area_name=filled.text("area_name"),
        required=filled.yes("required"),
        agents=filled.text("agents"),
        processes=filled.text("processes"),
        dust_ug_m3=filled.whole("dust_ug_m3", high=10_000_000),
        note=filled.text("note"),
    )


def _battery_fields(asked: Asked) -> Fields:
    models: dict[str, list[str]] = {}
    for model in asked.house.models.values():
        for code in model.battery_models:
            models.setdefault(code, []).append(model.short_name)
    packs = tuple((code, f"{code}, for {' and '.join(names)}") for code, names in sorted(models.items()))
    return (
        EntryField("battery_model", "Pack", "choice", True, choices=packs),
        EntryField("serial", "The maker's number"),
        EntryField("bought_on", "Bought on", "date", help="Empty where nobody knows."),
        EntryField("cycles", "Charged so often until now", "number", value="0"),
    )


def _battery(filled: Filled, asked: Asked, token: str) -> Operation:
    return AddBattery(
        operation_id=token,
        battery_model=filled.pick("battery_model"),
        serial=filled.text("serial"),
        bought_on=filled.day("bought_on"),
        cycles=filled.whole("cycles", high=100_000) or 0,
    )


def _charger_fields(asked: Asked) -> Fields:
    return (
        EntryField("charger_name", "Charger", needed=True, help="As it is called: Charger 1."),
        EntryField("slots", "Packs it takes", "number", True, value="6"),
    )


def _charger(filled: Filled, asked: Asked, token: str) -> Operation:
    slots = filled.whole("slots", 1, 60)
    return AddCharger(operation_id=token, charger_name=filled.text("charger_name"), slots=slots or 0)


def scale_field(value: str) -> EntryField:
    """The air a meter's scale holds in."""
    return EntryField(
        "calibration_kg_m3", "Its scale holds in air of", "number", unit="kg/m³", decimals=3, value=value,
        help="By its certificate; air of 20 °C at 1013 hPa has 1.204.",
    )  # fmt: skip


def _meter_fields(asked: Asked) -> Fields:
    return (
        EntryField("instrument_name", "Flow meter", needed=True, help="As it is called: Flow meter 1."),
        EntryField("serial", "The maker's number", needed=True),
        EntryField(
            "uncertainty_lpm", "Standard uncertainty", "number", True, "Its certificate names it.",
            unit="L/min", decimals=2,
        ),
        scale_field(number(USUAL_KG_M3, 3)),
        EntryField("calibrated_on", "Calibrated on", "date", True, "Write it like 2026-05-31."),
        EntryField("calibrated_until", "Good until", "date", True, "The last day."),
    )  # fmt: skip


def _meter(filled: Filled, asked: Asked, token: str) -> Operation:
    made, until = filled.day("calibrated_on"), filled.day("calibrated_until")
    if made and made > asked.house.today(asked.moment):
        filled.troubles["calibrated_on"] = f"{date_words(made)} is still to come."
    if made and until and until < made:
        filled.troubles["calibrated_until"] = f"{date_words(until)} lies before {date_words(made)}."
    return AddInstrument(
        operation_id=token,
        instrument_name=filled.text("instrument_name"),
        serial=filled.text("serial"),
        uncertainty_lpm=filled.figure("uncertainty_lpm", 0.01, 99.9) or 0.0,
        calibration_kg_m3=filled.figure("calibration_kg_m3", THINNEST_KG_M3, DENSEST_KG_M3) or USUAL_KG_M3,
        calibrated_on=filled.the_day("calibrated_on"),
        calibrated_until=filled.the_day("calibrated_until"),
    )


DANGER = (
    "No unit of this crib may be used in an atmosphere immediately dangerous to life or health, nor where the release "
    "is unknown: 29 CFR 1910.134(d)(2). Nothing is entered; ask the program administrator."
)


def cabinet_fields(asked: Asked) -> Fields:
    """What is asked of a cabinet."""
    return (
        EntryField("cabinet_name", "Cabinet", needed=True, help="As it is called: Gate 2."),
        EntryField("cabinet_place", "Where it stands"),
        EntryField("purpose", "What its units may be used for", needed=True, help="As the written programme names it."),
        EntryField(
            "for_danger",
            "May it be used for entry into an IDLH atmosphere, oxygen deficiency or an unknown release?",
            "choice", True, "29 CFR 1910.134(d)(2).", choices=((NO, "no"), (YES, "yes")),
        ),
        EntryField("seal", "Number of its seal", help="Empty while nothing is in it."),
    )  # fmt: skip


def _cabinet(filled: Filled, asked: Asked, token: str) -> Operation:
    if filled.pick("for_danger") == YES:
        filled.troubles["for_danger"] = DANGER
    return AddCabinet(
        operation_id=token,
        cabinet_name=filled.text("cabinet_name"),
        cabinet_place=filled.text("cabinet_place"),
        purpose=filled.text("purpose"),
        for_danger=filled.pick("for_danger") != NO,
        seal=filled.text("seal"),
    )


THING_FORMS = (
    EntryKind("area", "areas", "Area", "Enter an area", AddArea, _area_fields, _area),
    EntryKind("battery", "batteries", "Battery", "Enter a battery", AddBattery, _battery_fields, _battery),
    EntryKind(
        "cabinet", "cabinets", "Cabinet", "Enter a cabinet", AddCabinet, cabinet_fields, _cabinet,
        "For emergencies, or at a point of use. Scan a ready unit, then the cabinet, and the unit lies in it.",
    ),
    EntryKind("charger", "batteries", "Charger", "Enter a charger", AddCharger, _charger_fields, _charger),
    EntryKind("meter", "batteries", "Flow meter", "Enter a flow meter", AddInstrument, _meter_fields, _meter),
)  # fmt: skip
