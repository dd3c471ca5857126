"""Steering on problems whose optimum and obstacles are known."""

import inspect
from dataclasses import replace

import numpy as np
import pytest
from scipy.special import ndtr

from brewsim.distributions.constructors import lognormal, normal
from brewsim.errors import StudyError
from brewsim.study.model.knob import Choice, Knob
from brewsim.study.model.problem import Problem
from brewsim.study.model.targets import Target
from brewsim.study.steering.steering import steer
from tests.study.linear import DIAL, linear_problem, side, strength


@pytest.fixture(scope="module")
def problem():
    return linear_problem()


def test_steering_finds_the_optimum_of_a_linear_gaussian_problem(problem):
    """Centres at dial 6 and lever 6; the best joint chance is an integral over `known`."""
    grid = np.linspace(-6, 6, 4001)
    density = np.exp(-(grid**2) / 2) / np.sqrt(2 * np.pi)
    inner = ndtr((2 - grid) / 2) - ndtr((-2 - grid) / 2)
    exact = np.trapezoid(np.where(np.abs(0.5 * grid) <= 1, inner, 0) * density, grid)

    found = steer(problem, chance=0.5)

    assert found.best.chance == pytest.approx(exact, rel=0.01)
    assert found.best.settings["dial"] == pytest.approx(6.0, abs=0.25)
    assert found.smallest.chance >= 0.5
    assert found.smallest.change < found.best.change
    assert abs(found.best.chance - found.best.searched) < 0.02


def test_steps_are_respected(problem):
    found = steer(problem, chance=0.5)

    assert found.best.settings["lever"] % 0.5 == 0


def test_a_single_knob_that_cannot_says_the_best_it_can(problem):
    found = steer(problem, chance=0.5)

    assert not any(single.reaches for single in found.singles)
    assert 0 < found.singles[0].move.chance < 0.5


def test_targets_that_fight_are_named():
    """One dial moves both outcomes in opposite directions: no setting has both."""
    problem = Problem.of(
        [strength, side],
        {"known": normal(0, 0.1), "scatter": normal(0, 0.1)},
        fixed={"dial": 0.0, "lever": 0.0},
        targets={"strength": Target(2.0, 3.0), "side": Target(0.0, 1.0)},
        knobs=(DIAL,),
    )

    found = steer(problem, chance=0.8)

    assert not found.reaches
    assert found.smallest is None
    assert set(found.obstacles.gives_way) == {"strength", "side"}
    assert min(found.obstacles.alone.values()) > 0.95
    assert found.obstacles.together < 0.05


def test_a_window_narrower_than_the_spread_says_so(problem):
    found = steer(problem, chance=0.95)

    assert not found.reaches
    assert found.obstacles.spread["strength"] == pytest.approx(
        2 * ndtr(2 / np.sqrt(5)) - 1, abs=0.03
    )


def test_a_choice_is_a_knob_too():
    kind = Knob(
        "kind",
        "the kind",
        choices=(
            Choice("plain"),
            Choice("strong", distributions={"level": lognormal(8.0, 0.1)}),
        ),
        current="plain",
    )

    def response(level):
        return level * 1.0

    problem = Problem.of(
        [response],
        {"level": lognormal(1.0, 0.1)},
        targets={"response": Target(6.0, None)},
        knobs=(kind,),
        scales={"response": "log2"},
    )

    found = steer(problem, chance=0.9)

    assert found.smallest.settings["kind"] == "strong"
    assert found.now.chance == 0.0


def test_steering_without_targets_is_refused():
    problem = Problem.of(
        [strength],
        {"known": normal(0, 1), "scatter": normal(0, 1)},
        fixed={"dial": 0.0},
        knobs=(DIAL,),
    )

    with pytest.raises(StudyError, match="no targets"):
        steer(problem)


@pytest.mark.parametrize("chance", [0.0, 1.0, 2.0, float("nan")])
def test_a_wanted_chance_that_is_none_is_refused(problem, chance):
    with pytest.raises(StudyError, match="between 0 and 1"):
        steer(problem, chance=chance)


