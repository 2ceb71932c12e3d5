"""What ends a tire's life, and what a forecast has to say beside its numbers: codes, no words."""

from __future__ import annotations

from enum import StrEnum
from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from tirelife.codes import Note, Severity
from tirelife.positions import SPARE
from tirelife.tread import Verdict

__all__ = ["NoteCode", "codes_of", "limits_and_notes", "plain_notes"]


class NoteCode(StrEnum):
    """What a forecast says of a tire beside its numbers."""

    READ_AT_LIMIT = "read-at-limit"
    """Read at or under its removal depth: no distance left."""
    AT_LIMIT = "estimated-at-limit"
    """By the estimate at its removal depth, though not read there."""
    READ_NEAR_LIMIT = "read-near-limit"
    DOES_NOT_FIT = "does-not-fit"
    """The last reading does not fit what came before: read again; the range holds both."""
    AGE_FIRST = "age-first"
    """Its age ends it before its tread does; values years, by_date, assumed (from its first mount)."""
    SPARE = "spare-lies"
    SLOWING = "wear-slows"
    SPEEDING = "wear-speeds-up"
    NEVER_READ = "never-read"
    ONE_VISIT = "one-visit"
    STALE = "not-read-lately"
    FAR_AHEAD = "date-too-far"
    NO_WEAR = "no-wear"
    """Not known: the readings show next to no wear."""
    NO_BASIS = "no-basis"
    """Not known: no depth or no distance to go by."""
    NO_ODOMETER = "no-odometer"
    ODOMETER_DOUBTED = "odometer-doubted"
    """That of its last reading is not used: the line between the vehicle's others stands in for it."""
    COMES_OFF = "comes-off"
    """Its set takes turns with another; value on_date: when it next comes off."""
    IN_STORE = "in-store"
    """The same; on_date: when it goes on again."""
    FIT_SAYS = "fit-says"
    """Not known, and the fit says why; value reason."""


_SEVERITY: Final = {
    NoteCode.READ_AT_LIMIT: Severity.URGENT,
    NoteCode.AT_LIMIT: Severity.URGENT,
    NoteCode.READ_NEAR_LIMIT: Severity.WARNING,
    NoteCode.DOES_NOT_FIT: Severity.WARNING,
    NoteCode.AGE_FIRST: Severity.WARNING,
    NoteCode.SPEEDING: Severity.DOUBT,
    NoteCode.STALE: Severity.DOUBT,
    NoteCode.ODOMETER_DOUBTED: Severity.DOUBT,
    NoteCode.NO_WEAR: Severity.DOUBT,
}
STALE_DAYS: Final = 365
"""A reading is old after so long; common practice, no source."""
BEND_LOG: Final = np.log(1.25)
"""A bend is worth a word from a rate that changes by a quarter between new and the limit; an assumption."""


def codes_of(notes: tuple[Note, ...]) -> tuple[str, ...]:
    """Codes of some notes, for a table or a branch."""
    return tuple(note.code.value for note in notes)


def plain_notes(table: pd.DataFrame) -> pd.DataFrame:
    """Put the codes of a forecast's notes, as text, in place of the notes: for files."""
    codes = ["; ".join(codes_of(notes)) for notes in table["notes"]]
    return table.drop(columns="notes").assign(codes=pd.Series(codes, table.index, dtype="str"))


def limits_and_notes(state: pd.DataFrame, result: pd.DataFrame) -> tuple[NDArray[np.object_], pd.Series]:
    """What limits each tire, as text, and its notes, as tuples; both in the order of ``state``."""
    median = result["km_left_p50"].to_numpy(dtype=float)
    known = np.isfinite(median)
    limited = np.where(known, state["groove"].to_numpy(dtype=object), "").astype(object)
    read_down = (state["verdict"] == Verdict.AT_OR_UNDER).to_numpy(dtype=bool)
    aged = _aged(state, result)
    limited[aged] = "age"
    lies = (state["position"] == SPARE).to_numpy(dtype=bool) & ~known
    limited[lies] = "age"
    turn = _bend(state)
    visits = state["visits"].to_numpy()
    age = (state["as_of"] - state["last_date"]).dt.days.to_numpy(dtype=float)
    found = {
        NoteCode.READ_AT_LIMIT: read_down,
        NoteCode.AT_LIMIT: known & (median <= 0) & ~read_down,
        NoteCode.READ_NEAR_LIMIT: (state["verdict"] == Verdict.NEAR).to_numpy(dtype=bool),
        NoteCode.DOES_NOT_FIT: ~state["fits"].to_numpy(dtype=bool),
        NoteCode.AGE_FIRST: aged,
        NoteCode.SPARE: lies,
        NoteCode.SLOWING: turn < -BEND_LOG,
        NoteCode.SPEEDING: turn > BEND_LOG,
        NoteCode.NEVER_READ: (visits == 0) & known,
        NoteCode.ONE_VISIT: (visits == 1) & known,
        NoteCode.STALE: (age > STALE_DAYS) & (visits > 0) & known,
        NoteCode.FAR_AHEAD: known & result["date_p90"].isna().to_numpy(),
        NoteCode.ODOMETER_DOUBTED: _flag(state, "odometer_doubted") & known,
        NoteCode.COMES_OFF: _turn(state) == 1,
        NoteCode.IN_STORE: _turn(state) == 0,
        **_unknown(state, ~known & ~lies),
    }
    values = {
        NoteCode.AGE_FIRST: _told(
            aged,
            years=state["age_years"],
            by_date=state["age_end"],
            assumed=state["age_assumed"].astype(bool),
        ),
        NoteCode.FIT_SAYS: _told(found[NoteCode.FIT_SAYS], reason=state["reason"]),
    }
    for code in (NoteCode.COMES_OFF, NoteCode.IN_STORE):
        if found[code].any():
            day = state["as_of"] + pd.to_timedelta(state["turn_first"], unit="D")
            values[code] = _told(found[code], on_date=day)
    return limited, _gathered(found, values)


