"""Logbook files damaged and commands killed, to see that no answer changes unseen and that nothing is lost.

1,000 single flipped bits, 2,000 files damaged in many ways, and 500 kills across ``record``, ``convert``, ``forecast`` and
``trips`` in parts, and ``import``. ``TIRELIFE_DAMAGE`` names some of the four proofs.
"""

from __future__ import annotations

import os
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

from tests.logbook import damage, endurance, kills

SEED = 1


def run() -> list[dict[str, Any]]:
    proofs = {
        "flips": lambda top: damage.flips(1000, SEED, top),
        "files": lambda top: damage.damage(2000, SEED, top),
        "kills": lambda top: kills.run(400, top, SEED),
        "recorder": lambda top: endurance.kill(100, top, SEED),
    }
    rows = []
    for name in os.environ.get("TIRELIFE_DAMAGE", " ".join(proofs)).split():
        with tempfile.TemporaryDirectory() as top:
            begun = time.perf_counter()
            counts = proofs[name](Path(top) / name)
        note = f"seed {counts.pop('seed')}, {time.perf_counter() - begun:.0f} s"
        print(f"  {name}: {counts}, {note}", file=sys.stderr, flush=True)
        rows += [
            {"name": f"{name}: {what}", "figure": figure, "unit": "", "against": "", "note": note}
            for what, figure in counts.items()
        ]
    return rows
