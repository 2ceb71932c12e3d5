"""Answers in parts: which part counts as done, whose folder may be written to, and what a digest tells apart."""

import json

import numpy as np
import pandas as pd
import pytest

from tirelife.errors import InputError
from tirelife.logbook import parts
from tirelife.logbook.parts import (
    ABOUT,
    PartsDone,
    claim_folder,
    content_digest,
    is_done,
    mark_of,
    write_part,
)
from tirelife.logbook.wrong import Wrong


def wrote(part, mark="m", text="one"):
    write_part(part, mark, lambda half: half.write_text(text))


def test_a_part_is_done_where_its_note_tells_the_same_mark_and_bytes(tmp_path):
    part = tmp_path / "a.csv"
    assert not is_done(part, "m")
    wrote(part)
    assert part.read_text() == "one"
    assert is_done(part, "m")
    assert not is_done(part, "n")
    part.write_text("two")
    assert not is_done(part, "m")
    part.unlink()
    assert not is_done(part, "m")


@pytest.mark.parametrize("note", ["", "no json", "[]", "{}", '{"mark": "m"}', "3", "null", b"\xff"])
def test_a_part_whose_note_is_damaged_is_made_again(tmp_path, note):
    part = tmp_path / "a.csv"
    wrote(part)
    (tmp_path / ABOUT / "a.csv.json").write_bytes(note if isinstance(note, bytes) else note.encode())
    assert not is_done(part, "m")


def test_a_part_that_fails_leaves_no_note_and_the_part_before(tmp_path):
    part = tmp_path / "a.csv"
    wrote(part)

    def fail(half):
        half.write_text("half")
        raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        write_part(part, "m", fail)
    assert part.read_text() == "one"
    assert not is_done(part, "m")
    assert list((tmp_path / ABOUT).iterdir()) == []


def test_a_digest_is_of_the_whole_file(tmp_path):
    long = "x" * (1 << 20)
    wrote(tmp_path / "a.csv", text=long + "y")
    (tmp_path / "a.csv").write_text(long + "z")
    assert not is_done(tmp_path / "a.csv", "m")


def test_a_mark_tells_version_and_settings_in_any_order(monkeypatch):
    assert mark_of(a=1, b=[2]) == mark_of(b=[2], a=1) != mark_of(a=1, b=[3])
    before = mark_of(a=1)
    monkeypatch.setattr(parts, "__version__", "0.0")
    assert mark_of(a=1) != before


def test_what_was_done_stands_for_its_folder(tmp_path):
    done = PartsDone(tmp_path, 1200, 3)
    assert (tmp_path / "x").parent.samefile(done)
    assert str(done) == f"{tmp_path}: 1,200 parts kept, 3 made"


def refused(folder, same, **also):
    with pytest.raises(InputError) as caught:
        claim_folder(folder, same, **also)
    return caught.value.problems[0].code


def test_a_folder_is_made_and_claimed_again_by_the_same_run(tmp_path):
    folder = tmp_path / "out"
    claim_folder(folder, {"table": "trips"}, parts=3)
    manifest = folder / f"{ABOUT}.json"
    assert json.loads(manifest.read_text()) == {"version": parts.__version__, "table": "trips", "parts": 3}
    (folder / "a.csv").write_text("")
    before = manifest.stat().st_mtime_ns
    claim_folder(folder, {"table": "trips"}, parts=3)
    assert manifest.stat().st_mtime_ns == before
    claim_folder(folder, {"table": "trips"}, parts=4)
    assert json.loads(manifest.read_text())["parts"] == 4


def test_other_runs_and_other_files_are_not_written_over(tmp_path):
    claim_folder(tmp_path / "out", {"table": "trips"})
    assert refused(tmp_path / "out", {"table": "forecast"}) == Wrong.PARTS_FOREIGN
    assert refused(tmp_path / "out", {"table": "trips", "day": 1}) == Wrong.PARTS_FOREIGN
    mine = tmp_path / "mine"
    mine.mkdir()
    (mine / "a.txt").write_text("")
    assert refused(mine, {"table": "trips"}) == Wrong.PARTS_NOT_EMPTY
    assert [path.name for path in mine.iterdir()] == ["a.txt"]


