"""Files written whole or not at all."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

from tirelife.errors import InputError

__all__ = ["write_whole"]


def write_whole(name: str | Path, content: bytes) -> None:
    """Write a file by way of a temporary one beside it, so that a broken write leaves the old file.

    Raises
    ------
    InputError
        If the folder is not there or cannot be written to.
    """
    path = Path(name)
    try:
        handle, beside = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
        try:
            with os.fdopen(handle, "wb") as file:
                file.write(content)
                file.flush()
                os.fsync(file.fileno())
            umask = os.umask(0)
            os.umask(umask)
            os.chmod(beside, 0o666 & ~umask)
            os.replace(beside, path)
        except BaseException:
            os.unlink(beside)
            raise
    except OSError as error:
        raise InputError(f"{path}: cannot be written ({error.strerror}). Give another --out.") from error
