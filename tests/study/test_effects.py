"""Curves, shares and values of measuring that draws already made can give."""

from dataclasses import dataclass, replace

import numpy as np
import pytest
from scipy.special import ndtr

from brewsim.distributions.families import lognormal, normal
from brewsim.errors import StudyError
from brewsim.study.effects import effects, evppi
from brewsim.study.measuring import value_of_measuring
from brewsim.study.problem import Kinds, Knob, Problem, Target
from brewsim.study.sampling import Plan, scores
from brewsim.study.simulate import simulate
from tests.study.models import correlated_pair, ishigami_problem, sum_of_four


def test_shares_from_draws_already_made_are_the_first_order_indices():
    """Ishigami: .313905, .442411, 0."""
    problem = ishigami_problem()

    found = effects(problem, simulate(problem, keep_scores=True))

    np.testing.assert_allclose(found["first_order"][0], [0.313905, 0.442411, 0.0], atol=0.01)


def squared(x1, x2):
    return x1**2 + x2


def test_a_curve_is_the_expected_outcome_at_each_value():
    """E[x1^2 + x2 | x1] = x1^2."""
    problem = Problem.of([squared], {"x1": normal(0, 1), "x2": normal(0, 1)})

    found = effects(problem, simulate(problem, keep_scores=True)).sel(outcome="squared")

    inner = abs(found["value"].sel(factor="x1")) <= 1.9
    curve, value = found["effect"].sel(factor="x1"), found["value"].sel(factor="x1")
    assert float(abs(curve - value**2).where(inner).max()) < 0.1
    straight = found["effect"].sel(factor="x2") - found["value"].sel(factor="x2") - 1
    assert float(abs(straight.where(inner)).max()) < 0.06
    assert float(found["effect_error"].max()) < 0.3


def product(x1, x2):
    return x1 * x2


def test_a_curve_on_the_log_scale_is_the_geometric_mean():
    factors = {"x1": lognormal(2, 0.3), "x2": lognormal(5, 0.5)}
    problem = Problem.of([product], factors, scales={"product": "log2"})

    found = effects(problem, simulate(problem, keep_scores=True)).sel(outcome="product")

    curve = found.sel(factor="x1")
    inner = curve.isel(point=slice(4, -4))
    np.testing.assert_allclose(inner["effect"], 5 * inner["value"], rtol=0.02)


def test_correlated_factors_are_each_fitted_alone():
    """beta = (1, 1), sigma = (1, 2), rho = .5: S = .571429, .892857 (Iooss & Prieur 2019)."""
    problem = correlated_pair(0.5)

    found = effects(problem, simulate(problem, keep_scores=True))

    np.testing.assert_allclose(found["first_order"][0], [0.571429, 0.892857], atol=0.01)


def test_draws_without_scores_are_refused():
    problem = ishigami_problem()

    with pytest.raises(StudyError, match="keep_scores=True"):
        effects(problem, simulate(problem, 128))


def log_plus(x1, x2):
    return np.log(x1) + x2


def test_draws_without_a_value_are_left_out_of_a_fit():
    problem = Problem.of([log_plus, squared], {"x1": normal(3, 1), "x2": normal(0, 1)})
    draws = simulate(problem, keep_scores=True)

    found = effects(problem, draws)

    assert int(np.isnan(draws["log_plus"]).sum()) > 0
    assert np.isfinite(found["effect"]).all()
    total = found["first_order"].sum("factor").sel(outcome="log_plus")
    assert float(total) == pytest.approx(1.0, abs=0.02)


def test_the_value_of_knowing_a_parameter():
    """Two decisions, 0 and p1 - p2, p1 ~ N(1, 1), p2 ~ N(0, 2): EVPPI .083315 and .395593.

    Example of the R package voi; E max(0, N(m, s)) = m Phi(m / s) + s phi(m / s).
    """
    z = np.concatenate([scores(("a", "b", "c"), Plan(), r) for r in range(8)], axis=1)
    utilities = np.array([np.zeros(z.shape[1]), 1 + z[0] - 2 * z[1]])

    gains = evppi(z, utilities)

    np.testing.assert_allclose(gains[:2], [0.083315, 0.395593], atol=0.006)
    assert gains[2] < 5e-4


def level(setting, known, batch):
    return setting + known + batch


KNOWN = Kinds()


def knobbed(kinds=KNOWN):
    base = Problem.of(
        [level],
        {"known": (normal(0, 1), kinds), "batch": (normal(0, 0.2), Kinds(0, 0, 1))},
        fixed={"setting": 0.0},
        targets={"level": Target(-0.5, 0.5)},
    )
    return replace(base, knobs=(Knob("setting", "Setting", "setting", None, -3, 3),))


def test_only_what_can_be_known_before_the_brew_is_worth_measuring():
    found = value_of_measuring(knobbed(Kinds(0.3, 0.3, 0.4))).sel(outcome="level")

    assert float(found["variance_removed"].sel(factor="known")) == pytest.approx(
        0.6 / 1.04, abs=0.005
    )
    assert float(found["variance_removed"].sel(factor="batch")) == pytest.approx(0.0, abs=0.005)


def test_measuring_helps_landing_once_a_knob_can_answer():
    """Knowing the level, the knob undoes it: the chance rises to that of the batch alone."""
    grid = [{"setting": float(v)} for v in np.linspace(-3, 3, 25)]

    found = value_of_measuring(knobbed(), grid)

    best = 2 * ndtr(0.5 / np.sqrt(1.04)) - 1
    assert found.attrs["best_chance"] == pytest.approx(best, abs=0.005)
    gained = float(found["chance_gained"].sel(factor="known"))
    assert gained == pytest.approx(2 * ndtr(2.5) - 1 - best, abs=0.08)
    assert float(found["chance_gained"].sel(factor="batch")) < 0.005


def test_without_a_decision_nothing_is_gained():
    assert float(value_of_measuring(knobbed(), draws=1024)["chance_gained"].max()) == 0.0


def test_a_decision_needs_a_target():
    problem = replace(knobbed(), targets={})

    with pytest.raises(StudyError, match="no target"):
        value_of_measuring(problem, [{"setting": 1.0}])


@dataclass(frozen=True)
class Learned:
    draws: dict
    replicate: np.ndarray


def test_after_learning_the_posterior_draws_are_what_is_left_to_measure():
    kinds = Kinds(0.5, 0.0, 0.5)
    posterior = np.random.default_rng(2).normal(0, 0.5, 512)
    problem = Problem.of([sum_of_four], {f"x{i}": (normal(0, 1), kinds) for i in range(1, 5)})
    draws = Learned({"x1 @knowledge": posterior}, np.repeat(np.arange(8), 64))
    problem = replace(problem, learned=draws)

    found = value_of_measuring(problem)["variance_removed"].sel(outcome="sum_of_four")

    variance = 3 + 0.5 + 0.5 * 0.25
    assert float(found.sel(factor="x1")) == pytest.approx(0.125 / variance, abs=0.01)
    assert float(found.sel(factor="x2")) == pytest.approx(0.5 / variance, abs=0.01)
