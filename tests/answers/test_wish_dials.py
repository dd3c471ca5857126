"""The dials of a page after a tasting: its margins and its settings, worked out by hand."""

from types import SimpleNamespace

import numpy as np
import pytest

from brewsim.answers.wish_dials import _margin, _written
from brewsim.study.model.knob import Choice, Knob
from brewsim.study.propagation.linked_draws import DOTS


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