def _told(rows: NDArray[np.bool_], **values: pd.Series) -> dict[int, tuple[tuple[str, object], ...]]:
    """What a note tells, by number of the rows that have it."""
    at = np.flatnonzero(rows)
    told = zip(*(column.iloc[at] for column in values.values()), strict=True)
    return {int(row): tuple(zip(values, one, strict=True)) for row, one in zip(at, told, strict=True)}


def _flag(state: pd.DataFrame, name: str) -> NDArray[np.bool_]:
    """A column that only a logbook's state has; a walk-in has none."""
    return state[name].to_numpy(dtype=bool) if name in state else np.zeros(len(state), dtype=bool)


def _turn(state: pd.DataFrame) -> NDArray[np.float64]:
    """Of a set in turn: 1 on the car, 0 in store; NaN where no set takes turns."""
    if "turn_on" not in state:  # a walk-in
        return np.full(len(state), np.nan)
    return state["turn_on"].to_numpy(dtype=float)


def _gathered(
    found: dict[NoteCode, NDArray[np.bool_]],
    values: dict[NoteCode, dict[int, tuple[tuple[str, object], ...]]],
) -> pd.Series:
    """Notes row by row, most urgent first; rows with the same plain notes share one tuple."""
    codes = sorted(found, key=lambda code: -_SEVERITY.get(code, Severity.NOTE))
    held = np.column_stack([found[code] for code in codes])
    out = np.empty(len(held), dtype=object)
    _, first, which = np.unique(held @ (1 << np.arange(len(codes))), return_index=True, return_inverse=True)
    own = np.array([code in values for code in codes])
    for i, kind in enumerate(held[first]):
        rows: list[int] = np.flatnonzero(which == i).tolist()
        said = [codes[j] for j in np.flatnonzero(kind)]
        if not (kind & own).any():
            shared = tuple(Note(code, _SEVERITY.get(code, Severity.NOTE)) for code in said)
            for row in rows:
                out[row] = shared
            continue
        for row in rows:
            out[row] = tuple(
                Note(code, _SEVERITY.get(code, Severity.NOTE), values[code][row] if code in values else ())
                for code in said
            )
    return pd.Series(out, dtype=object)


def _bend(state: pd.DataFrame) -> NDArray[np.float64]:
    """Log of the wear rate from here to the limit over the one before: by the fit's curvature or its own."""
    depth = np.maximum(state["mean_depth_mm"].to_numpy(dtype=float), 0.1)
    new = np.maximum(state["new_depth_mm"].to_numpy(dtype=float), depth)
    limit = np.clip(state["limit_mm"].to_numpy(dtype=float), 0.1, depth)
    by_fit = -state["q"].to_numpy(dtype=float) * np.log(new / limit)
    return np.asarray(state["bend"].to_numpy(dtype=float) + np.nan_to_num(by_fit))


def _aged(state: pd.DataFrame, result: pd.DataFrame) -> NDArray[np.bool_]:
    """Which tires reach the age limit before their median date; dates stop there already."""
    end, date = state["age_end"].to_numpy(), result["date_p50"].to_numpy()
    coded = ~np.isnat(end) & ~state["age_assumed"].to_numpy(dtype=bool)
    return np.asarray((~np.isnat(date) & ~np.isnat(end) & (end <= date)) | (coded & np.isnat(date)))


def _unknown(state: pd.DataFrame, asked: NDArray[np.bool_]) -> dict[NoteCode, NDArray[np.bool_]]:
    """Why nothing is known of some tires: one code each."""
    told = np.isfinite(state[["mean_depth_mm", "log_wear", "limit_mm"]].to_numpy(dtype=float)).all(axis=1)
    silent = (state["reason"].to_numpy(dtype=object) == "").astype(bool)
    no_odometer = asked & state["odometer_km"].isna().to_numpy()
    rest = asked & ~no_odometer
    return {
        NoteCode.NO_ODOMETER: no_odometer,
        NoteCode.NO_WEAR: rest & told,
        NoteCode.NO_BASIS: rest & ~told & silent,
        NoteCode.FIT_SAYS: rest & ~told & ~silent,
    }
