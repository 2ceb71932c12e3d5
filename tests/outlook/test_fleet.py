from dataclasses import replace

import pandas as pd
import pytest

from tests.fleets import WELL, simulate
from tirelife.errors import InputError
from tirelife.logbook import read_logbook
from tirelife.outlook import Otherwise, forecast, forecast_fleet, what_if_fleet
from tirelife.outlook.notes import plain_notes
from tirelife.rates import fit_logbook


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    folder = tmp_path_factory.mktemp("fleet")
    simulate(folder, replace(WELL, vehicles=8), 6)
    book = read_logbook(folder)
    return book, fit_logbook(book)


def test_one_chunk_is_the_forecast_and_rows_are_never_lost(made, tmp_path):
    book, fit = made
    seen = []
    whole = pd.read_parquet(forecast_fleet(book, fit, tmp_path / "one", progress=lambda *a: seen.append(a)))
    pd.testing.assert_frame_equal(whole, plain_notes(forecast(book, fit)), check_dtype=False)
    assert seen == [(8, 8)]
    parts = pd.read_parquet(forecast_fleet(book, fit, tmp_path / "parts", chunk=3))
    assert parts["tire_id"].tolist() == whole["tire_id"].tolist()
    # Spreads over vehicles are learned over three vehicles here, not eight: close, not equal.
    assert (parts["km_left_p50"] / whole["km_left_p50"]).between(0.85, 1.15).all()


def test_a_stopped_run_goes_on_where_it_was(made, tmp_path):
    book, fit = made
    folder = tmp_path / "out"

    def stop(done, total):
        if done >= 4:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        forecast_fleet(book, fit, folder, chunk=2, progress=stop)
    held = {f.name: f.stat().st_mtime_ns for f in folder.glob("part-*")}
    assert len(held) == 2
    forecast_fleet(book, fit, folder, chunk=2)
    assert len(list(folder.glob("part-*"))) == 4
    assert all((folder / name).stat().st_mtime_ns == at for name, at in held.items())


def test_another_runs_folder_is_left_alone(made, tmp_path):
    book, fit = made
    forecast_fleet(book, fit, tmp_path / "out")
    with pytest.raises(InputError, match="another run"):
        forecast_fleet(book, fit, tmp_path / "out", removal_depth_mm=3.0)
    (tmp_path / "mine").mkdir()
    (tmp_path / "mine" / "note.txt").write_text("keep")
    with pytest.raises(InputError, match="not empty"):
        forecast_fleet(book, fit, tmp_path / "mine")


def test_what_ifs_of_a_fleet(made, tmp_path):
    book, fit = made
    changes = [Otherwise("3 mm", removal_depth_mm=3.0), Otherwise("rotate", rotation_km=8000.0)]
    table = pd.read_parquet(what_if_fleet(book, fit, changes, tmp_path / "out", chunk=4))
    assert len(table) == 2 * 8 * 5
    assert set(table["change"]) == {"3 mm", "rotate"}


def test_a_part_that_is_not_as_it_was_made_is_made_again(made, tmp_path, monkeypatch):
    book, fit = made
    folder = tmp_path / "out"
    done = forecast_fleet(book, fit, folder, chunk=2)
    assert (done.kept, done.made) == (0, 4)
    whole = pd.read_parquet(done)
    cut = folder / "part-00001.parquet"
    cut.write_bytes(cut.read_bytes()[: cut.stat().st_size // 2])
    spoilt = folder / "part-00002.parquet"
    data = bytearray(spoilt.read_bytes())
    data[len(data) // 3] ^= 1
    spoilt.write_bytes(data)
    (folder / "._about.json.x.tirelife-part.json").write_text("{")  # what a killed run leaves
    done = forecast_fleet(book, fit, folder, chunk=2)
    assert (done.kept, done.made) == (2, 2)
    assert str(done) == f"{folder}: 2 parts kept, 2 made"
    pd.testing.assert_frame_equal(pd.read_parquet(folder), whole)
    assert not [f for f in folder.rglob("*") if f.name.startswith(".")]
    assert forecast_fleet(book, fit, folder, chunk=2).made == 0
    monkeypatch.setattr("tirelife.logbook.parts.__version__", "0.0.9")
    assert forecast_fleet(book, fit, folder, chunk=2).made == 4  # another version's parts are not mixed in
    other = replace(fit, q=fit.q + 0.01)
    assert forecast_fleet(book, other, folder, chunk=2).made == 4


def test_a_temporary_manifest_that_was_left_does_not_block_a_folder(made, tmp_path):
    book, fit = made
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "._about.json.abc.tirelife-part.json").write_text("{")
    assert forecast_fleet(book, fit, tmp_path / "out").made == 1
