"""What was measured last on each mounted tire, and whether it stands over, near or under its limit anywhere.

No estimate comes into this room's answer: the least single reading decides, over all grooves and spots, with
the gauge's own error. An average over the tread hides the one place that is down, and a fit can outvote a
whole visit; the verdict stands above both.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from enum import StrEnum
from typing import TYPE_CHECKING, Final

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from tirelife.codes import Note, Severity
from tirelife.logbook import GROOVES
from tirelife.normal import ndtr
from tirelife.positions import MOUNTED, ROAD
from tirelife.tread.gauge import infer_resolution, reading_variances, usual_spread
from tirelife.tread.visits import depth_biases, groove_states
from tirelife.units import INCH_32ND_MM

if TYPE_CHECKING:
    from tirelife.logbook import Logbook

__all__ = [
    "MEASURED_COLUMNS",
    "NEAR_CHANCE",
    "NEAR_MM",
    "REMOVAL_DEPTH_MM",
    "STAYS_PUT",
    "VERDICT_COLUMNS",
    "Verdict",
    "error_by_hand",
    "judge",
    "measured",
    "measured_by_hand",
    "measured_grooves",
    "unclaimed",
    "verdict_columns",
    "verdict_notes",
    "verdicts",
    "worst_of_vehicles",
]

REMOVAL_DEPTH_MM: Final = 2 * INCH_32ND_MM
"""2/32 in, where treadwear indicators stand (FMVSS 139 S5.4) and most states draw the line. [mm]"""
NEAR_MM: Final = 1.5 * INCH_32ND_MM
"""A reading this little over the limit is near it: 1.5/32 in. Our choice: what 8,000 miles, the longest usual
interval between rotations (TireWise, NHTSA), take of 8.5/32 in that last 45,000 miles (NHTSA, FMVSS 138
analysis). [mm]"""
NEAR_CHANCE: Final = 0.05
"""Chance that the tread is at its limit, from which a tire is near it; our choice."""
_SAME_MM: Final = 1e-6
"""Two depths closer than this are one: 2/32 in may reach us as 1.5875 or as 1.58750001 mm."""

MEASURED_COLUMNS: Final = [
    "vehicle_id", "tire_id", "position", "read_vehicle_id", "read_at_position", "read_date",
    "read_odometer_km", "groove", "spot", "gauge_id", "least_mm", "least_raw_mm", "error_mm", "moved",
]  # fmt: skip
"""Columns of :func:`measured`."""
VERDICT_COLUMNS: Final = [
    "verdict", "read_mm", "read_raw_mm", "read_at", "read_groove", "read_date", "chance_at_limit",
]  # fmt: skip
"""What a frame of tires carries of the verdict, straight after the columns that name the tire."""


class Verdict(StrEnum):
    """Where a tire stands by its last readings; also the code of the note that says so."""

    AT_OR_UNDER = "at-or-under"
    """A reading, as read or less the gauge's bias, is at or under the limit."""
    NEAR = "near"
    """The least reading is within a setting of the limit, or may be at it for all the gauge can tell."""
    OVER = "over"
    NOT_READ = "not-read"
    """No depth of this tire is known."""

    @property
    def severity(self) -> Severity:
        """How much it matters."""
        return _SEVERITY[self]


STAYS_PUT: Final = (Verdict.AT_OR_UNDER, Verdict.NEAR)
"""Verdicts on which a tire is to be replaced or read again, and not rotated."""
_WORST_FIRST: Final = (Verdict.AT_OR_UNDER, Verdict.NEAR, Verdict.NOT_READ, Verdict.OVER)
_SEVERITY: Final = {
    Verdict.AT_OR_UNDER: Severity.URGENT,
    Verdict.NEAR: Severity.WARNING,
    Verdict.OVER: Severity.NOTE,
    Verdict.NOT_READ: Severity.DOUBT,
}


