"""The tables: read, check, record."""

from tirelife.logbook.model import Logbook, stretches
from tirelife.logbook.read import read_logbook
from tirelife.logbook.schema import BANDS, GROOVES, POSITIONS, ROAD_POSITIONS, SCHEMA

__all__ = [
    "BANDS",
    "GROOVES",
    "POSITIONS",
    "ROAD_POSITIONS",
    "SCHEMA",
    "Logbook",
    "read_logbook",
    "stretches",
]
