"""What ``tirelife`` offers; read by :mod:`tirelife.doors`."""

from .driving import reduce_trips as reduce_trips
from .driving import trip_statistics as trip_statistics
from .errors import FitError as FitError
from .errors import InputError as InputError
from .logbook import check_logbook as check_logbook
from .logbook import import_sheet as import_sheet
from .logbook import read_logbook as read_logbook
from .outlook import forecast as forecast
from .outlook import walk_in as walk_in
from .rates import fit_logbook as fit_logbook
from .tread import tire_visits as tire_visits

__version__: str
