"""Places that refuse to be written to: one clear line, exit code 2, and all that was there is as it was."""

import json
import os
import shutil
import subprocess
import sys

import pytest

from tests.logbook import refusing
from tests.logbook.folders import folder
from tirelife.logbook import read_logbook
from tirelife.logbook.convert import convert_logbook
from tirelife.logbook.record import Visit, record_visit

POSIX = pytest.mark.skipif(os.name != "posix", reason="needs permissions and limits as POSIX has them")


@pytest.fixture
def place(tmp_path):
    """A folder with a logbook file that is in daily use, and a table from an earlier day; beside it a logbook."""
    book = folder(tmp_path / "book")
    at = tmp_path / "at"
    at.mkdir()
    convert_logbook(book, at / "logbook.sqlite")
    visit = Visit("V1", "2025-08-10", "11000", depths=[("LF", "center", "8", "")])
    assert record_visit(at / "logbook.sqlite", visit).written
    (at / "old.csv").write_text("of an earlier day\n")
    return at


def tried(place, *more, before=(), **how):
    words = [
        *before,
        sys.executable,
        "-m",
        "tests.logbook.refusing",
        str(place),
        str(place.parent / "book"),
        *more,
    ]
    done = subprocess.run(words, capture_output=True, text=True, check=False, **how)
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


def assert_refused(outcomes, why, number=None):
    assert len(outcomes) == (number or len(refusing.COMMANDS))
    read, *written = outcomes
    assert read["code"] == 0, read  # a logbook that cannot be written to can be read
    for one in written:
        assert one["code"] == 2, one
        assert one["said"].count("\n") == 1, one
        assert any(word in one["said"].lower() for word in why), one
        assert not one["touched"], one


@POSIX
@pytest.mark.long
def test_a_place_that_may_be_written_to_is(place):
    # The commands are right: each writes where it may, so that the others are refused for the place alone.
    for one in tried(place):
        assert one["code"] == 0, one
        assert bool(one["touched"]) == (one["command"] != refusing.COMMANDS[0]), one


@POSIX
def test_a_read_only_folder_is_one_line_and_is_left_alone(place):
    before = refusing.content(place)
    place.chmod(0o555)
    try:
        outcomes = tried(place, preexec_fn=refusing.drop_power_over_permissions)
        assert_refused(outcomes, ["permission denied", "it is read-only", "cannot be opened"])
    finally:
        place.chmod(0o755)
    assert refusing.content(place) == before


@POSIX
def test_a_read_only_file_is_read_and_not_written(place):
    (place / "logbook.sqlite").chmod(0o444)
    outcomes = tried(place, "-1", "3", preexec_fn=refusing.drop_power_over_permissions)
    assert_refused(outcomes, ["it is read-only"], 3)


def _may_mount():
    words = ["unshare", "-m", "sh", "-c", "mount -t tmpfs -o size=64k none /mnt"]
    return (
        bool(shutil.which("unshare"))
        and subprocess.run(words, capture_output=True, check=False).returncode == 0
    )


def _limit():
    import resource

    resource.setrlimit(resource.RLIMIT_FSIZE, (10, 10))


@POSIX
@pytest.mark.parametrize(
    ("free", "number"),
    [(0, len(refusing.COMMANDS)), (45_000, 3)],
    ids=["full", "full half-way through a visit"],
)
def test_a_full_disk_is_one_line_and_leaves_what_was_there(place, tmp_path, free, number):
    if not _may_mount():  # then files may not grow past a few bytes, which fails at the same places
        outcomes = tried(place, preexec_fn=_limit)
        assert_refused(outcomes, ["file too large", "cannot be read or written", "no space left"])
        assert len(read_logbook(place / "logbook.sqlite").depths) == 73
        return
    disk = tmp_path / "disk"
    disk.mkdir()
    for name in ("logbook.sqlite", "old.csv"):
        shutil.copyfile(place / name, tmp_path / name)
    mounted = ["unshare", "-m", "sh", "-c", f'mount -t tmpfs -o size=1m none "{disk}" && exec "$@"', "sh"]
    outcomes = tried(disk, str(free), str(number), before=mounted)
    assert_refused(outcomes, ["no space left"], number)
