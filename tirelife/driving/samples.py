"""Read recorded trips as blocks of whole trips: CSV, Parquet, a folder of either, or a frame.

Only a few blocks are in memory at once, whatever the size of the files. Trips may straddle blocks and
files. Where the rows of a trip lie apart, they go through buckets in a temporary folder first.
"""

from __future__ import annotations

import tempfile
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path
from typing import IO, Any, Final
from urllib.parse import unquote

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from tirelife.driving.kernel import Runs
from tirelife.driving.wrong import Wrong
from tirelife.errors import InputError, Problem, misused, refusal
from tirelife.logbook import SCHEMA
from tirelife.units import INSIDE, KINDS, split_unit

__all__ = ["Block", "ScatteredError", "files_of", "named_columns", "read_blocks"]

BLOCK_ROWS: Final = 1 << 18
LONGEST: Final = 1 << 21
"""A trip with more samples (24 days at 1 Hz) is cut in parts, so that memory stays bounded."""
_BUCKETS: Final = 64
_KEYS: Final = ("vehicle_id", "trip_id")
_LABELS: Final = ("date", "driver_group")
_NUMBERS: Final = ("time", "speed", "longitudinal", "lateral", "heading")
_KIND: Final = {column.name: column.kind for column in SCHEMA["trips"]}
_SUFFIXES: Final = (".csv", ".parquet", ".pq")


class NoTrips(StrEnum):
    """Why recorded trips are not read."""

    SAME = "trips-same"
    NO_UNIT = "trips-no-unit"
    LACKS = "trips-lacks"
    MISSING = "trips-missing"
    NONE = "trips-none"
    UNREADABLE = "trips-unreadable"
    CUT = "trips-cut"
    BLANK = "trips-blank"
    BLANKS = "trips-blanks"
    NO_NUMBER = "trips-no-number"
    CELLS = "trips-cells"


@dataclass(frozen=True, eq=False)
class Block:
    """Samples of trips, trip after trip, and what each trip is called.

    ``labels`` has one row a trip: vehicle_id, trip_id, date, driver_group (empty texts where unknown).
    """

    labels: pd.DataFrame
    runs: Runs


class ScatteredError(Exception):
    """The rows of a trip lie apart."""


@dataclass(frozen=True, eq=False)
class _Piece:
    # Rows as they lie in the file. Texts are codes into categories; numbers are in inside units.
    texts: Mapping[str, tuple[NDArray[Any], NDArray[Any] | None]]
    numbers: Mapping[str, NDArray[np.float64]]

    def __len__(self) -> int:
        return len(self.numbers["time"])


def read_blocks(source: Any, *, scattered: bool = False) -> Iterator[Block]:
    """Blocks of whole trips, in the order in which the trips end in the file.

    Parameters
    ----------
    source : path or frame
        A CSV or Parquet file, a list of them, a folder of either (also partitioned as
        ``vehicle_id=V01/...``), a logbook folder with a ``trips`` table, or a pandas, Polars or Arrow
        frame; columns as in the logbook's ``trips``.
    scattered : bool
        Whether the rows of a trip may lie apart.

    Raises
    ------
    InputError
        If there are no trips, a column is missing or there twice, or a cell is not what it should be.
    ScatteredError
        If the rows of a trip lie apart although that was not said.
    """
    pieces = _pieces(source)
    return _from_buckets(pieces) if scattered else _whole(pieces)


def _pieces(source: Any) -> Iterator[_Piece]:
    if isinstance(source, str | Path | list):
        files = source if isinstance(source, list) else files_of(Path(source))
        for file in files:
            yield from _from_csv(file) if file.suffix == ".csv" else _from_parquet(file)
    elif isinstance(source, pd.DataFrame):
        whole = _from_pandas(source, named_columns(source.columns, "trips"), "trips", 2)
        for row in range(0, len(whole), BLOCK_ROWS):
            yield _slice(whole, row, row + BLOCK_ROWS)
    else:
        for batch in _batches(source):
            columns = named_columns(batch.schema.names, "trips")
            for row in range(0, len(batch), BLOCK_ROWS):
                yield _from_batch(batch.slice(row, BLOCK_ROWS), columns, {}, "trips")


