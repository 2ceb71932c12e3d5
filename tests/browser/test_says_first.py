"""A reading at the limit at a newest visit is said by every command, and by the page as a browser shows it."""

import shutil

import numpy as np
import pytest

from tests import worn
from tirelife.cli import main
from tirelife.logbook import read_logbook
from tirelife.rates import fit_logbook


@pytest.fixture(scope="module")
def planted(tmp_path_factory):
    folder = tmp_path_factory.mktemp("worn") / "logbook"
    shutil.copytree("data_synthetic/logbook", folder)
    hit = worn.plant(folder, np.random.default_rng(3), 0.5, 2.0)
    assert len(hit) > 6
    book = read_logbook(folder)
    return folder, book, fit_logbook(book), hit


def test_every_command_over_the_fleet_says_it(planted, capsys):
    folder, book, fit, hit = planted
    assert worn.silent(book, fit, hit) == []
    assert worn.down_by_tables(folder, 2.0) >= set(hit)
    main(["check", str(folder)])
    said = capsys.readouterr().out
    for vehicle, wheel in hit.items():
        assert any(vehicle in line and worn.WORDS[wheel] in line for line in said.splitlines()), vehicle


def test_commands_and_pages_of_one_vehicle_say_it(planted, browser, tmp_path):
    _, book, fit, hit = planted
    some = dict(list(hit.items())[:2])
    assert worn.silent_one_by_one(book, fit, some) == []
    assert worn.silent_pages(browser, book, fit, some, tmp_path) == []
