"""Specs on problems whose answers are closed forms."""

import numpy as np
import pytest
from scipy.special import ndtri

from brewsim.distributions.constructors import lognormal, normal
from brewsim.errors import StudyError
from brewsim.study.model.factor import Kinds
from brewsim.study.model.problem import Problem
from brewsim.study.model.targets import Target
from brewsim.study.tolerance.specification import specify
from brewsim.study.tolerance.tightening import tighten
from brewsim.study.tolerance.value_of_information import MEASURABLE_KINDS


def strength(known, lots, brews):
    return known + lots + brews


@pytest.fixture(scope="module")
def problem():
    return Problem.of(
        [strength],
        {
            "known": normal(0, 1),
            "lots": (normal(0, 0.5), Kinds(0, 1, 0)),
            "brews": (normal(0, 2), Kinds(0, 0, 1)),
        },
        targets={"strength": Target(-3.0, 3.0)},
    )


def test_limits_answer_three_questions(problem):
    """Normal quantiles: all kinds sd sqrt(5.25), lots and brews sqrt(4.25), brews alone 2."""
    found = specify(problem, content=0.95).sel(outcome="strength")
    z = ndtri(0.975)

    for scope, sd in zip(found.scope.values, (5.25**0.5, 4.25**0.5, 2.0), strict=True):
        row = found.sel(scope=scope)
        assert row.high == pytest.approx(z * sd, abs=2 * float(row.high_error) + 1e-3)
        assert row.low == pytest.approx(-z * sd, abs=2 * float(row.low_error) + 1e-3)


def test_long_run_limits_are_wider_than_any_brewerys_own(problem):
    """Inner quantile z sqrt(4.25) moved by the 5 % tail of N(0, 1) on each side."""
    found = specify(problem, content=0.95, confidence=0.9).sel(outcome="strength")

    exact = ndtri(0.975) * 4.25**0.5 + ndtri(0.95)

    assert float(found.long_run_high) == pytest.approx(exact, rel=0.03)


def test_the_required_uncertainty_is_the_closed_form(problem):
    """sd of the brews for u = 1.8: sqrt(1.8^2 - 1 - 0.25) = 1.411, scale .7053."""
    found = {t.factors: t for t in tighten(problem, "strength", uncertainty=1.8)}

    assert found["brews",].reaches
    assert found["brews",].scale == pytest.approx(np.sqrt(1.8**2 - 1.25) / 2, rel=0.01)
    assert not found["lots",].reaches
    assert found["lots",].best == pytest.approx(5.0**0.5, rel=0.01)


def test_measuring_takes_away_knowledge_and_lots_only(problem):
    tried = tighten(problem, "strength", uncertainty=2.1, kinds=MEASURABLE_KINDS)
    found = {t.factors: t for t in tried}

    assert ("brews",) not in found
    assert found["known",].reaches


def test_a_wanted_chance_is_reached_by_the_right_factor(problem):
    """Chance of +-3 of 0.90 needs u = 3 / 1.6449; from the brews alone sd sqrt(u^2 - 1.25)."""
    u = 3 / ndtri(0.95)
    found = {t.factors: t for t in tighten(problem, "strength", chance=0.9)}

    assert found["brews",].scale == pytest.approx(np.sqrt(u**2 - 1.25) / 2, rel=0.01)


def test_a_skewed_factor_is_rerun_not_linearised():
    """Lognormal with log-sd s shrunk to half: the exact sd ratio, not the linear 0.5."""

    def response(level):
        return level * 1.0

    problem = Problem.of([response], {"level": (lognormal(1.0, 0.8), Kinds(0, 0, 1))})

    def sd(s):
        return np.sqrt(np.expm1(s**2)) * np.exp(s**2 / 2)

    (found,) = tighten(problem, "response", uncertainty=float(sd(0.4)))

    assert found.scale == pytest.approx(0.5, abs=0.01)


def test_one_wish_at_a_time(problem):
    with pytest.raises(StudyError, match="one thing"):
        tighten(problem, "strength")
