"""A shop's own wide sheet, read into a logbook."""

from tirelife.logbook.sheets.files import is_sheet
from tirelife.logbook.sheets.importing import Imported, Settings, import_sheet, plan_sheet

__all__ = ["Imported", "Settings", "import_sheet", "is_sheet", "plan_sheet"]
