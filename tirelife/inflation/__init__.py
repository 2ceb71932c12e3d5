"""Readings to cold pressure, its history, and its cost."""

from tirelife.inflation.cold import cold_from_warm, cold_pressures, hot_target, placard_at, pressure_at
from tirelife.inflation.life import beyond_published, life_share, pressure_wear
from tirelife.inflation.path import pressure_path, tire_readings

__all__ = [
    "beyond_published",
    "cold_from_warm",
    "cold_pressures",
    "hot_target",
    "life_share",
    "placard_at",
    "pressure_at",
    "pressure_path",
    "pressure_wear",
    "tire_readings",
]