def _batches(source: Any) -> Iterator[Any]:
    """Arrow batches of a frame of another library, a few at a time where it can.

    A lazy Polars frame comes in batches where it has ``collect_batches``; an older one is collected whole.
    """
    try:
        import pyarrow as pa
    except ImportError:
        raise misused(Wrong.FRAME_PYARROW) from None
    if hasattr(source, "collect_batches"):  # a lazy Polars frame
        for frame in source.collect_batches(chunk_size=BLOCK_ROWS, maintain_order=True):
            yield from pa.RecordBatchReader.from_stream(frame)
    elif hasattr(source, "__arrow_c_stream__"):
        with pa.RecordBatchReader.from_stream(source) as reader:
            yield from reader
    elif hasattr(source, "lazy") and hasattr(source, "collect"):
        yield from _batches(source.collect())
    else:
        kind = type(source).__name__
        raise misused(Wrong.TRIPS_KIND, kind=kind)


def _whole(pieces: Iterable[_Piece]) -> Iterator[Block]:
    """Join trips that straddle pieces; hold back the last trip of each until it has ended."""
    seen: set[tuple[str, str]] = set()
    held: list[_Piece] = []
    last = pd.DataFrame()  # the held trip's row of labels
    key, cuts = ("", ""), 0
    for piece in pieces:
        if not len(piece):
            continue
        starts, labels = _runs_of(piece)
        if len(starts) > 1000 and 4 * len(starts) > len(piece):
            raise ScatteredError
        keys = list(zip(labels["vehicle_id"], labels["trip_id"], strict=True))
        goes_on = 1 if held and keys[0] == key else 0
        before = len(seen)
        seen.update(keys[goes_on:])
        if len(seen) != before + len(keys) - goes_on:
            raise ScatteredError
        if goes_on and len(starts) == 1:
            held.append(piece)
            if sum(map(len, held)) > LONGEST:
                cuts += 1
                block, held = _cut(held, last)
                yield block
                last = last.assign(trip_id=f"{key[1]} ({cuts + 1})")
            continue
        rows, end = sum(map(len, held)), int(starts[-1])
        ready = pd.concat([last, labels[goes_on:]], ignore_index=True)[:-1]
        if len(ready):
            bounds = np.concatenate([[0] if held else [], starts[goes_on:] + rows]).astype(np.int64)
            yield _block(ready, bounds[:-1], _joined([*held, _slice(piece, 0, end)]))
        held, last, key, cuts = [_slice(piece, end, len(piece))], labels[-1:], keys[-1], 0
    if held:
        yield _block(last.reset_index(drop=True), np.zeros(1, dtype=np.int64), _joined(held))


