"""A throw-away JupyterLab on this machine only, and the customer talk run in it as a reader runs it."""

from __future__ import annotations

import json
import os
import shutil
import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parents[2]
PATIENCE = 90_000
"""For what a fresh kernel has to work out. [ms]"""


def wait_for(url: str, ready: Callable[[Any], Any], seconds: float = 60) -> Any:
    """What an address says, once it says what is waited for."""
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        try:
            with urllib.request.urlopen(url, timeout=5) as answer:
                said = json.load(answer)
                if ready(said):
                    return said
        except OSError:
            pass
        time.sleep(0.3)
    raise TimeoutError(url)


@contextmanager
def running_lab(folder: Path) -> Iterator[str]:
    """Address of a JupyterLab beside a copy of the customer talk and of the demo logbook."""
    (folder / "notebooks").mkdir()
    shutil.copy(ROOT / "notebooks" / "customer_talk.ipynb", folder / "notebooks")
    shutil.copytree(ROOT / "data_synthetic" / "logbook", folder / "data_synthetic" / "logbook")
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    kept_apart = {
        name: str(folder / name.lower())
        for name in ("JUPYTER_CONFIG_DIR", "JUPYTER_DATA_DIR", "JUPYTER_RUNTIME_DIR", "JUPYTERLAB_SETTINGS_DIR",
                     "JUPYTERLAB_WORKSPACES_DIR", "IPYTHONDIR")
    }  # fmt: skip
    server = subprocess.Popen(
        [
            sys.executable, "-m", "jupyterlab", "--no-browser", "--allow-root", "--ip=127.0.0.1", f"--port={port}",
            "--IdentityProvider.token=", "--ServerApp.password=", "--ServerApp.disable_check_xsrf=True", f"--ServerApp.root_dir={folder}",
            "--LabApp.news_url=None", "--LabApp.check_for_updates_class=jupyterlab.NeverCheckForUpdate",
        ],
        env={**os.environ, **kept_apart, "PYTHONPATH": str(ROOT)},
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )  # fmt: skip
    address = f"http://127.0.0.1:{port}"
    try:
        wait_for(f"{address}/api/status", lambda said: "kernels" in said)
        yield address
    finally:
        server.terminate()
        server.wait(30)


def run_all(tab: Any, address: str) -> None:
    """Open the customer talk and run all of its cells by the menu, until the cars due stand there."""
    tab.goto(f"{address}/lab/tree/notebooks/customer_talk.ipynb?reset")
    tab.locator(".jp-Notebook").wait_for(timeout=PATIENCE)
    # Run All does nothing before the kernel is connected, whatever the page's own status says.
    wait_for(
        f"{address}/api/kernels",
        lambda k: k and k[0]["execution_state"] == "idle" and k[0]["connections"],
    )
    time.sleep(0.5)
    tab.get_by_role("menuitem", name="Run", exact=True).click()
    tab.locator("[data-command='runmenu:run-all']").click()
    # The one that cannot wait stands first.
    tab.get_by_role("button", name="V09 now").wait_for(timeout=PATIENCE)
