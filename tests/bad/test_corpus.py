"""Broken files: exit code 2, the fault in words, no traceback, nothing written."""

import pytest

from tests.bad.corpus import GOOD, recipes, whole_files
from tests.door import brewsim

RECIPES = ("top", "grist", "hops", "rest", "tables", "syntax")
BROKEN = [case for stem in RECIPES for case in recipes(stem)]
OWN_PRIORS = whole_files("own_priors")


def _refused(done, folder, files, expected):
    assert done.code == 2, done.err
    assert "Traceback" not in done.err
    assert expected in done.err
    assert done.err.endswith("nothing was written.\n")
    assert done.out == ""
    assert sorted(path.name for path in folder.iterdir()) == files


def test_the_recipe_that_every_case_breaks_is_without_a_fault(tmp_path):
    (tmp_path / "good.toml").write_text(GOOD, encoding="utf-8")

    done = brewsim("check", "good.toml", folder=tmp_path)

    assert done.code == 0, done.err


def test_the_corpus_is_large_and_names_no_case_twice():
    names = [case.name for case in (*BROKEN, *OWN_PRIORS)]

    assert len(names) >= 200
    assert len(set(names)) == len(names)


@pytest.mark.parametrize("case", BROKEN, ids=lambda case: case.name)
def test_a_broken_recipe_is_refused_in_words_and_nothing_is_written(case, tmp_path):
    (tmp_path / "recipe.toml").write_text(case.text, encoding="utf-8")

    done = brewsim("report", "recipe.toml", "--draws", "64", folder=tmp_path)

    _refused(done, tmp_path, ["recipe.toml"], case.expected)


@pytest.mark.parametrize("case", OWN_PRIORS, ids=lambda case: case.name)
def test_a_broken_file_of_own_priors_is_refused_in_words(case, tmp_path):
    (tmp_path / "good.toml").write_text(GOOD, encoding="utf-8")
    (tmp_path / "own.toml").write_text(case.text, encoding="utf-8")

    done = brewsim("simulate", "good.toml", "--priors", "own.toml", folder=tmp_path)

    _refused(done, tmp_path, ["good.toml", "own.toml"], case.expected)
