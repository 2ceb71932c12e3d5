"""All vehicles' pages from one fit; a run that was stopped goes on where it was."""

from tests.logbook.folders import folder
from tirelife.cli import main
from tirelife.outlook import kept


def test_every_vehicle_gets_its_page_and_what_is_there_is_kept(tmp_path, monkeypatch, capsys):
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    book, out = folder(tmp_path / "book"), tmp_path / "pages"
    fits, fit = [], kept.calibrated_fit
    monkeypatch.setattr(kept, "calibrated_fit", lambda *a: fits.append(1) or fit(*a))
    words = ["sheet", str(book), "--all", "--out", str(out)]
    assert main(words) == 0
    assert "0 vehicles' pages kept, 2 made" in capsys.readouterr().err
    assert sorted(f.name for f in out.glob("*.html")) == ["V1.html", "V2.html"]
    assert "How long your tires should last: V2" in (out / "V2.html").read_text("utf-8")
    (out / "V1.html").write_text("spoilt")
    assert main(words) == 0
    assert "1 vehicles' pages kept, 1 made" in capsys.readouterr().err
    assert len(fits) == 1
    assert main([*words[:2], "--vehicle", "V1", "--out", str(tmp_path / "one.html")]) == 0
    assert (tmp_path / "one.html").read_bytes() == (out / "V1.html").read_bytes()
    assert main([*words, "--removal-depth", "4/32"]) == 0
    assert "0 vehicles' pages kept, 2 made" in capsys.readouterr().err
    assert main([*words, "--removal-depth", "4/32", "--shop-name", "Fellside Tire"]) == 0
    assert "0 vehicles' pages kept, 2 made" in capsys.readouterr().err
    assert "Fellside Tire" in (out / "V2.html").read_text("utf-8")


def test_all_does_not_go_with_one_vehicle(tmp_path, capsys):
    assert main(["sheet", str(tmp_path), "--all", "--vehicle", "V1", "--out", "x"]) == 2
    assert "--all goes with --out FOLDER" in capsys.readouterr().err
