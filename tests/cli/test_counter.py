"""``tirelife counter``: the page is written, whole or not at all."""

import json
import re

import pytest

from tirelife.cli import main
from tirelife.rates import PUBLISHED, save_prior


def tables_of(path):
    return json.loads(re.search(r'id="tables">(.*?)</script>', path.read_text("utf-8"), re.DOTALL)[1])


def test_from_a_log_a_saved_fit_and_nothing(tmp_path, capsys):
    out = tmp_path / "counter.html"
    assert main(["counter", "data_synthetic/logbook", "--out", str(out)]) == 0
    assert tables_of(out)["fit"]["kind"] == "fit"
    save_prior(PUBLISHED, tmp_path / "shop.json")
    assert (
        main(["counter", "--prior", str(tmp_path / "shop.json"), "--units", "metric", "--out", str(out)]) == 0
    )
    assert tables_of(out)["fit"]["kind"] == "prior"
    assert tables_of(out)["units"] == "metric"
    assert main(["counter", "--out", str(out)]) == 0
    assert tables_of(out)["fit"]["kind"] == "published"
    assert "page written to" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("name", "said"),
    [("counter.txt", "the name must end in .html"), ("no/counter.html", "there is no such folder")],
)
def test_where_it_cannot_be_written_is_told_first(tmp_path, capsys, name, said):
    assert main(["counter", "data_synthetic/logbook", "--out", str(tmp_path / name)]) == 2
    assert said in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []


def test_vehicles_are_in_it_only_where_they_are_asked_for(tmp_path, capsys):
    out, log = tmp_path / "counter.html", "data_synthetic/logbook"
    assert main(["counter", log, "--with-vehicles", "--out", str(out)]) == 0
    assert set(tables_of(out)["cars"]) == {f"V{i:02d}" for i in range(1, 25)}
    assert "with 24 of 24 vehicles by name" in capsys.readouterr().err
    assert out.stat().st_size < 1_000_000
    assert main(["counter", log, "--out", str(out)]) == 0
    assert "cars" not in tables_of(out)
    assert main(["counter", "--with-vehicles", "--out", str(out)]) == 2
    assert "name the logbook" in capsys.readouterr().err
