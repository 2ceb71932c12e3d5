"""What ``tirelife.inflation`` offers users, and below it other rooms; read by :mod:`tirelife.doors`."""

from tirelife.doors import FOR_OTHER_ROOMS

from .cold import cold_from_warm as cold_from_warm
from .cold import cold_pressures as cold_pressures
from .cold import hot_target as hot_target
from .cold import placard_at as placard_at
from .cold import pressure_at as pressure_at
from .cold import stated_placard as stated_placard
from .life import beyond_published as beyond_published
from .life import life_share as life_share
from .life import pressure_wear as pressure_wear
from .path import PressureSource as PressureSource
from .path import pressure_path as pressure_path
from .path import tire_readings as tire_readings
from .summary import INSPECT_KPA_PER_MONTH as INSPECT_KPA_PER_MONTH
from .summary import PressureNote as PressureNote
from .summary import leaks as leaks
from .summary import pressure_summary as pressure_summary

if FOR_OTHER_ROOMS:
    from .summary import pressures_now as pressures_now
