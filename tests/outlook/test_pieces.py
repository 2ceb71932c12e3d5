from dataclasses import replace

import pandas as pd

from tests.fleets import WELL, simulate
from tirelife.logbook import read_logbook
from tirelife.outlook.pieces import Pieces
from tirelife.rates import fit_logbook


def made(folder):
    simulate(folder, replace(WELL, vehicles=7, days=500), 3)
    # A tire that moved to a vehicle of another piece: each of the two is about it.
    mounts = pd.read_csv(folder / "mounts.csv")
    tire = mounts.loc[mounts["vehicle_id"] == "V00001", "tire_id"].iloc[0]
    off = mounts[mounts["tire_id"] == tire].tail(1).assign(position="OFF")
    on = mounts[mounts["vehicle_id"] == "V00007"].tail(1).assign(tire_id=tire, position="SP")
    moved = pd.concat([off, on]).assign(date="2024-05-15")
    pd.concat([mounts, moved]).to_csv(folder / "mounts.csv", index=False)
    book = read_logbook(folder)
    return book, fit_logbook(book), tire


def test_pieces_hold_every_row_once_and_tires_wherever_they_were(tmp_path):
    book, fit, moved = made(tmp_path)
    pieces = Pieces(book, fit, 3)
    assert len(pieces) == 3
    parts = [pieces[i] for i in range(3)]
    names = [n for part, _ in parts for n in part.vehicles["vehicle_id"]]
    assert names == sorted(book.vehicles["vehicle_id"])
    for name, table in book.tables.items():
        if name == "tires" or "vehicle_id" not in table:
            continue
        rows = pd.concat([part.tables[name] for part, _ in parts]).sort_values("row", ignore_index=True)
        pd.testing.assert_frame_equal(rows, table.sort_values("row", ignore_index=True))
    for part, known in parts:
        tires = set(part.mounts["tire_id"])
        assert set(part.tires["tire_id"]) == tires
        for frame in ("tires", "visits"):
            whole = fit.frames[frame]
            wanted = whole[whole["tire_id"].isin(tires)].reset_index(drop=True)
            pd.testing.assert_frame_equal(known.frames[frame], wanted)
        assert set(known.vehicles["vehicle_id"]) <= set(part.vehicles["vehicle_id"])
    holds = [moved in set(part.tires["tire_id"]) for part, _ in parts]
    assert holds == [True, False, True]
