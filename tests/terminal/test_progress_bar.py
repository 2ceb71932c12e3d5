"""One line in a terminal, nothing in a pipe."""

import io
from contextlib import suppress

from tests.logbook.folders import folder
from tirelife.cli import main
from tirelife.terminal.progress_bar import progress


class Terminal(io.StringIO):
    """What a terminal shows: a carriage return goes back to the first column."""

    def isatty(self):
        return True

    @property
    def screen(self):
        line = ""
        for part in self.getvalue().split("\r"):
            line = part + line[len(part) :]
        return line


def test_a_terminal_shows_how_far_it_is_and_is_left_clean(monkeypatch):
    monkeypatch.setenv("COLUMNS", "80")
    out = Terminal()
    with progress("vehicles", out) as tell:
        tell(0, 2000)
        assert out.screen == "[........................] 0 of 2,000 vehicles"
        tell(500, 2000)
        assert out.screen == "[######..................] 500 of 2,000 vehicles"
        tell(2000, 2000)
        assert out.screen == "[########################] 2,000 of 2,000 vehicles"
        tell(7, 9)  # shorter: nothing of the longer line stays
        assert out.screen.rstrip() == "[##################......] 7 of 9 vehicles"
    assert out.screen.strip() == ""
    assert "\n" not in out.getvalue()


def test_without_a_total_it_counts_and_an_error_leaves_the_line_clean():
    out = Terminal()
    with suppress(ZeroDivisionError), progress("samples", out) as tell:
        tell(1_500_000, None)
        assert out.screen == "1,500,000 samples"
        raise ZeroDivisionError
    assert out.screen.strip() == ""


def test_a_line_never_wraps(monkeypatch):
    monkeypatch.setenv("COLUMNS", "20")
    out = Terminal()
    with progress("vehicles", out) as tell:
        tell(1, 2)
        assert len(out.screen) == 19


def test_a_pipe_gets_nothing():
    out = io.StringIO()
    with progress("vehicles", out) as tell:
        tell(1, 2)
    assert out.getvalue() == ""


def test_a_forecast_into_a_folder_tells_a_terminal_the_vehicles(tmp_path, monkeypatch, capsys):
    book, terminal = str(folder(tmp_path / "book")), Terminal()
    assert main(["forecast", book, "--out", f"{tmp_path / 'piped'}/"]) == 0
    assert capsys.readouterr().err == f"2 vehicles in {tmp_path / 'piped'}: 0 parts kept, 1 made.\n"
    monkeypatch.setattr("sys.stderr", terminal)
    assert main(["forecast", book, "--out", f"{tmp_path / 'shown'}/"]) == 0
    assert "] 0 of 2 vehicles" in terminal.getvalue()
    assert "#] 2 of 2 vehicles" in terminal.getvalue()
    assert terminal.getvalue().endswith(f"\r2 vehicles in {tmp_path / 'shown'}: 0 parts kept, 1 made.\n")
