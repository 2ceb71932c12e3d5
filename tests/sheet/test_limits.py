"""Removal depth by place on the commands that project: which rule was used is said."""

import pandas as pd
import pytest

from tirelife.cli import main
from tirelife.errors import InputError
from tirelife.sheet import removal_limits

DAY = pd.Timestamp("2026-01-10")


def test_without_a_place_it_is_two_thirty_seconds_and_no_rule_is_claimed():
    depth, rule = removal_limits(DAY)
    assert depth.to_numpy() == pytest.approx(2 * 25.4 / 32)
    assert rule == ""


def test_by_axle_and_with_its_source():
    # TM 9-2610-200-14 section 2-24: commercial passenger vehicles, 4/32 in on the steering axle, 2/32 elsewhere.
    depth, rule = removal_limits(DAY, place="US/Army")
    assert depth["LF"] == depth["RF"] == pytest.approx(4 * 25.4 / 32)
    assert depth["LR"] == depth["RR"] == pytest.approx(2 * 25.4 / 32)
    assert depth["SP"] == depth["LF"]
    assert "removal depth of US/Army on 2026-01-10: TM 9-2610-200-14" in rule


def test_by_season_and_the_depth_given_wins():
    # Austria: 4 mm on winter tires from 1 November to 15 April (second-hand), else 1.6 mm (89/459/EEC).
    assert removal_limits(DAY, place="EU/Austria")[0]["LF"] == pytest.approx(4.0)
    summer, rule = removal_limits(pd.Timestamp("2026-07-01"), place="EU/Austria")
    assert summer["LF"] == pytest.approx(1.6)
    assert "89/459/EEC, 1989-07-18" in rule
    given, rule = removal_limits(DAY, place="EU/Austria", depth_mm=3.0)
    assert given["LF"] == pytest.approx(3.0)
    assert rule == ""


def test_a_file_of_ones_own(tmp_path):
    (tmp_path / "mine.csv").write_text(
        "place,axle,depth,unit,source,dated\nUS/Ohio,front,5,32nds,Depot rule 7,2025-03-01\n"
        "US/Ohio,rear,3,32nds,Depot rule 7,2025-03-01\n"
    )
    depth, rule = removal_limits(DAY, place="US/Ohio", file=tmp_path / "mine.csv")
    assert depth["LF"] == pytest.approx(5 * 25.4 / 32)
    assert depth["RR"] == pytest.approx(3 * 25.4 / 32)
    assert "Depot rule 7, 2025-03-01" in rule


def test_an_unknown_place_names_those_there_are():
    with pytest.raises(InputError, match=r"(?s)'Atlantis'.*EU/Austria.*US/Maryland"):
        removal_limits(DAY, place="Atlantis")


def test_a_place_without_a_limit_for_cars_is_refused():
    with pytest.raises(InputError, match="Canada"):
        removal_limits(DAY, place="Canada/Quebec")


def test_the_commands_refuse_an_unknown_place_and_write_nothing(tmp_path, capsys):
    out = tmp_path / "page.html"
    for command in (["forecast"], ["sheet", "--vehicle", "V03", "--out", str(out)]):
        assert main([command[0], "data_synthetic/logbook", *command[1:], "--place", "Atlantis"]) == 2
        assert "EU/Austria" in capsys.readouterr().err
    assert not out.exists()
