"""A new car, a set of four and a rotation, one line each."""

import pytest

import tirelife
from tirelife.cli import main


@pytest.fixture
def store(tmp_path):
    path = str(tmp_path / "shop.sqlite")
    new = [
        "record",
        path,
        "--create",
        "us",
        "--vehicle",
        "AB 12",
        "--date",
        "2026-01-05",
        "--odometer",
        "41000",
    ]
    assert main([*new, "--new-vehicle", "--set", "Line B", "10", "--depth", "LF", "10"]) == 0
    return path


def places(store):
    stretches = tirelife.read_logbook(store).stretches
    return dict(stretches[stretches["open"]].sort_values("position")[["position", "tire_id"]].to_numpy())


def test_a_new_car_with_its_set_takes_one_line_on_a_logbook_that_is_not_there_yet(store):
    book = tirelife.read_logbook(store)
    assert book.vehicles["assumed"].tolist() == ["drive, placard_front, placard_rear"]
    assert places(store) == {w: f"AB 12 {w} 2026-01" for w in ("LF", "LR", "RF", "RR")}
    assert book.tires["tire_line"].tolist() == ["Line B"] * 4


def test_a_rotation_goes_by_its_name(store):
    words = ["record", store, "--vehicle", "AB 12", "--date", "2026-06-05", "--odometer", "47000"]
    assert main([*words, "--rotated", "forward cross"]) == 0
    # By hand: fronts go straight back, rears cross to the front.
    assert places(store) == {
        "LF": "AB 12 RR 2026-01", "RF": "AB 12 LR 2026-01", "LR": "AB 12 LF 2026-01", "RR": "AB 12 RF 2026-01",
    }  # fmt: skip


def test_the_next_set_takes_the_old_one_off(store):
    words = ["record", store, "--vehicle", "AB 12", "--date", "2026-06-05", "--odometer", "47000"]
    assert main([*words, "--set", "Line C", "11"]) == 0
    assert places(store) == {w: f"AB 12 {w} 2026-06" for w in ("LF", "LR", "RF", "RR")}


def test_a_rotation_that_is_none_is_told_the_nearest(store, capsys):
    words = ["record", store, "--vehicle", "AB 12", "--date", "2026-06-05", "--odometer", "47000"]
    assert main([*words, "--rotated", "front-rear"]) == 2
    assert "'front-rear' is no rotation. Did you mean front-to-rear?" in capsys.readouterr().err


def test_a_bad_option_gets_the_command_s_own_usage_and_the_nearest_right_one(store, capsys):
    with pytest.raises(SystemExit) as stop:
        main(["record", store, "--vehicle", "AB 12", "--odomter", "47000"])
    assert stop.value.code == 2
    said = capsys.readouterr().err
    assert "usage: tirelife record" in said
    assert "Did you mean --odometer?" in said
