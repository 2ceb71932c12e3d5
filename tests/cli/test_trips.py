import json
import shutil
import subprocess
import sys
import time
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from tests.driving.recordings import cycle, published_trips, trips_frame
from tirelife.cli import main
from tirelife.driving import profile_from_row, profiles_from_habits, reduce_trips
from tirelife.logbook import BANDS, read_logbook
from tirelife.logbook.schema import KEPT_BESIDE

DEMO = Path(__file__).parents[2] / "data_synthetic" / "logbook"
HABITS = [
    "vehicle_id",
    "from_date",
    "to_date",
    *BANDS,
    "hard_starts_per_100mi",
    "hard_stops_per_100mi",
    "hard_turns_per_100mi",
]


@pytest.fixture
def trips(tmp_path):
    frame = pd.concat(
        [trips_frame(cycle(n), vehicle=f"V{i}", date="2026-03-01") for i, n in enumerate(("udds", "us06"))]
    )
    frame.to_csv(tmp_path / "trips.csv", index=False)
    return tmp_path / "trips.csv"


def test_habits_are_a_table_of_the_logbook(trips, tmp_path, capsys):
    out, rows = tmp_path / "habits.csv", tmp_path / "rows.csv"
    assert main(["trips", str(trips), "--out", str(out), "--trips-out", str(rows)]) == 0
    shown = capsys.readouterr()
    assert "hard stops" in shown.out
    assert "no lateral acceleration or heading" in shown.err
    habits = pd.read_csv(out)
    assert list(habits.columns[: len(HABITS)]) == HABITS
    assert habits["from_date"].tolist() == ["2026-03-01"] * 2
    assert habits[list(BANDS)].sum(axis=1).tolist() == pytest.approx([1, 1])
    assert habits["threshold_stop_mps2"].tolist() == pytest.approx([0.25 * 9.80665] * 2)
    table = pd.read_csv(rows)
    assert table["distance_mi"].tolist() == pytest.approx([7.4505, 8.01], abs=5e-3)  # official lengths
    assert table["max_speed_mph"].tolist() == pytest.approx([56.70, 80.30], abs=5e-3)
    assert table["kinetic_intensity_per_km"].gt(0).all()


def test_our_own_columns_of_habits_are_known_to_the_logbook_and_others_are_not(trips, tmp_path):
    shutil.copytree(DEMO, tmp_path / "book")
    habits = tmp_path / "book" / "habits.csv"
    main(["trips", str(trips), "--out", str(habits)])
    written = pd.read_csv(habits)
    assert set(written.columns) == {*HABITS, *KEPT_BESIDE["habits"]}
    written.assign(vehicle_id=["V01", "V02"]).to_csv(habits, index=False)
    assert "column-unknown" not in str(doubts(tmp_path / "book"))
    written.assign(vehicle_id=["V01", "V02"], mood="good").to_csv(habits, index=False)
    assert ("column-unknown", "", (("names", ("mood",)),)) in doubts(tmp_path / "book")


def doubts(folder):
    problems = read_logbook(folder).problems
    mine = problems[problems["file"] == "habits.csv"]
    return [(one.code, one.value, one.values) for one in mine.itertuples()]


def test_a_logbook_reads_the_profile_back(trips, tmp_path):
    from tirelife.units import convert

    out = tmp_path / "habits.csv"
    main(["trips", str(trips), "--out", str(out)])
    habits = pd.read_csv(out, parse_dates=["from_date", "to_date"])
    for event in ("starts", "stops", "turns"):  # as the logbook's reader converts it
        habits[f"hard_{event}_per_100km"] = convert(
            habits.pop(f"hard_{event}_per_100mi"), "per_100mi", "per_100km"
        )
    again = profiles_from_habits(habits)
    direct = reduce_trips(trips).vehicles
    for i in range(2):
        got, want = profile_from_row(again.iloc[i]), profile_from_row(direct.iloc[i])
        assert got.source == "trips"
        assert got.brake_a2 == pytest.approx(want.brake_a2, rel=1e-12)
        assert got.hard_stops_per_100km == pytest.approx(want.hard_stops_per_100km, rel=1e-12)
        assert got.thresholds.stop_mps2 == pytest.approx(want.thresholds.stop_mps2)


