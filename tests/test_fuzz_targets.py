"""A short run of what ``python -m tests.benchmarks fuzz`` does for an hour; and that a find would be seen."""

import random

import pytest

from tests import fuzz_targets
from tirelife.driving import kernel
from tirelife.rates import prior


@pytest.mark.parametrize("name", fuzz_targets.TARGETS)
def test_no_input_brings_out_a_fault(name, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    pool = fuzz_targets.seeds(name, tmp_path)
    rng = random.Random(f"short {name}")
    for data in pool:
        fuzz_targets.TARGETS[name](data, tmp_path)
    for _ in range(25):
        data = fuzz_targets.mutated(name, rng.choice(pool), rng)
        pool.append(data)
        fuzz_targets.TARGETS[name](data, tmp_path)


def test_a_fault_of_the_program_is_a_find(tmp_path, monkeypatch):
    data = fuzz_targets.seeds("trips", tmp_path)[0]
    monkeypatch.setattr(kernel, "_side", lambda *_: 1 / 0)
    with pytest.raises(ZeroDivisionError):
        fuzz_targets.trips(data, tmp_path)


def test_a_prior_beyond_all_sense_that_is_taken_is_a_find(tmp_path, monkeypatch):
    monkeypatch.setitem(prior._LIMITS, "log_rate", (-1e9, 1e9, 1e9))
    data = fuzz_targets.seeds("prior", tmp_path)[0].replace(b'"mean": -9', b'"mean": -9000', 1)
    assert b"-9000" in data
    with pytest.raises(ValueError, match="math domain"):
        fuzz_targets.prior(data, tmp_path)
