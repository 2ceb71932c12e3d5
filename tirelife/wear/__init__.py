"""Contact-patch energy, position by position, and what each cause takes."""

from tirelife.wear.alignment import (
    PREPARATION,
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
from tirelife.wear.changes import (
    Change,
    Conditions,
    causes,
    change_ratio,
    conditions_ahead,
    ratio_of,
    walk_in,
)
from tirelife.wear.energy import (
    CAUSE_LOG_SD,
    CAUSES,
    answer_weights,
    causes_at_wheel,
    severity,
    severity_log_sd,
    tangential_energy,
    tread_wear,
    wheel_energy,
)
from tirelife.wear.reference import add_reference, reference_at, stretch_severity, toe_history
from tirelife.wear.unknowns import vehicle_log_sd
from tirelife.wear.vehicle import Vehicle, vehicle_of, vehicle_table

__all__ = [
    "CAUSES",
    "CAUSE_LOG_SD",
    "PREPARATION",
    "Change",
    "Conditions",
    "Measured",
    "Range",
    "Vehicle",
    "add_reference",
    "answer_weights",
    "camber_without_runout",
    "causes",
    "causes_at_wheel",
    "change_ratio",
    "compare_with_specification",
    "conditions_ahead",
    "ratio_of",
    "reference_at",
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
    "vehicle_log_sd",
    "vehicle_of",
    "vehicle_table",
    "walk_in",
    "wheel_energy",
    "worksheet",
]
