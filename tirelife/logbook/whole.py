"""Files and folders written whole or not at all."""

from __future__ import annotations

import os
import shutil
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Final

from tirelife.errors import refusal, said_by_system
from tirelife.logbook.refused import Refused

try:
    import fcntl
except ImportError:  # no such locks on this system
    fcntl = None  # type: ignore[assignment]

__all__ = ["clear_temporaries", "folder_for", "sync_folder", "temporary", "whole_file"]

_MARK: Final = ".tirelife-part"
"""In the name of every temporary file and folder."""
_BESIDE: Final = ("-journal", "-wal", "-shm")
"""What SQLite may put beside a file."""
_DAY_S: Final = 86_400.0
"""What is left behind is known by its lock; where there are none, by its age."""


@contextmanager
def whole_file(path: str | Path) -> Iterator[Path]:
    """Give a temporary path beside ``path``; it takes its place when the block ends well.

    Raises
    ------
    InputError
        If the file cannot be written; what was there before is left as it was.

    Examples
    --------
    >>> with whole_file("answer.txt") as part:  # doctest: +SKIP
    ...     part.write_text("42")
    """
    try:
        target = Path(path).resolve()
        if target.exists() and not target.is_file():  # a device or a folder is not to be replaced
            raise refusal(path, Refused.NO_PLAIN_FILE)
        with temporary(target) as part:
            yield part
            with part.open("rb+") as file:
                os.fsync(file.fileno())
            mode = target.stat().st_mode & 0o777 if target.exists() else 0o666 & ~_umask()
            part.chmod(mode)
            part.replace(target)
            sync_folder(target.parent)
    except OSError as error:
        raise refusal(path, Refused.UNWRITTEN, why=said_by_system(error)) from error


@contextmanager
def temporary(target: Path, folder: bool = False) -> Iterator[Path]:
    """Give a hidden file or folder beside ``target``, gone at the end; what a killed run left there goes too.

    A run holds a lock on what it made, so that another can tell what is in use from what was left behind.
    """
    clear_temporaries(target.parent)
    while True:
        part, handle = _made(target, folder)
        if handle < 0:
            break
        fcntl.flock(handle, fcntl.LOCK_EX)
        if part.exists():
            break
        os.close(handle)  # somebody cleared it in the moment before it was locked
    try:
        yield part
    finally:
        if handle >= 0:
            os.close(handle)
        _remove(part)


def _made(target: Path, folder: bool) -> tuple[Path, int]:
    """A new temporary file or folder, and what holds it open; -1 where there are no locks."""
    beginning = f".{target.name[:40]}."
    if folder:
        part = Path(tempfile.mkdtemp(prefix=beginning, suffix=_MARK, dir=target.parent))
    else:
        handle, name = tempfile.mkstemp(prefix=beginning, suffix=_MARK + target.suffix, dir=target.parent)
        os.close(handle)
        part = Path(name)
    return part, os.open(part, os.O_RDONLY) if fcntl else -1


def clear_temporaries(place: Path) -> None:
    """Clear what killed runs left in a folder: hidden files of this program that nobody holds any more."""
    for name in os.listdir(place):
        if name.startswith(".") and _MARK in name:
            with suppress(OSError):
                _clear(place / name)


def _clear(part: Path) -> None:
    """Remove a temporary file, unless a run that goes on works on it or on the one that it lies beside."""
    if part.name.endswith(_BESIDE):
        if not part.with_name(part.name.rpartition("-")[0]).exists():
            part.unlink()
    elif fcntl is None:
        if time.time() - part.stat().st_mtime > _DAY_S:
            _remove(part)
    else:
        handle = os.open(part, os.O_RDONLY)
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
            _remove(part)
        finally:
            os.close(handle)


def _remove(part: Path) -> None:
    if part.is_dir():
        shutil.rmtree(part, ignore_errors=True)
        return
    for beside in ("", *_BESIDE):
        part.with_name(part.name + beside).unlink(missing_ok=True)


def sync_folder(folder: Path) -> None:
    """Flush a folder's list of names to the disk, if the system can: a rename then outlasts a power cut."""
    with suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


@contextmanager
def folder_for(path: str | Path) -> Iterator[Path]:
    """Give a folder, made if it is not there; if the block fails and left it empty, it goes again.

    Raises
    ------
    InputError
        If it cannot be made.
    """
    folder = Path(path)
    new = not folder.exists()
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise refusal(path, Refused.FOLDER_UNMADE, why=said_by_system(error)) from error
    try:
        yield folder
    except BaseException:
        if new:
            with suppress(OSError):  # somebody's file is in it
                folder.rmdir()
        raise


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask
