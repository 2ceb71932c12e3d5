"""Readings to the state of a tire at a visit, and what its pattern says."""

from tirelife.tread.age import AgeAdvice, DateCode, age_advice, read_date_code
from tirelife.tread.limits import RemovalDepth, TreadVerdict, check_393_75, removal_depth, removal_depths
from tirelife.tread.procedure import grading_depth, measuring_plan
from tirelife.tread.profile import COMPONENTS, tread_profiles
from tirelife.tread.visits import tire_visits

__all__ = [
    "COMPONENTS",
    "AgeAdvice",
    "DateCode",
    "RemovalDepth",
    "TreadVerdict",
    "age_advice",
    "check_393_75",
    "grading_depth",
    "measuring_plan",
    "read_date_code",
    "removal_depth",
    "removal_depths",
    "tire_visits",
    "tread_profiles",
]
