"""A customer's page from the command line, cold, against the import of the libraries that it needs."""

from __future__ import annotations

import subprocess
import sys
import tempfile
import time
from pathlib import Path
from statistics import median

ROOT = Path(__file__).parents[2]
TURNS = 5
LIBRARIES = "pandas, altair"
LOADED = "pandas, scipy.special, pyarrow.compute, altair"
"""What the page's two processes load between them."""
BARE = "import sys; sys.modules['rfc3987_syntax'] = None; import "
"""As where JupyterLab is not installed: with it, jsonschema finds a parser of addresses, and Altair's import doubles."""


def seconds(*words: str) -> float:
    begun = time.perf_counter()
    subprocess.run([sys.executable, *words], cwd=ROOT, check=True, capture_output=True)
    return time.perf_counter() - begun


def run() -> list[dict[str, object]]:
    imports = {
        f"import {LIBRARIES}": f"import {LIBRARIES}",
        f"import {LOADED}": f"import {LOADED}",
        f"import {LIBRARIES}, as without JupyterLab": BARE + LIBRARIES,
    }
    page = ["-m", "tirelife", "sheet", "data_synthetic/logbook", "--vehicle", "V03", "--out"]
    with tempfile.TemporaryDirectory() as folder:
        page.append(str(Path(folder) / "page.html"))
        seconds(*page)  # the drawing code is fetched once and kept
        turns = [
            (seconds(*page), {name: seconds("-c", code) for name, code in imports.items()})
            for _ in range(TURNS)
        ]
    made = median(took for took, _ in turns)
    return [
        {
            "name": "page of one vehicle",
            "figure": round(made, 2),
            "unit": "s",
            "against": f"{name}: {median(base[name] for _, base in turns):.2f} s",
            "note": f"{median(took / base[name] for took, base in turns):.2f} times, median of {TURNS} turns; "
            "the target is 2",
        }
        for name in imports
    ]