def measured(
    book: Logbook,
    vehicles: Iterable[str] | None = None,
    *,
    resolution_mm: float | Mapping[str, float] | None = None,
) -> pd.DataFrame:
    """Give the least depth read last on every mounted tire, and where that was.

    Parameters
    ----------
    book : Logbook
        Read with ``as_of`` to stand on an earlier day.
    vehicles : iterable of str, optional
        All by default.
    resolution_mm : float or mapping of str to float, optional
        Step of the gauges; inferred where it is not given. [mm]

    Returns
    -------
    DataFrame
        :data:`MEASURED_COLUMNS`, a row a tire that is on a vehicle (the spare too), by vehicle and place.
        ``position`` is where the tire is, ``read_at_position`` where it was when it was read and ``moved``
        whether those differ; ``least_mm`` is the least single reading less the bias of its gauge,
        ``least_raw_mm`` the least as read, ``groove``, ``spot`` and ``gauge_id`` those of ``least_mm``;
        ``error_mm`` is the standard error of one reading: spread, rounding and the bias's own error.
        A tire that was never read has NaN, NaT and empty texts.

    Notes
    -----
    Of each groove the last day on which it was read counts: a groove that was found down and not read
    again is still down.
    """
    return _measured(book, vehicles, groove_states(book, resolution_mm))


def _measured(book: Logbook, vehicles: Iterable[str] | None, states: pd.DataFrame) -> pd.DataFrame:
    on = _mounted(book, vehicles)
    found = _least_of_tires(_grooves(book, on, states))
    out = on[["vehicle_id", "tire_id", "position"]].merge(
        found.reset_index(), on="tire_id", how="left", validate="many_to_one"
    )
    for name in ("read_vehicle_id", "read_at_position", "groove", "spot", "gauge_id"):
        out[name] = out[name].fillna("").astype("str")
    known = out["least_mm"].notna()
    elsewhere = (out["read_at_position"] != out["position"]) | (out["read_vehicle_id"] != out["vehicle_id"])
    out["moved"] = known & elsewhere
    rank = out["position"].map({place: i for i, place in enumerate(MOUNTED)})
    out = out.iloc[np.lexsort((rank, out["vehicle_id"]))]
    return out[MEASURED_COLUMNS].reset_index(drop=True)


def unclaimed(book: Logbook, vehicles: Iterable[str] | None = None) -> pd.DataFrame:
    """Give the least depth read last at wheels where no tire is known to be: a reading stands all the same.

    Arguments as of :func:`measured`.

    Returns
    -------
    DataFrame
        :data:`MEASURED_COLUMNS`, a row a wheel with no tire by the log and readings since its last one came
        off; ``tire_id`` is empty.
    """
    return _unclaimed(book, vehicles, groove_states(book))


def _unclaimed(book: Logbook, vehicles: Iterable[str] | None, states: pd.DataFrame) -> pd.DataFrame:
    states, path = states[states["tire_id"] == ""], book.stretches
    states = states[states["position"].isin(ROAD)]
    if vehicles is not None:
        states = states[states["vehicle_id"].isin(list(vehicles))]
    if states.empty:
        return pd.DataFrame(columns=MEASURED_COLUMNS)
    wheel = pd.MultiIndex.from_frame(states[["vehicle_id", "position"]])
    by_wheel = path.groupby(["vehicle_id", "position"])
    ended = by_wheel["to_date"].max().reindex(wheel).to_numpy()
    bare = ~by_wheel["open"].any().reindex(wheel).fillna(False).to_numpy(dtype=bool)
    states = states[bare & (pd.isna(ended) | (states["date"].to_numpy() >= ended))]
    if states.empty:
        return pd.DataFrame(columns=MEASURED_COLUMNS)
    apart = states["vehicle_id"] + "\x1f" + states["position"]
    found = _least_of_tires(_read_as(_last_of_grooves(states.assign(tire_id=apart)), book)).reset_index()
    out = found.assign(
        vehicle_id=found["read_vehicle_id"], position=found["read_at_position"], tire_id="", moved=False
    )
    return out.sort_values(["vehicle_id", "position"])[MEASURED_COLUMNS].reset_index(drop=True)


