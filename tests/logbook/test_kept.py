from dataclasses import replace

import pandas as pd

from tirelife.logbook import kept, model, read_logbook


def test_what_is_kept_is_made_once_a_logbook_and_setting_and_handed_out_as_copies(monkeypatch):
    book = read_logbook("data_synthetic/logbook")
    made = []

    @kept
    def table(book, factor=1.0):
        made.append(factor)
        return pd.DataFrame({"x": [factor]})

    first = table(book)
    first["x"] = 99.0
    assert table(book, 1.0)["x"].tolist() == [1.0]
    assert table(book, factor=2.0)["x"].tolist() == [2.0]
    assert made == [1.0, 2.0]
    table(replace(book, as_of=book.as_of))  # another logbook begins anew
    table(book, [3.0])  # what is no key is made each time
    table(book, [3.0])
    assert made == [1.0, 2.0, 1.0, [3.0], [3.0]]
    monkeypatch.setattr(model, "KEPT_ROWS", 0)
    table(book, 4.0)
    table(book, 4.0)
    assert made[-2:] == [4.0, 4.0]