def test_accelerations_alone_give_events_and_no_habits(tmp_path, capsys):
    frame = pd.DataFrame(
        {
            "vehicle_id": "V",
            "trip_id": "T",
            "time_s": np.arange(30.0),
            "longitudinal_g": np.where(np.arange(30) < 4, 0.3, 0.0),
        }
    )
    frame.to_csv(tmp_path / "felt.csv", index=False)
    assert main(["trips", str(tmp_path / "felt.csv"), "--trips-out", str(tmp_path / "rows.csv")]) == 0
    shown = capsys.readouterr().out
    assert "0.30 g" in shown
    assert "no habits" in shown
    rows = pd.read_csv(tmp_path / "rows.csv")
    assert rows["hard_starts"].tolist() == [1]
    assert rows["start_peak_mps2"].tolist() == pytest.approx([0.3 * 9.80665])


def test_both_tables_tell_the_same_distance(tmp_path):
    samples, published = published_trips()
    samples.to_csv(tmp_path / "trips.csv", index=False)
    out, rows = tmp_path / "habits.csv", tmp_path / "rows.csv"
    assert main(["trips", str(tmp_path / "trips.csv"), "--out", str(out), "--trips-out", str(rows)]) == 0
    by_trip = pd.read_csv(rows).groupby("vehicle_id")["distance_mi"].sum()
    habits = pd.read_csv(out).set_index("vehicle_id")
    assert habits["distance_km"].to_numpy() / 1.609344 == pytest.approx(by_trip.to_numpy(), rel=1e-12)
    assert habits["distance_km"].sum() / 1.609344 == pytest.approx(
        published["distance_total"].sum(), rel=1e-9
    )
    assert (habits["counted_km"] < habits["distance_km"]).any()


def test_thresholds_are_settings(trips, tmp_path):
    out = tmp_path / "habits.csv"
    main(["trips", str(trips), "--out", str(out), "--stop", "0.30", "--merge", "0"])
    habits = pd.read_csv(out)
    assert habits["threshold_stop_mps2"].tolist() == pytest.approx([2.941995] * 2)
    assert habits["threshold_merge_s"].tolist() == [0, 0]
    # US06: one run beyond 3 m/s² and six beyond 2.5 (data-and-oracles 1.2); 0.30 g lies between.
    stops = habits["hard_stops_per_100mi"][1] * 8.01 / 100
    assert 1 <= stops <= 6


def test_json_and_metric(trips, tmp_path, capsys):
    assert (
        main(["trips", str(trips), "--json", "--units", "metric", "--trips-out", str(tmp_path / "r.csv")])
        == 0
    )
    said = json.loads(capsys.readouterr().out)
    assert [row["vehicle_id"] for row in said["habits"]] == ["V0", "V1"]
    assert pd.read_csv(tmp_path / "r.csv")["max_speed_kmh"].tolist() == pytest.approx(
        [91.25, 129.23], abs=5e-3
    )


def test_trips_without_dates_are_said(tmp_path, capsys):
    trips_frame(cycle("udds")).to_csv(tmp_path / "t.csv", index=False)
    main(["trips", str(tmp_path / "t.csv")])
    assert "trips without a date" in capsys.readouterr().err
    dated = ["--from-date", "2026-01-01", "--to-date", "2026-02-01", "--out", str(tmp_path / "h.csv")]
    main(["trips", str(tmp_path / "t.csv"), *dated])
    assert "trips without a date" not in capsys.readouterr().err
    assert pd.read_csv(tmp_path / "h.csv")["to_date"].tolist() == ["2026-02-01"]


