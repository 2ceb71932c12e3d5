"""Trips or plain answers to a driving profile."""

from tirelife.driving.answers import (
    answer_matrix,
    default_profile,
    profile_from_answers,
    profiles_from_habits,
    speed_shares,
)
from tirelife.driving.changes import gentler, slower
from tirelife.driving.profile import (
    MOMENTS,
    DrivingProfile,
    Thresholds,
    coast_down,
    combine,
    parking_weight,
    profile_from_row,
    profiles_to_frame,
)
from tirelife.driving.trips import TripSummary, reduce_trips, sum_trips, summarize, trip_statistics

__all__ = [
    "MOMENTS",
    "DrivingProfile",
    "Thresholds",
    "TripSummary",
    "answer_matrix",
    "coast_down",
    "combine",
    "default_profile",
    "gentler",
    "parking_weight",
    "profile_from_answers",
    "profile_from_row",
    "profiles_from_habits",
    "profiles_to_frame",
    "reduce_trips",
    "slower",
    "speed_shares",
    "sum_trips",
    "summarize",
    "trip_statistics",
]
