"""What ``tirelife.outlook`` offers users, and below it other rooms; read by :mod:`tirelife.doors`."""

from tirelife.doors import FOR_OTHER_ROOMS

from .ahead import PROBABILITIES as PROBABILITIES
from .backtests import BacktestResult as BacktestResult
from .backtests import Target as Target
from .backtests import backtest as backtest
from .calibrating import Calibration as Calibration
from .calibrating import calibrate as calibrate
from .calibrating import calibrated_fit as calibrated_fit
from .calibrating import calibration as calibration
from .correction import CORRECTIONS as CORRECTIONS
from .correction import correct_causes as correct_causes
from .correction import correction_ratios as correction_ratios
from .correction import gain_factors as gain_factors
from .fleet import forecast_fleet as forecast_fleet
from .fleet import what_if_fleet as what_if_fleet
from .forecasts import distance_quantiles as distance_quantiles
from .forecasts import forecast as forecast
from .forecasts import project as project
from .kept import kept_fit as kept_fit
from .notes import NoteCode as NoteCode
from .notes import codes_of as codes_of
from .scores import Held as Held
from .scores import held as held
from .scores import reliability as reliability
from .scores import score_predictions as score_predictions
from .sets import first_chances as first_chances
from .sets import set_outlook as set_outlook
from .state import REMOVAL_DEPTH_MM as REMOVAL_DEPTH_MM
from .state import present_state as present_state
from .state import present_states as present_states
from .turning import chance_longer as chance_longer
from .turning import rotation_by_tire as rotation_by_tire
from .turning import rotation_worth as rotation_worth
from .unknown import Fact as Fact
from .unknown import worth_in_fleet as worth_in_fleet
from .unknown import worth_of_facts as worth_of_facts
from .walkin import WalkIn as WalkIn
from .walkin import walk_in as walk_in
from .whatif import Otherwise as Otherwise
from .whatif import otherwise_states as otherwise_states
from .whatif import what_if as what_if
from .whatif import what_ifs as what_ifs

if FOR_OTHER_ROOMS:
    from .ahead import Course as Course
    from .asking import slip_rule as slip_rule
    from .counter import counter_tables as counter_tables
    from .dates import HORIZON_YEARS as HORIZON_YEARS
    from .dates import dates_after as dates_after
    from .files import plain_dates as plain_dates
    from .files import write_table as write_table
    from .returning import known_cars as known_cars
    from .rotation_ahead import through_rotations as through_rotations
    from .scores import BANDS_KM as BANDS_KM
    from .scores import LIMIT_MM as LIMIT_MM
    from .scores import ORIGIN as ORIGIN
    from .stored import stored_state as stored_state
    from .typed import walkin_typed as walkin_typed
