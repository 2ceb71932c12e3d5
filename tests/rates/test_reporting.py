from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

from tirelife.rates import PUBLISHED, WearFit
from tirelife.rates.reporting import _season, in_units, report


def made(passed=True):
    estimates = pd.DataFrame(
        [
            ("wear", 0.124, 0.0056, 0.113, 0.135, "mm per 1000 km", "fitted"),
            ("front over rear, front drive", 1.4, 0.1, 1.2, 1.6, "ratio", "fitted"),
            ("q", 0.02, 0.3, -0.57, 0.61, "exponent", "prior"),
        ],
        columns=["term", "estimate", "std_error", "lower", "upper", "unit", "source"],
    )
    components = pd.DataFrame(
        [
            ("reading", 0.2, 0.19, 0.21, "mm", "fitted"),
            ("tire", 0.08, np.nan, np.nan, "log", "fitted"),
        ],
        columns=["term", "estimate", "lower", "upper", "unit", "source"],
    )
    checks = pd.DataFrame(
        [
            ("converged", 7.0, 60.0, True, "", "", ""),
            (
                "lost-ranges",
                0.0 if passed else 1.0,
                0.0,
                passed,
                "" if passed else "fit-ranges-lost",
                "ranges-lost",
                "",
            ),
            ("identifiable: q", 0.97, 0.9, passed, "" if passed else "fit-prior-answers", "", ""),
        ],
        columns=["check", "value", "limit", "passed", "advice", "code", "about"],
    )
    frames = {
        "estimates": estimates, "components": components, "checks": checks,
        "tires": pd.DataFrame(index=range(18)), "vehicles": pd.DataFrame(index=range(5)),
        "visits": pd.DataFrame(index=range(214)),
    }  # fmt: skip
    return WearFit(frames, "REML", 0.02, PUBLISHED, PUBLISHED)


def test_the_report_word_for_word():
    assert report(made(passed=False)) == (
        "WearFit: 214 tire-visits, 18 tires, 5 vehicles, REML\n"
        "Trust:   good; converged; 2 of 3 checks failed\n"
        "         ranges that could not be found: 1 (limit 0). The covariance failed for these; they are left blank.\n"
        "         The prior alone answers for bend of the path (q).\n"
        "\n"
        "implied abrasion: 82 mg/km a car, at 217 g a mm of one tire's tread (measured in Europe: about 110)"
    )


def test_all_well_is_said_first():
    assert report(made()).splitlines()[1] == "Trust:   good; converged; all 3 checks passed"
    assert str(made()) == report(made())


def test_us_units():
    # 0.124 mm per 1000 km is 0.124 / 0.79375 x 1.609344 = 0.25141 of 1/32 in per 1000 miles
    table = in_units(made().estimates, "us")
    assert table.loc[0, "unit"] == "32nds per 1000 miles"
    assert abs(table.loc[0, "estimate"] - 0.124 / 0.79375 * 1.609344) < 1e-12
    assert table.loc[1, "estimate"] == 1.4
    assert abs(in_units(made().components, "us").loc[0, "estimate"] - 0.2 / 0.79375) < 1e-12
    assert in_units(made().estimates, "metric").equals(made().estimates)


@pytest.mark.parametrize(
    ("day", "month"), [(0.0, 1), (30.0, 1), (31.0, 2), (200.0, 7), (334.0, 11), (365.2, 12)]
)
def test_the_season_peaks_in_the_month_of_its_day(day, month):
    def season(amplitude, sd):
        row = pd.DataFrame({"amplitude": [amplitude], "amplitude_sd": [sd], "peak_day": [day]})
        return _season(SimpleNamespace(frames={"season": row}), lambda code, **said: (code, said))

    ((code, said),) = season(0.2, 0.1)
    assert (code, said["month"][0], said["size"], said["error"]) == ("season", f"month-{month}", "20%", "10%")
    assert season(0.19, 0.1)[0][0] == "no-season"
    assert _season(SimpleNamespace(frames={}), None) == []
