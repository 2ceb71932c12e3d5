"""Readings that have no tire, that are deeper than new, that grow, or that are all in another unit."""

import pytest

from tests.logbook.folders import TABLES, folder
from tirelife.logbook import check_logbook
from tirelife.logbook.codes import Ask, Found
from tirelife.logbook.growth import GAUGE_TOLERANCE

N32 = 25.4 / 32


def found(tmp_path, code, **tables):
    out = check_logbook(folder(tmp_path / "book", **tables))
    return out[out["code"] == code].reset_index(drop=True)


@pytest.mark.parametrize(("day", "place", "none"), [("2025-01-10", "LF", False), ("2025-01-09", "LF", True),
                                                    ("2025-02-10", "SP", True)])  # fmt: skip
def test_a_depth_where_no_tire_is(tmp_path, day, place, none):
    depths = TABLES["depths"] + f"{day},{1000 if 'LF' in place else 2500},V1,{place},outer,9.8\n"
    rows = found(tmp_path, Found.NO_TIRE, depths=depths)
    assert rows[["row", "column", "value", "doubt"]].to_numpy().tolist() == (
        [[74, "position", place, True]] if none else []
    )


def test_a_pressure_where_no_tire_is(tmp_path):
    head = "date,vehicle_id,position,pressure_psi,state\n"
    rows = found(
        tmp_path, Found.NO_TIRE, pressures=head + "2025-02-10,V1,LF,33,cold\n2025-02-10,V1,SP,33,cold\n"
    )
    assert rows[["file", "row"]].to_numpy().tolist() == [["pressures.csv", 3]]


@pytest.mark.parametrize(("over", "told"), [(-0.05, 0), (0.05, 1)])
def test_deeper_than_new_by_more_than_a_gauge_errs(tmp_path, over, told):
    depth = 10 + (GAUGE_TOLERANCE + over) / N32  # a millimetre over 10/32
    depths = TABLES["depths"] + f"2025-02-10,2500,V1,LF,outer,{depth:.4f}\n"
    rows = found(tmp_path, Found.OVER_NEW, depths=depths)
    assert len(rows) == told
    if told:
        assert rows.loc[0, "row"] == 74
        assert dict(rows["values"][0]) == {"depth": "10"}


def test_a_depth_that_grows(tmp_path):
    # 8.5/32 on 10 July; a month later 10/32, 1.2 mm more, which a gauge does not err by.
    depths = TABLES["depths"] + "2025-08-10,12000,V1,LF,outer,10\n"
    rows = found(tmp_path, Found.DEPTH_GROWS, depths=depths)
    assert rows["row"].tolist() == [74]
    few = TABLES["depths"] + "2025-08-10,12000,V1,LF,outer,9.5\n"  # 0.8 mm: it may
    assert found(tmp_path / "few", Found.DEPTH_GROWS, depths=few).empty


@pytest.mark.parametrize(
    ("factor", "unit"), [(N32, "mm"), (1.0, None), (0.9, None), (1 / 0.0254 * N32, "mils")]
)
def test_all_depths_in_another_unit_are_asked_about_once(tmp_path, factor, unit):
    rows = [
        f"2025-01-12,2100,{v},{p},{g},{10 * factor:.3f}"
        for v in ("V1", "V2")
        for p in ("LF", "RF", "LR", "RR")
        for g in ("outer", "inner")
    ]
    head = TABLES["depths"].split("\n")[0]
    told = check_logbook(folder(tmp_path / "book", depths=head + "\n" + "\n".join(rows) + "\n"))
    asked = told[told["code"] == Found.DEPTH_UNIT]
    assert [dict(values)["unit"] for values in asked["values"]] == ([unit] if unit else [])
    if unit == "mm":
        assert asked["ask"].tolist() == [Ask.DEPTH_UNIT_OR_NEW]


@pytest.mark.parametrize(("later", "asked"), [(0, True), (10_000, False)])
def test_tires_not_read_at_once_tell_their_unit_by_the_line_back_to_their_start(tmp_path, later, asked):
    # Read 3,000, 6,000 and 9,000 miles after they were mounted, 0.5/32 less each time: a line back to 10/32.
    # Over 10,000 miles more a line says nothing.
    head, *_ = TABLES["depths"].split("\n")
    rows = [
        f"2025-0{3 + 2 * k}-10,{mounted + later + 3000 * (k + 1)},{v},{p},outer,{(9.5 - 0.5 * k) * N32:.3f}"
        for k in range(3)
        for v, mounted in (("V1", 1000), ("V2", 2000))
        for p in ("LF", "RF", "LR", "RR")
    ]
    told = found(tmp_path, Found.DEPTH_UNIT, depths="\n".join([head, *rows]) + "\n")
    assert [dict(values)["unit"] for values in told["values"]] == (["mm"] if asked else [])
