"""A calibrated fit kept on this machine and used again, as long as nothing that it rests on has changed.

It lies in the user's cache folder (``$XDG_CACHE_HOME/tirelife/fits``, or ``~/.cache/tirelife/fits``), named
after a digest of the logbook's content, the prior and the versions of the packages that make it. It is JSON,
sealed with a key that only this user can read, and is used only if the seal fits.
"""

from __future__ import annotations

import contextlib
import hmac
import json
import os
from dataclasses import fields, is_dataclass
from enum import Enum
from importlib.metadata import version
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import numpy as np
import pandas as pd

from tirelife import __version__
from tirelife.codes import Note, Severity
from tirelife.errors import InputError
from tirelife.logbook import content_digest, whole_file
from tirelife.outlook.calibrating import calibrated_fit
from tirelife.rates import PUBLISHED, Belief, FitReason, FitVerdict, Prior, WearFit
from tirelife.wear import Factors

if TYPE_CHECKING:
    from tirelife.logbook import Logbook

__all__ = ["kept_fit"]

_FORM: Final = 1
_MOST_TIRES: Final = 20_000
"""A fit of more tires is not kept: reading it would cost as much as it saves."""
_MOST_FITS: Final = 20
_SEAL_LENGTH: Final = 64
_KINDS: Final[dict[str, Any]] = {
    kind.__name__: kind for kind in (WearFit, Prior, Belief, FitVerdict, Factors, Note)
}
_CODES: Final[dict[str, Any]] = {kind.__name__: kind for kind in (FitReason, Severity)}
"""Records and codes that a fit is made of; one with any other is not kept."""


def kept_fit(book: Logbook, prior: Prior | None = None, *, fresh: bool = False) -> WearFit:
    """The fit that :func:`tirelife.outlook.calibrated_fit` gives, from the last time if nothing has changed.

    Parameters
    ----------
    book : Logbook
    prior : Prior, optional
    fresh : bool
        Fit anew, whatever is kept.

    Returns
    -------
    WearFit
        Equal to a fit made now. A place that cannot be read or written is no trouble: then it is made now.
    """
    name = _name(book, prior)
    folder = _folder()
    if folder is not None and not fresh:
        fit = _load(folder, name)
        if fit is not None:
            return fit
    fit = calibrated_fit(book, prior)
    if folder is not None and len(fit.frames["tires"]) <= _MOST_TIRES:
        _keep(fit, folder, name)
    return fit


def _name(book: Logbook, prior: Prior | None) -> str:
    room = Path(__file__).parent.parent
    code = [
        (str(f.relative_to(room)), (s := f.stat()).st_size, s.st_mtime_ns) for f in sorted(room.rglob("*.py"))
    ]
    made_by = [_FORM, __version__, code, *(version(one) for one in ("numpy", "pandas", "scipy"))]
    rest = pd.DataFrame(
        {"what": [f"{book.as_of:%Y-%m-%d}", book.units, repr(prior or PUBLISHED), repr(made_by)]}
    )
    return content_digest([*book.tables.values(), rest])


def _folder() -> Path | None:
    home = os.environ.get("XDG_CACHE_HOME") or os.environ.get("LOCALAPPDATA")
    with contextlib.suppress(RuntimeError):
        return (Path(home) if home else Path.home() / ".cache") / "tirelife" / "fits"
    return None


