"""Accuracy grades of dial gauges."""

import pytest

from tirelife.errors import InputError
from tirelife.logbook.grades import grade_tolerance


@pytest.mark.parametrize(
    ("reading", "span", "grade", "error"),
    [
        (32, 60, "B", 1.2),  # ASME B40.100, Grade B, middle half: 2 % of 60 psi (from memory)
        (32, 60, "A", 0.6),  # Grade A 2-1-2 (Ashcroft, "What are ASME accuracy grades"; read)
        (10, 60, "A", 1.2),  # low quarter
        (50, 60, "A", 1.2),  # high quarter
        (10, 60, "B", 1.8),  # Grade B 3-2-3 (from memory)
        (32, 60, "C", 1.8),
        (32, 60, "D", 3.0),
        (32, 60, "1A", 0.6),
        (32, 60, "4A", 0.06),
        (2.2, 4, "1.6", 0.064),  # EN 837-1: class 1.6 is 1.6 % of full scale
        (0.1, 10, "2.5", 0.25),
    ],
)
def test_tolerances(reading, span, grade, error):
    assert float(grade_tolerance(reading, span, grade)) == pytest.approx(error, abs=1e-12)


@pytest.mark.parametrize(
    ("reading", "span", "grade"), [(70, 60, "B"), (-1, 60, "B"), (30, 60, "Z"), (30, 0, "B")]
)
def test_what_is_not_on_the_dial_is_refused(reading, span, grade):
    with pytest.raises(InputError):
        grade_tolerance(reading, span, grade)
