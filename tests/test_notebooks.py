"""The notebooks run from top to bottom with their own asserts, and are stored without output."""

import json
from pathlib import Path

import pytest

NOTEBOOKS = sorted((Path(__file__).parent.parent / "notebooks").glob("*.ipynb"))
NAMES = {
    "plan_a_scallop", "grams_per_pass", "fit_to_a_reading", "two_recordings",
    "weigh_bend_tap", "top_from_three_taps", "grade_a_delivery", "combine_readings",
}  # fmt: skip


def test_all_are_there():
    assert NAMES <= {path.stem for path in NOTEBOOKS}


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_stored_without_output_and_with_asserts(path):
    cells = [cell for cell in json.loads(path.read_text(encoding="utf-8"))["cells"] if cell["cell_type"] == "code"]
    assert all(cell["outputs"] == [] and cell["execution_count"] is None for cell in cells)
    assert sum("assert " in "".join(cell["source"]) for cell in cells) >= 3


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_runs_from_top_to_bottom(path, tmp_path):
    nbclient = pytest.importorskip("nbclient", reason="nbclient runs the notebooks (pip install nbclient)")
    pytest.importorskip("ipykernel", reason="ipykernel is the kernel of the notebooks (pip install ipykernel)")
    pytest.importorskip("matplotlib", reason="the notebooks draw with matplotlib")
    nbformat = pytest.importorskip("nbformat", reason="nbformat comes with nbclient")
    notebook = nbformat.read(path, as_version=4)
    client = nbclient.NotebookClient(notebook, timeout=300, kernel_name="python3", resources={"metadata": {"path": tmp_path}})
    client.execute()