def _key(folder: Path, make: bool) -> bytes | None:
    """The user's key; None if there is none, or others could have set it."""
    place = folder / "key"
    with contextlib.suppress(OSError):
        if make and not place.exists():
            with contextlib.suppress(FileExistsError):
                handle = os.open(place, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
                with os.fdopen(handle, "wb") as file:
                    file.write(os.urandom(32))
        if _is_mine(folder) and _is_mine(place):
            key = place.read_bytes()
            return key if len(key) == 32 else None
    return None


def _is_mine(place: Path) -> bool:
    """Whether nobody but this user can write there."""
    seen = place.lstat()
    mine = getattr(os, "geteuid", lambda: seen.st_uid)() == seen.st_uid
    return mine and (os.name != "posix" or not seen.st_mode & 0o022)


def _load(folder: Path, name: str) -> WearFit | None:
    key = _key(folder, make=False)
    if key is None:
        return None
    try:
        data = (folder / f"{name}.json").read_bytes()
        seal, packed = data[:_SEAL_LENGTH], data[_SEAL_LENGTH:]
        if not hmac.compare_digest(seal, _seal(key, name, packed)):
            return None
        fit = _unpacked(json.loads(packed))
        return fit if isinstance(fit, WearFit) else None
    except (OSError, ValueError, TypeError, KeyError):
        return None


def _keep(fit: WearFit, folder: Path, name: str) -> None:
    with contextlib.suppress(OSError, InputError, _CannotBeKept):
        packed = json.dumps(_packed(fit)).encode()
        if not _same(_unpacked(json.loads(packed)), fit):
            return
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        key = _key(folder, make=True)
        if key is None:
            return
        with whole_file(folder / f"{name}.json") as part:
            part.write_bytes(_seal(key, name, packed) + packed)
        (folder / f"{name}.json").chmod(0o600)
        held = sorted(folder.glob("*.json"), key=lambda file: file.stat().st_mtime)
        for old in held[:-_MOST_FITS]:
            old.unlink(missing_ok=True)


def _seal(key: bytes, name: str, packed: bytes) -> bytes:
    return hmac.new(key, name.encode() + packed, "sha256").hexdigest().encode()


class _CannotBeKept(Exception):
    """Something in a fit that is no plain value."""


def _packed(value: Any) -> Any:
    """A fit as what JSON can hold."""
    if isinstance(value, pd.DataFrame):
        columns = [[str(name), str(value[name].dtype), _cells(value[name])] for name in value]
        return {"table": columns, "rows": len(value)}
    if isinstance(value, tuple):
        return {"tuple": [_packed(one) for one in value]}
    if isinstance(value, tuple(_KINDS.values())):
        record: Any = value
        return {type(value).__name__: {f.name: _packed(getattr(record, f.name)) for f in fields(record)}}
    if isinstance(value, dict) or hasattr(value, "keys"):
        return {"map": [[name, _packed(one)] for name, one in value.items()]}
    if isinstance(value, Enum):
        if _CODES.get(type(value).__name__) is not type(value):
            raise _CannotBeKept
        return {"code": [type(value).__name__, value.value]}
    if value is None or isinstance(value, str | bool | int | float):
        return value.item() if isinstance(value, np.generic) else value
    raise _CannotBeKept


def _cells(column: pd.Series) -> list[Any]:
    if column.dtype.kind == "M":
        return [int(one) for one in column.astype("int64")]
    cells = column.tolist()
    if not all(one is None or isinstance(one, str | bool | int | float) for one in cells):
        raise _CannotBeKept
    return cells


def _unpacked(value: Any) -> Any:
    if not isinstance(value, dict):
        return value
    if "table" in value:
        columns = {name: _column(cells, kind) for name, kind, cells in value["table"]}
        return pd.DataFrame(columns, index=pd.RangeIndex(value["rows"]))
    if "map" in value:
        return {name: _unpacked(one) for name, one in value["map"]}
    if "tuple" in value:
        return tuple(_unpacked(one) for one in value["tuple"])
    if "code" in value:
        return _CODES[value["code"][0]](value["code"][1])
    ((name, held),) = value.items()
    return _KINDS[name](**{key: _unpacked(one) for key, one in held.items()})


def _column(cells: list[Any], kind: str) -> pd.Series:
    if kind.startswith("datetime64"):
        return pd.Series(np.array(cells, dtype="int64").view(np.dtype(kind)))
    return pd.Series(cells, dtype=kind)


def _same(one: Any, other: Any) -> bool:
    """Whether two fits are equal in every value, names and kinds of columns with them."""
    if isinstance(other, pd.DataFrame):
        return bool(one.equals(other) and list(one.dtypes) == list(other.dtypes))
    if is_dataclass(other):
        return all(_same(getattr(one, f.name), getattr(other, f.name)) for f in fields(other))
    if hasattr(other, "keys"):
        return list(one) == list(other) and all(_same(one[name], other[name]) for name in other)
    return bool(one == other or (one != one and other != other))
