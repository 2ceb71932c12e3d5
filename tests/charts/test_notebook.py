"""Charts in a notebook with no network."""

import json
import re

import altair as alt

from tirelife.charts.notebook import _draw


def test_a_chart_is_a_place_and_a_script_that_draws_into_it():
    drawn = _draw({"mark": "point", "description": "Two dots."})
    assert drawn["text/plain"] == "Two dots."
    place = re.search(r'<div id="(tirelife-[0-9a-f]{32})">', drawn["text/html"]).group(1)
    assert f"vegaEmbed('#{place}'" in drawn["text/html"]
    assert _draw({})["text/plain"] == "A chart."
    assert _draw({})["text/html"] != _draw({})["text/html"]  # two charts of a notebook have a place each


def test_a_name_with_markup_does_not_end_the_script():
    spec = {"description": "</script><b>"}
    html = _draw(spec)["text/html"]
    assert html.count("</script>") == 1
    text = re.search(r"vegaEmbed\('#[^']*', (.*?), \{renderer", html).group(1)
    assert json.loads(text) == spec
    assert alt.renderers.active != "tirelife"  # nothing is changed until it is asked for
