"""Words are said of what was computed: a sentence takes results, and runs no study."""

import ast
from importlib import import_module
from inspect import isclass, isfunction
from pathlib import Path

import pytest

from brewsim import wording

ROOM = Path(wording.__file__).parent
ARITHMETIC = {
    "in_thousand",
    "chance_error",
    "landing",
    "own_settings",
    "current_setting",
    "needed_spread",
    "wilks_sample_size",
    "first_wished",
}
"""Functions of a few numbers, or of a question, that draw nothing."""


def taken(path):
    """Yield (module, name) of everything a file takes from the studies."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("brewsim.study"):
            yield from ((node.module, alias.name) for alias in node.names)


@pytest.mark.parametrize("path", sorted(ROOM.rglob("*.py")), ids=lambda p: p.stem)
def test_a_sentence_takes_only_results_from_the_studies(path):
    for module, name in taken(path):
        found = getattr(import_module(module), name)

        assert isclass(found) or not isfunction(found) or name in ARITHMETIC, (module, name)


def test_the_scan_would_see_a_study():
    source = ROOM.parent / "answers" / "everything.py"

    assert ("brewsim.study.sensitivity.sobol", "rank") in set(taken(source))