def measured_grooves(
    book: Logbook,
    vehicles: Iterable[str] | None = None,
    *,
    resolution_mm: float | Mapping[str, float] | None = None,
) -> pd.DataFrame:
    """Give the least depth read last in each groove of the mounted tires; arguments as of :func:`measured`.

    Returns
    -------
    DataFrame
        tire_id, read_vehicle_id, read_at_position, read_date, read_odometer_km, groove, spot, gauge_id,
        least_mm, least_raw_mm, error_mm; a row a tire and groove that was ever read.
    """
    return _grooves(book, _mounted(book, vehicles), groove_states(book, resolution_mm))


def _grooves(book: Logbook, on: pd.DataFrame, states: pd.DataFrame) -> pd.DataFrame:
    there = pd.Index(on["tire_id"].unique()).get_indexer(pd.Index(states["tire_id"])) >= 0
    states = states[there & (states["tire_id"] != "").to_numpy()]
    return _read_as(_last_of_grooves(states), book)


def _least_of_tires(last: pd.DataFrame) -> pd.DataFrame:
    """By tire_id, the groove read least, of several the one read later; ``least_raw_mm`` is of all."""
    raw = last.groupby("tire_id", sort=False)["least_raw_mm"].min()
    least = last.sort_values(["least_mm", "read_date"], ascending=[True, False], kind="stable")
    return least.drop_duplicates("tire_id").drop(columns="least_raw_mm").set_index("tire_id").join(raw)


def _mounted(book: Logbook, vehicles: Iterable[str] | None) -> pd.DataFrame:
    path = book.stretches
    on = path[path["open"]].drop_duplicates(["vehicle_id", "position"], keep="last")
    return on if vehicles is None else on[on["vehicle_id"].isin(list(vehicles))]


def _last_of_grooves(states: pd.DataFrame) -> pd.DataFrame:
    """One row a tire and groove: its least reading on the last day that the groove was read."""
    tire = pd.factorize(states["tire_id"])[0]
    by = (states["odometer_km"].to_numpy(), states["date"].to_numpy(), tire)
    ordered = states.iloc[np.lexsort(by)]
    names = {
        "vehicle_id": "read_vehicle_id", "position": "read_at_position", "date": "read_date",
        "odometer_km": "read_odometer_km", "least_sd_mm": "error_mm",
    }  # fmt: skip
    parts = []
    for groove in GROOVES:
        read = ordered[ordered[f"n_{groove}"] > 0].drop_duplicates("tire_id", keep="last")
        part = read[["tire_id", *names]].rename(columns=names)
        part["groove"] = groove
        part["least_mm"] = read[f"least_{groove}_mm"]
        parts.append(part)
    return pd.concat(parts, ignore_index=True)


def _read_as(last: pd.DataFrame, book: Logbook) -> pd.DataFrame:
    """Add the spot and the gauge of each least reading, and the least depth as read, from the readings."""
    keys = ["vehicle_id", "position", "date", "groove"]
    depths = book.depths
    depths = depths[depths["date"].isin(last["read_date"].unique()) & depths["depth_mm"].notna()]
    spot = _plain(depths["spot"]) if "spot" in depths else ""
    depths = depths[[*keys, "gauge_id", "depth_mm"]].assign(spot=spot)
    depths["gauge_id"] = depths["gauge_id"].fillna("").astype("str")
    wanted = last[["read_vehicle_id", "read_at_position", "read_date", "groove", "least_mm"]]
    wanted = wanted.set_axis([*keys, "least_mm"], axis=1).assign(row=np.arange(len(last)))
    both = wanted.merge(depths, on=keys, how="inner")
    bias = depth_biases(book).set_index("gauge_id")["bias"].astype(float)
    corrected = (both["depth_mm"] - both["gauge_id"].map(bias).astype(float).fillna(0.0)).clip(lower=0.0)
    # Two tires may have been read in one place on one day: what lies under the least is the other's.
    both = both[corrected >= both["least_mm"] - _SAME_MM].assign(corrected=corrected)
    first = both.sort_values(["row", "corrected"], kind="stable").drop_duplicates("row").set_index("row")
    first = first.reindex(np.arange(len(last)))
    raw = both.groupby("row")["depth_mm"].min().reindex(np.arange(len(last)))
    return last.assign(
        spot=first["spot"].to_numpy(object),
        gauge_id=first["gauge_id"].to_numpy(object),
        least_raw_mm=raw.to_numpy(float),
    )


