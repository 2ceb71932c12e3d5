"""Wheels numbered 1 to 4 are asked about, and taken in the order told."""

import pandas as pd
import pytest

from tirelife.cli import main
from tirelife.errors import InputError
from tirelife.logbook.sheets import Settings, import_sheet

WIDE = """Vehicle,Date,Miles,{heads}
AB 12,2025-01-20,10000,9,8,7,6
AB 12,2025-05-20,15000,8.5,7.5,6.5,5.5
"""
VISITS = (("2025-01-20", 10000, (9, 8, 7, 6)), ("2025-05-20", 15000, (8.5, 7.5, 6.5, 5.5)))
LONG = "Vehicle,Date,Miles,{head},Depth 32nds\n" + "".join(
    f"AB 12,{day},{miles},{number},{deep}\n"
    for day, miles, depths in VISITS
    for number, deep in enumerate(depths, 1)
)


@pytest.mark.parametrize(
    "text",
    [
        WIDE.format(heads="1,2,3,4"),
        WIDE.format(heads="Tire 1,Tire 2,Tire 3,Tire 4"),
        LONG.format(head="Pos"),
        LONG.format(head="Tire"),
    ],
)
def test_the_order_is_asked_for_then_taken_and_kept(tmp_path, text, capsys):
    path = tmp_path / "shop.csv"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(InputError, match=r"numbered 1 to 4.*--wheel-numbers lf-rf-rr-lr"):
        import_sheet(path, tmp_path / "none", Settings("32nds"))
    assert not (tmp_path / "none").exists()
    saved = tmp_path / "map.toml"
    told = ["--depth-unit", "32nds", "--wheel-numbers", "lf-rf-rr-lr", "--save-mapping", str(saved)]
    assert main(["import", str(path), "--out", str(tmp_path / "a"), *told]) == 0
    import_sheet(path, tmp_path / "b", mapping=saved)
    for book in ("a", "b"):
        depths = pd.read_csv(tmp_path / book / "depths.csv")
        first = depths[depths["date"] == "2025-01-20"].set_index("position")["depth_32nds"]
        assert first.to_dict() == {"LF": 9, "RF": 8, "RR": 7, "LR": 6}
    capsys.readouterr()


def test_a_mapping_of_each_column_settles_it_too(tmp_path):
    path = tmp_path / "shop.csv"
    path.write_text(WIDE.format(heads="1,2,3,4"), encoding="utf-8")
    columns = {"D": "depth RR", "E": "depth LR", "F": "depth RF", "G": "depth LF"}
    import_sheet(path, tmp_path / "a", Settings("32nds", columns=columns))
    depths = pd.read_csv(tmp_path / "a" / "depths.csv")
    assert depths[depths["position"] == "RR"]["depth_32nds"].tolist() == [9, 8.5]


def test_an_order_that_is_none_is_refused(tmp_path):
    path = tmp_path / "shop.csv"
    path.write_text(WIDE.format(heads="1,2,3,4"), encoding="utf-8")
    with pytest.raises(InputError, match="no order of wheels"):
        import_sheet(path, None, Settings("32nds", wheel_numbers="lf-lf-rr-lr"))


def test_six_numbered_wheels_are_refused(tmp_path):
    path = tmp_path / "shop.csv"
    wide = WIDE.format(heads=",".join(f"Tire {n}" for n in range(1, 7))).replace("6\n", "6,6,6\n", 1)
    path.write_text(wide, encoding="utf-8")
    with pytest.raises(InputError, match="no column of tread depths by wheel"):
        import_sheet(path, None, Settings("32nds", wheel_numbers="lf-rf-lr-rr"))
