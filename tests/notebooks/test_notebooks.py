"""Every notebook: thin, committed without outputs, and running from top to bottom."""

import ast
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


def test_the_talk_hides_its_code_and_needs_no_edit():
    notebook = nbformat.read(FOLDER / "customer_talk.ipynb", as_version=4)
    assert all(cell.metadata["jupyter"]["source_hidden"] for cell in code(notebook))


def test_it_runs_from_top_to_bottom(path):
    from nbclient import NotebookClient

    notebook = nbformat.read(path, as_version=4)
    NotebookClient(notebook, timeout=300, resources={"metadata": {"path": str(FOLDER)}}).execute()
    assert all(cell.execution_count for cell in code(notebook))
    said = [output for cell in code(notebook) for output in cell.outputs if output.output_type == "stream"]
    assert [output.text for output in said if output.name == "stderr"] == []
