"""What a caller of this room may have got wrong, as codes; the words are in :mod:`tirelife.language`."""

from __future__ import annotations

from enum import StrEnum

__all__ = ["Wrong"]


class Wrong(StrEnum):
    """Arguments that cannot be used."""

    CURVED = "rates-curved"
    NO_MOUNT = "rates-no-mount"
    LINE = "rates-line"
    LIVES_UNREAD = "rates-lives-unread"
    LIVES_COLUMNS = "rates-lives-columns"
    METHOD = "rates-method"
    NOT_FINITE = "rates-not-finite"
    TOO_FEW = "rates-too-few"
    NOT_FOUND = "rates-not-found"
    NO_COLUMN = "rates-no-column"
    INDEPENDENT = "rates-independent"
    NO_READING = "rates-no-reading"
    BEFORE_ZERO = "rates-before-zero"
    NEEDS_START = "rates-needs-start"
    UNSEEN = "rates-unseen"
    VARIANCES = "rates-variances"
    NOT_CONVERGED = "rates-not-converged"
    NO_SAVED_FIT = "rates-no-saved-fit"
    SAVED_VERSION = "rates-saved-version"
    SAVED_FIELDS = "rates-saved-fields"
    SAVED_LARGE = "rates-saved-large"
    SAVED_UNREAD = "rates-saved-unread"
    SAVED_JSON = "rates-saved-json"
    NO_SETS = "rates-no-sets"
    SET_SHARE = "rates-set-share"