def test_chances_that_only_multiply_are_no_conflict(problem):
    """Two targets with a knob each: chance lowers the joint chance, no target gives way."""
    targets = {"strength": Target(4.0, 8.0), "side": Target(-0.3, 0.3)}

    found = steer(replace(problem, targets=targets), chance=0.95)

    assert found.obstacles.gives_way is None
    assert found.obstacles.together < 0.95 * min(found.obstacles.alone.values())


def test_a_knob_that_moves_nothing_is_no_obstacle():
    idle = Knob("idle", "idle", "idle", None, 0.0, 1.0)

    def response(known, dial, idle):
        return known + dial + 0.0 * idle

    problem = Problem.of(
        [response],
        {"known": normal(0, 1)},
        fixed={"dial": 0.0, "idle": 0.5},
        targets={"response": Target(50.0, 52.0)},
        knobs=(DIAL, idle),
    )

    found = steer(problem)

    assert [place.knob for place in found.obstacles.locations] == ["dial"]
    assert found.obstacles.locations[0].limit == 50.0
    assert found.best.settings["dial"] == pytest.approx(10.0, abs=0.1)


def test_spread_is_judged_where_the_target_is():
    """A dial at zero silences the outcome; that is no sign that a window could hold it all."""

    def response(known, dial):
        return dial * known

    problem = Problem.of(
        [response],
        {"known": lognormal(1.0, 0.5)},
        fixed={"dial": 1.0},
        targets={"response": Target(4.0, 6.0)},
        knobs=(Knob("dial", "dial", "dial", None, 0.0, 10.0),),
    )

    found = steer(problem)

    assert found.obstacles.spread["response"] < 0.5


def test_fresh_draws_bear_out_the_search(problem):
    best = steer(problem, chance=0.5).best

    assert best.optimism == best.searched - best.chance
    assert abs(best.optimism) < 0.02


def amount(dose, strength_of_it):
    """One side of a lead."""
    return dose * strength_of_it


def lead(amount, other):
    """How far one side leads the other."""
    return np.log2((1 + amount) / (1 + other))


def test_a_target_is_not_met_by_making_next_to_nothing():
    """Without a floor the lead of 0 to 0.5 wants hardly any dose; a floor of 4 shuts that out."""
    problem = Problem.of(
        [amount, lead],
        {"strength_of_it": lognormal(2.0, 0.3), "other": lognormal(0.2, 0.3)},
        fixed={"dose": 3.0},
        outcomes=["lead"],
        targets={"lead": Target(0.0, 0.5)},
        knobs=(Knob("dose", "dose", "dose", None, 0.0, 6.0),),
    )
    free, held = (steer(problem, floors=floors) for floors in (None, {"amount": 4.0}))
    assert 2.0 * free.best.settings["dose"] < 1
    assert 2.0 * held.best.settings["dose"] >= 3.9
    assert held.smallest is None


def test_of_many_dials_those_that_do_most_are_polished_together():
    """24 dials of unequal pull on one middle: the target is reached though 20 move together."""
    names = [f"dial_{n:02}" for n in range(24)]
    pulls = np.linspace(0.02, 1.0, 24)

    def level(**given):
        dials = sum(pull * given[name] for pull, name in zip(pulls, names, strict=True))
        return given["error"] + dials

    own = [inspect.Parameter(name, inspect.Parameter.KEYWORD_ONLY) for name in ("error", *names)]
    level.__signature__ = inspect.Signature(own)
    problem = Problem.of(
        [level],
        {"error": normal(0.0, 0.5)},
        fixed=dict.fromkeys(names, 0.0),
        targets={"level": Target(4.7, 5.3)},
        knobs=[Knob(name, name, name, low=-1.0, high=1.0) for name in names],
    )

    best = steer(problem, chance=0.4, seed=2).best

    assert best.chance == pytest.approx(2 * ndtr(0.6) - 1, abs=0.02)
