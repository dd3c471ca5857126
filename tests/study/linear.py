"""Two linear-Gaussian outcomes and two dials: every chance and optimum is known."""

from brewsim.distributions.constructors import normal
from brewsim.study.model.factor import Kinds
from brewsim.study.model.knob import Knob
from brewsim.study.model.problem import Problem
from brewsim.study.model.targets import Target

DIAL = Knob("dial", "the dial", "dial", None, -2.0, 10.0, 0.0, "g")
LEVER = Knob("lever", "the lever", "lever", None, -10.0, 10.0, 0.5, "g")


def strength(known, scatter, dial):
    """Return the first outcome: what is known, what scatters, and the dial."""
    return known + scatter + dial


def side(known, dial, lever):
    """Return the second outcome: the dial lowers it, the lever lifts it."""
    return 0.5 * known + lever - dial


def linear_problem():
    """Return both outcomes with a target each and both dials at zero."""
    return Problem.of(
        [strength, side],
        {"known": (normal(0, 1), Kinds(0.5, 0, 0.5)), "scatter": (normal(0, 2), Kinds(0, 0, 1))},
        fixed={"dial": 0.0, "lever": 0.0},
        targets={"strength": Target(4.0, 8.0), "side": Target(-1.0, 1.0)},
        knobs=(DIAL, LEVER),
    )
