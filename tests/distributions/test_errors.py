import math

import pytest

from brewsim.distributions.constructors import (
    arcsine,
    bernoulli,
    beta,
    beta_from_moments,
    constant,
    curvilinear_trapezoid,
    discrete,
    empirical,
    gamma,
    half_normal,
    lognormal,
    mixture,
    normal,
    student_t,
    triangular,
    truncated,
    uniform,
)
from brewsim.errors import DistributionError

REFUSED = [
    (lambda: normal(5, 0), "normal: sd must be above 0, not 0; for no spread write constant"),
    (lambda: normal(math.nan, 1), "mean must be a finite number"),
    (lambda: normal(0, "1"), "sd must be a finite number, not '1'"),
    (lambda: normal(0, None), "sd must be a finite number, not None"),
    (lambda: normal([0, 1], 1), "mean must be a finite number, not [0, 1]"),
    (lambda: lognormal(-1, 0.3), "median must be above 0"),
    (lambda: lognormal(1, math.inf), "log_sd must be a finite number"),
    (lambda: uniform(3, 3), "low must lie below high, not 3 and 3; for no spread write constant"),
    (lambda: triangular(0, 4, 3), "write low, mode, high in that order"),
    (lambda: beta(0, 3), "a must be above 0"),
    (lambda: beta(2, 3, 1, 0), "low must lie below high"),
    (lambda: beta_from_moments(75, 3), "write per cent as a fraction"),
    (lambda: beta_from_moments(0.5, 0.6), "the sd must be below 0.5, not 0.6"),
    (lambda: gamma(2, -1), "scale must be above 0"),
    (lambda: student_t(0, 1, 0), "degrees must be above 0"),
    (lambda: arcsine(2, 1), "low must lie below high"),
    (lambda: curvilinear_trapezoid(0, 1, 0.5), "call for triangular or normal"),
    (lambda: half_normal(0), "sd must be above 0"),
    (lambda: constant(math.inf), "value must be a finite number"),
    (lambda: discrete([1, 2], [0.5]), "one probability for each value, not 1 for 2"),
    (lambda: discrete([1, 2], [0.5, 0.6]), "add up to 1, not 1.1; divide each by their sum"),
    (lambda: discrete([1, 2], [1.5, -0.5]), "must be 0 or more"),
    (lambda: discrete([], []), "one probability for each value"),
    (lambda: discrete([1, 2], [math.nan, 1]), "must be 0 or more"),
    (lambda: bernoulli(2), "write 2 % as 0.02"),
    (lambda: mixture([normal(0, 1)], [0.5]), "add up to 1"),
    (lambda: empirical([3.0]), "for a single one write constant"),
    (lambda: empirical([3.0, 3.0]), "two or more different values"),
    (lambda: empirical([3.0, math.nan]), "must be a finite number"),
    (lambda: truncated(normal(0, 1), 2, 1), "low must lie below high"),
    (lambda: truncated(uniform(0, 1), 2, 3), "has nothing between 2 and 3; its median is 0.5"),
    (lambda: truncated(bernoulli(0.5), 0.2, 0.8), "has nothing between"),
    (lambda: truncated(normal(0, 1), 9, 10), "has nothing between"),
]


@pytest.mark.parametrize(("make", "text"), REFUSED, ids=[text for _, text in REFUSED])
def test_what_makes_no_distribution_is_refused_with_what_to_write_instead(make, text):
    with pytest.raises(DistributionError) as caught:
        make()

    assert text in str(caught.value)
