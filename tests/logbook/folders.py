"""Small logbooks in a folder, to be spoilt one way or another."""

GROOVES = ("outer", "center", "inner")
PLACES = ("LF", "RF", "LR", "RR")
TABLES = {
    "vehicles": "vehicle_id,drive,placard_front_psi,placard_rear_psi\nV1,front,33,33\nV2,rear,35,38\n",
    "tires": "tire_id,tire_line,new_depth_32nds,made_week\n"
    + "".join(f"T{i},Line A,10,0724\n" for i in range(1, 9)),
    "mounts": "date,odometer_mi,vehicle_id,tire_id,position\n"
    + "".join(f"2025-01-10,1000,V1,T{i + 1},{p}\n" for i, p in enumerate(PLACES))
    + "".join(f"2025-01-11,2000,V2,T{i + 5},{p}\n" for i, p in enumerate(PLACES)),
    "depths": "date,odometer_mi,vehicle_id,position,groove,depth_32nds\n"
    + "".join(
        f"2025-0{3 + 2 * k}-10,{4000 + 3000 * k},{v},{p},{g},{9.5 - 0.5 * k}\n"
        for k in range(3)
        for v in ("V1", "V2")
        for p in PLACES
        for g in GROOVES
    ),
}
"""Two cars, eight tires, three visits: 72 readings, nothing wrong."""
HABITS = (
    "vehicle_id,from_date,to_date,share_under_25mph,share_25_40mph,share_40_55mph,share_55_70mph,"
    "share_over_70mph,hard_starts_per_100mi,hard_stops_per_100mi,hard_turns_per_100mi\n"
)


def folder(path, **tables):
    """Write the logbook, some of its tables replaced (None leaves one out); a text or bytes each."""
    path.mkdir(parents=True, exist_ok=True)
    for name, content in {**TABLES, **tables}.items():
        if content is not None:
            data = content if isinstance(content, bytes) else content.encode()
            (path / f"{name}.csv").write_bytes(data)
    return path


def swap(table, old, new, count=-1):
    """One of the tables with a text in it replaced."""
    assert old in TABLES[table]
    return TABLES[table].replace(old, new, count)
