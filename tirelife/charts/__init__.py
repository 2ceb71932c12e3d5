"""Frames in, Altair charts out; no arithmetic, no files, no global settings."""

from tirelife.charts.backtests import distance_lives, reliability_curves
from tirelife.charts.causes import wear_causes
from tirelife.charts.changes import change_pairs
from tirelife.charts.depth import depth_path
from tirelife.charts.fitted import fitted_paths, residuals
from tirelife.charts.groups import group_parts, group_ratios, monthly_budget
from tirelife.charts.notebook import in_notebook
from tirelife.charts.pressure import pressure_history
from tirelife.charts.profiles import POSITION_NAMES, tread_profiles
from tirelife.charts.rates import term_ranges
from tirelife.charts.rotation import rotation_effect
from tirelife.charts.speeds import miles_by_speed
from tirelife.charts.theme import finish, require_columns, shown
from tirelife.charts.vehicles import vehicles_in_order
from tirelife.charts.windows import replacement_windows

__all__ = [
    "POSITION_NAMES",
    "change_pairs",
    "depth_path",
    "distance_lives",
    "finish",
    "fitted_paths",
    "group_parts",
    "group_ratios",
    "in_notebook",
    "miles_by_speed",
    "monthly_budget",
    "pressure_history",
    "reliability_curves",
    "replacement_windows",
    "require_columns",
    "residuals",
    "rotation_effect",
    "shown",
    "term_ranges",
    "tread_profiles",
    "vehicles_in_order",
    "wear_causes",
]
