"""Why a file, a command or a sheet is refused, as codes; the words are in :mod:`tirelife.language`."""

from __future__ import annotations

from enum import StrEnum

__all__ = ["NoSheet", "NoStore", "Refused"]


class Refused(StrEnum):
    """Why a logbook is not read or made, or a record is not taken."""

    NO_STORE = "no-store"
    NO_HISTORY = "no-history"
    VISIT_EMPTY = "visit-empty"
    NO_COLUMN = "no-column"
    HOLDS_NAMES = "holds-names"
    IS_FOLDER = "is-folder"
    NOT_THERE = "not-there"
    VEHICLE_UNKNOWN = "vehicle-unknown"
    NO_TABLE = "no-table"
    NO_RECORD = "no-record"
    NO_PLAIN_FILE = "no-plain-file"
    UNWRITTEN = "unwritten"
    FOLDER_UNMADE = "folder-unmade"
    SOURCE_MISSING = "source-missing"
    SOURCE_UNREADABLE = "source-unreadable"
    NO_LOGBOOK = "no-logbook"
    TARGET_THERE = "target-there"
    TARGET_FOLDER = "target-folder"
    TRIPS_THERE = "trips-there"
    HISTORY_FOREIGN = "history-foreign"


class NoStore(StrEnum):
    """Why a logbook in one file is not used."""

    VIEW = "store-view"
    LACKS_TABLE = "store-lacks-table"
    MORE_TABLES = "store-more-tables"
    VIRTUAL = "store-virtual"
    COLUMNS = "store-columns"
    OTHER = "store-other"
    MORE = "store-more"
    LACKS = "store-lacks"
    BUSY = "store-busy"
    FULL = "store-full"
    READ_ONLY = "store-read-only"
    UNOPENED = "store-unopened"
    DISK = "store-disk"
    FOREIGN = "store-foreign"
    DAMAGED = "store-damaged"
    TEXT = "store-text"
    NAME = "store-name"
    LARGE = "store-large"
    WORK = "store-work"
    CONTENT = "store-content"
    VERSION = "store-version"
    EARLIER = "store-earlier"
    SAID = "store-said"
    """``why``: what SQLite says, in its words."""
    RECORD = "store-record"
    UNUSABLE = "store-unusable"


class NoSheet(StrEnum):
    """Why a sheet, or what goes with it, is not imported."""

    DUAL = "dual"
    DUAL_OR_GROOVE = "dual-or-groove"
    HEADER_AGAIN = "header-again"
    SEVERAL_VEHICLES = "sheet-several-vehicles"
    NO_VISIT_USABLE = "no-visit-usable"
    NO_DEPTH_READ = "no-depth-read"
    OTHER_SHOP = "other-shop"
    OTHER_VERSION = "other-version"
    IMPORT_THERE = "import-there"
    NO_ROWS = "sheet-no-rows"
    NO_DEPTH_COLUMN = "no-depth-column"
    CELL_NO_VALUE = "cell-no-value"
    CELL_FORMULA = "cell-formula"
    NO_VISIT = "no-visit"
    MISSING = "sheet-missing"
    NO_FILE = "sheet-no-file"
    LARGE = "sheet-large"
    NEEDS_CALAMINE = "needs-calamine"
    NO_SHEET = "no-sheet"
    LOCKED = "sheet-locked"
    DAMAGED = "sheet-damaged"
    NO_TEXT = "sheet-no-text"
    EMPTY = "sheet-empty"
    NO_MAPPING = "no-mapping"
    MAPPING_PART = "mapping-part"
    IMPORT_FOREIGN = "import-foreign"
