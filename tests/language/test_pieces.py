"""Arguments of problems, said in a language made up here, so that no word stands in the package."""

import pytest

from tirelife.language.pieces import Words, pieces_in

SAY = pieces_in(
    Words(
        units={"mi": "MILES"},
        named={"swap": {"sides": "SIDES"}, "mark": {";": "SEMI"}},
        times={"before": "B", "after": "A"},
        both=" + ",
        either=" / ",
        held=" & ",
        no_name="NONE",
        rows_above=("one", "{n} many"),
        which="? {options} !",
        hidden=("R{rows} T{tab}", "T{tab}"),
        left_out=("{n} line", "{n} lines"),
        notes={"a": "first", "b": "second {x}"},
    )
)


@pytest.mark.parametrize(
    ("values", "told"),
    [
        ({"x": 0.5, "y": 2, "z": "0.50"}, {"x": "0.5", "y": 2, "z": "0.50"}),
        ({"unit": "mi"}, {"unit": "MILES", "unit_code": "mi"}),
        ({"usual": "psi"}, {"usual": "psi", "usual_code": "psi"}),
        ({"before": 1, "after": 2}, {"before": 1, "after": 2, "around": "1 B + 2 A"}),
        ({"before": "", "after": 2}, {"before": "", "after": 2, "around": "2 A"}),
        ({"names": ["p", ""]}, {"names": "p, NONE", "either": "p / NONE"}),
        ({"swap": "sides", "mark": ";"}, {"swap": "SIDES", "mark": "SEMI"}),
        ({"choices": ["p", "q"]}, {"choices": "p, q"}),
        ({"below": 1}, {"below": 1, "rows_above": "one", "header_row": 2}),
        ({"below": 4}, {"below": 4, "rows_above": "4 many", "header_row": 5}),
        ({"options": ("p", "q")}, {"options": ("p", "q"), "which": "? p / q !"}),
        ({"held": ("p", "q", "r")}, {"held": "p & q & r"}),
        ({"hidden": (("x", (1, 2)), ("y", ()))}, {"hidden": "R1, 2 T'x', T'y'"}),
        ({"left_out": ((1, (("a", ()),)),)}, {"left_out": "1 line: first"}),
        ({"left_out": ((2, (("a", ()), ("b", (("x", 7),)))),)}, {"left_out": "2 lines: first; second 7"}),
        (
            {"high": 3, "column_unit": "mi"},
            {"high": "3 MILES", "column_unit": "MILES", "column_unit_code": "mi"},
        ),
        ({"high": 3}, {"high": 3}),
    ],
)
def test_arguments_are_said_in_the_words_given(values, told):
    assert SAY(values) == told
