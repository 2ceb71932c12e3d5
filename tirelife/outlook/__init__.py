"""Distance left and replacement dates: forecasts, what-ifs, back-tests, the walk-in."""

from tirelife.outlook.ahead import PROBABILITIES
from tirelife.outlook.backtest import BacktestResult, Target, backtest
from tirelife.outlook.calibrate import Calibration, calibrate, calibrated_fit, calibration
from tirelife.outlook.correction import CORRECTIONS, correct_causes, correction_ratios, gain_factors
from tirelife.outlook.fleet import forecast_fleet, what_if_fleet
from tirelife.outlook.forecast import distance_quantiles, forecast, project
from tirelife.outlook.kept import kept_fit
from tirelife.outlook.notes import NoteCode, codes_of
from tirelife.outlook.scores import Held, held, reliability, score_predictions
from tirelife.outlook.sets import first_chances, set_outlook
from tirelife.outlook.state import REMOVAL_DEPTH_MM, present_state, present_states
from tirelife.outlook.turning import chance_longer, rotation_by_tire, rotation_worth
from tirelife.outlook.unknown import Fact, worth_in_fleet, worth_of_facts
from tirelife.outlook.walkin import WalkIn, walk_in
from tirelife.outlook.whatif import Otherwise, otherwise_states, what_if, what_ifs
from tirelife.rates.mileage import mileage
from tirelife.rates.turns import told_shares

__all__ = [
    "CORRECTIONS",
    "PROBABILITIES",
    "REMOVAL_DEPTH_MM",
    "BacktestResult",
    "Calibration",
    "Fact",
    "Held",
    "NoteCode",
    "Otherwise",
    "Target",
    "WalkIn",
    "backtest",
    "calibrate",
    "calibrated_fit",
    "calibration",
    "chance_longer",
    "codes_of",
    "correct_causes",
    "correction_ratios",
    "distance_quantiles",
    "first_chances",
    "forecast",
    "forecast_fleet",
    "gain_factors",
    "held",
    "kept_fit",
    "mileage",
    "otherwise_states",
    "present_state",
    "present_states",
    "project",
    "reliability",
    "rotation_by_tire",
    "rotation_worth",
    "score_predictions",
    "set_outlook",
    "told_shares",
    "walk_in",
    "what_if",
    "what_if_fleet",
    "what_ifs",
    "worth_in_fleet",
    "worth_of_facts",
]
