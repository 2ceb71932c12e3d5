"""A customer's page from the command line, cold, against the import of the libraries that it needs."""

import subprocess
import sys
import tempfile
import time
from pathlib import Path
from statistics import median

ROOT = Path(__file__).parents[2]
TURNS = 5


def seconds(command: list[str]) -> float:
    begun = time.perf_counter()
    subprocess.run(command, cwd=ROOT, check=True, capture_output=True)
    return time.perf_counter() - begun


def run() -> list[dict]:
    with tempfile.TemporaryDirectory() as folder:
        imports = [sys.executable, "-c", "import pandas, altair"]
        page = [sys.executable, "-m", "tirelife", "sheet", "data_synthetic/logbook", "--vehicle", "V03"]
        page += ["--out", str(Path(folder) / "page.html")]
        pairs = [(seconds(imports), seconds(page)) for _ in range(TURNS)]
    base, made = median(a for a, _ in pairs), median(b for _, b in pairs)
    ratio = median(b / a for a, b in pairs)
    against = f"import pandas, altair: {base:.2f} s"
    return [
        {
            "name": "page of one vehicle",
            "figure": round(made, 2),
            "unit": "s",
            "against": against,
            "note": f"{ratio:.2f} times, median of {TURNS} turns; the target is 2",
        }
    ]