def _plain(spot: pd.Series) -> pd.Series:
    """Spots as they were written: a whole number without its ``.0``."""
    text = spot.astype("str").where(spot.notna(), "")
    return text.str.removesuffix(".0")


def measured_by_hand(depths_mm: Mapping[str, ArrayLike], on: pd.Timestamp) -> pd.DataFrame:
    """The same for depths of one visit that stand in no logbook.

    Parameters
    ----------
    depths_mm : mapping of str to array_like
        By position, the depths of its grooves from the outside inwards. [mm]
    on : Timestamp
        Day of the visit.

    Returns
    -------
    DataFrame
        :data:`MEASURED_COLUMNS`; the gauge is unknown, so its usual spread and the step that the depths
        show stand for it. ``tire_id`` is the position; ``groove`` is empty.
    """
    read = {place: np.atleast_1d(np.asarray(values, dtype=float)) for place, values in depths_mm.items()}
    out = pd.DataFrame({"position": list(read), "least_mm": [float(v.min()) for v in read.values()]})
    blank = dict.fromkeys(("vehicle_id", "read_vehicle_id", "groove", "spot", "gauge_id"), "")
    return out.assign(
        **blank,
        tire_id=out["position"],
        read_at_position=out["position"],
        read_date=on,
        read_odometer_km=np.nan,
        least_raw_mm=out["least_mm"],
        error_mm=error_by_hand(np.concatenate(list(read.values()))) if read else float("nan"),
        moved=False,
    )[MEASURED_COLUMNS]


def error_by_hand(depths_mm: ArrayLike) -> float:
    """Standard error of one depth of a visit that stands in no logbook, its gauge unknown. [mm]"""
    step = infer_resolution(np.asarray(depths_mm, dtype=float))
    marks = 0.0 if np.isnan(step) else step
    single, shared = reading_variances(marks, usual_spread(marks), float("nan"))
    return float((single + shared) ** 0.5)


def judge(
    found: pd.DataFrame,
    removal_depth_mm: float | pd.Series = REMOVAL_DEPTH_MM,
    *,
    near_mm: float = NEAR_MM,
    near_chance: float = NEAR_CHANCE,
) -> pd.DataFrame:
    """Judge what was measured against the removal depth.

    Parameters
    ----------
    found : DataFrame
        From :func:`measured` or :func:`measured_by_hand`.
    removal_depth_mm : float or Series
        For all, or by the position where the tire is. [mm]
    near_mm : float
        How little over the limit is near it. [mm]
    near_chance : float
        Chance at the limit from which a tire is near it.

    Returns
    -------
    DataFrame
        ``found``, then ``limit_mm``, ``verdict`` (text of a :class:`Verdict`) and ``chance_at_limit``: that
        the tread where the least was read is at or under the limit, the gauge's error being normal; NaN if
        the tire was not read.

    Notes
    -----
    A reading that stood at the limit stays there though the bias of its gauge be known: a correction lifts no
    tire over a limit, another gauge does. The least of several readings is a little low by chance; nothing is
    taken off for that.
    """
    limit = _limits(found["position"], removal_depth_mm)
    least, raw = found["least_mm"].to_numpy(float), found["least_raw_mm"].to_numpy(float)
    error = np.maximum(found["error_mm"].to_numpy(float), 1e-9)
    chance = ndtr((limit - least) / error)
    down = np.fmin(least, raw) <= limit + _SAME_MM
    near = (least <= limit + near_mm + _SAME_MM) | (chance > near_chance)
    verdict = np.full(len(found), Verdict.OVER.value, dtype=object)
    verdict[near] = Verdict.NEAR.value
    verdict[down] = Verdict.AT_OR_UNDER.value
    verdict[np.isnan(least)] = Verdict.NOT_READ.value
    out = found.assign(limit_mm=limit, verdict=pd.Series(verdict, found.index, dtype="str"))
    return out.assign(chance_at_limit=chance)


