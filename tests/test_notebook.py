"""The example notebook executes as it stands, and shows tables."""

import json
import os
import subprocess
import sys

import pytest

from tests.door import ROOT

NOTEBOOK = ROOT / "docs/a-bitter-as-a-model.ipynb"
RUN = """
import sys, nbformat
from nbclient import NotebookClient
notebook = nbformat.read(sys.argv[1], as_version=4)
NotebookClient(notebook, timeout=120, resources={"metadata": {"path": sys.argv[2]}}).execute()
for cell in notebook.cells:
    for output in cell.get("outputs", []):
        print(output.output_type, "<table" in output.get("data", {}).get("text/html", ""))
"""


@pytest.mark.slow
def test_the_notebook_executes_and_shows_tables():
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    words = [sys.executable, "-c", RUN, str(NOTEBOOK), str(ROOT)]

    done = subprocess.run(
        words, check=False, capture_output=True, text=True, env=environment, cwd=ROOT
    )

    assert done.returncode == 0, done.stderr[-2000:]
    assert done.stdout.splitlines() == ["execute_result True"] * 4


def test_the_notebook_is_kept_without_its_outputs():
    cells = json.loads(NOTEBOOK.read_text(encoding="utf-8"))["cells"]

    assert [c["outputs"] for c in cells if c["cell_type"] == "code"] == [[], [], [], []]
