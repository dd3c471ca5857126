"""Broken files: exit code 2, the fault in words, no traceback, nothing written."""

import pytest

from brewsim.errors import InputError
from brewsim.logbook.brew import read_batches
from tests.bad.corpus import BATCH, GOOD, recipes, whole_files
from tests.door import brewsim

RECIPES = ("top", "grist", "hops", "rest", "tables", "syntax")
BROKEN = [case for stem in RECIPES for case in recipes(stem)]
OWN_PRIORS = whole_files("own_priors")
LOGS = [*whole_files("logs"), *whole_files("tastings")]


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
    names = [case.name for case in (*BROKEN, *OWN_PRIORS, *LOGS)]

    assert len(names) >= 250
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


def test_a_log_without_a_fault_is_read(tmp_path):
    (tmp_path / "good.toml").write_text(GOOD, encoding="utf-8")
    (tmp_path / "log.toml").write_text(f"{BATCH}[batch.readings]\nbitterness = '22 IBU'\n")

    assert len(read_batches(tmp_path / "log.toml", tmp_path / "good.toml").batches) == 1


@pytest.mark.parametrize("case", LOGS, ids=lambda case: case.name)
def test_a_broken_batch_log_is_refused_in_words(case, tmp_path):
    (tmp_path / "good.toml").write_text(GOOD, encoding="utf-8")
    (tmp_path / "log.toml").write_text(case.text, encoding="utf-8")

    with pytest.raises(InputError) as caught:
        read_batches(tmp_path / "log.toml", tmp_path / "good.toml")

    assert case.expected in str(caught.value)
    assert "<class" not in str(caught.value)
