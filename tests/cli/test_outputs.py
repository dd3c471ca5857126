"""No command writes over a file that it reads, whatever it is told to write."""

import shutil

import pytest

from brewsim.errors import InputError


@pytest.fixture
def files(demo, tmp_path):
    """A recipe, a log and a house of one's own."""
    for name, short in (
        ("r.toml", "lager"),
        ("log.toml", "lager-six-batches"),
        ("h.toml", "lager"),
    ):
        shutil.copy(demo(short), tmp_path / name)
    return tmp_path


def kept(run, files, *words):
    """Whether every file is what it was after a command that was refused in words."""
    before = {file: file.read_bytes() for file in files.iterdir()}

    result = run(*words)

    assert isinstance(result.exception, InputError)
    assert "name another file" in result.exception.faults[0]
    return before == {file: file.read_bytes() for file in files.iterdir()}


@pytest.mark.parametrize("name", ["r.toml", "h.toml", "log.toml", "p.toml"])
def test_a_page_never_replaces_an_input(run, files, name):
    shutil.copy(files / "r.toml", files / "p.toml")
    recipe, house, log, priors = (files / f"{n}.toml" for n in ("r", "h", "log", "p"))
    words = ("--house", house, "--batches", log, "--priors", priors)

    assert kept(run, files, "report", recipe, *words, "--out", files / name)


def test_a_page_named_after_its_recipe_never_replaces_it(run, files, monkeypatch):
    monkeypatch.chdir(files)
    (files / "r.toml").rename(files / "r.html")

    assert kept(run, files, "report", "r.html")


@pytest.mark.parametrize("name", ["r.toml", "h.toml"])
def test_draws_never_replace_an_input(run, files, name):
    words = ("--house", files / "h.toml", "--save", files / name)

    assert kept(run, files, "simulate", files / "r.toml", *words)


@pytest.mark.parametrize("name", ["r.toml", "log.toml"])
def test_a_house_never_replaces_an_input(run, files, name):
    words = (files / "r.toml", files / "log.toml", "--house", files / name)

    assert kept(run, files, "learn", *words)
