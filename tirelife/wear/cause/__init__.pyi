"""What ``tirelife.wear.cause`` offers users, and below it other rooms; read by :mod:`tirelife.doors`."""

from tirelife.doors import FOR_OTHER_ROOMS

from .found import CAUSE_LOG_SD as CAUSE_LOG_SD
from .found import CAUSES as CAUSES
from .found import RECORDS as RECORDS
from .record import Cause as Cause

if FOR_OTHER_ROOMS:
    from .alignment import WHEEL_DIAMETER_MM as WHEEL_DIAMETER_MM
