"""What cannot be used: one clear message each, and nothing written."""

import datetime as dt

import openpyxl
import pytest

from tirelife.cli import main

HEAD = ["Date", "Van", "Miles", "LF 32nds", "RF 32nds", "LR 32nds", "RR 32nds"]


def book(path, rows, **tabs):
    made = openpyxl.Workbook()
    sheet = made.active
    for row in rows:
        sheet.append(row)
    for name, more in tabs.items():
        tab = made.create_sheet(name)
        for row in more:
            tab.append(row)
    return made, sheet, path


def rows(n=3):
    return [
        HEAD,
        *([dt.date(2025, i + 1, 5), "A 1", 10_000 + 4_000 * i, 9 - i, 9 - i, 8 - i, 8 - i] for i in range(n)),
    ]


def no_depths(top):
    made, _, path = book(top / "shop.xlsx", [["Date", "Van", "Oil"], [dt.date(2025, 1, 5), "A 1", "done"]])
    made.save(path)
    return path


def two_headers(top):
    made, sheet, path = book(top / "shop.xlsx", rows())
    sheet.append(["Date", "Van", "Miles", "RF 32nds", "LF 32nds", "RR 32nds", "LR 32nds"])
    sheet.append([dt.date(2025, 6, 5), "A 1", 30_000, 5, 5, 4, 4])
    made.save(path)
    return path


def mixed_units(top):
    made, sheet, path = book(top / "shop.xlsx", [[h.replace(" 32nds", "") for h in HEAD], *rows()[1:]])
    sheet["D2"], sheet["D3"] = "7 mm", "8/32"
    made.save(path)
    return path


def mixed_distances(top):
    made, sheet, path = book(top / "shop.xlsx", [[h.replace("Miles", "Odometer") for h in HEAD], *rows()[1:]])
    sheet["C2"], sheet["C3"] = "10,000 mi", "22,531 km"
    made.save(path)
    return path


def hidden_row(top):
    made, sheet, path = book(top / "shop.xlsx", rows())
    sheet.row_dimensions[3].hidden = True
    made.save(path)
    return path


def hidden_tab(top):
    made, _, path = book(top / "shop.xlsx", rows(), Old=rows())
    made["Old"].sheet_state = "hidden"
    made.save(path)
    return path


def error_cell(top):
    made, sheet, path = book(top / "shop.xlsx", rows())
    sheet["E3"].value, sheet["E3"].data_type = "#REF!", "e"
    made.save(path)
    return path


def formula(top):
    made, sheet, path = book(top / "shop.xlsx", rows())
    sheet["D4"] = "=D3-1"
    made.save(path)
    return path


def mixed_dates(top):
    made, sheet, path = book(top / "shop.xlsx", rows())
    sheet["A3"] = "25/02/2025"
    made.save(path)
    return path


def password(top):
    path = top / "shop.xlsx"
    path.write_bytes(
        b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
        + bytes(2000)
        + "EncryptedPackage".encode("utf-16-le")
        + bytes(2000)
    )
    return path


def too_large(top):
    path = top / "shop.csv"
    with path.open("wb") as file:
        file.truncate(200_000_000)
    return path


def no_spreadsheet(top):
    path = top / "shop.xlsx"
    path.write_text("Dear Sir or Madam")
    return path


