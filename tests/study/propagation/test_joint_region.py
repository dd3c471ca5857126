"""Several outcomes with their covariance and a joint region: JCGM 102 and closed forms."""

import numpy as np
import pytest

from brewsim.distributions.constructors import normal
from brewsim.errors import StudyError
from brewsim.study.model.correlation import Correlation
from brewsim.study.model.problem import Problem
from brewsim.study.propagation.joint_region import joint_region
from brewsim.study.propagation.simulate import simulate


def one(a):
    return 1.0 * a


def two(b):
    return 2.0 * b


def both(a, b):
    return a + b


def magnitude(x1, x2):
    return np.hypot(x1, x2)


def phase(x1, x2):
    return np.arctan2(x2, x1)


def tied(names, rho, given):
    matrix = ((1, rho), (rho, 1))
    return {
        "factors": dict(zip(names, given, strict=True)),
        "correlations": Correlation("knowledge", names, matrix),
    }


@pytest.mark.parametrize(("rho", "box"), [(0.0, 2.2365), (0.5, 2.2121), (0.9, 2.1081)])
def test_factors_of_two_normal_outcomes(rho, box):
    """Ellipsoid sqrt(chi2(2, .95)) = 2.4477; box by the bivariate normal law."""
    parts = tied(("a", "b"), rho, (normal(1, 1), normal(2, 1)))
    draws = simulate(Problem.of([one, two], **parts), 2**17)

    found = joint_region(draws)

    assert found.ellipsoid == pytest.approx(2.4477, abs=max(2 * found.ellipsoid_error, 1e-3))
    assert found.box == pytest.approx(box, abs=max(2 * found.box_error, 1e-3))
    assert found.normal_ellipsoid == pytest.approx(2.4477, abs=1e-4)
    assert found.correlation[0, 1] == pytest.approx(rho, abs=0.003)
    np.testing.assert_allclose(found.standard_uncertainty, [1, 2], rtol=0.002)
    assert found.contains([1.0, 4.0])
    assert not found.contains([1.0, 10.0])


@pytest.mark.parametrize(
    ("x1", "rho", "size", "size_u", "angle", "angle_u"),
    [
        (0.001, 0.0, 0.013, 0.007, 0.000, 1.744),
        (0.001, 0.9, 0.012, 0.008, -0.556, 1.599),
        (0.010, 0.9, 0.015, 0.008, -0.343, 0.903),
    ],
)
def test_polar_coordinates_of_the_guide(x1, rho, size, size_u, angle, angle_u):
    """JCGM 102:2011, tables of the polar example; u(x1) = u(x2) = 0.010; secondary source."""
    parts = tied(("x1", "x2"), rho, (normal(x1, 0.010), normal(0, 0.010)))
    draws = simulate(Problem.of([magnitude, phase], **parts), 2**16)

    found = joint_region(draws)

    np.testing.assert_allclose(found.estimate, [size, angle], atol=6e-4)
    np.testing.assert_allclose(found.standard_uncertainty, [size_u, angle_u], atol=6e-4)


def test_the_region_holds_its_share_of_the_draws():
    parts = tied(("x1", "x2"), 0.9, (normal(0.01, 0.01), normal(0, 0.01)))
    draws = simulate(Problem.of([magnitude, phase], **parts), 4096)

    found = joint_region(draws, coverage=0.8)

    values = np.stack([draws["magnitude"], draws["phase"]], axis=1)
    assert np.mean([found.contains(row) for row in values]) == pytest.approx(0.8, abs=0.002)


@pytest.mark.parametrize(
    ("asked", "told"),
    [
        (("one",), "two outcomes or more"),
        (("one", "twoo"), "Did you mean two"),
        (("one", "two", "both"), "of one, two, both one follows"),
    ],
)
def test_what_has_no_region_is_refused_in_words(asked, told):
    problem = Problem.of([one, two, both], {"a": normal(0, 1), "b": normal(0, 1)})

    with pytest.raises(StudyError, match=told):
        joint_region(simulate(problem, 1024), asked)
