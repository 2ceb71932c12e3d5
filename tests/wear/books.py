"""Small logbooks made by hand."""

from __future__ import annotations

from pathlib import Path

from tirelife.logbook import Logbook, read_logbook

VEHICLES = """vehicle_id,drive,placard_front_psi,placard_rear_psi
A,front,35,30
"""
TIRES = """tire_id,tire_line,new_depth_32nds
T1,Plain,10
T2,Plain,10
T3,Plain,10
T4,Plain,10
"""
MOUNTS = """date,odometer_mi,vehicle_id,tire_id,position
2024-01-01,0,A,T1,LF
2024-01-01,0,A,T2,RF
2024-01-01,0,A,T3,LR
2024-01-01,0,A,T4,RR
"""
DEPTHS = """date,odometer_mi,vehicle_id,position,groove,depth_32nds
2024-01-01,0,A,LF,center,10
2025-01-01,10000,A,LF,center,8
"""


def make_book(folder: Path, **tables: str) -> Logbook:
    """Write the tables given over the usual ones, and read them; one car, four tires, 10,000 miles in 2024."""
    texts = {"vehicles": VEHICLES, "tires": TIRES, "mounts": MOUNTS, "depths": DEPTHS} | tables
    for name, text in texts.items():
        (folder / f"{name}.csv").write_text(text, encoding="utf-8")
    return read_logbook(folder)
