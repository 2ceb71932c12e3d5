"""Depths as typed, a set of four put on, tires moved by a pattern's name: the records that these take."""

from __future__ import annotations

import difflib
import re
from collections.abc import Sequence
from pathlib import Path

from tirelife.errors import misused
from tirelife.logbook.lives import PATTERNS
from tirelife.logbook.number import depth_words
from tirelife.logbook.store import connect
from tirelife.logbook.wrong import Wrong
from tirelife.positions import OFF, ROAD

__all__ = ["ROTATIONS", "depths_typed", "moved_by_name", "new_set", "tires_on"]

_GROOVES = {
    1: ("center",),
    2: ("outer", "inner"),
    3: ("outer", "center", "inner"),
    4: ("outer", "outer_mid", "inner_mid", "inner"),
    5: ("outer", "outer_mid", "center", "inner_mid", "inner"),
}

ROTATIONS = {name.replace(" ", "-"): s for name, s in PATTERNS.items() if min(s) >= 0 and name != "stay"}
"""Patterns by name: where the tire of each wheel, LF RF LR RR, comes from."""


def tires_on(logbook: Path, vehicle: str, date: str = "9999-12-31") -> dict[str, str]:
    """Tire at each place of a vehicle on a day, the records of that day included."""
    on: dict[str, str] = {}
    with connect(logbook) as connection:
        names = [entry[0] for entry in connection.execute("select * from mounts limit 0").description]
        far = next(name for name in names if name.startswith("odometer_"))
        records = connection.execute(
            f"select tire_id, position from mounts where vehicle_id = ? and date <= ? "
            f"and _superseded_by is null order by date, {far}, position <> 'OFF', _row",
            (vehicle, date),
        )
        for tire, place in records:
            on = {p: t for p, t in on.items() if t != tire}
            if place != OFF:
                on[place] = tire
    return on


def new_set(
    logbook: Path, vehicle: str, date: str, line: str, depth: str
) -> tuple[list[tuple[str, str, str]], list[tuple[str, str]]]:
    """Four new tires of one line, with ids that can be read, in place of those on the vehicle.

    Returns
    -------
    new_tires : list of (tire_id, tire_line, new_depth)
    mounts : list of (tire_id, position)
    """
    with connect(logbook) as connection:
        taken = {str(one) for (one,) in connection.execute("select tire_id from tires")}
    tires, mounts = [], [(tire, OFF) for p, tire in tires_on(logbook, vehicle, date).items() if p in ROAD]
    for wheel in ROAD:
        name, number = f"{vehicle} {wheel} {date[:7]}", 2
        while name in taken:
            name, number = f"{vehicle} {wheel} {date[:7]} ({number})", number + 1
        tires.append((name, line, depth))
        mounts.append((name, wheel))
    return tires, mounts


def moved_by_name(logbook: Path, vehicle: str, date: str, name: str) -> list[tuple[str, str]]:
    """Mounts of a rotation by its name.

    Raises
    ------
    InputError
        If there is no such pattern, or a wheel of the vehicle has no tire.
    """
    key = "-".join(name.lower().replace("_", " ").replace("-", " ").split())
    if key not in ROTATIONS:
        close = difflib.get_close_matches(key, ROTATIONS, n=1, cutoff=0.4)
        known = ", ".join(ROTATIONS)
        if close:
            raise misused(Wrong.ROTATION_LIKE, name=name, like=close[0], known=known)
        raise misused(Wrong.ROTATION, name=name, known=known)
    on = tires_on(logbook, vehicle, date)
    bare = [wheel for wheel in ROAD if wheel not in on]
    if bare:
        raise misused(Wrong.BARE, vehicle=vehicle, places=", ".join(bare))
    return [(on[ROAD[s]], wheel) for wheel, s in zip(ROAD, ROTATIONS[key], strict=True) if ROAD[s] != wheel]


def depths_typed(words: Sequence[str]) -> list[tuple[str, str, str, str]]:
    """Readings of one tire as they are typed: position, groove, depth, spot.

    Parameters
    ----------
    words : sequence of str
        A position and one to five depths across the tread from outside (one is the center's, two the outer
        and inner groove's, four leave out the center), or ``GROOVE=VALUE`` or ``GROOVE@SPOT=VALUE``.

    Raises
    ------
    InputError
        If there are more depths, or something else is mixed in.

    Examples
    --------
    >>> depths_typed(["LF", "7", "7.5"]), depths_typed(["RF", "center@2=6"])
    ([('LF', 'outer', '7', ''), ('LF', 'inner', '7.5', '')], [('RF', 'center', '6', '2')])
    """
    position, values = words[0], words[1:]
    if any("=" in value for value in values):
        out = []
        for value in values:
            match = re.fullmatch(r"([a-z_]+)(?:@(\d+))?=(.+)", value)
            if match is None:
                raise misused(Wrong.GROOVE_VALUE, position=position, given=value)
            out.append((position, match[1], match[3], match[2] or ""))
        return out
    values = [one for word in values for one in depth_words(f"--depth {position}", word)]
    if len(values) not in _GROOVES:
        raise misused(Wrong.DEPTH_COUNT, position=position)
    return [
        (position, groove, value, "") for groove, value in zip(_GROOVES[len(values)], values, strict=True)
    ]
