"""Visits from a counter's page of another log, or of another version."""

import pytest

from tirelife.errors import InputError
from tirelife.logbook import read_logbook
from tirelife.logbook.sheets import import_sheet
from tirelife.logbook.sheets.origin import ORIGIN_HEAD, log_mark, origin_of

HEAD = f"Date,Vehicle,Odometer miles,Left front depth 32nds,Right front depth 32nds,{ORIGIN_HEAD}\n"


def sheet(tmp_path, *rows):
    path = tmp_path / "visits.csv"
    path.write_text(HEAD + "".join(f"{row}\n" for row in rows), encoding="utf-8")
    return path


def test_a_grown_log_keeps_its_mark_and_takes_what_its_page_exports(tmp_path):
    log = tmp_path / "log"
    import_sheet(sheet(tmp_path, "2026-03-14,AB 12,41230,9,9,1:"), log)
    mark = log_mark(read_logbook(log))
    assert mark
    done = import_sheet(sheet(tmp_path, f"2026-09-14,AA 1,2000,9,9,{origin_of(mark)}"), log)
    assert done.new_visits == 1
    assert log_mark(read_logbook(log)) == mark
    assert done.plan.questions == []


@pytest.mark.parametrize(
    ("origin", "said"),
    [
        (
            "1:0123456789ab",
            "holds visits kept with the counter's page of another log. Import it into that log",
        ),
        (
            "2:0123456789ab",
            "was exported by version 2 of the counter's page; this is version 1. Make the page anew",
        ),
    ],
)
def test_another_shops_visits_and_another_versions_are_refused_and_nothing_is_written(tmp_path, origin, said):
    log = tmp_path / "log"
    import_sheet(sheet(tmp_path, "2026-03-14,AB 12,41230,9,9,1:"), log)
    before = {path.name: path.read_bytes() for path in log.iterdir()}
    with pytest.raises(InputError) as caught:
        import_sheet(sheet(tmp_path, f"2026-09-14,AB 12,47230,8,8,{origin}"), log)
    assert said in str(caught.value)
    assert {path.name: path.read_bytes() for path in log.iterdir()} == before
