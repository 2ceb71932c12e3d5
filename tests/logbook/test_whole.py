"""Files and folders are written whole or not at all, and what a killed run left behind goes."""

import os
import time

import pandas as pd
import pytest

from tirelife.errors import InputError
from tirelife.logbook import whole
from tirelife.logbook.export import write_csv
from tirelife.logbook.refused import Refused
from tirelife.logbook.whole import clear_temporaries, folder_for, sync_folder, temporary, whole_file


def fail(target, error):
    with whole_file(target) as part:
        part.write_text("half")
        raise error


def test_a_write_that_fails_leaves_what_was_there(tmp_path):
    target = tmp_path / "out.csv"
    target.write_text("before")
    message = r"out\.csv: cannot be written: no space left on device\. Nothing was changed"
    with pytest.raises(InputError, match=message):
        fail(target, OSError(28, "No space left on device"))
    assert target.read_text() == "before"
    with pytest.raises(ZeroDivisionError):
        fail(target, ZeroDivisionError())
    assert target.read_text() == "before"
    assert os.listdir(tmp_path) == ["out.csv"]


def test_devices_folders_and_links_are_not_replaced(tmp_path):
    with pytest.raises(InputError, match=r"is not a plain file\. Give the name of a file\."):
        write_csv(pd.DataFrame({"a": [1]}), tmp_path)
    if os.path.exists("/dev/null"):
        with pytest.raises(InputError, match="is not a plain file"):
            write_csv(pd.DataFrame({"a": [1]}), "/dev/null")
        assert not os.path.isfile("/dev/null")
    (tmp_path / "real.csv").write_text("")
    (tmp_path / "link.csv").symlink_to(tmp_path / "real.csv")
    write_csv(pd.DataFrame({"a": [1]}), tmp_path / "link.csv")
    assert (tmp_path / "link.csv").is_symlink()
    assert (tmp_path / "real.csv").read_text() == "a\n1\n"


def test_what_a_killed_run_left_is_cleared_and_what_runs_is_left_alone(tmp_path):
    for name in (
        ".out.csv.x1.tirelife-part.csv",
        ".b.sqlite.x2.tirelife-part.sqlite",
        ".b.sqlite.x2.tirelife-part.sqlite-wal",
        ".mine.csv",
    ):
        (tmp_path / name).write_text("left")
    (tmp_path / ".folder.x3.tirelife-part").mkdir()
    (tmp_path / ".folder.x3.tirelife-part" / "depths.csv").write_text("left")
    with temporary(tmp_path / "other", folder=True) as part, temporary(tmp_path / "other.csv") as more:
        write_csv(pd.DataFrame({"a": [1]}), tmp_path / "out.csv")
        assert sorted(os.listdir(tmp_path)) == sorted([".mine.csv", part.name, more.name, "out.csv"])
    assert sorted(os.listdir(tmp_path)) == [".mine.csv", "out.csv"]


def names(folder):
    return sorted(os.listdir(folder))


def test_a_file_takes_its_place_when_the_block_ends_well(tmp_path):
    target = tmp_path / "out.csv"
    with whole_file(target) as part:
        part.write_text("new")
        assert not target.exists()
        assert part.parent == tmp_path
        assert part.name.startswith(".out.csv.")
        assert part.suffix == ".csv"
    assert target.read_text() == "new"
    assert names(tmp_path) == ["out.csv"]


def test_who_may_read_a_file_stays_as_it_was(tmp_path):
    target = tmp_path / "out.csv"
    before = os.umask(0o027)
    try:
        with whole_file(target) as part:
            part.write_text("new")
        assert target.stat().st_mode & 0o777 == 0o640
    finally:
        os.umask(before)
    assert os.umask(before) == before
    target.chmod(0o604)
    with whole_file(target) as part:
        part.write_text("newer")
    assert target.stat().st_mode & 0o777 == 0o604


def test_a_long_name_leaves_room_for_the_rest(tmp_path):
    with temporary(tmp_path / ("x" * 240 + ".csv")) as part:
        assert len(part.name) < 100
        assert part.name.startswith("." + "x" * 40 + ".")


def test_a_temporary_folder_goes_at_the_end_with_all_that_is_in_it(tmp_path):
    with temporary(tmp_path / "book", folder=True) as part:
        assert part.is_dir()
        (part / "depths.csv").write_text("")
    assert names(tmp_path) == []


def test_what_sqlite_puts_beside_a_temporary_file_goes_with_it(tmp_path):
    with temporary(tmp_path / "book.sqlite") as part:
        for beside in ("-journal", "-wal", "-shm"):
            part.with_name(part.name + beside).write_text("")
        clear_temporaries(tmp_path)  # another run: the file is in use, and so is what lies beside it
        assert len(names(tmp_path)) == 4
    assert names(tmp_path) == []


@pytest.mark.parametrize(("age", "left"), [(86_400 - 60, True), (86_400 + 60, False)])
def test_where_there_are_no_locks_what_is_left_behind_is_known_by_its_age(tmp_path, monkeypatch, age, left):
    monkeypatch.setattr(whole, "fcntl", None)
    part = tmp_path / ".out.csv.x1.tirelife-part.csv"
    part.write_text("half")
    os.utime(part, (time.time() - age,) * 2)
    clear_temporaries(tmp_path)
    assert part.exists() == left
    with whole_file(tmp_path / "new.csv") as other:
        other.write_text("new")
    assert (tmp_path / "new.csv").read_text() == "new"


def test_only_hidden_files_of_this_program_are_cleared(tmp_path):
    for name in ("a.tirelife-part.csv", ".other", ".b.tirelife-part"):
        (tmp_path / name).write_text("")
    clear_temporaries(tmp_path)
    assert names(tmp_path) == [".other", "a.tirelife-part.csv"]


def failing(path, name=""):
    with folder_for(path) as folder:
        assert folder.is_dir()
        if name:
            (folder / name).write_text("")
        raise ZeroDivisionError


def test_a_folder_is_made_with_those_above_it_and_goes_again_if_nothing_came_of_it(tmp_path):
    with folder_for(tmp_path / "a" / "b") as folder:
        (folder / "x").write_text("")
    assert names(tmp_path / "a" / "b") == ["x"]
    with pytest.raises(ZeroDivisionError):
        failing(tmp_path / "c")
    assert names(tmp_path) == ["a"]


def test_a_folder_that_was_there_or_holds_something_stays(tmp_path):
    (tmp_path / "old").mkdir()
    for name, file in (("old", ""), ("new", "x")):
        with pytest.raises(ZeroDivisionError):
            failing(tmp_path / name, file)
    assert names(tmp_path) == ["new", "old"]


def test_a_folder_that_cannot_be_made_is_refused(tmp_path):
    (tmp_path / "file").write_text("")
    with pytest.raises(InputError) as caught, folder_for(tmp_path / "file" / "x"):
        pass
    assert caught.value.problems[0].code == Refused.FOLDER_UNMADE


def test_flushing_a_folder_that_is_not_there_is_no_error(tmp_path):
    sync_folder(tmp_path / "none")
