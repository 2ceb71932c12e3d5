"""Tables as files: by the ending of their names, dates as days."""

import pandas as pd
import pytest

from tirelife.errors import InputError
from tirelife.outlook.files import plain_dates, write_table

TABLE = pd.DataFrame(
    {"tire_id": ["=A1", "B"], "due": pd.to_datetime(["2026-03-05 13:00", None]), "mm": [1.5, None]}
)


def test_dates_are_days_and_what_is_no_date_stays():
    plain = plain_dates(TABLE)
    assert plain["due"].tolist()[0] == "2026-03-05"
    assert pd.isna(plain["due"][1])
    assert plain["mm"][0] == 1.5
    assert TABLE["due"].dtype.kind == "M"


@pytest.mark.parametrize("name", ["out.csv", "OUT.CSV"])
def test_a_csv_has_days_and_blanks(tmp_path, name):
    write_table(TABLE, tmp_path / name)
    assert (tmp_path / name).read_text(encoding="utf-8").splitlines() == [
        "tire_id,due,mm",
        "=A1,2026-03-05,1.5",
        "B,,",
    ]


def test_a_csv_for_a_spreadsheet_has_no_formula(tmp_path):
    write_table(TABLE, tmp_path / "out.csv", for_spreadsheet=True)
    assert not any(
        line.startswith("=") for line in (tmp_path / "out.csv").read_text(encoding="utf-8").splitlines()
    )


def test_parquet_keeps_dates_as_they_are(tmp_path):
    write_table(TABLE, tmp_path / "out.parquet")
    pd.testing.assert_frame_equal(pd.read_parquet(tmp_path / "out.parquet"), TABLE, check_dtype=False)


@pytest.mark.parametrize("name", ["out.xlsx", "out", "csv"])
def test_another_ending_is_refused_and_nothing_is_written(tmp_path, name):
    with pytest.raises(InputError) as refused:
        write_table(TABLE, tmp_path / name)
    assert refused.value.problems[0].code == "outlook-table-name"
    assert list(tmp_path.iterdir()) == []
