"""Contact-patch energy, position by position, and what each cause takes."""

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
from tirelife.wear.reference import add_reference, profile_ahead, reference_at, stretch_severity, toe_history
from tirelife.wear.vehicle import Vehicle, vehicle_of, vehicle_table

__all__ = [
    "CAUSES",
    "CAUSE_LOG_SD",
    "Vehicle",
    "add_reference",
    "answer_weights",
    "causes_at_wheel",
    "profile_ahead",
    "reference_at",
    "severity",
    "severity_log_sd",
    "stretch_severity",
    "tangential_energy",
    "toe_history",
    "tread_wear",
    "vehicle_of",
    "vehicle_table",
    "wheel_energy",
]
