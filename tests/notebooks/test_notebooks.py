"""Every notebook: thin, committed without outputs, and running from top to bottom."""

import ast
import re
from pathlib import Path

import nbformat
import pytest

FOLDER = Path(__file__).parents[2] / "notebooks"
NOTEBOOKS = sorted(FOLDER.glob("*.ipynb"))


@pytest.fixture(params=NOTEBOOKS, ids=lambda path: path.stem)
def path(request):
    return request.param


def code(notebook):
    return [cell for cell in notebook.cells if cell.cell_type == "code"]


def test_there_is_a_notebook():
    assert NOTEBOOKS


def test_it_is_committed_without_outputs_and_small(path):
    notebook = nbformat.read(path, as_version=4)
    nbformat.validate(notebook)
    for cell in code(notebook):
        assert cell.outputs == []
        assert cell.execution_count is None
    assert path.stat().st_size < 30_000


def test_it_is_thin(path):
    for cell in code(nbformat.read(path, as_version=4)):
        tree = ast.parse(cell.source)
        assert not any(
            isinstance(node, ast.FunctionDef | ast.ClassDef | ast.Lambda) for node in ast.walk(tree)
        )


@pytest.mark.parametrize("name", ["customer_talk", "driver_groups", "fleet"])
def test_where_the_reader_is_no_coder_the_code_is_folded(name):
    notebook = nbformat.read(FOLDER / f"{name}.ipynb", as_version=4)
    assert all(cell.metadata["jupyter"]["source_hidden"] for cell in code(notebook))


def test_it_runs_from_top_to_bottom(path, tmp_path):
    from nbclient import NotebookClient

    (tmp_path / "data_synthetic").symlink_to(FOLDER.parent / "data_synthetic")
    (tmp_path / "notebooks").mkdir()  # what a notebook writes stays out of the tree
    notebook = nbformat.read(path, as_version=4)
    where = {"metadata": {"path": str(tmp_path / "notebooks")}}
    NotebookClient(notebook, timeout=300, resources=where).execute()
    assert all(cell.execution_count for cell in code(notebook))
    said = [output for cell in code(notebook) for output in cell.outputs if output.output_type == "stream"]
    assert [output.text for output in said if output.name == "stderr"] == []
    for cell in code(notebook):
        for output in cell.outputs:
            wide, raw = _headings(output.get("data", {}).get("text/html", ""))
            assert wide <= 8 and not raw, (cell.source, wide, raw)


def _headings(html):
    """Columns of the widest table in a cell's output, and headings that are names of columns, not words."""
    if "<iframe" in html:
        return 0, []
    tops = [top.split("</tr>")[0] for top in html.split("<thead>")[1:]]
    rows = [[head.strip() for head in re.findall(r"<th[^>]*>([^<]*)</th>", top)] for top in tops]
    return max(map(len, rows), default=0), [head for row in rows for head in row if "_" in head]
