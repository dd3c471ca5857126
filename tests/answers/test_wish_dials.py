"""The dials of a page after a tasting: its margins and its scale, worked out by hand."""

from types import SimpleNamespace

import numpy as np
import pytest

from brewsim.answers.wish_dials import _margin, _scale, _written
from brewsim.study.model.knob import Choice, Knob
from brewsim.study.propagation.linked_draws import DOTS


def inside(count, of=100):
    """Draws of which so many are 0.5, the others 2."""
    return {"y": np.array([0.5] * count + [2.0] * (of - count))}


ENDS = {"y": (np.zeros(100), np.ones(100))}


class Dialled:
    """Surfaces of a hundred draws, today and at the settings chosen."""

    def __init__(self, today, moved):
        self.today, self.moved = inside(today), inside(moved)

    def values(self, settings):
        assert settings == {"dose": 2.0}
        return self.moved


def answer(now, then):
    chosen = SimpleNamespace(all_met=(then, 0.01), settings={"dose": 2.0})
    unchanged = SimpleNamespace(all_met=(now, 0.01), settings={})
    return SimpleNamespace(steering=SimpleNamespace(chosen=chosen, unchanged=unchanged))


@pytest.mark.parametrize(
    ("today", "moved", "now", "then", "scale"),
    [
        (20, 60, 0.10, 0.40, 0.75),
        (20, 60, 0.10, 0.70, 1.5),
        (20, 30, 0.10, 0.90, 2.0),
        (20, 60, 0.10, 0.11, 0.5),
        (20, 60, 0.50, 0.40, 0.5),
        (20, 22, 0.10, 0.40, 1.0),
        (20, 23, 0.10, 0.14, 4 / 3),
        (60, 20, 0.10, 0.40, 1.0),
    ],
)
def test_the_gain_of_few_draws_is_scaled_to_that_of_many_within_two(today, moved, now, then, scale):
    assert _scale(answer(now, then), Dialled(today, moved), ENDS) == pytest.approx(scale)


def test_what_is_together_lies_inside_every_window_its_ends_with_it():
    """100 draws lie in one window, 50 in the other, so that 50 do in both; at an end is inside."""
    ends = {"y": (np.full(100, 0.5), np.full(100, 2.0)), "z": (np.zeros(100), np.ones(100))}
    found = Dialled(0, 0)
    found.today = {"y": inside(50)["y"], "z": np.full(100, 3.0)}
    found.moved = {"y": inside(50)["y"], "z": np.array([1.0] * 25 + [0.0] * 25 + [1.5] * 50)}

    assert _scale(answer(0.1, 0.6), found, ends) == pytest.approx(1.0)
    assert _scale(answer(0.1, 0.8), found, ends) == pytest.approx(1.4)


def test_a_margin_is_fifty_places_of_many_draws_beside_the_few():
    many = np.array([np.nan, *np.arange(1000.0), np.inf])
    few = np.array([1.0, 2.0])
    plain = _margin(few, many, logged=False)

    assert plain.values is few
    np.testing.assert_allclose(plain.quantiles, 999 * (np.arange(DOTS) + 0.5) / DOTS)
    assert DOTS == 50


def test_a_margin_of_folds_is_in_doublings_and_none_of_nothing():
    logged = _margin(np.array([8.0, 0.0]), np.array([0.0, 0.0, 0.0]), logged=True)

    np.testing.assert_allclose(logged.values, [3.0, np.log2(1e-12)])
    np.testing.assert_allclose(logged.quantiles, np.full(DOTS, np.log2(1e-12)))


def test_a_setting_is_told_in_the_unit_of_its_knob():
    problem = SimpleNamespace(fixed_at=lambda quantity, row: {("mass_kg", 1): 0.03}[quantity, row])
    dose = Knob("dose", "dose", "mass_kg", 1, high=0.08, unit="g", per_shown=0.001)
    yeast = Knob("yeast", "yeast", choices=(Choice("a", {}), Choice("b", {})), current="b")

    assert _written(problem, dose) == pytest.approx(30.0)
    assert _written(problem, yeast) == "b"