@pytest.mark.parametrize(
    ("text", "code"),
    [("[]", Wrong.PARTS_FOREIGN), ("no", Wrong.PARTS_UNUSABLE), (b"\xff", Wrong.PARTS_UNUSABLE)],
)
def test_a_manifest_that_cannot_be_read_is_refused(tmp_path, text, code):
    (tmp_path / f"{ABOUT}.json").write_bytes(text if isinstance(text, bytes) else text.encode())
    assert refused(tmp_path, {"table": "trips"}) == code


def test_what_a_killed_run_left_does_not_stand_in_the_way(tmp_path):
    (tmp_path / ".a.csv.x1.tirelife-part.csv").write_text("half")
    claim_folder(tmp_path, {"table": "trips"})
    assert [path.name for path in tmp_path.iterdir()] == [f"{ABOUT}.json"]


TABLE = pd.DataFrame(
    {
        "a": [1.0, np.nan],
        "b": ["x", None],
        "c": pd.to_datetime(["2025-01-01", None]),
        "d": [1, 2],
        "e": [True, False],
    }
)


@pytest.mark.parametrize(
    "change",
    [
        {"a": [1.0, 0.0]},
        {"b": ["x", "y"]},
        {"c": pd.to_datetime(["2025-01-02", None])},
        {"d": [2, 1]},
        {"e": [True, True]},
    ],
)
def test_every_value_tells_in_a_digest(change):
    assert content_digest([TABLE]) == content_digest([TABLE.copy()])
    assert content_digest([TABLE.assign(**change)]) != content_digest([TABLE])


def test_names_order_and_tables_tell_in_a_digest():
    others = [
        [TABLE.rename(columns={"a": "z"})], [TABLE[["d", "a", "b", "c", "e"]]], [TABLE.iloc[:1]], [TABLE, TABLE], [],
        [TABLE.iloc[:, :2], TABLE.iloc[:, 2:]],
    ]  # fmt: skip
    digests = [content_digest(tables) for tables in ([TABLE], *others)]
    assert len(set(digests)) == len(digests)


@pytest.mark.parametrize(
    "values",
    [
        pd.array([10**12 + 1, None], dtype="Int64"),
        pd.array([0.5, None], dtype="Float64"),
        pd.to_datetime(["2025-01-01", None], utc=True),
        pd.Categorical(["x", "y"]),
    ],
    ids=["Int64", "Float64", "UTC", "category"],
)
def test_columns_of_objects_are_digested_by_their_values(values):
    # Not by where in memory the objects lie, which another process cannot find again.
    one, other = (content_digest([pd.DataFrame({"a": values.copy()})]) for _ in range(2))
    assert one == other
    assert content_digest([pd.DataFrame({"a": values[::-1]})]) != one


def test_texts_have_one_digest_however_they_lie_in_memory():
    texts = ["V1", "", "é V2", None, "V3", "V1"]
    whole = pd.DataFrame({"a": pd.Series(texts, dtype="str")})
    part = pd.DataFrame({"a": pd.Series(texts[2:5], dtype="str")})
    assert content_digest([whole.iloc[2:5]]) == content_digest([part])
    joined = pd.concat([whole.iloc[:3], whole.iloc[3:]])
    assert content_digest([joined]) == content_digest([whole])
    told = [content_digest([pd.DataFrame({"a": pd.Series(one, dtype="str")})]) for one in (
        ["ab", "c"], ["a", "bc"], ["abc", ""], ["abc", None], [None, "abc"], ["", "abc"], [], ["abc"],
    )]  # fmt: skip
    assert len(set(told)) == len(told)
