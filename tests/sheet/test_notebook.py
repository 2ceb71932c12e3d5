"""What a notebook shows: tables of text, lines, and a page in a frame; nothing of it runs as markup."""

import numpy as np
import pandas as pd
import pytest

from tirelife.sheet.notebook import framed, numeric, show_lines, show_page, show_table


@pytest.mark.parametrize(
    ("cells", "told"),
    [
        (["1,200", "+3", "−4", "-5", "±6", "7 miles"], True),
        (["1", "", np.nan], True),
        ([1.5, 2], True),
        (["1", "about 2"], False),
        (["", np.nan], False),
        ([], False),
    ],
)
def test_a_column_is_of_numbers_if_every_cell_with_text_begins_as_one(cells, told):
    assert numeric(pd.Series(cells, dtype=object)) is told


def test_a_column_of_numbers_stands_right_and_does_not_wrap():
    html = show_table(pd.DataFrame({"<Car>": ["a & b", "c"], "Left": ["1,200", np.nan]})).data
    assert "&lt;Car&gt;" in html
    assert "a &amp; b" in html
    assert html.count("text-align:left") == 3
    assert html.count("text-align:right") == 3
    assert html.count("white-space:nowrap") == 2
    assert html.count("<tr>") == 3
    assert "></td>" in html  # what is not known is nothing


def test_no_rows_say_so():
    assert show_table(pd.DataFrame({"a": []})).data == "<p>Nothing to show.</p>"


def test_lines_stand_each_in_its_own_and_as_text():
    html = show_lines("one", "<two>").data
    assert html.count("<p ") == 2
    assert ">&lt;two&gt;</p>" in html


def test_a_page_stands_in_a_frame_with_a_title_and_a_height():
    assert framed('<p class="a">', 'The "page"', 700) == (
        '<iframe title="The &quot;page&quot;" srcdoc="&lt;p class=&quot;a&quot;&gt;" style="width:100%;height:700px;border:0"></iframe>'
    )
    assert "height:900px" in show_page("<p>", "x").data
    assert show_page("<p>", "x", 5).data == f"<div>{framed('<p>', 'x', 5)}</div>"
