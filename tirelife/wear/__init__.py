"""Contact-patch energy, position by position, and what each cause takes."""

from tirelife.wear.alignment import (
    PREPARATION,
    Judged,
    Measured,
    Range,
    camber_without_runout,
    compare_with_specification,
    sideways_slip,
    toe_angle_deg,
    toe_wear,
    total_toe,
    worksheet,
)
from tirelife.wear.cause import CAUSE_LOG_SD, CAUSES, RECORDS, Cause
from tirelife.wear.changes import (
    Change,
    Conditions,
    causes,
    change_ratio,
    change_ratios,
    conditions_ahead,
    ratio_of,
    walk_in,
)
from tirelife.wear.energy import (
    causes_at_wheel,
    reference_shares,
    tangential_energy,
    tread_wear,
    wheel_energy,
)
from tirelife.wear.factors import ASSUMED, Factors, severity_log_sd
from tirelife.wear.reference import (
    add_reference,
    cause_distance,
    reference_at,
    stretch_severity,
    toe_history,
    usual_moments,
)
from tirelife.wear.severity import answer_causes, answer_weights, severity
from tirelife.wear.unknowns import vehicle_log_sd
from tirelife.wear.vehicle import Vehicle, vehicle_of, vehicle_table

__all__ = [
    "ASSUMED",
    "CAUSES",
    "CAUSE_LOG_SD",
    "PREPARATION",
    "RECORDS",
    "Cause",
    "Change",
    "Conditions",
    "Factors",
    "Judged",
    "Measured",
    "Range",
    "Vehicle",
    "add_reference",
    "answer_causes",
    "answer_weights",
    "camber_without_runout",
    "cause_distance",
    "causes",
    "causes_at_wheel",
    "change_ratio",
    "change_ratios",
    "compare_with_specification",
    "conditions_ahead",
    "ratio_of",
    "reference_at",
    "reference_shares",
    "severity",
    "severity_log_sd",
    "sideways_slip",
    "stretch_severity",
    "tangential_energy",
    "toe_angle_deg",
    "toe_history",
    "toe_wear",
    "total_toe",
    "tread_wear",
    "usual_moments",
    "vehicle_log_sd",
    "vehicle_of",
    "vehicle_table",
    "walk_in",
    "wheel_energy",
    "worksheet",
]
