"""No branch goes by words: commands say and do the same with each sentence replaced by a token."""

import json
import os
import subprocess
import sys

import pytest

from tests.tokens import COMMANDS


@pytest.fixture(scope="module")
def ran(tmp_path_factory):
    folder = tmp_path_factory.mktemp("tokens")
    out = {}
    for how in ("plain", "tokens"):
        environment = {**os.environ, "XDG_CACHE_HOME": str(folder / how)}
        file = folder / f"{how}.json"
        subprocess.run([sys.executable, "-m", "tests.tokens", how, str(file)], check=True, env=environment)
        out[how] = json.loads(file.read_text(encoding="utf-8"))
    return out


@pytest.mark.parametrize("name", COMMANDS)
def test_a_command_is_the_same_with_every_sentence_a_token(name, ran):
    plain, tokens = ran["plain"][name], ran["tokens"][name]
    assert plain["exit"] == (2 if name == "no such logbook" else 0)
    assert tokens.get("error") is None
    assert tokens == plain
