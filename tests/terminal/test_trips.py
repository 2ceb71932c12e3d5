"""Recorded trips in lines: what is counted, in which units, and what was wrong."""

import pandas as pd

from tirelife.driving import Thresholds, TripSummary
from tirelife.logbook import BANDS
from tirelife.terminal.trips import faults_worded, trip_notes, trips_text

G = 9.80665
PROBLEMS = ["vehicle_id", "kind", "trips", "count", "seconds", "km", "code"]


def habits(**changes):
    row = {
        "vehicle_id": "V1", "trips": 3, "distance_km": 160.9344, "note": "", "from_date": "2026-01-01",
        "to_date": "2026-02-01", **dict(zip(BANDS, (0.1, 0.2, 0.3, 0.354, 0.046), strict=True)),
        "hard_starts_per_100mi": 1.24, "hard_stops_per_100mi": 2.0, "hard_turns_per_100mi": 0.0,
    } | changes  # fmt: skip
    return pd.DataFrame([row])


def summary(problems=(), trips=None):
    limits = Thresholds(start_mps2=0.3 * G, stop_mps2=0.35 * G, turn_mps2=0.4 * G)
    return TripSummary(trips, None, pd.DataFrame(list(problems), columns=PROBLEMS), limits)


def test_habits_are_in_miles_and_shares_in_percent():
    head, row, told = trips_text(habits(), summary()).splitlines()
    for label in ("under 25 mph", "25 to 40 mph", "40 to 55 mph", "55 to 70 mph", "over 70 mph"):
        assert label in head
    assert row.split() == [
        "V1",
        "3",
        "100.0",
        *["10", "%", "20", "%", "30", "%", "35", "%", "5", "%"],
        "1.2",
        "2.0",
        "0.0",
    ]
    assert told.endswith("beyond 0.30 g, 0.35 g, 0.40 g.")


def test_accelerations_alone_give_the_events_of_each_trip_in_g():
    trips = pd.DataFrame(
        {
            "vehicle_id": ["V1"], "trip_id": ["A"], "hard_starts": [2.0], "hard_stops": [0.0], "hard_turns": [None],
            "largest_start_mps2": [0.5 * G], "largest_stop_mps2": [0.25 * G], "largest_turn_mps2": [float("nan")],
        }
    )  # fmt: skip
    lines = trips_text(habits().iloc[:0], summary(trips=trips)).splitlines()
    assert lines[1].split() == ["V1", "A", "2", "0.50", "g", "0", "0.25", "g", "<NA>", "nan", "g"]
    assert lines[2].endswith("without speeds there are no habits.")


def test_faults_are_added_up_by_kind_and_their_distance_told_where_it_is_known():
    rows = [
        ("V1", "gaps", 2, 5, 40.0, 1.609344, "trips-gaps"),
        ("V2", "gaps", 1, 1, 2.0, 1.609344, "trips-gaps"),
        ("V2", "still", 1, 1, 2.0, float("nan"), "left-out-still"),
    ]
    gaps, still = trip_notes(summary(rows), habits())
    assert gaps.startswith("gaps: 6 (2.00 miles) in 3 trips of V1, V2: steps longer than 1.5 s")
    assert gaps.endswith("Advice: record at 1 Hz or faster.")
    assert still.startswith("still: 1 in 1 trips of V2: the vehicle does not move. Advice: none")


def test_three_vehicles_are_named_and_four_counted():
    three = [(f"V{i}", "gaps", 1, 1, 1.0, 1.0, "trips-gaps") for i in range(3)]
    four = [*three, ("V3", "gaps", 1, 1, 1.0, 1.0, "trips-gaps")]
    assert " of V0, V1, V2: " in trip_notes(summary(three), habits())[0]
    assert " of 4 vehicles: " in trip_notes(summary(four), habits())[0]


def test_what_is_not_known_of_the_habits_is_said_and_nothing_else():
    assert trip_notes(summary(), habits()) == []
    (note,) = trip_notes(summary(), habits(note="trips-no-sideways"))
    assert note.startswith("V1: no lateral acceleration or heading")
    for gone in ("from_date", "to_date"):
        (undated,) = trip_notes(summary(), habits(**{gone: ""}))
        assert undated.startswith("V1: trips without a date")


def test_problems_have_words_beside_their_codes():
    problems = pd.DataFrame([("V1", "speed", 1, 1, 1.0, 1.0, "left-out-mph")], columns=PROBLEMS)
    said = faults_worded(problems).iloc[0]
    assert said["code"] == "left-out-mph"
    assert said["what"] == "speeds look like mph"
    assert said["advice"] == "rename the column speed_mph"
