"""Numbers as options take them."""

import argparse

import pytest

from tirelife.cli.numbers import depth, distance, number


def test_a_number_is_read_by_the_grammar_of_the_tables():
    assert [number(word) for word in ("7.5", "-2", "1200")] == [7.5, -2.0, 1200.0]
    assert distance("6000") == 6000.0
    assert depth("8.5") == 8.5


@pytest.mark.parametrize(
    ("reads", "word"), [(number, "far"), (number, ""), (depth, "deep"), (distance, "21.000")]
)
def test_what_is_no_number_or_doubtful_is_asked_about_on_one_line(reads, word):
    with pytest.raises(argparse.ArgumentTypeError) as refused:
        reads(word)
    assert str(refused.value).strip() == str(refused.value) != ""