def _cut(held: list[_Piece], label: pd.DataFrame) -> tuple[Block, list[_Piece]]:
    """Cut a trip too long to hold, at its last standstill; the sample there belongs to both parts."""
    numbers = _joined(held)
    n = len(numbers["time"])
    still = np.flatnonzero(numbers["speed"][n // 2 :] == 0) if "speed" in numbers else np.arange(0)
    at = n // 2 + int(still[-1]) if len(still) else n - 1
    first = {name: values[: at + 1] for name, values in numbers.items()}
    rest = {name: values[at:] for name, values in numbers.items()}
    return _block(label.reset_index(drop=True), np.zeros(1, dtype=np.int64), first), [_Piece({}, rest)]


def _from_buckets(pieces: Iterable[_Piece]) -> Iterator[Block]:
    """Put the rows of a trip together in files that hold a share of the trips each, then sort each file."""
    numbers_of: dict[tuple[Any, ...], int] = {}
    labels: list[dict[str, str]] = []
    with tempfile.TemporaryDirectory() as folder:
        paths = [Path(folder, f"{i}.npy") for i in range(_BUCKETS)]
        for piece in pieces:
            if not len(piece):
                continue
            trip = _trip_numbers(piece, numbers_of, labels)
            order = np.argsort(trip % _BUCKETS, kind="stable")
            edges = np.searchsorted((trip % _BUCKETS)[order], np.arange(_BUCKETS + 1))
            for i in np.flatnonzero(np.diff(edges)):
                rows = order[edges[i] : edges[i + 1]]
                with paths[i].open("ab") as file:
                    _dump(file, trip[rows], {k: v[rows] for k, v in piece.numbers.items()})
        for path in paths:
            if path.exists():
                trip, numbers = _load(path)
                order = np.argsort(trip, kind="stable")
                trip = trip[order]
                starts = np.flatnonzero(np.append(True, trip[1:] != trip[:-1]))
                names = pd.DataFrame([labels[k] for k in trip[starts]])
                yield _block(names, starts, {k: v[order] for k, v in numbers.items()})


def _dump(file: IO[bytes], trip: NDArray[np.int64], numbers: dict[str, NDArray[np.float64]]) -> None:
    for array in (trip, np.array(list(numbers), dtype=str), *numbers.values()):
        np.save(file, array, allow_pickle=False)


def _load(path: Path) -> tuple[NDArray[np.int64], dict[str, NDArray[np.float64]]]:
    parts = []
    with path.open("rb") as file:
        while file.peek(1):
            trip, names = (np.load(file, allow_pickle=False) for _ in range(2))
            parts.append((trip, {str(name): np.load(file, allow_pickle=False) for name in names}))
    return np.concatenate([p[0] for p in parts]), _joined_numbers([p[1] for p in parts])


def _trip_numbers(
    piece: _Piece, numbers_of: dict[tuple[Any, ...], int], labels: list[dict[str, str]]
) -> NDArray[np.int64]:
    """A number for each row's trip, the same in all pieces."""
    codes = [np.unique(piece.texts[k][0], return_inverse=True)[1] for k in _KEYS]
    pair = codes[0].astype(np.int64) * (int(codes[1].max()) + 1) + codes[1]
    _, first, inverse = np.unique(pair, return_index=True, return_inverse=True)
    names = _labels_at(piece, first)
    out = np.empty(len(first), dtype=np.int64)
    for i, row in enumerate(names.to_dict("records")):
        key = (row["vehicle_id"], row["trip_id"])
        if key not in numbers_of:
            numbers_of[key] = len(labels)
            labels.append({str(k): str(v) for k, v in row.items()})
        out[i] = numbers_of[key]
    return out[inverse]


def _runs_of(piece: _Piece) -> tuple[NDArray[np.int64], pd.DataFrame]:
    change = np.zeros(len(piece), dtype=bool)
    change[0] = True
    for key in _KEYS:
        codes = piece.texts[key][0]
        change[1:] |= codes[1:] != codes[:-1]
    starts = np.flatnonzero(change)
    return starts, _labels_at(piece, starts)


def _labels_at(piece: _Piece, rows: NDArray[np.int64]) -> pd.DataFrame:
    out = {}
    for role in (*_KEYS, *_LABELS):
        if role not in piece.texts:
            out[role] = np.full(len(rows), "", dtype=object)
            continue
        codes, categories = piece.texts[role]
        at = codes[rows]
        out[role] = at.astype(str).astype(object) if categories is None else categories[at]
    return pd.DataFrame(out)


def _block(labels: pd.DataFrame, starts: NDArray[np.int64], numbers: Mapping[str, Any]) -> Block:
    return Block(
        labels,
        Runs(
            starts.astype(np.int64),
            numbers["time"],
            numbers.get("speed", np.full(len(numbers["time"]), np.nan)),
            numbers.get("lateral"),
            numbers.get("heading"),
            numbers.get("longitudinal"),
        ),
    )


def _slice(piece: _Piece, low: int, high: int) -> _Piece:
    texts = {k: (codes[low:high], categories) for k, (codes, categories) in piece.texts.items()}
    return _Piece(texts, {k: v[low:high] for k, v in piece.numbers.items()})


def _joined(pieces: Sequence[_Piece]) -> dict[str, NDArray[np.float64]]:
    return _joined_numbers([p.numbers for p in pieces if len(p)])


def _joined_numbers(parts: Sequence[Mapping[str, NDArray[np.float64]]]) -> dict[str, NDArray[np.float64]]:
    if len(parts) == 1:
        return dict(parts[0])
    names = [name for name in _NUMBERS if any(name in p for p in parts)]
    return {
        name: np.concatenate([p[name] if name in p else np.full(len(p["time"]), np.nan) for p in parts])
        for name in names
    }


def named_columns(names: Iterable[Any], file: str, given: Iterable[str] = ()) -> dict[str, tuple[str, float]]:
    """Find which column holds what, and the factor that takes its numbers to inside units.

    Parameters
    ----------
    names : iterable of str
        The header.
    file : str
        For messages.
    given : iterable of str
        Columns known from elsewhere, such as a partition's folder.

    Raises
    ------
    InputError
        If one is missing, there twice, or has no unit in its name. A table of accelerations may do without
        speeds.

    Examples
    --------
    >>> named_columns(["vehicle_id", "trip_id", "time_s", "speed_kmh"], "trips.csv")["speed"][0]
    'speed_kmh'
    """
    header = [str(n) for n in names]
    out: dict[str, tuple[str, float]] = {}
    problems = []
    for role, kind in _KIND.items():
        unit_kind = kind in INSIDE
        found = [n for n in header if n == role or (unit_kind and split_unit(n, [kind])[0] == role)]
        name = f"{role}_{INSIDE[kind]}" if unit_kind else role
        if len(found) > 1:
            values: tuple[tuple[str, object], ...] = (("first", found[0]), ("second", found[1]))
            problems.append(Problem(file, 1, found[1], "", code=NoTrips.SAME, values=values))
        elif found:
            unit = split_unit(found[0], [kind])[1] if unit_kind else None
            if unit_kind and unit is None:
                values = (("name", name),)
                problems.append(Problem(file, 1, role, "", code=NoTrips.NO_UNIT, values=values))
            out[role] = (found[0], KINDS[kind][unit][0] if unit else 1.0)
        elif role in (*_KEYS, "time", "speed") and role not in given:
            if role == "speed" and _accelerations(header):
                continue
            problems.append(Problem(file, 1, name, "", code=NoTrips.LACKS))
    if problems:
        raise InputError(problems)
    return out


def _accelerations(header: list[str]) -> bool:
    """Whether there are accelerations along or across the road, under names that say so."""
    held = [split_unit(n, ["acceleration"]) for n in header]
    return any(role in ("longitudinal", "lateral") and unit is not None for role, unit in held)


def files_of(path: Path) -> list[Path]:
    """Files of recorded trips: this one, or all in this folder, or a logbook's own."""
    if not path.exists():
        raise refusal(path, NoTrips.MISSING)
    if path.is_dir():
        inside = [path / name for name in ("trips.parquet", "trips.csv", "trips") if (path / name).exists()]
        if inside:
            return files_of(inside[0])
        files = sorted(f for f in path.rglob("*") if f.suffix in _SUFFIXES and f.name[0] not in "._")
        if files:
            return files
    elif path.suffix in _SUFFIXES:
        return [path]
    raise refusal(path, NoTrips.NONE)


def _from_csv(file: Path) -> Iterator[_Piece]:
    try:
        header = list(pd.read_csv(file, nrows=0, encoding="utf-8-sig"))
    except (ValueError, OSError) as error:
        raise refusal(file, NoTrips.UNREADABLE, why=str(error)) from None
    columns = named_columns(header, file.name)
    texts = [columns[role][0] for role in (*_KEYS, *_LABELS) if role in columns]
    numbers = [columns[role][0] for role in _NUMBERS if role in columns]
    row = 2
    with pd.read_csv(
        file,
        usecols=[*texts, *numbers],
        dtype=dict.fromkeys(texts, "str"),
        keep_default_na=False,
        na_values={name: ["", "NaN", "nan", "NA"] for name in numbers},
        encoding="utf-8-sig",
        chunksize=BLOCK_ROWS,
    ) as chunks:
        while True:
            try:
                chunk = next(chunks, None)
            except (ValueError, OSError) as error:  # a quote that is never closed, letters that are not UTF-8
                raise refusal(file, NoTrips.UNREADABLE, why=str(error)) from None
            if chunk is None:
                return
            yield _from_pandas(chunk, columns, file.name, row)
            row += len(chunk)


def _from_pandas(
    frame: pd.DataFrame, columns: Mapping[str, tuple[str, float]], file: str, row: int
) -> _Piece:
    texts, numbers = {}, {}
    for role in (*_KEYS, *_LABELS):
        if role not in columns:
            continue
        values = frame[columns[role][0]]
        if values.dtype == "category":
            codes, categories = values.cat.codes.to_numpy(), values.cat.categories
        else:
            codes, categories = pd.factorize(values)
        names = _as_texts(pd.Series(categories))
        if role in _KEYS:
            blank = np.flatnonzero((codes < 0) | (np.append(names, "")[codes] == ""))
            if len(blank):
                at = row + int(blank[0])
                raise refusal(file, NoTrips.BLANK, at, role)
        texts[role] = (codes.astype(np.int64), np.append(names, ""))
    for role in _NUMBERS:
        if role in columns:
            name, factor = columns[role]
            numbers[role] = _as_numbers(frame[name], file, row) * factor
    return _Piece(texts, numbers)


def _as_texts(values: pd.Series) -> NDArray[Any]:
    if values.dtype.kind == "M":
        values = values.dt.strftime("%Y-%m-%d")
    return values.astype(str).to_numpy(dtype=object)


def _as_numbers(values: pd.Series, file: str, row: int) -> NDArray[np.float64]:
    if values.dtype.kind in "fiu":
        return values.to_numpy(dtype=np.float64)
    # As texts: a whole number too long for any float would not come back as one.
    numbers = pd.to_numeric(values.where(values.isna(), values.astype("str")), errors="coerce")
    wrong = np.flatnonzero(numbers.isna() & values.notna() & (values.astype(str).str.strip() != ""))
    if len(wrong):
        name = str(values.name)
        raise InputError(
            [
                Problem(file, row + int(i), name, str(values.iloc[i]), code=NoTrips.NO_NUMBER)
                for i in wrong[:20]
            ]
        )
    return numbers.to_numpy(dtype=np.float64, na_value=np.nan)


def _from_parquet(file: Path) -> Iterator[_Piece]:
    try:
        import pyarrow as pa
        import pyarrow.parquet as pq
    except ImportError:
        raise misused(Wrong.READING_PYARROW, name=file.name) from None
    folders = [part.partition("=") for part in file.parts[:-1] if "=" in part]
    given = {key: unquote(value) for key, _, value in folders if key in (*_KEYS, *_LABELS)}
    try:
        schema = pq.read_schema(file)
        columns = named_columns(schema.names, file.name, given)
        wanted = [name for name, _ in columns.values()]
        texts = [n for n in wanted if pa.types.is_string(schema.field(n).type)]
        opened = pq.ParquetFile(file, read_dictionary=texts)
        for batch in opened.iter_batches(BLOCK_ROWS, columns=wanted):
            yield _from_batch(batch, columns, given, file.name)
    except pa.ArrowException as error:
        raise refusal(file, NoTrips.CUT, why=str(error)) from None


def _from_batch(
    batch: Any, columns: Mapping[str, tuple[str, float]], given: Mapping[str, str], file: str
) -> _Piece:
    import pyarrow as pa

    texts: dict[str, tuple[NDArray[Any], NDArray[Any] | None]] = {}
    numbers = {}
    for role in (*_KEYS, *_LABELS):
        if role in given:
            texts[role] = (np.zeros(len(batch), dtype=np.int64), np.array([given[role]], dtype=object))
        elif role in columns:
            values = batch.column(columns[role][0])
            if role in _KEYS and values.null_count:
                raise refusal(file, NoTrips.BLANKS, column=role)
            if pa.types.is_integer(values.type):
                texts[role] = (values.to_numpy(zero_copy_only=False), None)
                continue
            if not pa.types.is_dictionary(values.type):
                values = values.dictionary_encode()
            codes = values.indices.fill_null(-1).to_numpy(zero_copy_only=False)
            texts[role] = (codes, np.append(_as_texts(pd.Series(values.dictionary.to_pylist())), ""))
    for role in _NUMBERS:
        if role in columns:
            name, factor = columns[role]
            values = batch.column(name)
            if not (pa.types.is_integer(values.type) or pa.types.is_floating(values.type)):
                raise refusal(file, NoTrips.CELLS, column=name, cells=str(values.type))
            array = values.to_numpy(zero_copy_only=False).astype(np.float64, copy=False)
            numbers[role] = array if factor == 1.0 else array * factor
    return _Piece(texts, numbers)
