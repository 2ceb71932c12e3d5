"""What ``tirelife.wear`` offers users, and below it other rooms; read by :mod:`tirelife.doors`."""

from tirelife.doors import FOR_OTHER_ROOMS

from .alignment import PREPARATION as PREPARATION
from .alignment import Judged as Judged
from .alignment import Measured as Measured
from .alignment import Range as Range
from .alignment import camber_without_runout as camber_without_runout
from .alignment import compare_with_specification as compare_with_specification
from .alignment import sideways_slip as sideways_slip
from .alignment import toe_angle_deg as toe_angle_deg
from .alignment import toe_wear as toe_wear
from .alignment import total_toe as total_toe
from .alignment import worksheet as worksheet
from .cause import CAUSE_LOG_SD as CAUSE_LOG_SD
from .cause import CAUSES as CAUSES
from .cause import RECORDS as RECORDS
from .cause import Cause as Cause
from .changes import Change as Change
from .changes import Conditions as Conditions
from .changes import causes as causes
from .changes import change_ratio as change_ratio
from .changes import change_ratios as change_ratios
from .changes import conditions_ahead as conditions_ahead
from .changes import ratio_of as ratio_of
from .changes import walk_in as walk_in
from .energy import causes_at_wheel as causes_at_wheel
from .energy import reference_shares as reference_shares
from .energy import tangential_energy as tangential_energy
from .energy import tread_wear as tread_wear
from .energy import wheel_energy as wheel_energy
from .factors import ASSUMED as ASSUMED
from .factors import Factors as Factors
from .factors import severity_log_sd as severity_log_sd
from .reference import add_reference as add_reference
from .reference import cause_distance as cause_distance
from .reference import reference_at as reference_at
from .reference import stretch_severity as stretch_severity
from .reference import toe_history as toe_history
from .reference import usual_moments as usual_moments
from .severities import answer_causes as answer_causes
from .severities import answer_weights as answer_weights
from .severities import severity as severity
from .unknowns import vehicle_log_sd as vehicle_log_sd
from .vehicle import Vehicle as Vehicle
from .vehicle import vehicle_of as vehicle_of
from .vehicle import vehicle_table as vehicle_table

if FOR_OTHER_ROOMS:
    from .ahead import book_about as book_about
    from .alignment import worksheet_typed as worksheet_typed
