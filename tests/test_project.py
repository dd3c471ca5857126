"""The project file and its neighbours say what is so."""

import re
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
STANDARD = set(sys.stdlib_module_names) | {"brewsim"}
OPTIONAL = {"dask", "distributed", "pandas", "pyarrow"}
BY_NAME = {"plotly"}  # its script is read as a file
COMES_WITH = {"pydantic_core"}  # pydantic asks for one exact version of it


def top_level_imports():
    """Return every module from outside that brewsim's files import."""
    found = set()
    for file in (ROOT / "brewsim").rglob("*.py"):
        text = file.read_text(encoding="utf-8")
        found |= set(re.findall(r"^\s*(?:from|import) (\w+)", text, flags=re.MULTILINE))
    return (found | BY_NAME) - STANDARD


def test_every_import_is_a_requirement():
    required = {
        re.match(r"[\w-]+", line).group().lower() for line in PROJECT["project"]["dependencies"]
    }
    words = {name for name in top_level_imports() if _installed(name)}

    assert words - OPTIONAL - COMES_WITH <= required
    assert required <= words


def _installed(name):
    """Tell words of docstrings ("from the") from modules."""
    from importlib.util import find_spec

    return find_spec(name) is not None


def test_lowest_versions_are_those_of_the_project():
    words = [sys.executable, "tests/requirements.py", "lowest"]
    told = subprocess.run(words, check=True, cwd=ROOT, capture_output=True, text=True).stdout

    assert "numpy==2.0" in told.split()
    assert "typer==0.19" in told.split()
    assert len(told.split()) == len(PROJECT["project"]["dependencies"])


@pytest.mark.parametrize("folder", ["brewsim", "tests"])
def test_no_file_is_longer_than_300_lines(folder):
    lengths = {
        str(path.relative_to(ROOT)): len(path.read_text(encoding="utf-8").splitlines())
        for path in (ROOT / folder).rglob("*.py")
    }

    assert len(lengths) > 300
    assert {name: lines for name, lines in lengths.items() if lines > 300} == {}


def test_licence_named_is_the_licence_that_lies_there():
    assert PROJECT["project"]["license"] == "MIT"
    assert (ROOT / "LICENSE").read_text(encoding="utf-8").startswith("MIT License")


def test_changelog_says_which_numbers_moved():
    text = (ROOT / "CHANGELOG.md").read_text(encoding="utf-8")

    assert re.findall(r"^##+ (.*)$", text, flags=re.MULTILINE)[:2] == ["Unreleased", "Numbers"]


def test_files_that_security_points_to_are_there():
    text = (ROOT / "SECURITY.md").read_text(encoding="utf-8")
    named = re.findall(r"`(tests/[\w/.]+)`", text)

    assert len(named) > 4
    assert not [path for path in named if not (ROOT / path).exists()]
