import json

import pytest

from tirelife.cli import main

LOGBOOK = "data_synthetic/logbook"


def rotate(capsys, *words):
    code = main(["rotate", LOGBOOK, "--vehicle", "V03", *words])
    return code, capsys.readouterr()


@pytest.fixture(scope="module")
def answer():
    import contextlib
    import io

    out = io.StringIO()
    with contextlib.redirect_stdout(out):
        assert main(["rotate", LOGBOOK, "--vehicle", "V03", "--json", "--interval", "5000"]) == 0
    return json.loads(out.getvalue())


def test_json_holds_the_plans_the_choice_and_the_moves(answer):
    names = [p["plan"] for p in answer["plans"]]
    assert names == ["no rotation", "forward cross", "rearward cross", "X", "front-to-rear", "side-to-side"]
    assert answer["chosen"]["interval_mi"] == 5000
    usual = [p for p in answer["plans"] if p["plan"] in ("forward cross", "X", "front-to-rear")]
    assert answer["chosen"]["life_mi"] >= 0.99 * max(p["life_mi"] for p in usual) - 1
    assert answer["chosen"]["life_mi_p50"] <= answer["bound"]
    assert all(p["of_bound"] <= 1 for p in answer["plans"] if p["allowed"])
    assert answer["why"][0]["code"] in ("usual-stands", "none-better", "better")
    assert [m["from_position"] for m in answer["moves"]] == ["LF", "RF", "LR", "RR"]
    assert sorted(m["to_position"] for m in answer["moves"]) == ["LF", "LR", "RF", "RR"]


def test_each_wheel_is_set_to_the_placard_of_its_new_place(answer):
    # the demo car's placard: 33 psi front, 32 psi rear
    for move in answer["moves"]:
        assert move["set_to_psi"] == (33.0 if move["to_position"].endswith("F") else 32.0)


def test_text_names_the_moves_the_ranges_and_the_cautions(capsys):
    code, out = rotate(capsys, "--plan", "rearward cross", "--interval", "6000")
    assert code == 0
    assert "as asked: rearward cross, every 6,000 miles" in out.out
    assert "left front goes to right rear" in out.out
    assert "Never bleed a hot tire." in out.out
    assert "correct the cause of uneven wear before rotating" in out.out
    assert out.err == ""


def test_no_moves_are_listed_where_the_tires_are_to_stay(capsys):
    assert main(["rotate", "data_synthetic/logbook", "--vehicle", "V19"]) == 0
    said = capsys.readouterr().out
    assert "Do not rotate: left front at or near the limit." in said
    assert "most worth: the tires stay where they are" in said
    assert "goes to" not in said
    assert "first move" not in said


def test_a_place_says_the_depth_and_the_stricter_axle_counts_for_all(capsys):
    code, out = rotate(capsys, "--place", "US", "--rules-for", "truck or bus", "--as-of", "2026-06-30")
    assert code == 0
    assert "to 4/32 inch" in out.out  # 49 CFR 393.75: 4/32 front, 2/32 rear
    assert "removal depth of US on 2026-06-30" in out.out


def test_what_is_not_due_is_said_to_be_for_later(capsys):
    assert main(["rotate", "data_synthetic/logbook", "--vehicle", "V03"]) == 0
    said = capsys.readouterr().out
    assert "No rotation yet" in said
    assert "when rotation is due, most worth: " in said


def test_directional_tires_refuse_a_crossing_plan(capsys):
    code, out = rotate(capsys, "--plan", "X", "--directional")
    assert code == 2
    assert out.out == ""
    assert "plan 'X' is not for these tires: directional tires must stay on their side" in out.err


@pytest.mark.parametrize(
    ("words", "part"),
    [
        (["--interval", "-5"], "--interval -5: give a distance of more than 0"),
        (["--plan", "waltz"], "no rotation pattern is called 'waltz'"),
        (["--plan", "five-tire forward cross"], "no tire is logged at the spare"),
        (["--removal-depth", "two"], "is not a depth"),
    ],
)
def test_bad_input_is_named_on_standard_error(capsys, words, part):
    code, out = rotate(capsys, *words)
    assert code == 2
    assert part in out.err
    assert out.out == ""


def test_unknown_vehicle(capsys):
    assert main(["rotate", LOGBOOK, "--vehicle", "V77"]) == 2
    assert "no vehicle is called 'V77'" in capsys.readouterr().err


@pytest.fixture(scope="module")
def five(tmp_path_factory):
    """The demo logbook, with a new full-size spare of the same line and size put into V03."""
    import shutil

    import pandas as pd

    folder = tmp_path_factory.mktemp("five") / "logbook"
    shutil.copytree(LOGBOOK, folder)
    mounts = pd.read_csv(folder / "mounts.csv", dtype=str)
    here = mounts[mounts["vehicle_id"] == "V03"].iloc[-1]
    spare = {**here, "tire_id": "SPARE", "position": "SP"}
    pd.concat([mounts, pd.DataFrame([spare])]).to_csv(folder / "mounts.csv", index=False)
    tires = pd.read_csv(folder / "tires.csv", dtype=str)
    mate = tires[tires["tire_id"] == here["tire_id"]].iloc[0]
    pd.concat([tires, pd.DataFrame([{**mate, "tire_id": "SPARE"}])]).to_csv(folder / "tires.csv", index=False)
    return folder


def test_a_full_size_spare_takes_its_turn(capsys, five):
    assert main(["rotate", str(five), "--vehicle", "V03", "--json", "--interval", "5000"]) == 0
    answer = json.loads(capsys.readouterr().out)
    plans = {p["plan"]: p for p in answer["plans"]}
    assert plans["five-tire forward cross"]["allowed"]
    assert (
        max(p["life_mi"] for p in plans.values() if "five" in p["plan"]) >= plans["forward cross"]["life_mi"]
    )
    assert main(["rotate", str(five), "--vehicle", "V03", "--json", "--temporary-spare"]) == 0
    assert answer["bound"] > 1.2 * json.loads(capsys.readouterr().out)["bound"]
    assert len(answer["moves"]) == 5
    assert answer["moves"][4]["from_position"] == "SP"
    for move in answer["moves"]:
        assert (move["set_to_psi"] is None) == (move["to_position"] == "SP")
    assert len(answer["set"]) == 5


def test_a_temporary_spare_stays_out(capsys, five):
    words = ["rotate", str(five), "--vehicle", "V03", "--temporary-spare"]
    assert main([*words, "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    assert not any("five" in p["plan"] for p in answer["plans"])
    assert len(answer["moves"]) == 4
    assert main([*words, "--plan", "five-tire forward cross"]) == 2
    assert "a temporary spare takes no turn" in capsys.readouterr().err