def verdicts(
    book: Logbook,
    removal_depth_mm: float | pd.Series = REMOVAL_DEPTH_MM,
    vehicles: Iterable[str] | None = None,
    *,
    near_mm: float = NEAR_MM,
) -> pd.DataFrame:
    """One verdict on every tire: :func:`judge` of :func:`measured`, and of :func:`unclaimed`.

    ``table[table["verdict"].isin(STAYS_PUT)]`` are the tires to replace or to read again.
    """
    names = None if vehicles is None else list(vehicles)
    states = groove_states(book)
    mounted, others = _measured(book, names, states), _unclaimed(book, names, states)
    found = pd.concat([mounted, others], ignore_index=True) if len(others) else mounted
    return judge(found, removal_depth_mm, near_mm=near_mm)


def verdict_columns(table: pd.DataFrame) -> pd.DataFrame:
    """Return the columns that other frames of tires carry of :func:`judge`: :data:`VERDICT_COLUMNS`.

    Returns
    -------
    DataFrame
        By tire_id; ``read_mm`` is the least depth read, less its gauge's bias, ``read_raw_mm`` the least as
        read, ``read_at`` the wheel at which it was read then.
    """
    names = {
        "least_mm": "read_mm", "least_raw_mm": "read_raw_mm", "read_at_position": "read_at",
        "groove": "read_groove",
    }  # fmt: skip
    return table.rename(columns=names).set_index("tire_id")[VERDICT_COLUMNS]


def worst_of_vehicles(table: pd.DataFrame) -> pd.DataFrame:
    """Return the row of each vehicle's tire that is worst off: by its verdict, then by its reading.

    Parameters
    ----------
    table : DataFrame
        vehicle_id and :data:`VERDICT_COLUMNS`, a row a tire.

    Returns
    -------
    DataFrame
        Rows of ``table``, one a vehicle, indexed by vehicle_id.
    """
    rank = table["verdict"].map({verdict.value: i for i, verdict in enumerate(_WORST_FIRST)})
    order = np.lexsort((table["read_mm"].to_numpy(float), rank.to_numpy(float)))
    return table.iloc[order].drop_duplicates("vehicle_id").set_index("vehicle_id")


def verdict_notes(table: pd.DataFrame) -> tuple[Note, ...]:
    """Turn verdicts that ask for something into notes, most urgent first, then by vehicle and place.

    Parameters
    ----------
    table : DataFrame
        From :func:`verdicts` or :func:`judge`.

    Returns
    -------
    tuple of Note
        Code :attr:`Verdict.AT_OR_UNDER` or :attr:`Verdict.NEAR`; values vehicle_id, tire_id, position,
        read_at_position, read_date, groove, spot, read_mm, read_raw_mm, limit_mm, chance_at_limit, moved.
    """
    told = table[table["verdict"].isin(STAYS_PUT)]
    notes = []
    for row in told.to_dict("records"):
        names = ("vehicle_id", "tire_id", "position", "read_at_position", "read_date", "groove", "spot")
        values = [(name, row[name]) for name in names]
        values += [("read_mm", row["least_mm"]), ("read_raw_mm", row["least_raw_mm"])]
        values += [(name, row[name]) for name in ("limit_mm", "chance_at_limit", "moved")]
        verdict = Verdict(row["verdict"])
        notes.append(Note(verdict, verdict.severity, tuple(values)))
    return tuple(sorted(notes, key=lambda note: -note.severity))


def _limits(position: pd.Series, removal_depth_mm: float | pd.Series) -> NDArray[np.float64]:
    if isinstance(removal_depth_mm, pd.Series):
        return position.map(removal_depth_mm).to_numpy(dtype=float)
    return np.full(len(position), float(removal_depth_mm))
