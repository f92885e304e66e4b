"""The reference blower as a model of its own, so that a flow meter's daily check is a procedure like any other."""

from __future__ import annotations

from types import MappingProxyType

from cribdesk.crib.model import HoldReason, UnitModel

METER_KIND = "meter"
"""The kind of procedure that checks a flow meter; no unit model names one."""
DAILY = "flow-meter-daily"
FAULT = "meter"


def reference_model(reference_lpm: float, tolerance_lpm: float) -> UnitModel:
    """No unit of the fleet: a meter on the reference blower, good while it reads within the tolerance.

    Raises ValueError for figures that cannot be.
    """
    if not 0 < tolerance_lpm < reference_lpm < 1000:
        raise ValueError("the reference lies below 1000 L/min and its tolerance below it")
    return UnitModel(
        code="METER",
        name="Flow meter on the reference blower",
        short_name="flow meter",
        origin="Figures of the site's own reference blower.",
        facepiece="none",
        powered=False,
        tight_fitting=False,
        sizes=(),
        battery_models=(),
        speeds=(),
        run_hours=MappingProxyType({}),
        flow_minimum_lpm=reference_lpm - tolerance_lpm,
        flow_plausible_lpm=reference_lpm + tolerance_lpm,
        alarm_window_s=None,
        alarm_vibrates=False,
        shade_range=None,
        inspect_days=None,
        positions=(),
        hold_reasons=(HoldReason(FAULT, "Flow meter reads wrong", "bench inspection"),),
        procedures=MappingProxyType({METER_KIND: DAILY}),
        cautions=(),
    )


PROVED_WITH = reference_model(190.0, 5.0)
"""Any figures do: a procedure's paths do not depend on them."""
