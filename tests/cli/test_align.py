import json

import pytest

from tirelife.cli import main


def test_published_slip_in_inches(capsys):
    # kirtec.ca: 0.17 in at 30 in, 12,000 miles a year, 68 miles dragged sideways.
    words = "align --unit in --distances 58.83 59.0 --diameter 30 --miles-a-year 12000 --json"
    assert main(words.split()) == 0
    rows = {r["quantity"]: r for r in json.loads(capsys.readouterr().out)["rows"]}
    assert rows["toe_in"]["found"] == pytest.approx(0.17)
    assert rows["slip_mi_per_year"]["found"] == pytest.approx(68.0, abs=0.1)
    assert rows["slip_ft_per_mile"]["found"] == pytest.approx(29.92, abs=0.005)
    assert rows["wear_ratio"]["low"] < rows["wear_ratio"]["found"] < rows["wear_ratio"]["high"]


def test_text_against_the_specification(capsys):
    words = "align --axle front --distances 1498 1503 --turned 1502 1503 --toe-spec 0 2"
    words += " --camber-left -0.4 -0.6 --camber-right -1.2"
    assert main(words.split()) == 0
    out = capsys.readouterr().out
    assert "Front axle\n  Total toe, in positive            3.000 mm" in out
    assert "specification 0 to 2: outside: have it set by a qualified person" in out
    assert "Run-out, averaged out             2.000 mm" in out
    assert "Camber left                      -0.500 °  no specification entered" in out
    assert "80 % range" in out


def test_checklist(capsys):
    assert main(["align", "--checklist"]) == 0
    out = capsys.readouterr().out
    assert out.count("[ ] ") == 9
    assert "never bleed a hot tire" in out


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ("align", "no distances: give --distances FRONT REAR"),
        ("align --distances 59 59.1", "59.0 mm is outside 500 to 3500"),
        ("align --distances 1500 1502 --toe-spec 2 0", "give the lower figure first"),
        ("align --distances 1500 1502 --camber-left 1 2 3", "one reading, or two half a turn apart"),
    ],
)
def test_bad_input_is_said_and_nothing_printed(words, said, capsys):
    assert main(words.split()) == 2
    caught = capsys.readouterr()
    assert said in caught.err
    assert caught.out == ""
