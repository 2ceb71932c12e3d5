"""The contract of every public function and every command, without leaving out those that take long."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path
from typing import Any


def run() -> list[dict[str, Any]]:
    files = ["tests/test_contract_functions.py", "tests/test_contract_commands.py"]
    words = [sys.executable, "-m", "pytest", "-v", "-p", "no:cacheprovider", "--tb=line", "-rfE", *files]
    environment = {**os.environ, "TIRELIFE_CONTRACT": "all"}
    here = Path(__file__).parents[2]
    done = subprocess.run(words, env=environment, cwd=here, capture_output=True, text=True, check=False)
    last = done.stdout.strip().rsplit("\n", 1)[-1]
    counts = {what: int(number) for number, what in re.findall(r"(\d+) (passed|failed|error)", last)}
    if not counts.get("passed"):
        raise RuntimeError(f"the contract was not tried: {done.stdout[-2000:]}{done.stderr[-2000:]}")
    finds = "; ".join(re.findall(r"^(?:FAILED|ERROR) (\S+)", done.stdout, re.M))
    return [
        {"name": f"contract: {what}", "figure": counts.get(what, 0), "unit": "", "against": "", "note": finds}
        for what in ("passed", "failed", "error")
    ]
