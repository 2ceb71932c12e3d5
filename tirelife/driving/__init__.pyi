"""What ``tirelife.driving`` offers users, and below it other rooms; read by :mod:`tirelife.doors`."""

from tirelife.doors import FOR_OTHER_ROOMS

from .answers import answer_matrix as answer_matrix
from .answers import default_profile as default_profile
from .answers import profile_from_answers as profile_from_answers
from .answers import profiles_from_habits as profiles_from_habits
from .answers import speed_shares as speed_shares
from .changes import gentler as gentler
from .changes import slower as slower
from .profile import MOMENTS as MOMENTS
from .profile import DrivingProfile as DrivingProfile
from .profile import Thresholds as Thresholds
from .profile import coast_down as coast_down
from .profile import combine as combine
from .profile import parking_weight as parking_weight
from .profile import profile_from_row as profile_from_row
from .profile import profiles_to_frame as profiles_to_frame
from .trips import TripSummary as TripSummary
from .trips import reduce_trips as reduce_trips
from .trips import sum_trips as sum_trips
from .trips import summarize as summarize
from .trips import trip_statistics as trip_statistics

if FOR_OTHER_ROOMS:
    from .answers import DRIVERS_LOG_SD as DRIVERS_LOG_SD
    from .answers import Z80 as Z80
    from .changes import LEVERS as LEVERS
    from .changes import marked_by_events as marked_by_events
    from .habits import habits_table as habits_table
    from .habits import in_units as in_units
    from .partitions import cluster as cluster
    from .partitions import on_dask as on_dask
    from .partitions import reduce_parts as reduce_parts
    from .profile import MEANT_BY_HARD as MEANT_BY_HARD
    from .profile import STEERED_SHARE as STEERED_SHARE
