"""Models with known answers, shared by the tests of the studies."""

import numpy as np

from brewsim.distributions.constructors import normal, uniform
from brewsim.study.model.correlation import Correlation
from brewsim.study.model.factor import Kinds
from brewsim.study.model.problem import Problem


def sum_of_four(x1, x2, x3, x4):
    return x1 + x2 + x3 + x4


def ishigami(x1, x2, x3):
    return np.sin(x1) + 7 * np.sin(x2) ** 2 + 0.1 * x3**4 * np.sin(x1)


def weighted(a, b):
    return a + b


def only_a(a):
    return 1.0 * a


def g_term(x, a):
    return (np.abs(4 * x - 2) + a) / (1 + a)


def g_function(x1, x2, x3):
    return g_term(x1, 0) * g_term(x2, 9) * g_term(x3, 99)


def ishigami_problem(kinds=None):
    one = uniform(-np.pi, np.pi)
    factors = dict.fromkeys(("x1", "x2", "x3"), one if kinds is None else (one, kinds))
    return Problem.of([ishigami], factors)


SHARES = Kinds(0.5, 0.2, 0.3)


def pair(kinds=SHARES, **more):
    """a ~ N(0, 1) split by kind, b ~ N(0, 1) known once and for all."""
    return Problem.of([weighted], {"a": (normal(0, 1), kinds), "b": normal(0, 1)}, **more)


def correlated_pair(correlation, formula=weighted):
    """a ~ N(0, 1), b ~ N(0, 2), correlated in what is known of them."""
    matrix = ((1.0, correlation), (correlation, 1.0))
    return Problem.of(
        [formula],
        {"a": normal(0, 1), "b": normal(0, 2)},
        correlations=(Correlation("knowledge", ("a", "b"), matrix),),
    )


def within(found, exact, error, times=4.0):
    """Tell whether a figure is within so many standard errors of the exact value.

    `error` is the half width of a 95 % t interval from 8 replicates, 2.3646 standard errors.
    """
    return abs(found - exact) <= times * error / 2.3646 + 1e-12


def log_plus(x1, x2):
    return np.log(x1) + x2
