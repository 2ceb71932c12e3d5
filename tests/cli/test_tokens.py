"""No branch goes by words: commands and pages say and do the same with each sentence replaced by a token."""

import json
import os
import subprocess
import sys

import pytest

from tests.tokens import COMMANDS, EXITS, differs, run


@pytest.fixture(scope="module")
def ran(tmp_path_factory):
    folder = tmp_path_factory.mktemp("tokens")
    file = folder / "tokens.json"
    environment = {**os.environ, "XDG_CACHE_HOME": str(folder / "tokens")}
    words = [sys.executable, "-m", "tests.tokens", "tokens", str(file)]
    with (
        pytest.MonkeyPatch.context() as patch,
        subprocess.Popen(words, env=environment) as other,
    ):
        patch.setenv("XDG_CACHE_HOME", str(folder / "plain"))
        plain = json.loads(json.dumps(dict(run()), default=str))
        assert other.wait() == 0
    return {"plain": plain, "tokens": json.loads(file.read_text(encoding="utf-8"))}


@pytest.mark.parametrize("name", COMMANDS)
def test_a_command_is_the_same_with_every_sentence_a_token(name, ran):
    plain, tokens = ran["plain"][name], ran["tokens"][name]
    assert plain["exit"] == EXITS.get(name, 0), plain.get("error")
    assert tokens.get("error") is None
    assert differs(plain, tokens) == []
    assert (
        plain["exit"] == 2 or {"json", "boxes"} & set(plain) or name in ("convert", "template", "checklist")
    )
