"""A box of widgets says beside itself, where a notebook is opened again, that its cells have to run."""

import pytest

pytest.importorskip("ipywidgets", reason="ipywidgets is not installed: pip install '.[notebook]'")

from IPython.core import display_functions
from ipywidgets import HTML

from tirelife.sheet.reopened import reopening


def test_the_note_goes_out_before_the_view_which_carries_it_as_its_text(monkeypatch):
    shown = []
    monkeypatch.setattr(display_functions, "publish_display_data", shown.append)
    part = HTML("x")
    box = reopening([part])
    assert box.children == (part,)
    box._ipython_display_()
    note, view = shown
    assert "choose Run, then Run All Cells" in note["text/plain"]
    assert note["text/plain"] in note["text/html"]
    assert view["text/plain"] == note["text/plain"]
    assert "application/vnd.jupyter.widget-view+json" in view
