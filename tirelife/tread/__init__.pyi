"""What ``tirelife.tread`` offers users, and below it other rooms; read by :mod:`tirelife.doors`."""

from tirelife.doors import FOR_OTHER_ROOMS

from .age import AgeAdvice as AgeAdvice
from .age import DateCode as DateCode
from .age import age_advice as age_advice
from .age import read_date_code as read_date_code
from .causes import Wheel as Wheel
from .causes import weigh_wheels as weigh_wheels
from .checks import Step as Step
from .checks import checks_first as checks_first
from .correction import correction_factors as correction_factors
from .correction import remaining_ratios as remaining_ratios
from .evidence import Seen as Seen
from .history import Weak as Weak
from .history import WheelHistory as WheelHistory
from .history import measured_toe as measured_toe
from .history import wheel_histories as wheel_histories
from .limits import RemovalDepth as RemovalDepth
from .limits import removal_depth as removal_depth
from .limits import removal_depths as removal_depths
from .patterns import CAUSE_NAMES as CAUSE_NAMES
from .profile import COMPONENTS as COMPONENTS
from .profile import last_read as last_read
from .profile import latest_profiles as latest_profiles
from .profile import profiles_of as profiles_of
from .profile import spot_table as spot_table
from .profile import tread_profiles as tread_profiles
from .reading import ACROSS_TREAD_MM as ACROSS_TREAD_MM
from .reading import MEASURE_FROM as MEASURE_FROM
from .reading import Why as Why
from .reading import next_steps as next_steps
from .reading import weigh_causes as weigh_causes
from .reduction import reduce_readings as reduce_readings
from .signs import Finding as Finding
from .signs import Sign as Sign
from .signs import parse_finding as parse_finding
from .signs import sign_advice as sign_advice
from .verdict import NEAR_MM as NEAR_MM
from .verdict import REMOVAL_DEPTH_MM as REMOVAL_DEPTH_MM
from .verdict import STAYS_PUT as STAYS_PUT
from .verdict import VERDICT_COLUMNS as VERDICT_COLUMNS
from .verdict import Verdict as Verdict
from .verdict import judge as judge
from .verdict import measured as measured
from .verdict import measured_by_hand as measured_by_hand
from .verdict import measured_grooves as measured_grooves
from .verdict import unclaimed as unclaimed
from .verdict import verdict_columns as verdict_columns
from .verdict import verdict_notes as verdict_notes
from .verdict import verdicts as verdicts
from .verdict import worst_of_vehicles as worst_of_vehicles
from .visits import groove_states as groove_states
from .visits import tire_visits as tire_visits

if FOR_OTHER_ROOMS:
    from .verdict import MEASURED_COLUMNS as MEASURED_COLUMNS
    from .verdict import error_by_hand as error_by_hand
