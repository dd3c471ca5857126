"""The public door: lazy and typed alike, every name there, and types that a user's checker sees."""

import ast
import doctest
import importlib
import inspect
import re
import subprocess
import sys
from pathlib import Path

import pytest

import brewsim

ROOT = Path(__file__).parents[1]
STUB = ast.parse((ROOT / "brewsim/__init__.pyi").read_text(encoding="utf-8"))


def stub_names():
    """Name -> (module, original name) of every import of the stub."""
    return {
        alias.asname: (node.module, alias.name)
        for node in STUB.body
        if isinstance(node, ast.ImportFrom)
        for alias in node.names
    }


def test_stub_lists_what_the_door_lists():
    listed = next(n for n in STUB.body if isinstance(n, ast.Assign))

    assert ast.literal_eval(listed.value) == list(brewsim.__all__)
    assert {*stub_names(), "__version__"} == set(brewsim.__all__)


@pytest.mark.parametrize("name", sorted(stub_names()))
def test_stub_and_door_give_the_same_object(name):
    module, original = stub_names()[name]
    found = getattr(importlib.import_module(module), original, None)

    assert getattr(brewsim, name) is (found or importlib.import_module(f"{module}.{original}"))


def test_an_unknown_name_is_an_attribute_error():
    with pytest.raises(AttributeError, match="has no attribute 'simulat'"):
        brewsim.simulat  # noqa: B018 - reading it is the point


def test_version_is_that_of_the_installed_package():
    assert brewsim.__version__ == importlib.import_module("importlib.metadata").version("brewsim")


def test_importing_brewsim_imports_no_numpy():
    asked = "import sys, brewsim; sys.exit('numpy' in sys.modules)"

    assert subprocess.run([sys.executable, "-c", asked], check=False, cwd=ROOT).returncode == 0


@pytest.mark.slow
def test_a_users_script_is_clean_under_strict_mypy():
    script = ROOT / "tests/typing/user_script.py"
    words = ["--strict", "--config-file=", f"--cache-dir={ROOT / '.mypy_cache' / 'user'}"]
    done = subprocess.run(
        [sys.executable, "-m", "mypy", *words, str(script)],
        check=False,
        cwd=ROOT,
        capture_output=True,
        text=True,
    )

    assert "Success: no issues found" in done.stdout, done.stdout
    assert 'Revealed type is "xarray.core.dataset.Dataset"' in done.stdout


FUNCTIONS = sorted(name for name in brewsim.__all__ if inspect.isfunction(getattr(brewsim, name)))
MODULES = sorted(
    {getattr(brewsim, name).__module__ for name in FUNCTIONS}
    | {t.__module__ for t in vars(brewsim).values() if inspect.isclass(t)}
    | {module for module, _ in stub_names().values() if ".study.model." in module}
    | {brewsim.conformity.__name__, brewsim.tolerance.__name__, "brewsim.errors"}
)
FAMILIES = {"brewsim.distributions.constructors", "brewsim.distributions.extremes"}
"""Where every function makes a distribution from the parameters that its name calls for."""
SHARED = {"problem", "executor", "progress", "draws", "seed", "coverage", "priors"}
"""Parameters that mean the same in every study and are explained in `simulate` and `summarise`."""


@pytest.mark.parametrize("name", FUNCTIONS)
def test_docstring_of_a_function_explains_and_shows_it(name):
    function = getattr(brewsim, name)
    text = inspect.getdoc(function) or ""
    told = set(re.findall(r"\w+", text.partition(">>>")[0]))
    families = function.__module__ in FAMILIES
    parameters = set() if families else set(inspect.signature(function).parameters) - SHARED

    assert ">>> " in text, "an example is missing"
    assert "SKIP" not in text
    assert parameters <= told, f"unexplained: {parameters - told}"


@pytest.mark.parametrize(
    "name", [n for n in FUNCTIONS if "raise StudyError" in inspect.getsource(getattr(brewsim, n))]
)
def test_docstring_names_the_error_that_is_raised(name):
    assert "StudyError" in inspect.getdoc(getattr(brewsim, name))


@pytest.mark.parametrize("name", sorted(set(brewsim.__all__) - {"__version__"}))
def test_every_public_name_has_a_docstring_of_its_own(name):
    text = inspect.getdoc(getattr(brewsim, name)) or ""

    assert text
    assert text.partition("\n")[0].endswith(".")


@pytest.mark.parametrize(
    "module",
    [m if m != "brewsim.page.report" else pytest.param(m, marks=pytest.mark.slow) for m in MODULES],
)
def test_examples_of_the_docstrings_give_what_they_say(module, monkeypatch):
    monkeypatch.chdir(ROOT)

    done = doctest.testmod(importlib.import_module(module))

    assert done.failed == 0


def test_examples_are_many():
    tried = [doctest.DocTestFinder().find(importlib.import_module(m)) for m in MODULES]

    assert sum(bool(test.examples) for found in tried for test in found) >= 55
