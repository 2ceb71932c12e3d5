"""Charts in a notebook with no network: in JupyterLab, and in a page made of the notebook."""

from __future__ import annotations

import json
import uuid
from typing import Any, Final

import altair as alt

__all__ = ["in_notebook"]

NAME: Final = "tirelife"


def in_notebook() -> None:
    """Draw Altair charts in this notebook from now on, with nothing fetched from anywhere.

    Call it once, at the top of a notebook. The drawing code (0.9 MB) goes into that cell's output, so clear
    outputs before sharing the file.

    Notes
    -----
    It changes which renderer Altair uses in this session, which is global: nothing in the package calls it.
    """
    import vl_convert
    from IPython.display import display

    alt.renderers.register(NAME, _draw)  # type: ignore[no-untyped-call]
    alt.renderers.enable(NAME)
    bundle = vl_convert.javascript_bundle()  # type: ignore[call-arg]
    script = bundle.replace("</script", "\\x3c/script")
    drawn = {"text/html": f"<script>{script}</script>", "text/plain": "Charts are ready."}
    display(drawn, raw=True)  # type: ignore[no-untyped-call]


def _draw(spec: dict[str, Any], **_: Any) -> dict[str, str]:
    """One chart as HTML: a place, and a script that draws into it as soon as the drawing code is there."""
    place = f"tirelife-{uuid.uuid4().hex}"
    text = json.dumps(spec, separators=(",", ":")).replace("<", "\\u003c")
    script = (
        f"(function draw(left) {{ if (window.vegaEmbed) window.vegaEmbed('#{place}', {text}, "
        "{renderer: 'svg', actions: false}); "
        "else if (left) setTimeout(function () { draw(left - 1); }, 100); })(100);"
    )
    spoken = str(spec.get("description", "A chart."))
    return {"text/html": f'<div id="{place}"></div><script>{script}</script>', "text/plain": spoken}
