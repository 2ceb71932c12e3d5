"""Distance left and replacement dates: forecasts, what-ifs, back-tests, the walk-in."""

from tirelife.outlook.backtest import BacktestResult, backtest
from tirelife.outlook.calibrate import Calibration, calibrate, calibrated_fit, calibration
from tirelife.outlook.crossing import PROBABILITIES, crossing_probability, crossing_quantiles
from tirelife.outlook.dates import days_left
from tirelife.outlook.forecast import distance_quantiles, forecast, project
from tirelife.outlook.mileage import mileage
from tirelife.outlook.state import REMOVAL_DEPTH_MM, present_state, present_states
from tirelife.outlook.walkin import WalkIn, walk_in

__all__ = [
    "PROBABILITIES",
    "REMOVAL_DEPTH_MM",
    "BacktestResult",
    "Calibration",
    "WalkIn",
    "backtest",
    "calibrate",
    "calibrated_fit",
    "calibration",
    "crossing_probability",
    "crossing_quantiles",
    "days_left",
    "distance_quantiles",
    "forecast",
    "mileage",
    "present_state",
    "present_states",
    "project",
    "walk_in",
]
