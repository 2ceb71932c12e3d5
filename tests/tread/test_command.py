"""``tirelife tread`` from the command line."""

import json

import pandas as pd
import pytest

from tests.tread.books import POSITIONS, read_depths, write_book
from tirelife.cli import main
from tirelife.logbook import GROOVES

TOE_IN = [4.3, 5.4, 5.9, 6.0, 6.0]


@pytest.fixture
def folder(tmp_path):
    parts = []
    for position in POSITIONS:
        depths = TOE_IN if position in ("LF", "RF") else [6.0] * 5
        parts.append(read_depths(dict(zip(GROOVES, depths, strict=True)), position=position, gauge="D1"))
    gauges = pd.DataFrame(
        {
            "gauge_id": "D1",
            "date": "2025-05-01",
            "kind": "depth",
            "reading": [5.6, 5.6],
            "master": 5.0,
            "unit": "mm",
        }
    )
    tires = pd.DataFrame(
        {"tire_id": [f"T-{p}" for p in POSITIONS], "tire_line": "A", "new_depth_mm": 8.0, "made_week": "1014"}
    )
    return write_book(tmp_path / "book", pd.concat(parts), gauges=gauges, tires=tires)


def test_text_says_what_why_how_sure_and_what_next(folder, capsys):
    assert main(["tread", str(folder), "--vehicle", "V1"]) == 0
    said = capsys.readouterr().out
    for words in (
        "Left front, tire T-LF, read 1 July 2025",
        "tilt",
        "toe-in: the outer edge lost",
        "not known: variation around the tread",
        "Gauge D1 reads 0.60 deep; that was taken off.",
        "Measure angles, front axle",
        "Never bleed a hot tire",
        "Age: Ten years from manufacture",
    ):
        assert words in said


