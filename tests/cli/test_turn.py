"""brewsim turn: one knob, every knob, and choices that make another problem."""

import json

import pytest


def test_one_knob_prints_its_settings_and_what_a_tenth_does(run, demo):
    result = run("turn", demo("lager"), "hop 2 mass")

    assert result.exit_code == 0, result.exception
    assert "of 50" in result.output
    assert "A tenth more of it: bitterness (IBU) +" in result.output
    assert "Second line: what it does to a batch in which all else is as today" in result.output


def test_more_draws_are_told_and_leave_a_smaller_error_of_a_count(run, demo):
    rough, fine = (
        run("turn", demo("lager"), "hop 2 mass", "--draws", draws).output.splitlines()[-1]
        for draws in ("100", "30000")
    )

    assert rough.startswith("128 draws, seed 1: a count of 50 may be off by ")
    assert fine == "32768 draws, seed 1: a count of 50 may be off by 1."
    assert int(rough.rstrip(".").split()[-1]) > 1


@pytest.mark.slow
def test_without_a_knob_every_knob_has_its_rows(run, demo):
    content = json.loads(run("turn", demo("lager"), "--json").output)["knobs"]

    assert len(content) == 6
    assert run("turn", demo("lager")).output.startswith("What each knob does")


def test_the_bitterness_formula_is_a_choice_between_whole_problems(run, demo):
    result = run("turn", demo("bitter"), "bitterness formula")

    assert result.exit_code == 0, result.exception
    for name in ("kinetic", "empirical", "Tinseth", "Rager", "Garetz"):
        assert name in result.output


def test_another_yeast_is_judged_beside_the_one_of_the_recipe(run, demo):
    result = run("turn", demo("bitter"), "yeast name", "--choice", "clean ale yeast", "--json")
    content = json.loads(result.output)

    assert len(content["coords"]["setting"]["data"]) == 2
    assert content["coords"]["setting"]["data"][1] == "clean ale yeast"


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("yeast name",), "--choice"),
        (("hop 9 variety", "--choice", "Fuggle"), "hop lines"),
        (("hop 9 mass",), "no knob"),
        (("hop 1 mass", "--choice", "Fuggle"), "--choice is for a yeast or a hop"),
        (("--choice", "Fuggle"), "--choice is for a yeast or a hop"),
    ],
)
def test_a_knob_that_is_none_says_what_to_write(run, demo, words, told):
    assert told in str(run("turn", demo("bitter"), *words).exception)
