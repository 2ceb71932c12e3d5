"""Readings to the state of a tire at a visit, and what its pattern says."""

from tirelife.tread.age import AgeAdvice, DateCode, age_advice, read_date_code
from tirelife.tread.causes import Wheel, weigh_wheels
from tirelife.tread.checks import Step, checks_first
from tirelife.tread.correction import correction_factors, remaining_ratios
from tirelife.tread.evidence import Seen
from tirelife.tread.history import Weak, WheelHistory, measured_toe, wheel_histories
from tirelife.tread.limits import RemovalDepth, removal_depth, removal_depths
from tirelife.tread.patterns import CAUSE_NAMES
from tirelife.tread.profile import COMPONENTS, latest_profiles, profiles_of, spot_table, tread_profiles
from tirelife.tread.reading import ACROSS_TREAD_MM, MEASURE_FROM, Why, next_steps, weigh_causes
from tirelife.tread.signs import Finding, Sign, parse_finding, sign_advice
from tirelife.tread.verdict import (
    NEAR_MM,
    REMOVAL_DEPTH_MM,
    STAYS_PUT,
    VERDICT_COLUMNS,
    Verdict,
    judge,
    measured,
    measured_by_hand,
    measured_grooves,
    unclaimed,
    verdict_columns,
    verdict_notes,
    verdicts,
    worst_of_vehicles,
)
from tirelife.tread.visits import groove_states, tire_visits

__all__ = [
    "ACROSS_TREAD_MM",
    "CAUSE_NAMES",
    "COMPONENTS",
    "MEASURE_FROM",
    "NEAR_MM",
    "REMOVAL_DEPTH_MM",
    "STAYS_PUT",
    "VERDICT_COLUMNS",
    "AgeAdvice",
    "DateCode",
    "Finding",
    "RemovalDepth",
    "Seen",
    "Sign",
    "Step",
    "Verdict",
    "Weak",
    "Wheel",
    "WheelHistory",
    "Why",
    "age_advice",
    "checks_first",
    "correction_factors",
    "groove_states",
    "judge",
    "latest_profiles",
    "measured",
    "measured_by_hand",
    "measured_grooves",
    "measured_toe",
    "next_steps",
    "parse_finding",
    "profiles_of",
    "read_date_code",
    "remaining_ratios",
    "removal_depth",
    "removal_depths",
    "sign_advice",
    "spot_table",
    "tire_visits",
    "tread_profiles",
    "unclaimed",
    "verdict_columns",
    "verdict_notes",
    "verdicts",
    "weigh_causes",
    "weigh_wheels",
    "wheel_histories",
    "worst_of_vehicles",
]
