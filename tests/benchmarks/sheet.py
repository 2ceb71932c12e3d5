"""A customer's page from the command line, cold, against the import of the libraries that it needs.

The first page of a logbook, whose fit is not kept yet, and the next; as in a bare install, without JupyterLab.
"""

from __future__ import annotations

import os
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from statistics import median

ROOT = Path(__file__).parents[2]
TURNS = 5
LIBRARIES = "pandas, altair"
PAGES = {"first page of a logbook": (["--fresh"], 3.0), "next page of the same logbook": ([], 1.6)}
"""Options, and the target as a multiple of the libraries' import."""


def seconds(words: list[str], environment: dict[str, str]) -> tuple[float, float]:
    """Wall and processor time of a Python process and of those that it starts."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    begun = time.perf_counter()
    subprocess.run([sys.executable, *words], cwd=ROOT, env=environment, check=True, capture_output=True)
    took = time.perf_counter() - begun
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return took, after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def bare(folder: Path) -> dict[str, str]:
    """As where JupyterLab is not installed (with it, jsonschema finds a parser of addresses, and Altair's import
    doubles), with compiled modules and nothing kept of another run."""
    (folder / "sitecustomize.py").write_text("import sys; sys.modules['rfc3987_syntax'] = None\n")
    path = os.pathsep.join([str(folder), *filter(None, [os.environ.get("PYTHONPATH")])])
    kept = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    own = {
        "PYTHONPATH": path,
        "PYTHONPYCACHEPREFIX": str(folder / "pyc"),
        "XDG_CACHE_HOME": str(folder / "cache"),
    }
    return {**kept, **own}


def run(turns: int = TURNS) -> list[dict[str, object]]:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        environment = bare(folder)
        page = [
            "-m",
            "tirelife",
            "sheet",
            "data_synthetic/logbook",
            "--vehicle",
            "V03",
            "--out",
            str(folder / "p.html"),
        ]
        imports = ["-c", f"import {LIBRARIES}"]
        for words in (page, imports):  # the drawing code is fetched, and modules are compiled, once
            seconds(words, environment)
        told = [
            (
                seconds(imports, environment),
                [seconds([*page, *more], environment) for more, _ in PAGES.values()],
            )
            for _ in range(turns)
        ]
    base = median(one[0] for one, _ in told)
    return [
        {
            "name": name,
            "figure": round(median(made[i][0] for _, made in told), 2),
            "unit": "s",
            "against": f"import {LIBRARIES}: {base:.2f} s, as without JupyterLab",
            "note": f"{median(made[i][0] / one[0] for one, made in told):.1f} times on the clock, "
            f"{median(made[i][1] / one[1] for one, made in told):.1f} times in processor time, median of {turns} turns; "
            f"the target is {target:g}",
        }
        for i, (name, (_, target)) in enumerate(PAGES.items())
    ]


def small() -> list[dict[str, object]]:
    return run(3)
