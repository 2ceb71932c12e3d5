"""Depths go by one name each: those that head a column, an axis, a table or a section.

Which depth it is stands in the name: as read; corrected for the gauge; today's estimate; when new; the depth at
which a tire comes off. Of several grooves it says least, or mean. A name that speaks of depth and is not here is
one that nobody agreed on.
"""

import re

HEADINGS = {
    "en": {
        "as read", "least read", "depths, as read",
        "least", "least so far", "least depth so far, and what is likely", "(least)",
        "least read, corrected", "mean of the grooves, corrected", "least today, estimate",
        "depth when new", "the depth when new",
        "mean depth", "mean depth over known mounts",  # that a back-test forecasts: of a visit's grooves, corrected
    },
    "es": {
        "leído", "lectura mínima", "profundidades leídas",
        "mínimo", "mínimo hasta hoy y lo que es probable", "(la mínima)",
        "mínimo hoy, estimado", "profundidad de nuevas", "la profundidad de nuevas",
        "profundidad media", "profundidad media con los montajes sabidos",
    },
}  # fmt: skip
"""Alone under a section's heading that says of which day, "least" is enough for an axis."""
COLUMNS = {
    "new_depth", "new_depth_sd",  # when new
    "depth",  # of the logbook's own table: a reading
    "read_raw",  # the least, as read
    "read", "profile", "shallowest",  # the least, of each groove, the least of the grooves' means: less the gauge's bias
    "read_mean", "read_least_groove", *(f"read_{g}" for g in ("outer", "outer_mid", "center", "inner_mid", "inner")),
    "depth_now", "depth_now_sd",  # the least today, by estimate
    "fitted_mean", "fitted_mean_sd",  # by the fit on the day of a visit
    "removal_depth", "advised_depth", "limit", "over",  # at which it comes off; a reading over which
    "axle_difference", "apart", "residual", "resolution", "gauge_bias", "bias", "repeatability", "value", "std_error",
}  # fmt: skip
"""Columns and keys of tables in a length of tread, their unit left off."""


def names_of(keys, units="32nds"):
    """Names of lengths of tread among keys, their unit left off."""
    found = (re.fullmatch(rf"(.+)_({units})(_se|_p\d+)?", key) for key in keys)
    return {match.group(1) for match in found if match}


PROSE = ("as read", "corrected for the gauge", "removal depth", "least today", "when new", "published")
"""A sentence of a notebook that speaks of a depth says one of these: which it is, or whose."""


def keys(answer):
    """Every key in an answer of JSON."""
    parts = answer.values() if isinstance(answer, dict) else answer if isinstance(answer, list) else ()
    return {*(answer if isinstance(answer, dict) else ()), *(k for part in parts for k in keys(part))}
