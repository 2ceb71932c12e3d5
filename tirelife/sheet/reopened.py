"""Widgets of a notebook that was saved and is opened again before its cells have run.

The notebook keeps a widget's view but not its model, so JupyterLab can only report an error in its place.
A line of markup beside the view says what to do instead, and shows only where the view has nothing to show.
"""

from collections.abc import Callable
from typing import Any, Final

_NOTE: Final = "This part shows once the cells have run: choose Run, then Run All Cells."
# JupyterLab marks the output of a view without its model as a widget, with text alone and no widget inside.
_MARKUP: Final = f"""<style>
.tirelife-reopened {{ display: none; }}
.jp-OutputArea:not(:has(.jp-OutputArea-output .jupyter-widgets)) .tirelife-reopened {{ display: block; }}
.jp-OutputArea:has(.tirelife-reopened) .jp-OutputArea-output.jupyter-widgets:not(:has(*)) {{ display: none; }}
</style>
<p class="tirelife-reopened">{_NOTE}</p>"""


def reopening(children: list[Any]) -> Any:
    """A box of widgets that says, in a notebook opened again, that its cells have to run first.

    Parameters
    ----------
    children : list of ipywidgets.Widget

    Returns
    -------
    ipywidgets.VBox
    """
    import ipywidgets as widgets
    from IPython.core.display_functions import publish_display_data

    publish: Callable[[dict[str, str]], None] = publish_display_data

    class Reopening(widgets.VBox):  # type: ignore[misc]
        def _ipython_display_(self) -> None:
            publish({"text/html": _MARKUP, "text/plain": _NOTE})
            publish({**self._repr_mimebundle_(), "text/plain": _NOTE})

    return Reopening(children)
