"""How an answer leaves: where to, as what, and what cannot be."""

import json
from types import SimpleNamespace

import pandas as pd
import pytest

from tirelife import InputError
from tirelife.cli.printed import aside, deliver, in_parts, print_json, show, table_name, write_file

TABLE = pd.DataFrame(
    {"vehicle_id": ["V1", "=1+1"], "km_left": [1.5, float("nan")], "day": [pd.Timestamp("2026-03-14")] * 2}
)


def args(**told):
    base = {
        "out": None,
        "json": False,
        "csv": False,
        "for_spreadsheet": False,
        "chunk": 5000,
        "vehicle": None,
    }
    return SimpleNamespace(**base | told)


def test_lines_beside_data_go_to_standard_error_and_empty_ones_nowhere(capsys):
    aside("one", "", "two")
    told = capsys.readouterr()
    assert (told.out, told.err) == ("", "one\ntwo\n")


def test_json_keeps_letters_as_they_are_and_has_a_row_a_line_or_all_in_one(capsys):
    print_json({"name": "año"})
    print_json({"name": "año"}, indent=None)
    assert capsys.readouterr().out == '{\n  "name": "año"\n}\n{"name": "año"}\n'


def test_an_answer_is_shown_as_json_or_in_lines(capsys):
    assert show(args(json=True), {"a": 1}, lambda answer: "lines") == 0
    assert json.loads(capsys.readouterr().out) == {"a": 1}
    assert show(args(), {"a": 1}, lambda answer: f"lines of {answer['a']}") == 0
    assert capsys.readouterr().out == "lines of 1\n"


def test_a_table_is_written_or_printed_as_json_csv_or_text(tmp_path, capsys):
    out = tmp_path / "table.csv"
    deliver(TABLE, args(out=str(out), json=True), "tires", lambda: "text")
    told = capsys.readouterr()
    assert (told.out, told.err) == ("", f"2 tires written to {out}\n")
    assert len(pd.read_csv(out)) == 2
    deliver(TABLE, args(json=True, csv=True), "tires", lambda: "text", more=[1])
    said = capsys.readouterr().out
    assert said.count("\n") == 1
    assert json.loads(said)["tires"][1] == {"vehicle_id": "=1+1", "km_left": None, "day": "2026-03-14"}
    assert json.loads(said)["more"] == [1]
    deliver(TABLE, args(csv=True), "tires", lambda: "text")
    assert capsys.readouterr().out.splitlines() == [
        "vehicle_id,km_left,day",
        "V1,1.5,2026-03-14",
        "=1+1,,2026-03-14",
    ]
    deliver(TABLE, args(csv=True, for_spreadsheet=True), "tires", lambda: "text")
    assert "'=1+1" in capsys.readouterr().out
    deliver(TABLE, args(), "tires", lambda: "text")
    deliver(TABLE, args(), "tires", lambda: "")
    assert capsys.readouterr().out == "text\n"


def test_a_table_is_a_csv_or_parquet_file():
    for name in (None, "", "a.csv", "A.CSV", "a.parquet"):
        table_name(name)
    with pytest.raises(InputError, match=r"a\.txt"):
        table_name("a.txt")


def test_a_name_that_ends_as_a_folder_is_one_of_parts_for_all_vehicles():
    assert [in_parts(args(out=out)) for out in (None, "a.csv", "a.PARQUET", "a/", "a\\")] == [
        False,
        False,
        False,
        True,
        True,
    ]
    assert in_parts(args(out="a.csv", vehicle=["V1"])) is False
    assert in_parts(args(out="a/", chunk=1)) is True


@pytest.mark.parametrize(
    ("told", "code"),
    [({"chunk": 0}, "chunk"), ({"out": "a/", "vehicle": ["V1"]}, "vehicle"), ({"out": "a.txt"}, "a.txt")],
)
def test_parts_of_nothing_of_some_vehicles_or_of_another_kind_are_refused(told, code):
    with pytest.raises(InputError, match=code):
        in_parts(args(**told))


def test_a_file_is_written_whole_from_text_or_bytes(tmp_path):
    write_file(tmp_path / "a", "año")
    write_file(tmp_path / "b", b"\x00\xff")
    assert (tmp_path / "a").read_bytes() == "año".encode()
    assert (tmp_path / "b").read_bytes() == b"\x00\xff"
