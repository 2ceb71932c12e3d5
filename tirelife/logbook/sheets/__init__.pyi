"""What ``tirelife.logbook.sheets`` offers users, and below it other rooms; read by :mod:`tirelife.doors`."""

from tirelife.doors import FOR_OTHER_ROOMS

from .files import is_sheet as is_sheet
from .importing import Imported as Imported
from .importing import Settings as Settings
from .importing import import_sheet as import_sheet
from .importing import plan_sheet as plan_sheet

if FOR_OTHER_ROOMS:
    from .mapping import mapping_text as mapping_text
    from .origin import ORIGIN_HEAD as ORIGIN_HEAD
    from .origin import log_mark as log_mark
    from .origin import origin_of as origin_of
    from .settings import settings_typed as settings_typed
    from .template import template_rows as template_rows
    from .template import write_template as write_template
    from .words import contains as contains
    from .words import folded as folded
    from .words import vocabulary as vocabulary
    from .words import wheel_of as wheel_of