def test_nothing_is_written_when_input_is_bad(trips, tmp_path, capsys):
    out = tmp_path / "habits.csv"
    trips.write_text(trips.read_text().replace("speed_mps", "pace"))
    assert main(["trips", str(trips), "--out", str(out)]) == 2
    assert "column speed_mps: this column is missing" in capsys.readouterr().err
    assert not out.exists()
    assert main(["trips", str(tmp_path / "none.csv"), "--out", str(out)]) == 2
    assert main(["trips", str(trips), "--out", str(tmp_path / "habits.txt")]) == 2
    assert main(["trips", str(trips), "--from-date", "yesterday"]) == 2
    assert main(["trips", str(trips), "--stop", "-1"]) == 2


def test_in_parts_and_on_two_dask_workers(tmp_path, capsys):
    pytest.importorskip("distributed")
    frame = pd.concat(
        [trips_frame(cycle(n), vehicle=f"V{i}", date="2026-03-01") for i, n in enumerate(("udds", "us06"))]
    )
    frame.to_parquet(tmp_path / "trips", partition_cols=["vehicle_id"])
    whole, parts, again = (tmp_path / f"{n}.csv" for n in ("whole", "parts", "again"))
    assert main(["trips", str(tmp_path / "trips"), "--out", str(whole)]) == 0
    sums = ["--parts", str(tmp_path / "sums")]
    assert main(["trips", str(tmp_path / "trips"), *sums, "--workers", "2", "--out", str(parts)]) == 0
    err = capsys.readouterr().err
    assert "0 parts kept, 2 made." in err
    assert "] 0 of" not in err  # how far it is, is for a terminal
    assert main(["trips", str(tmp_path / "trips"), *sums, "--out", str(again)]) == 0
    assert parts.read_text() == again.read_text() == whole.read_text()
    assert main(["trips", str(tmp_path / "trips"), "--workers", "2"]) == 2
    assert "give --parts DIR" in capsys.readouterr().err


def test_a_cluster_started_by_the_documented_commands(tmp_path):
    pytest.importorskip("distributed")
    dask = Path(sys.executable).parent / "dask"
    frame = pd.concat(
        [trips_frame(cycle(n), vehicle=f"V{i}", date="2026-03-01") for i, n in enumerate(("udds", "us06"))]
    )
    frame.to_parquet(tmp_path / "trips", partition_cols=["vehicle_id"])
    card = tmp_path / "scheduler.json"
    quiet = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL, "cwd": tmp_path}
    started = [
        subprocess.Popen(
            [
                dask,
                "scheduler",
                "--host",
                "127.0.0.1",
                "--port",
                "0",
                "--no-dashboard",
                "--scheduler-file",
                card,
            ],
            **quiet,
        )
    ]
    try:
        for _ in range(600):
            if card.exists() and card.stat().st_size:
                break
            time.sleep(0.05)
        address = json.loads(card.read_text())["address"]
        worker = [dask, "worker", address, "--nthreads", "1", "--no-dashboard"]
        started += [subprocess.Popen(worker, **quiet) for _ in range(2)]
        told = [
            "--parts",
            str(tmp_path / "sums"),
            "--scheduler",
            address,
            "--out",
            str(tmp_path / "there.csv"),
        ]
        assert main(["trips", str(tmp_path / "trips"), *told]) == 0
    finally:
        for process in reversed(started):
            process.terminate()
            process.wait()
    assert main(["trips", str(tmp_path / "trips"), "--out", str(tmp_path / "here.csv")]) == 0
    assert (tmp_path / "there.csv").read_text() == (tmp_path / "here.csv").read_text()


def test_problems_are_told_and_written(tmp_path, capsys):
    t, v = cycle("udds")
    keep = (t < 300) | (t > 400)
    trips_frame((t[keep], v[keep]), (t, v * 3.6), (t, v)).to_csv(tmp_path / "t.csv", index=False)
    main(["trips", str(tmp_path / "t.csv"), "--problems-out", str(tmp_path / "p.csv")])
    said = capsys.readouterr().err
    assert "gaps:" in said
    assert "speeds look like km/h" in said
    kinds = pd.read_csv(tmp_path / "p.csv").set_index("kind")
    assert kinds.loc["left out", "trips"] == 1
