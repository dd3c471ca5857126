"""The first words: brewsim alone, its version, a page by a program."""

import pytest

import brewsim
from brewsim.errors import InputError
from tests.door import brewsim as command


def test_brewsim_alone_says_three_commands_to_start_with(tmp_path):
    done = command(folder=tmp_path)

    assert done.code == 0
    assert [w for w in ("brewsim new", "brewsim check", "brewsim report") if w in done.out] == [
        "brewsim new",
        "brewsim check",
        "brewsim report",
    ]


def test_the_three_commands_to_start_with_run_as_they_stand(tmp_path):
    lines = command(folder=tmp_path).out.splitlines()
    words = [line.strip().split("  ")[0] for line in lines if line.startswith("  brewsim")]

    assert len(words) == 3
    assert command("new", "My pale ale", folder=tmp_path).code == 0
    assert words[0] == 'brewsim new "My pale ale"'
    assert (tmp_path / words[1].split()[-1]).exists()
    assert words[1].split()[-1] == words[2].split()[-1]


def test_version_is_said_and_nothing_else(tmp_path):
    assert command("--version", folder=tmp_path)[:2] == (0, f"brewsim {brewsim.__version__}\n")


def test_draws_are_no_page_and_words_say_what_makes_one(tmp_path):
    problem = brewsim.Problem.of([_same], {"level": brewsim.normal(1, 0.1)})
    draws = brewsim.simulate(problem, draws=256)

    with pytest.raises(InputError, match=r"made by brewsim.report\(recipe\), not of a Dataset"):
        brewsim.write_report(tmp_path / "page.html", draws)


def test_a_problem_is_no_recipe_and_words_say_what_is_wanted():
    with pytest.raises(InputError, match="a Recipe or the path of its file is wanted, not int"):
        brewsim.report(3)


def _same(level):
    return level
