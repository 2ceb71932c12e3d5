"""Causes as records: all that is split by cause is built from the list, and one more drops out nowhere."""

import json
import shutil
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from tirelife.groups.why import HABITS, PARTS
from tirelife.language import LANGUAGES
from tirelife.rates import PUBLISHED
from tirelife.sheet.language import texts
from tirelife.wear import CAUSE_LOG_SD, CAUSES, RECORDS, Vehicle, answer_causes, reference_shares

TOP = Path(__file__).parents[2]


def test_every_record_is_whole():
    assert len({cause.name for cause in RECORDS}) == len(RECORDS)
    assert len({cause.said for cause in RECORDS}) == len(RECORDS)
    for cause in RECORDS:
        assert (cause.energy is None) != (cause.of_whole is None), cause.name
        assert 0 < cause.log_sd < 2
        assert len(cause.source) > 20
        assert cause.said
        assert cause.short
    assert sum(cause.free for cause in RECORDS) == pytest.approx(1.0)
    assert reference_shares().sum() == pytest.approx(1.0)


def test_all_that_is_split_by_cause_is_built_from_the_records():
    assert all(texts(name)[f"cause-{cause}"] for name in LANGUAGES for cause in CAUSES)
    assert set(PARTS) == set(CAUSES)
    assert set(HABITS) == {cause.name for cause in RECORDS if cause.driver}
    assert list(CAUSE_LOG_SD) == list(CAUSES)
    assert tuple(PUBLISHED.factors.log_sd) == CAUSES
    assert tuple(answer_causes(Vehicle())) == CAUSES
    assert tuple(PUBLISHED.factors.table()["cause"]) == CAUSES


GRIT = '''"""Rough road, so many metres of it per kilometre."""

import numpy as np

from tirelife.wear.cause.record import Cause

CAUSE = Cause(
    "grit", 55, "Rough road", "rough road", "", True, 0.5, "made up for this test, to see that it is dropped nowhere",
    energy=lambda wheel: 2.0 + 0.0 * wheel.load,
)
'''
ASKED = """
import json, sys
import numpy as np
import tirelife.wear as wear
from tirelife.logbook import read_logbook
from tirelife.rates import fit_logbook, load_prior, save_prior
from tirelife.sheet.answer import answer_for
from tirelife.sheet.fit_words import fit_tables
from tirelife.groups.why import cause_parts
from tirelife.driving import default_profile
book = read_logbook(sys.argv[1])
fit = fit_logbook(book)
save_prior(fit, sys.argv[2])
answer = answer_for(book, "V03", fit=fit)
parts, _ = cause_parts(book, book.tires["tire_id"].tolist()[:8])
table = wear.severity(default_profile(), wear.Vehicle(), factors=fit.factors)
print(json.dumps({
    "causes": list(wear.CAUSES),
    "sum": float((table[list(wear.CAUSES)].sum(axis=1) / table["severity"]).mean()),
    "share": float((table["grit"] / table["severity"]).mean()),
    "fit": fit.factors.table()["cause"].tolist(),
    "kept": len(load_prior(sys.argv[2]).factors.log_mean),
    "said": any("Rough road" in set(t.get("Cause", ())) for t in fit_tables(fit, "us").values()),
    "page": answer.causes["cause"].tolist(), "weights": len(answer.sliders["factors"]["weights"]),
    "slider": len(answer.sliders["weights"]["LF"]["constant"]),
    "worn": sorted(set(wear.causes(book, "V03", fit.factors)["cause"])),
    "groups": list(parts.columns), "anchors": "grit" in fit.frames["anchors"],
    "stretches": "grit" in wear.stretch_severity(book, fit.factors),
}))
"""


@pytest.fixture(scope="module")
def with_one_more(tmp_path_factory):
    folder = tmp_path_factory.mktemp("grit")
    shutil.copytree(TOP / "tirelife", folder / "tirelife", ignore=shutil.ignore_patterns("__pycache__"))
    (folder / "tirelife" / "wear" / "cause" / "grit.py").write_text(GRIT)
    run = subprocess.run(
        [sys.executable, "-c", ASKED, str(TOP / "data_synthetic" / "logbook"), str(folder / "prior.json")],
        capture_output=True, text=True, cwd=folder, check=False, env={"PYTHONPATH": str(folder), "PATH": ""},
    )  # fmt: skip
    assert run.returncode == 0, run.stderr[-2000:]
    return json.loads(run.stdout.splitlines()[-1])


def test_one_more_cause_is_dropped_nowhere(with_one_more):
    got = with_one_more
    assert got["causes"][:6] == ["base", "speed", "starts", "stops", "corners", "grit"]
    assert got["causes"][-1] == "pressure"  # it multiplies the others
    assert got["sum"] == pytest.approx(1.0)
    assert got["share"] > 0.03
    count = len(CAUSES) + 1
    assert got["fit"] == got["causes"]
    assert (got["kept"], got["weights"], got["slider"]) == (count, count, count - 1)
    assert got["said"]
    assert "Rough road" in got["page"]
    assert got["worn"] == sorted(got["causes"])
    assert set(got["groups"]) == set(got["causes"])
    assert got["anchors"]
    assert got["stretches"]
    assert np.isfinite(got["share"])
