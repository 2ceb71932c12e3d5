"""The tables: read, check, record."""

from tirelife.logbook.codes import Ask, Found, doubted
from tirelife.logbook.convert import convert_logbook, create_logbook
from tirelife.logbook.distance import cut_stretches, odometer_at, record_at, with_usable_odometers
from tirelife.logbook.earlier import known_on, of_vehicles
from tirelife.logbook.export import csv_text, folder_for, safe_cell, whole_file, write_csv
from tirelife.logbook.findings import no_problems, to_problems
from tirelife.logbook.gauges import corrected, gauge_study
from tirelife.logbook.model import Logbook, kept, stretches
from tirelife.logbook.read import check_and_read, check_logbook, read_logbook
from tirelife.logbook.record import Recorded, Visit, correct_record, record_visit, withdraw_record
from tirelife.logbook.schema import BANDS, GROOVES, POSITIONS, ROAD_POSITIONS, SCHEMA
from tirelife.logbook.sheets import import_sheet
from tirelife.logbook.slips import Slip, asked_once

__all__ = [
    "BANDS",
    "GROOVES",
    "POSITIONS",
    "ROAD_POSITIONS",
    "SCHEMA",
    "Ask",
    "Found",
    "Logbook",
    "Recorded",
    "Slip",
    "Visit",
    "asked_once",
    "check_and_read",
    "check_logbook",
    "convert_logbook",
    "correct_record",
    "corrected",
    "create_logbook",
    "csv_text",
    "cut_stretches",
    "doubted",
    "folder_for",
    "gauge_study",
    "import_sheet",
    "kept",
    "known_on",
    "no_problems",
    "odometer_at",
    "of_vehicles",
    "read_logbook",
    "record_at",
    "record_visit",
    "safe_cell",
    "stretches",
    "to_problems",
    "whole_file",
    "with_usable_odometers",
    "withdraw_record",
    "write_csv",
]
