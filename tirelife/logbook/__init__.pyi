"""What ``tirelife.logbook`` offers users, and below it other rooms; read by :mod:`tirelife.doors`."""

from tirelife.doors import FOR_OTHER_ROOMS

from .codes import Ask as Ask
from .codes import Found as Found
from .codes import Slip as Slip
from .codes import doubted as doubted
from .convert import convert_logbook as convert_logbook
from .convert import create_logbook as create_logbook
from .distance import cut_stretches as cut_stretches
from .distance import odometer_at as odometer_at
from .distance import record_at as record_at
from .distance import with_usable_odometers as with_usable_odometers
from .earlier import known_on as known_on
from .earlier import of_vehicles as of_vehicles
from .export import csv_text as csv_text
from .export import safe_cell as safe_cell
from .export import write_csv as write_csv
from .findings import no_problems as no_problems
from .findings import to_problems as to_problems
from .gauges import corrected as corrected
from .gauges import gauge_study as gauge_study
from .model import Logbook as Logbook
from .model import kept as kept
from .model import stretches as stretches
from .read import check_and_read as check_and_read
from .read import check_logbook as check_logbook
from .read import read_logbook as read_logbook
from .record import Recorded as Recorded
from .record import Visit as Visit
from .record import correct_record as correct_record
from .record import record_visit as record_visit
from .record import withdraw_record as withdraw_record
from .schema import BANDS as BANDS
from .schema import GROOVES as GROOVES
from .schema import SCHEMA as SCHEMA
from .sheets import import_sheet as import_sheet
from .slips import asked_once as asked_once
from .whole import folder_for as folder_for
from .whole import whole_file as whole_file

if FOR_OTHER_ROOMS:
    from .arrivals import ROTATIONS as ROTATIONS
    from .arrivals import moved_by_name as moved_by_name
    from .arrivals import new_set as new_set
    from .growth import GAUGE_TOLERANCE as GAUGE_TOLERANCE
    from .history import logbook_changes as logbook_changes
    from .history import untrue as untrue
    from .number import depth_words as depth_words
    from .number import told_number as told_number
    from .parts import PartsDone as PartsDone
    from .parts import claim_folder as claim_folder
    from .parts import content_digest as content_digest
    from .parts import is_done as is_done
    from .parts import mark_of as mark_of
    from .parts import write_part as write_part
    from .record import store_path as store_path
    from .schema import inside_name as inside_name
    from .sources import STORE_NAME as STORE_NAME
    from .store import connect as connect
