"""Where the miles went by speed, as data."""

import numpy as np
import pandas as pd
import pytest

from tests.charts.test_fitted import SPEEDS, rows
from tirelife import InputError, charts


def test_the_title_says_the_finding_and_the_description_the_bands():
    spec = charts.miles_by_speed(SPEEDS, title="Most of it fast").to_dict()
    assert spec["title"] == "Most of it fast"
    assert "over 25 mph: 70 percent, usual driver 89" in spec["description"]
    with pytest.raises(InputError, match="no share of the distance"):
        charts.miles_by_speed(SPEEDS.iloc[:0])


def test_a_band_of_which_nothing_is_known_is_left_out_and_bands_keep_their_order():
    more = pd.concat([SPEEDS, SPEEDS.assign(label="x", percent=np.nan)])
    spec = charts.miles_by_speed(more).to_dict()
    assert {row["label"] for row in rows(spec)} == set(SPEEDS["label"])
    assert spec["layer"][0]["encoding"]["y"]["sort"] == SPEEDS["label"].tolist()
    assert spec["layer"][0]["encoding"]["x"]["scale"]["domainMin"] == 0
    assert [layer["encoding"]["x"].get("field") for layer in spec["layer"][:2]] == [
        "percent",
        "usual_percent",
    ]
