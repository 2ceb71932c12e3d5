"""Answers in parts, one file a part, so that a run that was stopped goes on where it was.

A part counts as done only if the note beside it says that it was made by this version of the package, from
the same inputs and settings, and its bytes have the digest in the note. Any other part is made again.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from hashlib import blake2b
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from tirelife import __version__
from tirelife.errors import misused
from tirelife.logbook.whole import clear_temporaries, folder_for, whole_file
from tirelife.logbook.wrong import Wrong

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["ABOUT", "PartsDone", "claim_folder", "content_digest", "is_done", "mark_of", "write_part"]

ABOUT: Final = "_about"
"""Folder of the notes, and how the manifest's name begins: readers of Parquet folders pass over it."""
_MANIFEST: Final = f"{ABOUT}.json"


@dataclass(frozen=True)
class PartsDone:
    """A folder of parts: how many were there already and how many were made now; stands for its path."""

    folder: Path
    kept: int
    made: int

    def __fspath__(self) -> str:
        return str(self.folder)

    def __str__(self) -> str:
        return f"{self.folder}: {self.kept:,} parts kept, {self.made:,} made"


def mark_of(**settings: Any) -> str:
    """What a part rests on, as a text: the package's version and what is given."""
    return json.dumps({"version": __version__, **settings}, sort_keys=True)


def is_done(part: Path, mark: str) -> bool:
    """Whether a part is there, whole, and made by this version from what ``mark`` says."""
    try:
        note = json.loads(_note(part).read_text(encoding="utf-8"))
        return bool(note["mark"] == mark and note["digest"] == _digest(part))
    except (OSError, ValueError, KeyError, TypeError):
        return False


def write_part(part: Path, mark: str, write: Callable[[Path], object]) -> None:
    """Write a part, whole or not at all, and then the note that makes it count.

    Parameters
    ----------
    part : Path
    mark : str
        From :func:`mark_of`.
    write : callable
        Given the temporary path to write to.

    Raises
    ------
    InputError
        If it cannot be written.
    """
    note = _note(part)
    with folder_for(note.parent):
        note.unlink(missing_ok=True)
        with whole_file(part) as half:
            write(half)
            digest = _digest(half)
        with whole_file(note) as half:
            half.write_text(json.dumps({"mark": mark, "digest": digest}), encoding="utf-8")


def claim_folder(folder: Path, same: dict[str, Any], **also: Any) -> None:
    """Make a folder ours, or find that it is: nobody else's files are written over.

    Parameters
    ----------
    folder : Path
    same : dict
        What another run must have in common with this one to write into the same folder.
    **also
        What the manifest tells beside that.

    Raises
    ------
    InputError
        If it holds another run's files, or others, or cannot be used.
    """
    try:
        with folder_for(folder):
            clear_temporaries(folder)
            manifest = folder / _MANIFEST
            if manifest.exists():
                held = json.loads(manifest.read_text(encoding="utf-8"))
                if not isinstance(held, dict) or any(held.get(k) != v for k, v in same.items()):
                    raise misused(Wrong.PARTS_FOREIGN, folder=folder)
            elif any(folder.iterdir()):
                raise misused(Wrong.PARTS_NOT_EMPTY, folder=folder)
            told = {"version": __version__, **same, **also}
            if not manifest.exists() or held != told:
                with whole_file(manifest) as part:
                    part.write_text(json.dumps(told, indent=1), encoding="utf-8")
    except (OSError, json.JSONDecodeError, UnicodeDecodeError) as error:
        raise misused(Wrong.PARTS_UNUSABLE, folder=folder, why=str(error)) from None


def content_digest(tables: Iterable[pd.DataFrame]) -> str:
    """Digest of every value and name in some tables."""
    digest = blake2b(digest_size=16)
    for table in tables:
        digest.update(ascii([len(table), *map(str, table.columns)]).encode())
        for i in range(table.shape[1]):
            values = table.iloc[:, i]
            if getattr(values.dtype, "storage", "") == "pyarrow":
                for part in _text_parts(values):
                    digest.update(part)
                continue
            plain = np.asarray(values)
            if plain.dtype.kind in "fiubmM":  # the bytes of objects are where they lie in memory
                digest.update(plain.tobytes())
            else:
                digest.update(ascii(values.tolist()).encode())
    return digest.hexdigest()


def _text_parts(values: pd.Series) -> Iterator[bytes | memoryview]:
    """Which texts are missing, how long each is, and all of them, one after the other."""
    whole: Any = values.array.__arrow_array__()  # type: ignore[attr-defined]
    if hasattr(whole, "combine_chunks"):
        whole = whole.combine_chunks()
    yield values.isna().to_numpy().tobytes()
    _, ends, texts = whole.buffers()
    if ends is not None and texts is not None:
        kind = np.int64 if str(whole.type).startswith("large") else np.int32
        at = np.frombuffer(ends, dtype=kind)[whole.offset : whole.offset + len(whole) + 1].astype(np.int64)
        yield (at - at[0]).tobytes()
        yield memoryview(texts)[at[0] : at[-1]]


def _note(part: Path) -> Path:
    return part.parent / ABOUT / f"{part.name}.json"


def _digest(path: Path) -> str:
    digest = blake2b(digest_size=16)
    with path.open("rb") as file:
        while block := file.read(1 << 20):
            digest.update(block)
    return digest.hexdigest()
