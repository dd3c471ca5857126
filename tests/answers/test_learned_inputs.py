"""What a house knows now: inputs before and after, instruments and scatter, worked out by hand."""

from types import SimpleNamespace

import numpy as np
import pytest
from scipy.special import ndtri

from brewsim.answers.learned_inputs import (
    Known,
    _known,
    biases,
    known_now,
    known_sentence,
    scatter_sentence,
)
from brewsim.distributions.constructors import normal
from brewsim.logbook.house import House
from brewsim.study.model.factor import Factor, Kinds
from brewsim.study.model.scatter import EVERYTHING

SCORES = ndtri((np.arange(1000) + 0.5) / 1000)
"""A thousand evenly spread normal scores: mean 0, standard deviation 1 but for their tails."""


def house_of(draws):
    return House(draws, np.zeros(1000), {}, {}, 3, 0.0, trusted=True)


def factor(kinds, name="loss_l"):
    return Factor(name, name, 0, "Loss", normal(10.0, 2.0), kinds)


def test_knowledge_that_narrowed_is_told_with_its_ends():
    """All of it knowledge: learned to half a score about 1, 10 + 2 z."""
    found = _known(factor(Kinds(1.0, 0, 0)), house_of({"loss_l @knowledge": 1 + SCORES / 2}))

    assert found.before == pytest.approx((10 - 2 * 1.6449, 10, 10 + 2 * 1.6449), abs=1e-3)
    assert found.after == pytest.approx((12 - 1.6449, 12, 12 + 1.6449), abs=1e-2)
    assert (found.left, found.moved) == pytest.approx((0.5, 1.0), abs=2e-3)
    assert (found.id, found.label, found.quantity) == ("loss_l", "Loss", "loss_l")


def test_what_returns_in_the_next_batch_is_drawn_afresh():
    """A half of knowledge known to 0.2 about 1; a lot and a brew anew: .02 + .25 + .25."""
    found = _known(factor(Kinds(0.5, 0.25, 0.25)), house_of({"loss_l @knowledge": 1 + SCORES / 5}))

    assert found.moved == pytest.approx(np.sqrt(0.5), abs=2e-3)
    assert found.left == pytest.approx(np.sqrt(0.02 + 0.5), rel=0.01)


def test_scatter_that_was_learned_scales_the_brew_alone():
    """Common -1: log s is -0.4 - 0.16, and s^2 multiplies the quarter of the brew only."""
    learned = {"loss_l @knowledge": SCORES / 5, EVERYTHING: -np.ones(1000)}
    found = _known(factor(Kinds(0.5, 0.25, 0.25)), house_of(learned))
    nothing_else = _known(factor(Kinds(0.0, 0.25, 0.75)), house_of({EVERYTHING: -np.ones(1000)}))

    scale = np.exp(-0.4 - 0.16)
    assert found.left == pytest.approx(np.sqrt(0.02 + 0.25 + 0.25 * scale**2), rel=0.01)
    assert nothing_else.left == pytest.approx(np.sqrt(0.25 + 0.75 * scale**2), rel=0.01)


@pytest.mark.parametrize(
    ("middle", "spread", "told"),
    [
        (0.0, 0.98, False),
        (0.0, 0.96, True),
        (0.14, 1.0, False),
        (0.16, 1.0, True),
        (-0.16, 1.0, True),
    ],
)
def test_an_input_is_told_that_is_three_percent_narrower_or_moved(middle, spread, told):
    scores = (SCORES - SCORES.mean()) / SCORES.std()
    drawn = {"loss_l @knowledge": middle + spread * scores}

    assert (_known(factor(Kinds(1.0, 0, 0)), house_of(drawn)) is not None) is told
    assert _known(factor(Kinds(1.0, 0, 0)), house_of({})) is None


def test_the_most_learned_comes_first():
    names = {"a_l": (0.0, 0.9), "b_l": (0.8, 0.9), "c_l": (-0.7, 0.5)}
    drawn = {f"{n} @knowledge": m + s * SCORES for n, (m, s) in names.items()}
    problem = SimpleNamespace(
        learned=house_of(drawn), factors=[factor(Kinds(1.0, 0, 0), name) for name in names]
    )

    assert [one.id for one in known_now(problem)] == ["c_l", "b_l", "a_l"]
    assert known_now(SimpleNamespace(learned=None, factors=problem.factors)) == []


def test_instruments_are_told_that_are_known_better_or_off():
    drawn = {
        "wide @bias": SCORES,
        "known @bias": SCORES * 0.7,
        "off @bias": 1.2 + SCORES,
        "under, final_gravity_sg @bias": SCORES - 1.2,
        "loss_l @knowledge": SCORES * 0.1,
    }
    found = biases(house_of(drawn))

    assert [name for name, _, _ in found] == ["known", "off", "under (final gravity)"]
    assert [m for _, m, _ in found] == pytest.approx([0, 1.2, -1.2], abs=1e-9)
    assert [s for _, _, s in found] == pytest.approx([0.7, 1, 1], rel=2e-3)


def test_scatter_is_the_geometric_mean_over_inputs():
    """log s = .4 c - .16 + .45 o - .2025, averaged over the two inputs' own."""
    drawn = {
        EVERYTHING: np.full(1000, 1.0),
        "a @scatter": np.ones(1000),
        "b @scatter": -np.ones(1000),
    }
    middle = np.exp(0.4 - 0.16 - 0.2025)

    assert scatter_sentence(house_of(drawn)) == (
        f"from batch to batch its inputs scatter {middle:.3g} times the usual (1.04 to 1.04)"
    )
    assert scatter_sentence(house_of({EVERYTHING: np.ones(1000)})) == ""
    assert scatter_sentence(house_of({"a @scatter": np.ones(1000)})) == ""


def test_a_sentence_tells_both_spans_and_the_batches():
    known = Known(
        "x",
        "Final gravity",
        "final_gravity_sg",
        (1.008, 1.011, 1.014),
        (1.009, 1.010, 1.012),
        0.5,
        0,
    )

    assert known_sentence(known, 1) == (
        "final gravity: 1.009 to 1.012 (median 1.010) after 1 batch, "
        "1.008 to 1.014 (median 1.011) before"
    )
