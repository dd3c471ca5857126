"""A move in words: its knobs are named alike in the first line, the table and the remarks."""

import pytest

from brewsim.distributions.constructors import normal
from brewsim.study.model.knob import Knob
from brewsim.study.model.problem import Problem
from brewsim.wording.move_words import short_label, stopped_sentences

MASH = Knob("hop 1 mass", "Fuggle, mash: mass", "a", high=80.0)
POWDER = Knob("precursor 1 dose", "powder: dose", "b", high=4.0)
RELEASE = Knob("release", "thiol release of the yeast", "c", high=1.0)


def total(a, b, error):
    return a + b + error


@pytest.mark.parametrize(
    ("knob", "label"),
    [(MASH, "Fuggle, mash"), (POWDER, "powder"), (RELEASE, "thiol release of the yeast")],
)
def test_what_the_unit_says_is_left_out_of_a_label(knob, label):
    assert short_label(knob) == label


def test_a_source_that_stops_is_named_as_the_moves_name_it_without_a_word_of_a_file():
    error = {"error": normal(0.0, 1.0)}
    problem = Problem.of([total], error, fixed={"a": 8.0, "b": 2.0}, knobs=(MASH, POWDER))

    assert list(stopped_sentences(problem, ())) == []
    (one,) = stopped_sentences(problem, ["hop 1 mass"])
    assert one.startswith(
        "Fuggle, mash stops at a quarter of what it is, so that the beer keeps its s"
    )
    assert one.endswith("a lower limit in the recipe lets it go further.")
    (both,) = stopped_sentences(problem, ["hop 1 mass", "precursor 1 dose"])
    assert both.startswith("Fuggle, mash and powder stop at a quarter of what they are")
