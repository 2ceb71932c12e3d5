"""What ``tirelife.charts`` offers users, and below it other rooms; read by :mod:`tirelife.doors`."""

from .backtests import distance_lives as distance_lives
from .backtests import reliability_curves as reliability_curves
from .causes import wear_causes as wear_causes
from .changes import change_pairs as change_pairs
from .depth import depth_path as depth_path
from .fitted import fitted_paths as fitted_paths
from .fitted import residuals as residuals
from .groups import group_parts as group_parts
from .groups import group_ratios as group_ratios
from .groups import monthly_budget as monthly_budget
from .notebook import in_notebook as in_notebook
from .pressure import pressure_history as pressure_history
from .profiles import POSITION_NAMES as POSITION_NAMES
from .profiles import tread_profiles as tread_profiles
from .rates import term_ranges as term_ranges
from .rotation import rotation_effect as rotation_effect
from .speeds import miles_by_speed as miles_by_speed
from .theme import finish as finish
from .theme import require_columns as require_columns
from .theme import shown as shown
from .vehicles import vehicles_in_order as vehicles_in_order
from .windows import replacement_windows as replacement_windows