def test_json_is_complete_and_finite(folder, capsys):
    assert main(["tread", str(folder), "--vehicle", "V1", "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    assert answer["depth_unit"] == "mm"
    assert [w["position"] for w in answer["wheels"]] == list(POSITIONS)
    front = answer["wheels"][0]
    assert front["causes"][0]["cause"] == "toe_in"
    assert 0.5 < front["causes"][0]["probability"] <= 1
    assert {c["component"] for c in front["components"]} == {"level", "tilt", "crown", "dip", "around"}
    tilt = next(c for c in front["components"] if c["component"] == "tilt")
    assert tilt["value_mm"] == pytest.approx(-1.6, abs=0.01)
    assert front["gauge_bias_mm"] == pytest.approx(0.6)
    assert answer["gauges"][0]["bias_mm"] == pytest.approx(0.6)
    assert answer["pattern"][0]["step"] == "measure angles"
    assert "correct-first" in [action["do"] for action in answer["next"]]
    gain = front["if_corrected"][0]
    assert (gain["cause"], gain["groove_now"]) == ("toe_in", "outer")
    assert 1.1 < gain["expected_distance_ratio"] <= gain["distance_ratio"] < 4
    assert answer["wheels"][2]["if_corrected"] == []
    assert any("bleed" in words for words in answer["cautions"])


def read(folder, depths, capsys, **tables):
    write_book(folder, depths, **tables)
    assert main(["tread", str(folder), "--vehicle", "V1", "--json"]) == 0
    return json.loads(capsys.readouterr().out)


def test_tires_read_on_the_day_they_come_on_say_nothing_yet(tmp_path, capsys):
    new = [
        read_depths({"outer": 8.0, "center": 8.0, "inner": 8.0}, p, "2025-01-01", 10_000) for p in POSITIONS
    ]
    answer = read(tmp_path / "new", pd.concat(new), capsys)
    assert all(w["causes"] == [] for w in answer["wheels"])
    assert answer["pattern"][0]["words"] == "No tire that was read has run here yet."


def test_one_groove_cannot_show_a_pattern_and_is_not_called_even(tmp_path, capsys):
    answer = read(tmp_path / "one", read_depths({"center": 6.0}), capsys)
    assert answer["pattern"][0]["step"] == "read more grooves"
    assert "valve stem" in answer["pattern"][0]["words"]


def test_a_place_where_no_tire_is_known_is_shown_and_said(tmp_path, capsys):
    mounts = pd.DataFrame(
        {"date": "2025-01-01", "odometer_km": 10_000, "vehicle_id": "V1", "tire_id": "T1", "position": ["LF"]}
    )
    depths = pd.concat([read_depths({"outer": 6.0, "center": 6.0, "inner": 6.0}, p) for p in ("LF", "RR")])
    answer = read(tmp_path / "lost", depths, capsys, mounts=mounts)
    lost = answer["wheels"][1]
    assert (lost["position"], lost["tire_id"], lost["causes"]) == ("RR", "", [])
    assert "no tire is known" in lost["doubt"]


def test_findings_are_used(folder, capsys):
    main(["tread", str(folder), "--vehicle", "V1", "--json"])
    plain = json.loads(capsys.readouterr().out)
    found = ["--finding", "LF:feathered_edge:inward", "--finding", "RR:cords"]
    main(["tread", str(folder), "--vehicle", "V1", "--json", *found])
    felt = json.loads(capsys.readouterr().out)
    assert felt["wheels"][0]["causes"][0]["probability"] > plain["wheels"][0]["causes"][0]["probability"]
    assert felt["next"][0]["do"] == "inspect-now"
    assert "right rear" in felt["next"][0]["words"]


def test_a_tire_at_the_limit_comes_first(folder, capsys):
    main(["tread", str(folder), "--vehicle", "V1", "--json"])
    assert not any(w["worn_out"] for w in json.loads(capsys.readouterr().out)["wheels"])
    own = folder / "mine.csv"
    own.write_text("place,depth,unit,source\nUS/Test,3.9,mm,made up for this test\n", encoding="utf-8")
    main(["tread", str(folder), "--vehicle", "V1", "--json", "--place", "US/Test", "--limits", str(own)])
    answer = json.loads(capsys.readouterr().out)
    assert [w["position"] for w in answer["wheels"] if w["worn_out"]] == ["LF", "RF"]
    assert answer["next"][0]["do"] == "inspect-now"
    assert "qualified person" in answer["next"][0]["words"]


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (["--vehicle", "V9"], "'V9' is not in the logbook"),
        (["--vehicle", "V1", "--finding", "LF:wobble"], "unknown kind 'wobble'"),
        (["--vehicle", "V1", "--place", "Atlantis"], "no removal depth is known for 'Atlantis'"),
        (["--vehicle", "V1", "--across-tread", "wide"], "wide"),
        (["--vehicle", "V1", "--date", "2025-01-15"], "no depth was read"),
        (["--vehicle", "V1", "--limits", "absent.csv"], "cannot be read"),
    ],
)
def test_bad_input_ends_with_2_and_one_message(folder, capsys, options, words):
    assert main(["tread", str(folder), *options]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert words in err


def test_us_logbooks_are_answered_in_32nds(folder, capsys):
    depths = pd.read_csv(folder / "depths.csv")
    depths["depth_32nds"] = (depths.pop("depth_mm") / 25.4 * 32).round(1)
    depths["odometer_mi"] = depths.pop("odometer_km") / 1.609344
    depths.to_csv(folder / "depths.csv", index=False)
    for name in ("mounts",):
        table = pd.read_csv(folder / f"{name}.csv")
        table["odometer_mi"] = table.pop("odometer_km") / 1.609344
        table.to_csv(folder / f"{name}.csv", index=False)
    assert main(["tread", str(folder), "--vehicle", "V1", "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    assert answer["depth_unit"] == "32nds"
    assert answer["wheels"][0]["causes"][0]["cause"] == "toe_in"


def test_toe_put_right_is_told_in_distance_and_months(folder, capsys):
    assert main(["tread", str(folder), "--vehicle", "V1", "--json"]) == 0
    found = {row["position"]: row for row in json.loads(capsys.readouterr().out)["corrections"]}
    assert {"LF", "RF", "set"} == set(found)
    assert found["LF"]["change"] == "Toe put right"
    assert found["LF"]["cause"] == "toe_in"
    assert 0 < found["LF"]["km_gained_p50"] < found["LF"]["km_gained_p90"]
    assert found["set"]["km_gained_p50"] > 0
    assert found["set"]["months_gained_p50"] == 0  # moulded in 2014: age ends these tires first
    assert main(["tread", str(folder), "--vehicle", "V1"]) == 0
    said = capsys.readouterr().out
    assert "Toe put right, left front:" in said
    assert "months (" in said


def test_an_even_tread_has_no_correction(tmp_path, capsys):
    parts = [read_depths(dict.fromkeys(GROOVES, 6.0), position=p) for p in POSITIONS]
    book = write_book(tmp_path / "even", pd.concat(parts))
    assert main(["tread", str(book), "--vehicle", "V1", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["corrections"] == []
