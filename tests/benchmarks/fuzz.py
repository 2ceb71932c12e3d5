"""Fuzz readers, priors and commands, led by the branches that each input reaches; an hour in all.

Needs ``atheris`` (``pip install atheris``), which mutates what reached something new. Inputs that find something are
kept in the folder named by ``TIRELIFE_FUZZ_KEEP``, and are put to a target again with
``python -m tests.fuzz_targets TARGET FILE``. Another length: ``TIRELIFE_FUZZ_SECONDS``; another seed:
``TIRELIFE_FUZZ_SEED``.
"""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
import tempfile
import warnings
from importlib.util import find_spec
from pathlib import Path
from typing import Any

SHARES = {"align": 1, "walkin": 2, "trips": 2, "prior": 2, "logbook": 3, "table": 1, "sheet": 2, "store": 2}
"""How the time is dealt out."""


def run() -> list[dict[str, Any]]:
    if find_spec("atheris") is None:
        return [
            {
                "name": "fuzz",
                "figure": None,
                "unit": "",
                "against": "",
                "note": "not run: atheris is not installed",
            }
        ]
    seconds = float(os.environ.get("TIRELIFE_FUZZ_SECONDS", "3900"))
    seed = int(os.environ.get("TIRELIFE_FUZZ_SEED", "1"))
    rows = []
    with tempfile.TemporaryDirectory() as name:
        keep = Path(os.environ.get("TIRELIFE_FUZZ_KEEP", name)).resolve()
        for target, share in SHARES.items():
            own = round(seconds * share / sum(SHARES.values()))
            found = _one(target, own, seed, keep)
            print(f"  {target}: {found}", file=sys.stderr, flush=True)
            note = "; ".join(
                [f"seed {seed}, {found['seconds']} s, {found['edges']} edges reached", *found["finds"]]
            )
            for what in ("executions", "finds"):
                figure = found[what] if what == "executions" else len(found[what])
                rows.append(
                    {
                        "name": f"fuzz of {target}, {what}",
                        "figure": figure,
                        "unit": "",
                        "against": "",
                        "note": note,
                    }
                )
    return rows


def _one(target: str, seconds: int, seed: int, keep: Path) -> dict[str, Any]:
    words = [sys.executable, "-m", "tests.benchmarks.fuzz", target, str(seconds), str(seed), str(keep)]
    here = Path(__file__).parents[2]
    done = subprocess.run(words, capture_output=True, text=True, cwd=here, check=False)
    told = re.search(r"stat::number_of_executed_units:\s*(\d+)", done.stderr)
    edges = re.findall(r"cov: (\d+)", done.stderr)
    if told is None:
        raise RuntimeError(f"{target} did not end well: {done.stderr[-2000:]}")
    finds = json.loads((keep / f"{target}.json").read_text())
    return {
        "executions": int(told[1]),
        "seconds": seconds,
        "edges": int(edges[-1]) if edges else 0,
        "finds": finds,
    }


def child(target: str, seconds: str, seed: str, keep: str) -> None:
    """Fuzz one target in this process, which ends with it."""
    import atheris

    with warnings.catch_warnings(), atheris.instrument_imports(include=["tirelife"]):
        import pkgutil
        from importlib import import_module

        import tirelife

        for module in pkgutil.walk_packages(tirelife.__path__, "tirelife."):
            if not module.name.endswith("__main__"):
                import_module(module.name)
    import random

    from tests import fuzz_targets

    kept = Path(keep) / target
    kept.mkdir(parents=True, exist_ok=True)
    finds: dict[str, int] = {}
    listed = Path(keep) / f"{target}.json"
    listed.write_text("[]")
    memory = Path("/dev/shm")
    top = Path(tempfile.mkdtemp(dir=memory if memory.exists() else None))
    corpus, work = top / "corpus", top / "work"
    corpus.mkdir()
    work.mkdir()
    os.chdir(work)
    os.environ["XDG_CACHE_HOME"] = str(top)
    for i, data in enumerate(fuzz_targets.seeds(target, work)):
        (corpus / f"seed{i}").write_bytes(data)

    def tried(data: bytes) -> None:
        try:
            fuzz_targets.TARGETS[target](data, work)
        except Exception as error:
            name = fuzz_targets.signature(error)
            finds[name] = finds.get(name, 0) + 1
            if finds[name] <= 3:
                slug = re.sub(r"\W+", "-", name)
                (kept / f"{slug}-{finds[name]}").write_bytes(data)
                (kept / f"{slug}-{finds[name]}.txt").write_text(str(error)[:4000])
                listed.write_text(json.dumps(list(finds)))

    def changed(data: bytes, most: int, number: int) -> bytes:
        if number % 4 == 0 or len(data) > most:
            return atheris.Mutate(data, most)
        return fuzz_targets.mutated(target, data, random.Random(number))[:most]

    longest = max(3 * max(path.stat().st_size for path in corpus.iterdir()), 4096)
    words = [
        sys.argv[0], f"-max_total_time={seconds}", f"-seed={seed}", "-print_final_stats=1", f"-max_len={longest}",
        "-rss_limit_mb=4096", "-len_control=0", "-timeout=120", str(corpus),
    ]  # fmt: skip
    atheris.Setup(words, tried, custom_mutator=changed)
    atheris.Fuzz()


if __name__ == "__main__":
    child(*sys.argv[1:])
