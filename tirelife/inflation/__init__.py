"""Readings to cold pressure, its history, and its cost."""

from tirelife.inflation.cold import cold_from_warm, cold_pressures, hot_target, placard_at, pressure_at
from tirelife.inflation.life import beyond_published, life_share, pressure_wear
from tirelife.inflation.path import PressureSource, pressure_path, tire_readings
from tirelife.inflation.summary import INSPECT_KPA_PER_MONTH, PressureNote, leaks, pressure_summary

__all__ = [
    "INSPECT_KPA_PER_MONTH",
    "PressureNote",
    "PressureSource",
    "beyond_published",
    "cold_from_warm",
    "cold_pressures",
    "hot_target",
    "leaks",
    "life_share",
    "placard_at",
    "pressure_at",
    "pressure_path",
    "pressure_summary",
    "pressure_wear",
    "tire_readings",
]