def a_picture(top):
    path = top / "shop.csv"
    path.write_bytes(b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR")
    return path


def empty(top):
    path = top / "shop.csv"
    path.write_text("\n\n")
    return path


def damaged(top):
    made, _, path = book(top / "shop.xlsx", rows())
    made.save(path)
    path.write_bytes(path.read_bytes()[:3000])
    return path


def text(path, *rows):
    path.write_text("\n".join(rows) + "\n")
    return path


def duals(top):
    return text(
        top / "shop.csv", "Date,Truck,Miles,LF,RF,LRO,LRI,RRI,RRO", "2025-01-02,T1,1000,14,14,13,13,13,13"
    )


def duals_or_grooves(top):
    head = "Date,Truck,Miles,LF,RF,LR outer,LR inner,RR inner,RR outer"
    return text(top / "shop.csv", head, "2025-01-02,T1,1000,14,14,13,13,13,13")


def duals_in_rows(top):
    rows = ("2025-01-02,T1,1000,LF,14", "2025-01-02,T1,1000,LRO,14", "2025-01-02,T1,1000,LRI,14")
    return text(top / "shop.csv", "Date,Truck,Miles,Position,32nds", *rows)


BAD = {
    duals: "shop.csv: shop, row 1, column F: is one of two wheels side by side",
    duals_or_grooves: "shop.csv: shop, row 1, column F: may be a groove, or one of two wheels side by side",
    duals_in_rows: "shop.csv: shop, row 3, column D: is one of two wheels side by side",
    no_depths: "has no column of tread depths by wheel",
    two_headers: "Sheet, row 5, column D: is another header, which disagrees with that of row 1",
    mixed_units: "Depths are written in 32nds and in mm",
    mixed_distances: "Odometers are written in miles and in km",
    hidden_row: "There are hidden rows or tabs with records: row 3 of 'Sheet'. Say which with --hidden use or --hidden leave",
    hidden_tab: "There are hidden rows or tabs with records: tab 'Old'.",
    error_cell: "shop.xlsx: Sheet, row 3, column E: holds no value (found '#REF!')",
    formula: "shop.xlsx: Sheet, row 4, column D: holds a formula without a value.",
    mixed_dates: "The dates are 1 texts and 2 real dates together",
    password: "is protected by a password",
    too_large: "is 200 MB, over 40 MB",
    no_spreadsheet: "is no spreadsheet, whatever its name says",
    a_picture: "is no spreadsheet and no text",
    empty: "is empty",
    damaged: "is no spreadsheet, or is damaged",
}


@pytest.mark.parametrize("make", BAD, ids=lambda make: make.__name__)
def test_a_bad_sheet_is_told_and_nothing_is_written(make, tmp_path, capsys):
    path = make(tmp_path)
    for words in (["import", str(path), "--out", str(tmp_path / "book")], ["forecast", str(path)]):
        assert main(words) == 2
        said = capsys.readouterr().err
        assert BAD[make] in said
        assert len(said.strip().splitlines()) == 1
    assert [p.name for p in tmp_path.iterdir()] == [path.name]


@pytest.mark.parametrize(("make", "words", "visits"), [(duals, ["--column", "LRO=depth LR", "--column", "RRO=depth RR", "--column", "LRI=ignored", "--column", "RRI=ignored", "--depth-unit", "32nds"], 1), (duals_or_grooves, ["--column", "LR outer=depth LR outer", "--column", "LR inner=depth LR inner", "--column", "RR outer=depth RR outer", "--column", "RR inner=depth RR inner"], 1), (hidden_row, ["--hidden", "use"], 3), (hidden_row, ["--hidden", "leave"], 2), (mixed_dates, ["--day-first"], 3)])  # fmt: skip
def test_an_answer_settles_it(make, words, visits, tmp_path, capsys):
    assert main(["import", str(make(tmp_path)), *words]) == 0
    assert f", {visits} visits." in capsys.readouterr().out


def test_any_command_takes_a_sheet(tmp_path, capsys):
    made, _, path = book(tmp_path / "shop.xlsx", rows(4))
    made.save(path)
    page = tmp_path / "page.html"
    assert main(["sheet", str(path), "--vehicle", "A 1", "--out", str(page)]) == 0
    assert "4 visits of 1 vehicles; rows 4 used" in capsys.readouterr().err
    assert "A 1" in page.read_text(encoding="utf-8")
    assert main(["forecast", str(path), "--json"]) == 0
    assert capsys.readouterr().out.count('"tire_id"') == 4
    assert sorted(p.name for p in tmp_path.iterdir()) == ["page.html", "shop.xlsx"]


@pytest.mark.parametrize("odometer", ["100000000000000000000", "-5"])
def test_an_odometer_that_no_vehicle_shows_is_told_and_the_logbook_is_sound(odometer, tmp_path, capsys):
    path = tmp_path / "shop.csv"
    rows = f"2024-03-14,A,41000,10,10,10,10\n2024-06-14,A,{odometer},9,9,9,9\n2024-09-14,A,46000,8,8,8,8\n"
    path.write_text("Date,Van,Mileage,LF,RF,LR,RR\n" + rows)
    assert main(["import", str(path), "--out", str(tmp_path / "book")]) in (0, 2)
    if (tmp_path / "book").exists():
        assert main(["check", str(tmp_path / "book")]) == 0
    assert odometer in capsys.readouterr().out


def test_a_sheet_of_odometers_alone_becomes_no_logbook_that_would_be_refused(tmp_path, capsys):
    path = tmp_path / "shop.csv"
    path.write_text("Date,Van,Mileage,LF,RF\n2024-03-14,A,41000,,\n2024-09-14,A,46000,,\n")
    assert main(["import", str(path), "--out", str(tmp_path / "book")]) == 2
    assert capsys.readouterr().err.startswith("tirelife import: ")
    assert [p.name for p in tmp_path.iterdir()] == ["shop.csv"]
